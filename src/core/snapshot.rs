//! Where a job stands, as plain data for a screen, a voice or another program.

use crate::core::event::{Ending, Warning};
use crate::core::plan::{Access, Pattern, Turned};
use crate::core::units::TorqueUnit;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The state of one job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Snapshot {
    /// The plan's name.
    pub plan: String,
    /// What to do next; none when nothing is left.
    pub next: Option<Next>,
    /// Every group, in plan order.
    pub groups: Vec<GroupState>,
    /// Holds and whether they are confirmed.
    pub holds: Vec<HoldState>,
    /// Names of fasteners still open.
    pub open: Vec<String>,
    /// Every warning so far, oldest first.
    pub warnings: Vec<Warning>,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Next {
    /// Pull this fastener.
    Pull {
        /// `group/member`.
        fastener: String,
        /// The pass, from 1, and how many there are.
        pass: u32,
        /// Passes in all.
        passes: u32,
        /// Target, low and high limit in the plan's unit, ready to print; empty for a pass by hand.
        target: String,
    },
    /// Confirm this hold first.
    Confirm {
        /// The hold's name.
        hold: String,
        /// What is asked.
        text: String,
    },
    /// Look this value up first.
    LookUp {
        /// The group.
        group: String,
    },
    /// Do this one without the adapter and say so.
    State {
        /// `group/member`.
        fastener: String,
    },
}

/// Where a group stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct GroupState {
    /// Its name.
    pub name: String,
    /// Words for people, if the plan has any.
    pub title: Option<String>,
    /// How the members lie.
    pub pattern: Pattern,
    /// Socket or bit, as written.
    pub socket: Option<String>,
    /// The thread tightens counter-clockwise.
    pub left_hand: bool,
    /// Which side is turned, if the plan says.
    pub turned: Option<Turned>,
    /// What keeps the other side from turning, as written.
    pub hold_with: Option<String>,
    /// No impact tool.
    pub by_hand_only: bool,
    /// Whether adapter and socket get there, with the crowfoot that the plan names.
    pub access: Access,
    /// The pass under way, from 1.
    pub pass: u32,
    /// Passes in all.
    pub passes: u32,
    /// Members in the order to be pulled in the pass under way.
    pub order: Vec<u16>,
    /// What the pass under way asks of a pull; none if it has no figure.
    pub asked: Option<Asked>,
    /// The members, in order of number.
    pub members: Vec<MemberState>,
}

/// The window that a pull has to end in. Numbers are magnitudes in the tightening direction.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Asked {
    /// The unit that the plan states it in.
    pub unit: TorqueUnit,
    /// Newton metres in one of that unit.
    pub unit_nm: f64,
    /// The target in that unit, as written.
    pub target: f64,
    /// The limits in words, in that unit.
    pub limits: String,
    /// The target, N·m.
    pub target_nm: f64,
    /// The lowest torque that counts, N·m.
    pub low_nm: f64,
    /// The highest torque allowed, N·m; none where only a minimum is published.
    pub high_nm: Option<f64>,
}

/// How far a joint has been put together.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum JointState {
    /// Not opened in this job.
    Closed,
    /// Open, or nothing is known of it since it was opened.
    Open,
    /// Pulled, and not yet to any torque that counts.
    Started,
    /// An early pass is done.
    Snug,
    /// Brought to its last torque or angle, or said to be.
    Tight,
    /// Tight, and what secures it was said to be in place.
    Secured,
}

/// Where a fastener stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct MemberState {
    /// `group/member`.
    pub name: String,
    /// How it would end if the job ended now.
    pub ending: Ending,
    /// How far it has been put together.
    pub state: JointState,
    /// Probability that it was brought to its window and not loosened since: 0..=1.
    pub probability: f64,
    /// The last peak that counts for it, N·m.
    pub peak_nm: Option<f64>,
    /// Something about it is wrong: over-torque, a broken hold, loosened.
    pub suspect: bool,
    /// The pass under way still waits for it.
    pub waits: bool,
}

/// A hold and whether it is confirmed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct HoldState {
    /// Its name.
    pub name: String,
    /// What is asked.
    pub text: String,
    /// Confirmed?
    pub confirmed: bool,
}
