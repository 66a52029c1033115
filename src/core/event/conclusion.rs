//! What the core concludes.

use crate::core::time::Stamp;
use crate::core::units::Torque;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// What is concluded of one pull.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Verdict {
    /// When the pull peaked.
    pub at: Stamp,
    /// The adapter's short id.
    pub adapter: String,
    /// The reading's number.
    pub seq: u64,
    /// The step's name, if the pull belongs to one.
    pub step: Option<String>,
    /// The pass, counted from 1.
    pub pass: Option<u32>,
    /// The fastener's name, if the pull belongs to one.
    pub fastener: Option<String>,
    /// Probability that the reading belongs to that fastener: 0..=1.
    pub confidence: f64,
    /// The evidence that bears on it.
    pub basis: Vec<Basis>,
    /// The peak, signed.
    pub peak: Torque,
    /// Within what the true peak lies with 95 % probability, as far as the adapter's stated accuracy
    /// and the trace tell; signed, the smaller magnitude first. The comparison with the window is by
    /// the peak itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub interval: Option<(Torque, Torque)>,
    /// How the peak compares with the window.
    pub torque: TorqueVerdict,
    /// What the act was.
    pub act: Act,
    /// True if this takes the place of an earlier verdict on the same reading.
    pub revised: bool,
    /// True if all that has changed is how sure it is: said at the end, with everything known.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub surer: bool,
}

/// A source of evidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// People follow the plan.
    PlanOrder,
    /// The operator said so.
    Mark,
    /// The tool moved.
    Motion,
    /// The drive turned, or did not.
    Rotation,
    /// The shape of the pull.
    Trace,
    /// The torque fits one target and not another.
    Torque,
    /// The time between pulls.
    Time,
}

/// How a peak compares with its window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TorqueVerdict {
    /// In the window.
    In,
    /// Below it.
    Low,
    /// Above it.
    High,
    /// There is no window to compare with.
    Na,
}

/// What a pull was.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Act {
    /// Tightening.
    Tighten,
    /// A pull on a fastener already tight.
    Recheck,
    /// Loosening.
    Loosen,
    /// A pull on nothing in the plan.
    Trial,
}

/// Something the operator must be told now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Warning {
    /// When it was raised.
    pub at: Stamp,
    /// What kind.
    pub code: WarningCode,
    /// The fastener concerned.
    pub fastener: Option<String>,
    /// The adapter of the reading concerned.
    pub adapter: Option<String>,
    /// The reading concerned.
    pub seq: Option<u64>,
    /// What a person is told.
    pub text: String,
}

/// Kinds of warning; the names are the contract's.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum WarningCode {
    LowTorque,
    HighTorque,
    Order,
    Repeat,
    DidNotTurn,
    Skipped,
    Loosened,
    HoldOpen,
    RedoSlack,
    BackedOff,
    UnitMixUp,
    AdapterRange,
    CalibrationDue,
    Unexpected,
    Slipped,
    ThreadDamage,
    Yielding,
    LinkLost,
    Gap,
    /// A name in a mark is not in the plan.
    UnknownName,
    /// A castle nut without a published most went further than to its next slot.
    PastSlot,
    /// Turned by less than its angle, and left so.
    LowAngle,
    /// Turned by more than its angle.
    OverAngle,
    /// The job ended before something that keeps it open was confirmed.
    Unconfirmed,
    /// An adapter was overloaded: it is in doubt until it was checked.
    AdapterSuspect,
    /// Inside its window by less than the adapter's uncertainty, where the plan asks for proof.
    GuardBand,
    /// Pulled again after its thread locker had begun to cure.
    Cured,
    /// Left and right turned unlike far for the same torque.
    SidesDiffer,
    /// A joint that is by hand only was driven by an impact tool.
    Driven,
    /// A joint that adapter and socket do not get to was pulled with them all the same.
    NoAccess,
    /// A reading that counts lies outside what its adapter's certificate covers.
    NotCertified,
}

impl WarningCode {
    /// The name of its sentence in every table of sentences.
    #[must_use]
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::LowTorque => "warning-low-torque",
            Self::HighTorque => "warning-high-torque",
            Self::Order => "warning-order",
            Self::Repeat => "warning-repeat",
            Self::DidNotTurn => "warning-did-not-turn",
            Self::Skipped => "warning-skipped",
            Self::Loosened => "warning-loosened",
            Self::HoldOpen => "warning-hold-open",
            Self::RedoSlack => "warning-redo-slack",
            Self::BackedOff => "warning-backed-off",
            Self::UnitMixUp => "warning-unit-mix-up",
            Self::AdapterRange => "warning-adapter-range",
            Self::CalibrationDue => "warning-calibration-due",
            Self::Unexpected => "warning-unexpected",
            Self::Slipped => "warning-slipped",
            Self::ThreadDamage => "warning-thread-damage",
            Self::Yielding => "warning-yielding",
            Self::LinkLost => "warning-link-lost",
            Self::Gap => "warning-gap",
            Self::UnknownName => "warning-unknown-name",
            Self::PastSlot => "warning-past-slot",
            Self::LowAngle => "warning-low-angle",
            Self::OverAngle => "warning-over-angle",
            Self::Unconfirmed => "warning-unconfirmed",
            Self::AdapterSuspect => "warning-adapter-suspect",
            Self::GuardBand => "warning-guard-band",
            Self::Cured => "warning-cured",
            Self::SidesDiffer => "warning-sides-differ",
            Self::Driven => "warning-driven",
            Self::NoAccess => "warning-no-access",
            Self::NotCertified => "warning-not-certified",
        }
    }
}

/// How a fastener ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ending {
    /// Brought to its window, with enough probability that it was this one, and not loosened since.
    Shown,
    /// Its group has the right number of good pulls; which one is not known.
    Counted,
    /// The operator said so.
    Stated,
    /// None of these.
    Open,
}

/// Where the whole job stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Summary {
    /// Nothing of the plan is open.
    pub complete: bool,
    /// Nothing is merely counted.
    pub identified: bool,
    /// Fastener by name: how it ends.
    pub fasteners: BTreeMap<String, Ending>,
    /// Fastener by name: probability that it was brought to its window and not loosened since, 0..=1. Older
    /// records have none.
    #[serde(default)]
    pub probability: BTreeMap<String, f64>,
    /// Names of what is open, in plan order.
    pub open: Vec<String>,
    /// Hold by name: confirmed?
    pub holds: BTreeMap<String, bool>,
    /// How many readings have a verdict.
    pub verdicts: u64,
    /// Warnings by code.
    pub warnings: BTreeMap<WarningCode, u64>,
}

/// What one step of the tracker caused.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Effects {
    /// Conclusions, in order.
    pub conclusions: Vec<Conclusion>,
    /// When the tracker wants a tick, if time alone may change something.
    pub wake_at: Option<Stamp>,
}

/// A verdict or a warning.
#[derive(Debug, Clone, PartialEq)]
pub enum Conclusion {
    /// What is concluded of a pull.
    Verdict(Verdict),
    /// What the operator must be told.
    Warning(Warning),
}
