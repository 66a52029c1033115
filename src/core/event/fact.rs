//! What is kept.

use crate::core::certificate::Certificate;
use crate::core::event::{
    AdapterInfo, Described, Gap, Given, LinkChange, Mark, Motion, Reading, Summary, Trace, Verdict,
    Warning,
};
use crate::core::photo::Photo;
use crate::core::plan::Plan;
use crate::core::recheck::Due;
use crate::core::time::Stamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What identifies a reading for ever, or as well as its adapter allows.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
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
    /// A person typed it.
    Typed {
        /// Counted from 1 within the journal.
        number: u32,
    },
}

/// Number of a job within its journal, from 1.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
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
    /// A reading that came while no job was under way belongs to this one. It is told here once more, so
    /// that a job's entries are all there is to know of it.
    Claimed {
        /// Number of the entry that keeps the reading.
        entry: u64,
        /// What identifies it.
        key: ReadingKey,
        /// When its peak was, by our clock.
        at: Stamp,
        /// How far `at` can be off, in microseconds, if known.
        at_error_us: Option<u32>,
        /// The reading.
        reading: Reading,
    },
    /// What the trace shows of a reading. The samples themselves are kept beside the chain.
    Described {
        /// What identifies the reading.
        key: ReadingKey,
        /// When the reading's peak was, by our clock.
        at: Stamp,
        /// What the trace shows.
        described: Described,
    },
    /// The tool moved between two readings.
    Motion(Motion),
    /// The operator said something.
    Mark(Mark),
    /// A value was given that the plan left to be looked up.
    Given(Given),
    /// A photo was taken; the photo itself is kept beside the chain.
    Photo(Photo),
    /// A radio link changed.
    Link(LinkChange),
    /// Readings are missing for good.
    Gap(Gap),
    /// What was concluded of a pull.
    Verdict(Verdict),
    /// What the operator was told.
    Warning(Warning),
    /// The job was interrupted, to be gone on with later.
    JobParked {
        /// What was open, in plan order.
        open: Vec<String>,
    },
    /// The job is gone on with.
    JobResumed,
    /// The job pulls again what another one tightened.
    RecheckOf {
        /// The other job's number.
        job: JobId,
        /// Its name that is unique in the world.
        uuid: String,
    },
    /// What is to be pulled again after the job.
    RecheckDue {
        /// In plan order.
        due: Vec<Due>,
    },
    /// What an earlier entry says is not right; what is right stands beside the chain.
    Corrected {
        /// Number of that entry.
        entry: u64,
        /// What is corrected.
        field: PersonalField,
    },
    /// An adapter's calibration certificate was put on record.
    Certificate(Box<Certificate>),
    /// Personal texts of the entries before this one that belong to the same job (without a job: of loose
    /// ones) were erased.
    Erased {
        /// Which.
        fields: Vec<PersonalField>,
        /// How many.
        texts: u64,
    },
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
    /// Registration plate.
    Plate,
    /// Who works; beside what was said on a screen, that screen's name.
    Operator,
    /// Text of a note or a reason.
    Note,
    /// Samples of a pull, packed: how somebody moves is theirs.
    Trace,
    /// A photo, packed.
    Photo,
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

impl Entry {
    /// Personal text of this kind, unless there is none or it was erased.
    #[must_use]
    pub fn text(&self, field: PersonalField) -> Option<&str> {
        let (_, text) = self.personal.iter().find(|(kind, _)| *kind == field)?;
        text.as_deref()
    }

    /// The samples kept beside it.
    #[must_use]
    pub fn trace(&self) -> Option<Trace> {
        Trace::unpack(self.text(PersonalField::Trace)?)
    }
}
