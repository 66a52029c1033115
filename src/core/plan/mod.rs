//! The plan: what must be tightened, how tight, in which order and condition.
//!
//! A [`Plan`] is valid by construction: every name in it resolves, every order is a permutation of its
//! group's members, every window has its target inside. The parser makes one; one that comes back from where it was
//! kept is looked at again.

mod adapter_sheet;
mod around;
mod conditions;
mod diff;
mod draft;
mod edit;
mod explain;
mod fault;
mod figure;
mod figure_said;
mod gather;
mod give;
mod holds;
mod import;
mod include;
mod include_places;
mod interval;
mod joint;
mod links;
mod make;
mod measure;
mod mirror;
mod names;
mod order;
mod parse;
mod passes;
mod read_back;
mod review;
mod rules;
mod rules_read;
#[expect(dead_code, reason = "its types are described and never made")]
mod schema;
mod section;
mod show;
mod show_rules;
mod sides;
mod skeleton;
mod sound;
mod starter;
mod syntax;
mod tolerance;
mod values;
mod values_list;
mod vin;
mod wheel;
mod wheels;
mod window;

pub use adapter_sheet::{AdapterSheet, Directions};
pub use around::{Around, AsFound, By, Closing, Item};
pub use conditions::{
    Condition, List, Task, also_name, also_text, check_name, check_text, checked_adapter,
    closed_name,
};
pub use diff::{Change, diff};
pub use explain::{UnknownCode, explain};
pub use fault::{Code, Fault, Place, Severity};
pub use figure_said::{Figure, NoFigure};
pub use gather::{Gathering, Need, gather};
pub use give::give;
pub use import::{ImportOptions, import_csv};
pub use include::{Included, ReadFile, expand};
pub use interval::Interval;
pub use make::{Made, Wishes, make};
pub use mirror::{MirrorError, Side};
pub use order::{centre_order, cross_order};
pub use parse::{DEFAULT_TOLERANCE_PER_CENT, PlanFile, parse, text};
pub use read_back::read_back;
pub use review::{Setting, review};
pub use rules::{
    Access, Fixture, Kind, Locker, Prevailing, PrevailingMode, Recheck, RecheckMethod, Reuse,
    Rules, SecuredBy, Turned,
};
pub use schema::schema;
pub use show::show;
pub use skeleton::{SKELETONS, Skeleton, UnknownSkeleton};
pub use starter::starter;
pub use values_list::{Problem, TypedLine, typed_lines};
pub use wheels::{MOST_WHEELS, Wheels, wheel_names, wheels_text};
pub use window::Comparison;

use crate::core::units::{StatedTorque, Torque};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use utoipa::ToSchema;

/// A whole plan, without what identifies a person or their vehicle (that is [`Vehicle`]).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(remote = "Self")]
pub struct Plan {
    /// What the plan calls itself.
    pub name: String,
    /// True if steps must be done in the order listed; otherwise only `after` binds them.
    pub in_order: bool,
    /// Conditions that the operator confirms, in file order.
    pub holds: Vec<Hold>,
    /// The steps, in file order. At least one.
    pub steps: Vec<Step>,
    /// What belongs to the job beside its joints.
    #[serde(default, skip_serializing_if = "Around::is_empty")]
    pub around: Around,
    /// Every fastener was tight before: that one reaches its torque without turning is what is expected.
    #[serde(default, skip_serializing_if = "is_false")]
    pub already_tight: bool,
}

fn is_false(value: &bool) -> bool {
    !value
}

/// What identifies the vehicle; kept apart because it can be erased.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Vehicle {
    /// Free text.
    pub text: Option<String>,
    /// Vehicle identification number, as entered.
    pub vin: Option<String>,
    /// Registration plate, as entered.
    pub plate: Option<String>,
}

/// A condition that the operator must confirm before a step or a pass.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    /// Its name, used in marks.
    pub name: String,
    /// What the operator is asked.
    pub text: String,
    /// What puts a pull right that was made too early.
    pub cure: Cure,
}

/// What cures a pull made before its hold was confirmed.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Cure {
    /// Slacken, let it settle, pull again.
    #[default]
    Slacken,
    /// Pulling again once the condition holds is enough.
    PullAgain,
}

/// Index of a step in [`Plan::steps`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct StepIndex(pub usize);

/// One fastener: a step's group and the member in it, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct FastenerId {
    /// The step that holds the group.
    pub step: StepIndex,
    /// 1..=n.
    pub member: u16,
}

/// A part of the plan done in one go: one group of like fasteners and its passes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// The group's name; also the step's.
    pub group: String,
    /// Words for people, if the plan has any.
    pub title: Option<String>,
    /// How the members lie.
    pub pattern: Pattern,
    /// How many fasteners: 1..=64.
    pub members: u16,
    /// Diameter of the ring in millimetres, if known.
    pub pitch_circle_mm: Option<f64>,
    /// The passes, in order; at least one.
    pub passes: Vec<Pass>,
    /// Holds (indices into [`Plan::holds`]) that must be confirmed before any pull of the step.
    pub holds: Vec<usize>,
    /// Steps that must be finished first. Free of cycles.
    pub after: Vec<StepIndex>,
    /// True if a failure can cost a life: steering, brakes, suspension, hub, wheel.
    pub life_critical: bool,
    /// What the group needs to count as done.
    pub identity: Identity,
    /// True if the parts are turned so that each fastener comes to the hand.
    pub turned_to_reach: bool,
    /// True if a finished fastener must not be pulled again (cured, angle-tightened, pinned).
    pub no_recheck: bool,
    /// The thread tightens counter-clockwise.
    pub left_hand: bool,
    /// Where the values come from, in the author's words.
    pub source: Option<String>,
    /// Socket or bit.
    pub socket: Option<String>,
    /// Thread, as written.
    pub thread: Option<String>,
    /// Thread condition the value was published for, as written.
    pub condition: Option<String>,
    /// Notes for the operator.
    pub notes: Vec<String>,
    /// What the joint asks beside its torque.
    #[serde(default, skip_serializing_if = "Rules::is_plain")]
    pub rules: Rules,
}

/// How the members of a group lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Pattern {
    /// One fastener.
    Single,
    /// On a circle, numbered clockwise as the operator sees them.
    Ring,
    /// In a row, or in any other layout without an order rule.
    Line,
}

/// What a group needs for its fasteners to count as done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Identity {
    /// The right number of good pulls is enough (they end *counted*).
    Counted,
    /// Each fastener must be shown; otherwise the group stays open.
    Shown,
}

/// One round over a group at one target.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pass {
    /// What it is called.
    pub name: String,
    /// What a pull must reach.
    pub expect: Expect,
    /// Members in the order to be pulled: a permutation of 1..=n.
    pub order: Vec<u16>,
    /// True if the order binds: a ring's cross pattern, and whatever the plan writes. A line's without one, and a check
    /// round's, does not.
    pub ordered: bool,
    /// True if this pass only checks what an earlier pass tightened.
    pub check: bool,
    /// Set if the pass turns by an angle instead of to a torque; what it expects is then the torque that it
    /// must end in, if any is published.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn: Option<Turn>,
    /// Holds (indices into [`Plan::holds`]) for this pass alone.
    pub holds: Vec<usize>,
}

impl Pass {
    /// True if its name tells more than what it is expected to reach.
    #[must_use]
    pub fn is_named(&self) -> bool {
        self.turn.is_some() || self.name != passes::said_of(&self.expect, self.check, None)
    }
}

/// A pass that is measured by its angle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "turn", rename_all = "kebab-case")]
pub enum Turn {
    /// So far on from where the target was reached.
    Angle {
        /// Degrees, above zero.
        degrees: f64,
    },
    /// So far back, to adjust a bearing: part of the recipe, no loosening.
    BackOff {
        /// Degrees, above zero, if the data say how far.
        degrees: Option<f64>,
    },
}

/// What a pass expects of a pull.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Expect {
    /// A torque window.
    Window(Window),
    /// Done by hand or without the adapter: no reading is expected, and none is missed.
    ByHand,
    /// No figure is published: the operator states that it is done.
    NoFigure,
    /// The value is still to be looked up; it is asked for before the joint is pulled.
    ToBeLookedUp,
}

impl Expect {
    /// False for a window that is none: what comes from outside may say anything.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        let Self::Window(Window { target, low, high, .. }) = self else { return true };
        let (target, low) = (target.nm(), low.nm());
        let high = high.map_or(target, Torque::nm);
        0.0 < low && low <= target && target <= high && high.is_finite()
    }
}

/// A torque window. `low <= target <= high`, all positive, as magnitudes in the tightening direction.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// The target as the author wrote it.
    pub stated: StatedTorque,
    /// The target.
    pub target: Torque,
    /// The lowest torque that counts.
    pub low: Torque,
    /// The highest torque allowed; `None` where only a minimum is published.
    pub high: Option<Torque>,
}

impl Window {
    /// True if `torque` lies in the window, limits included.
    #[must_use]
    pub fn contains(&self, torque: Torque) -> bool {
        torque >= self.low && self.high.is_none_or(|high| torque <= high)
    }
}

impl Plan {
    /// The step at `index`. Panics if the index is of another plan.
    #[must_use]
    pub fn step(&self, index: StepIndex) -> &Step {
        &self.steps[index.0]
    }

    /// The public name of a fastener, `group/member`.
    #[must_use]
    pub fn fastener_name(&self, id: FastenerId) -> String {
        format!("{}/{}", self.step(id.step).group, id.member)
    }

    /// The fastener of that name. A lone fastener may be named by its group alone.
    #[must_use]
    pub fn fastener(&self, name: &str) -> Option<FastenerId> {
        let (group, member) = match name.rsplit_once('/') {
            Some((group, member)) => (group, member.parse().ok()?),
            None => (name, 1),
        };
        let index = self.steps.iter().position(|step| step.group == group)?;
        let step = &self.steps[index];
        let known = (1..=step.members).contains(&member);
        let lone = name.contains('/') || step.members == 1;
        (known && lone).then_some(FastenerId { step: StepIndex(index), member })
    }

    /// Every fastener, in plan order and then by member.
    pub fn fasteners(&self) -> impl Iterator<Item = FastenerId> + '_ {
        self.steps.iter().enumerate().flat_map(|(index, step)| {
            (1..=step.members).map(move |member| FastenerId { step: StepIndex(index), member })
        })
    }
}

/// As a pass is named: `45°`, `back off 90°`.
impl fmt::Display for Turn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Angle { degrees } => write!(f, "{degrees}°"),
            Self::BackOff { degrees: Some(degrees) } => write!(f, "back off {degrees}°"),
            Self::BackOff { degrees: None } => f.write_str("back off"),
        }
    }
}

impl fmt::Display for StepIndex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0 + 1)
    }
}
