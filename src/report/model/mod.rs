//! The document. Its JSON form is these structs, field by field; names are stable and only added to.
//!
//! Torque is in N·m, signed (clockwise positive), unless a field names another unit. Limits are
//! magnitudes in the direction of tightening. Sentences are in English there; pages say them in the language
//! of their reader.

mod step;

use crate::core::event::{LinkState, Origin, Reports, WarningCode};
use crate::core::plan::Cure;
use crate::report::moment::Moment;
use crate::report::words::Saying;
use serde::Serialize;
pub use step::{
    Certified, Expectation, FastenerReport, Inferred, Measured, PassReport, Pull, StepReport,
    WindowReport, Withdrawn,
};
use utoipa::ToSchema;

/// Everything that is known of one job.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Report {
    /// What stands out: what is open first.
    pub outcome: Outcome,
    /// Texts about people and their vehicles were left out.
    pub redacted: bool,
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
    /// Photos of the work, oldest first (*stated*).
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(required = false)]
    pub photos: Vec<PhotoReport>,
    /// What was corrected later, oldest first (*stated*).
    pub corrections: Vec<CorrectionReport>,
    /// Warnings, oldest first (*inferred*).
    pub warnings: Vec<WarningReport>,
    /// Times without a link.
    pub link_breaks: Vec<LinkBreak>,
    /// What is to be pulled again after the job.
    pub rechecks: Vec<RecheckReport>,
    /// Times in which the job was parked.
    pub pauses: Vec<Pause>,
    /// Readings known to be missing for good.
    pub gaps: Vec<GapReport>,
    /// Facts recorded while the job ran that belong to no job.
    pub loose: Vec<LooseFact>,
    /// How a pull is judged, in a sentence.
    #[schema(value_type = String)]
    pub decision_rule: Saying,
    /// What could not be known, in sentences.
    #[schema(value_type = Vec<String>)]
    pub not_known: Vec<Saying>,
    /// What to bear in mind, in sentences.
    #[schema(value_type = Vec<String>)]
    pub cautions: Vec<Saying>,
    /// When the report was made.
    pub printed_at: Moment,
    /// The program that made it.
    pub software_version: String,
    /// The journal's chain when the report was made.
    pub chain: Chain,
}

/// What stands out.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Outcome {
    /// One line.
    #[schema(value_type = String)]
    pub headline: Saying,
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
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct OpenReport {
    /// Its name.
    pub fastener: String,
    /// Its step's title, if the plan gives one.
    pub title: Option<String>,
    /// True if a failure can cost a life.
    pub life_critical: bool,
    /// True if that is so, and it is open: whatever a recheck has not come to is as it was driven.
    pub do_not_move: bool,
    /// What is known about why, in sentences.
    #[schema(value_type = Vec<String>)]
    pub because: Vec<Saying>,
}

/// Text about a person or their vehicle, which can be erased.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[serde(tag = "state", content = "text", rename_all = "kebab-case")]
pub enum Personal {
    /// Never entered.
    NotGiven,
    /// As entered.
    Given(String),
    /// Entered, and erased since.
    Removed,
    /// Entered, and left out of this report.
    LeftOut,
}

impl Personal {
    fn is_not_given(&self) -> bool {
        *self == Self::NotGiven
    }
}

/// The job.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
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
    /// The job whose fasteners this one pulled again.
    pub recheck_of: Option<RecheckOf>,
}

/// The job whose fasteners this one pulled again.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RecheckOf {
    /// Number within its journal.
    pub number: u32,
    /// Unique in the world.
    pub uuid: String,
}

/// What is to be pulled again after the job.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RecheckReport {
    /// The group.
    pub group: String,
    /// After so many kilometres, if a distance is set.
    pub km: Option<f64>,
    /// By then, if a time is set.
    pub by: Option<Moment>,
    /// Where no time is set: a day to remember it by, of the program's own; not there otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reminder: Option<Moment>,
    /// False: the plan says nothing, and this is what is usual for a wheel.
    pub in_plan: bool,
}

/// What the job was done on.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct VehicleReport {
    /// Free text.
    pub text: Personal,
    /// Vehicle identification number.
    pub vin: Personal,
    /// Registration plate; not there if none was ever given, as in reports made before plates were known.
    #[serde(skip_serializing_if = "Personal::is_not_given")]
    pub plate: Personal,
}

/// What was asked for.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct PlanReport {
    /// Its name.
    pub name: String,
    /// SHA-256 of the plan file's octets, lower-case hexadecimal.
    pub sha256: String,
    /// True if the steps had to be done in the order listed.
    pub in_order: bool,
}

/// An adapter that took part.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
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
    pub certificate: Option<CertificateReport>,
    /// What it can tell.
    pub reports: Reports,
    /// It numbers its readings; null if it made none.
    pub numbers_readings: Option<bool>,
    /// How many readings it made in this job.
    pub readings: usize,
}

/// A calibration certificate, as the laboratory wrote it.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct CertificateReport {
    /// Number of the certificate.
    pub number: String,
    /// The method, in the laboratory's words.
    pub method: String,
    /// Who calibrated the adapter.
    pub laboratory: String,
    /// When.
    pub date: String,
    /// When it should be calibrated again.
    pub due: String,
    /// How it stands to the day on which the job was started.
    pub standing: CertificateStanding,
    /// Smallest and largest torque that was calibrated, N·m.
    pub range_nm: [f64; 2],
    /// `clockwise`, `counter-clockwise`.
    pub directions: Vec<&'static str>,
    /// Step of what it shows, N·m; not there where the certificate does not state it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub resolution_nm: Option<f64>,
    /// What was found, by rising torque.
    pub points: Vec<PointReport>,
}

/// What was found at one torque.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct PointReport {
    /// The torque, N·m.
    pub torque_nm: f64,
    /// How much more than that the adapter told, N·m.
    pub error_nm: f64,
    /// Expanded uncertainty of that (k = 2), N·m.
    pub uncertainty_nm: f64,
}

/// How a certificate stands to the day on which a job was started.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum CertificateStanding {
    /// Calibrated before, and not due yet.
    Valid,
    /// Due before.
    Overdue,
    /// Calibrated only later.
    Later,
}

/// What an earlier entry says is not right.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct CorrectionReport {
    /// Number of the entry that says so.
    pub entry: u64,
    /// When.
    pub at: Moment,
    /// Number of the entry that is corrected.
    pub corrects: u64,
    /// What: `vehicle`, `vin`, `plate`, `operator` or `note`.
    pub field: &'static str,
    /// What was said before; null for a note.
    pub before: Option<Personal>,
    /// What is right (*stated*).
    pub text: Personal,
}

/// A condition.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct HoldReport {
    /// Its name.
    pub name: String,
    /// What the operator was asked.
    pub text: String,
    /// The program asked it so, in English; otherwise it is the plan's own text.
    #[serde(skip)]
    pub in_english: bool,
    /// What puts right a pull that came too early; none where it holds up no pull, but the closing of the job.
    pub cure: Option<Cure>,
    /// Confirmed?
    pub confirmed: bool,
    /// When it was last confirmed.
    pub confirmed_at: Option<Moment>,
    /// By what means.
    pub origin: Option<Origin>,
}

/// Something the operator said.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct MarkReport {
    /// Number of the entry.
    pub entry: u64,
    /// When.
    pub at: Moment,
    /// By what means.
    pub origin: Origin,
    /// What kind: `at`, `confirm`, `stated`, `opened`, `low`, `skip`, `retract`, `note`, `value`.
    pub say: &'static str,
    /// The fastener meant, in its full form if the plan has it.
    pub fastener: Option<String>,
    /// The hold meant.
    pub hold: Option<String>,
    /// The reason, the note or the value.
    pub text: Personal,
    /// Name of the screen that it was said on (*stated*); none if it was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<Personal>,
}

/// A photo of the work.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct PhotoReport {
    /// Number of the entry.
    pub entry: u64,
    /// When it was kept.
    pub at: Moment,
    /// A fastener, a joint, or something that was noted as found.
    pub about: String,
    /// Its media type.
    pub media_type: &'static str,
    /// Its size, octets.
    pub octets: u32,
    /// Name of the screen that it came from (*stated*); none if it was none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<Personal>,
    /// `given`, `removed` or `left-out`: whether the photo is still there. The photo itself is in the journal and on
    /// the page.
    pub state: &'static str,
    /// The photo, packed.
    #[serde(skip)]
    pub packed: Personal,
}

impl PhotoReport {
    /// Takes the photo away.
    pub(crate) fn leave_out(&mut self) {
        if matches!(self.packed, Personal::Given(_)) {
            self.packed = Personal::LeftOut;
            self.state = "left-out";
        }
    }
}

/// Something the operator was told.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
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
    /// What put it right, where that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub put_right: Option<PutRight>,
}

/// What put right what a warning told of: a pull, or what the operator said.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct PutRight {
    /// When.
    pub at: Moment,
    /// The adapter of the pull (*inferred*: by what is concluded of it); null if it was no pull.
    pub adapter: Option<String>,
    /// Number of the pull.
    pub seq: Option<u64>,
    /// Number of the entry of what was said (*stated*); null if it was a pull.
    pub entry: Option<u64>,
}

/// A time without a link.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
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

/// A time in which the job was parked.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Pause {
    /// Since when.
    pub from: Moment,
    /// Until when; null: not resumed.
    pub until: Option<Moment>,
    /// What was open, in plan order.
    pub open: Vec<String>,
}

/// Readings that are missing for good.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
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
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct LooseFact {
    /// Number of the entry.
    pub entry: u64,
    /// When.
    pub at: Moment,
    /// In a sentence.
    #[schema(value_type = String)]
    pub text: Saying,
}

/// The journal's chain.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Chain {
    /// How many entries.
    pub length: u64,
    /// Hash of the last, lower-case hexadecimal.
    pub head: String,
}
