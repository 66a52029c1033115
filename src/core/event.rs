//! What goes into the core, what comes out, and the facts that are kept.

use crate::core::plan::Plan;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Everything the tracker can be told, with its time.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// When it happened (for a reading: the time of its peak).
    pub at: Stamp,
    /// What happened.
    pub what: What,
}

/// The kinds of [`Input`].
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// An adapter and what it can tell.
    Adapter(AdapterInfo),
    /// One pull, reduced to its peak.
    Reading(Reading),
    /// The operator said something.
    Mark(Mark),
    /// A radio link went or came back.
    Link(LinkChange),
    /// Readings are known to be missing for good.
    Gap(Gap),
    /// Nothing but time passed.
    Tick,
    /// The recording or the job has ended: nothing more will come.
    End,
}

/// An adapter and what it can tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AdapterInfo {
    /// Short id: in a recording the file's own, live the serial.
    pub id: String,
    /// Serial number.
    pub serial: String,
    /// Drive size as text, for example `1/2"`.
    pub drive: Option<String>,
    /// Smallest and largest torque it measures, as magnitudes.
    pub range: Option<(Torque, Torque)>,
    /// Half-width of the calibrated interval, per cent of reading.
    pub accuracy_pct: Option<f64>,
    /// What it reports.
    pub reports: Reports,
}

/// What an adapter reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Reports {
    /// One peak a pull.
    pub peak: bool,
    /// How far the drive turned.
    pub rotation: bool,
    /// Samples of the torque over time.
    pub trace: bool,
    /// How far the tool moved between pulls.
    pub motion: bool,
    /// It has a button.
    pub button: bool,
}

/// What an adapter says of one pull.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The adapter's short id, as in [`AdapterInfo::id`].
    pub adapter: String,
    /// Number of the reading within its adapter (and epoch).
    pub seq: u64,
    /// Highest torque of the pull, signed.
    pub peak: Torque,
    /// How far the drive turned while torque stood above 10 % of the peak, degrees, signed like torque.
    pub rotation_deg: Option<f64>,
    /// How long torque stood there, milliseconds.
    pub duration_ms: Option<f64>,
}

/// What identifies a reading for ever, or as well as its adapter allows.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "kebab-case")]
pub enum ReadingKey {
    /// The adapter numbers its readings: exactly once.
    Numbered {
        /// Serial number of the adapter.
        serial: String,
        /// Its boot.
        epoch: u32,
        /// The number within that boot.
        sequence: u32,
    },
    /// The adapter does not: numbered by us on arrival, no claim of exactly once.
    Arrival {
        /// Serial number of the adapter.
        serial: String,
        /// Which connection, as the moment it was made (microseconds since the Unix epoch).
        connection: i64,
        /// Counted from 1 within that connection.
        arrival: u32,
    },
}

/// What the operator said, and by what means.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    /// What was said.
    pub say: Say,
    /// By what means.
    pub origin: Origin,
}

/// What the operator can say. Names are the plan's own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "say", rename_all = "kebab-case")]
pub enum Say {
    /// I am at this fastener now.
    At {
        /// `group/member`.
        fastener: String,
    },
    /// This hold's condition is met.
    Confirm {
        /// The hold's name.
        hold: String,
    },
    /// This fastener was done without the adapter.
    Stated {
        /// `group/member`.
        fastener: String,
    },
    /// This fastener was opened or slackened.
    Opened {
        /// `group/member`.
        fastener: String,
    },
    /// This fastener is left out on purpose.
    Skip {
        /// `group/member`.
        fastener: String,
        /// Why.
        reason: String,
    },
    /// Takes back the last mark, or the last reading's assignment.
    Retract,
    /// A note for the record.
    Note {
        /// The text.
        text: String,
    },
}

/// By what means the operator spoke.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// The command line.
    CommandLine,
    /// The page.
    Page,
    /// The adapter's button.
    Button,
    /// A recording.
    Recording,
}

/// A change of a radio link.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LinkChange {
    /// The adapter's short id.
    pub adapter: String,
    /// What became of the link.
    pub state: LinkState,
}

/// State of a radio link.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LinkState {
    /// No data can arrive.
    Lost,
    /// Data has flowed.
    Back,
    /// The adapter said that it goes to sleep: normal.
    Asleep,
}

/// Readings known to be missing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gap {
    /// The adapter's short id.
    pub adapter: String,
    /// The adapter's boot, if it tells.
    pub epoch: Option<u32>,
    /// First missing number.
    pub first: u64,
    /// Last missing number.
    pub last: u64,
}

/// What is concluded of one pull.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
    /// How the peak compares with the window.
    pub torque: TorqueVerdict,
    /// What the act was.
    pub act: Act,
    /// True if this takes the place of an earlier verdict on the same reading.
    pub revised: bool,
}

/// A source of evidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
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
}

/// How a fastener ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Nothing of the plan is open.
    pub complete: bool,
    /// Nothing is merely counted.
    pub identified: bool,
    /// Fastener by name: how it ends.
    pub fasteners: BTreeMap<String, Ending>,
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

/// Number of a job within its journal, from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct JobId(pub u32);

/// A fact that is kept. Facts never change meaning; kinds are only added.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Event {
    /// A job was started.
    JobStarted {
        /// The plan as parsed; the file's own text is kept beside the chain.
        plan: Plan,
        /// SHA-256 of the plan file's octets, lower-case hexadecimal.
        plan_hash: String,
        /// Unique in the world.
        uuid: String,
    },
    /// An adapter was seen for the first time in this job, or its abilities changed.
    Adapter(AdapterInfo),
    /// A reading arrived.
    Reading {
        /// What identifies it.
        key: ReadingKey,
        /// When its peak was, by our clock.
        at: Stamp,
        /// How far `at` can be off, in microseconds, if known.
        at_error_us: Option<u32>,
        /// The reading.
        reading: Reading,
    },
    /// The operator said something.
    Mark(Mark),
    /// A radio link changed.
    Link(LinkChange),
    /// Readings are missing for good.
    Gap(Gap),
    /// What was concluded of a pull.
    Verdict(Verdict),
    /// What the operator was told.
    Warning(Warning),
    /// The job was closed.
    JobClosed {
        /// Why it was closed with something open.
        open_reason: Option<String>,
        /// How it stood.
        summary: Summary,
    },
}

/// What about a person or their vehicle is kept beside the chain, where it can be erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PersonalField {
    /// The plan file's text.
    PlanText,
    /// Free text about the vehicle.
    Vehicle,
    /// Vehicle identification number.
    Vin,
    /// Who works.
    Operator,
    /// Text of a note or a reason.
    Note,
}

/// A fact about to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// When it is recorded (microseconds since the Unix epoch).
    pub at: Stamp,
    /// The job it belongs to; none for a loose reading.
    pub job: Option<JobId>,
    /// The fact.
    pub event: Event,
    /// Personal text that belongs to it.
    pub personal: Vec<(PersonalField, String)>,
    /// The octets it came from, if it came from a wire.
    pub raw: Option<Vec<u8>>,
}

/// A fact as kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its place in the chain, from 1, without holes.
    pub number: u64,
    /// When it was recorded.
    pub at: Stamp,
    /// The job it belongs to.
    pub job: Option<JobId>,
    /// The fact.
    pub event: Event,
    /// Personal text that belongs to it; `None` once erased.
    pub personal: Vec<(PersonalField, Option<String>)>,
    /// The octets it came from.
    pub raw: Option<Vec<u8>>,
    /// This entry's link of the hash chain.
    pub hash: [u8; 32],
}
