//! The document. Its JSON form is these structs, field by field; names are stable and only added to.
//!
//! Torque is in N·m, signed (clockwise positive), unless a field names another unit. Limits are
//! magnitudes in the direction of tightening.

use crate::core::event::{
    Act, Basis, Ending, LinkState, Origin, ReadingKey, Reports, TorqueVerdict, WarningCode,
};
use crate::core::plan::{Cure, Identity, Pattern};
use crate::core::units::TorqueUnit;
use crate::report::moment::Moment;
use serde::Serialize;

/// Everything that is known of one job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// What stands out: what is open first.
    pub outcome: Outcome,
    /// The job.
    pub job: JobReport,
    /// What it was done on (*stated*).
    pub vehicle: VehicleReport,
    /// What was asked for.
    pub plan: PlanReport,
    /// What measured.
    pub adapters: Vec<AdapterReport>,
    /// Conditions and whether they were confirmed (*stated*).
    pub holds: Vec<HoldReport>,
    /// The steps, in plan order.
    pub steps: Vec<StepReport>,
    /// Pulls that belong to no fastener of the plan.
    pub unassigned: Vec<Pull>,
    /// What the operator said, oldest first (*stated*).
    pub operator_said: Vec<MarkReport>,
    /// Warnings, oldest first (*inferred*).
    pub warnings: Vec<WarningReport>,
    /// Times without a link.
    pub link_breaks: Vec<LinkBreak>,
    /// Readings known to be missing for good.
    pub gaps: Vec<GapReport>,
    /// Facts recorded while the job ran that belong to no job.
    pub loose: Vec<LooseFact>,
    /// What could not be known, in sentences.
    pub not_known: Vec<String>,
    /// What to bear in mind, in sentences.
    pub cautions: Vec<&'static str>,
    /// When the report was made.
    pub printed_at: Moment,
    /// The program that made it.
    pub software_version: String,
    /// The journal's chain when the report was made.
    pub chain: Chain,
}

/// What stands out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outcome {
    /// One line.
    pub headline: String,
    /// Nothing of the plan is open.
    pub complete: bool,
    /// Nothing is merely counted.
    pub identified: bool,
    /// What is open, in plan order.
    pub open: Vec<OpenReport>,
    /// How many ended *shown*.
    pub shown: usize,
    /// How many ended *counted*.
    pub counted: usize,
    /// How many ended *stated*.
    pub stated: usize,
    /// Names of holds that nobody confirmed.
    pub holds_not_confirmed: Vec<String>,
    /// How many warnings still bear on the result.
    pub warnings_that_count: usize,
}

/// A fastener that is open.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OpenReport {
    /// Its name.
    pub fastener: String,
    /// Its step's title, if the plan gives one.
    pub title: Option<String>,
    /// True if a failure can cost a life.
    pub life_critical: bool,
    /// What is known about why, in sentences.
    pub because: Vec<String>,
}

/// Text about a person or their vehicle, which can be erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "state", content = "text", rename_all = "kebab-case")]
pub enum Personal {
    /// Never entered.
    NotGiven,
    /// As entered.
    Given(String),
    /// Entered, and erased since.
    Removed,
}

/// The job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JobReport {
    /// Number within its journal.
    pub number: u32,
    /// Unique in the world.
    pub uuid: String,
    /// Who worked (*stated*).
    pub operator: Personal,
    /// When it was started.
    pub started: Moment,
    /// When it was closed; null while it is open.
    pub closed: Option<Moment>,
    /// Why it was closed with something open (*stated*).
    pub open_reason: Personal,
}

/// What the job was done on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VehicleReport {
    /// Free text.
    pub text: Personal,
    /// Vehicle identification number.
    pub vin: Personal,
}

/// What was asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanReport {
    /// Its name.
    pub name: String,
    /// SHA-256 of the plan file's octets, lower-case hexadecimal.
    pub sha256: String,
    /// True if the steps had to be done in the order listed.
    pub in_order: bool,
}

/// An adapter that took part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AdapterReport {
    /// Short id, used in pulls.
    pub id: String,
    /// Serial number.
    pub serial: String,
    /// Drive size, as text.
    pub drive: Option<String>,
    /// Smallest and largest torque, N·m.
    pub range_nm: Option<[f64; 2]>,
    /// Half-width of the calibrated interval, per cent of reading.
    pub accuracy_pct: Option<f64>,
    /// Calibration certificate; null: not on record.
    pub certificate: Option<String>,
    /// What it can tell.
    pub reports: Reports,
    /// It numbers its readings; null if it made none.
    pub numbers_readings: Option<bool>,
    /// How many readings it made in this job.
    pub readings: usize,
}

/// A condition.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HoldReport {
    /// Its name.
    pub name: String,
    /// What the operator was asked.
    pub text: String,
    /// What puts right a pull that came too early.
    pub cure: Cure,
    /// Confirmed?
    pub confirmed: bool,
    /// When it was last confirmed.
    pub confirmed_at: Option<Moment>,
    /// By what means.
    pub origin: Option<Origin>,
}

/// A step: one group and its passes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StepReport {
    /// The group's name.
    pub group: String,
    /// Words for people.
    pub title: Option<String>,
    /// How the members lie.
    pub pattern: Pattern,
    /// Diameter of the ring in millimetres.
    pub pitch_circle_mm: Option<f64>,
    /// True if a failure can cost a life.
    pub life_critical: bool,
    /// What the group needs to count as done.
    pub identity: Identity,
    /// The parts were turned so that each fastener came to the hand.
    pub turned_to_reach: bool,
    /// A finished fastener must not be pulled again.
    pub no_recheck: bool,
    /// The thread tightens counter-clockwise.
    pub left_hand: bool,
    /// Where the values come from, in the author's words.
    pub source: Option<String>,
    /// Socket or bit.
    pub socket: Option<String>,
    /// Thread.
    pub thread: Option<String>,
    /// Thread condition the value was published for.
    pub condition: Option<String>,
    /// Notes of the plan.
    pub notes: Vec<String>,
    /// Groups that had to be finished first.
    pub after: Vec<String>,
    /// Names of holds before any pull of the step.
    pub holds: Vec<String>,
    /// The passes, in order.
    pub passes: Vec<PassReport>,
    /// Where the fasteners' positions come from, if that needs saying.
    pub position: Option<&'static str>,
    /// The fasteners, by member.
    pub fasteners: Vec<FastenerReport>,
}

/// One round at one target.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PassReport {
    /// Counted from 1.
    pub number: usize,
    /// What it is called.
    pub name: String,
    /// What was expected.
    pub expect: Expectation,
    /// The window, where there is one.
    pub window: Option<WindowReport>,
    /// Members in the order to be pulled.
    pub order: Vec<u16>,
    /// True if the order binds.
    pub ordered: bool,
    /// True if it only checks an earlier pass.
    pub check: bool,
    /// Names of holds for this pass alone.
    pub holds: Vec<String>,
}

/// What a pass expects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Expectation {
    /// A torque in its window.
    Window,
    /// No reading.
    ByHand,
    /// The operator's word: no figure is published.
    NoFigure,
    /// The value was never looked up.
    ToBeLookedUp,
}

/// A window, in the author's unit and in N·m, unrounded.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WindowReport {
    /// The author's unit.
    pub unit: TorqueUnit,
    /// Target in `unit`, as written.
    pub target: f64,
    /// Target, N·m.
    pub target_nm: f64,
    /// Lowest torque that counts, N·m.
    pub low_nm: f64,
    /// Highest torque allowed, N·m; null where only a minimum is published.
    pub high_nm: Option<f64>,
}

/// A fastener.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FastenerReport {
    /// `group/member`.
    pub name: String,
    /// 1..=n.
    pub member: u16,
    /// How it ended (*inferred*; for `stated`, *stated*).
    pub ending: Ending,
    /// The same in words.
    pub ending_words: &'static str,
    /// Its pulls, oldest first.
    pub pulls: Vec<Pull>,
    /// Pulls once taken for this fastener, and since taken for another.
    pub withdrawn: Vec<Withdrawn>,
}

/// One pull.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pull {
    /// What the adapter says.
    pub measured: Measured,
    /// What was concluded, oldest first; the last stands, the others were revised.
    pub inferred: Vec<Inferred>,
}

/// What an adapter says of a pull.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Measured {
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading.
    pub seq: u64,
    /// What identifies it; null if the reading itself is not among the entries.
    pub key: Option<ReadingKey>,
    /// When its peak was.
    pub at: Moment,
    /// How far `at` can be off, microseconds, if known.
    pub at_error_us: Option<u32>,
    /// The peak.
    pub peak_nm: f64,
    /// How far the drive turned, degrees.
    pub rotation_deg: Option<f64>,
    /// How long torque stood, milliseconds.
    pub duration_ms: Option<f64>,
}

/// What was concluded of a pull.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inferred {
    /// The step's name.
    pub step: Option<String>,
    /// The pass, from 1.
    pub pass: Option<u32>,
    /// The fastener's name.
    pub fastener: Option<String>,
    /// Probability that the pull belongs to that fastener, 0..=1.
    pub confidence: f64,
    /// The evidence.
    pub basis: Vec<Basis>,
    /// How the peak compares with the window.
    pub torque: TorqueVerdict,
    /// What the pull was.
    pub act: Act,
    /// It took the place of an earlier conclusion.
    pub revised: bool,
}

/// A pull that was taken for another fastener first.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Withdrawn {
    /// When its peak was.
    pub at: Moment,
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading.
    pub seq: u64,
    /// The fastener it is taken for now; null: none.
    pub now: Option<String>,
}

/// Something the operator said.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MarkReport {
    /// Number of the entry.
    pub entry: u64,
    /// When.
    pub at: Moment,
    /// By what means.
    pub origin: Origin,
    /// What kind: `at`, `confirm`, `stated`, `opened`, `skip`, `retract`, `note`.
    pub say: &'static str,
    /// The fastener meant, in its full form if the plan has it.
    pub fastener: Option<String>,
    /// The hold meant.
    pub hold: Option<String>,
    /// The reason or the note.
    pub text: Personal,
}

/// Something the operator was told.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WarningReport {
    /// Number of the entry.
    pub entry: u64,
    /// When.
    pub at: Moment,
    /// What kind.
    pub code: WarningCode,
    /// The fastener concerned.
    pub fastener: Option<String>,
    /// The adapter of the reading concerned.
    pub adapter: Option<String>,
    /// The reading concerned.
    pub seq: Option<u64>,
    /// What was said.
    pub text: String,
    /// It still bears on the result.
    pub counts: bool,
}

/// A time without a link.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LinkBreak {
    /// The adapter's short id.
    pub adapter: String,
    /// `lost`, or `asleep`, which is normal.
    pub state: LinkState,
    /// Since when.
    pub from: Moment,
    /// Until when data flowed again; null: not again.
    pub until: Option<Moment>,
    /// How long, seconds.
    pub seconds: Option<f64>,
}

/// Readings that are missing for good.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GapReport {
    /// When it was found.
    pub at: Moment,
    /// The adapter's short id.
    pub adapter: String,
    /// The adapter's boot.
    pub epoch: Option<u32>,
    /// First missing number.
    pub first: u64,
    /// Last missing number.
    pub last: u64,
}

/// A fact that belongs to no job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LooseFact {
    /// Number of the entry.
    pub entry: u64,
    /// When.
    pub at: Moment,
    /// In a sentence.
    pub text: String,
}

/// The journal's chain.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chain {
    /// How many entries.
    pub length: u64,
    /// Hash of the last, lower-case hexadecimal.
    pub head: String,
}

impl FastenerReport {
    /// The conclusion that stands for its last pull, with the pull.
    #[must_use]
    pub fn last_pull(&self) -> Option<(&Pull, &Inferred)> {
        self.pulls.iter().rev().find_map(|pull| Some((pull, pull.stands()?)))
    }
}

impl Pull {
    /// The conclusion that stands.
    #[must_use]
    pub fn stands(&self) -> Option<&Inferred> {
        self.inferred.last()
    }
}

impl StepReport {
    /// The window of a pass, counted from 1.
    #[must_use]
    pub fn window(&self, pass: Option<u32>) -> Option<&WindowReport> {
        let index = usize::try_from(pass?).ok()?.checked_sub(1)?;
        self.passes.get(index)?.window.as_ref()
    }

    /// The unit that the step's author used.
    #[must_use]
    pub fn unit(&self) -> TorqueUnit {
        self.passes
            .iter()
            .find_map(|pass| pass.window)
            .map_or(TorqueUnit::NewtonMetre, |window| window.unit)
    }
}
