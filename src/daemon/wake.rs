//! What the engine is told, and what it wants done.

use crate::core::command::{Command, Done, Refusal};
use crate::core::event::{
    AdapterInfo, Conclusion, Described, Gap, LinkChange, Mark, Motion, Reading, ReadingKey, Say,
    Trace,
};
use crate::core::guide::Cue;
use crate::core::press::Press;
use crate::core::snapshot::Next;
use crate::core::time::Stamp;

/// What the engine is woken by, each with a time.
#[derive(Debug, Clone, PartialEq)]
pub enum Wake {
    /// Something came from an adapter; for a reading the present moment, else when it happened.
    Heard(Stamp, Heard),
    /// Somebody asks for something, on the screen of this name, if it is one.
    Asked(Stamp, Command, Option<String>),
    /// The moment has come that the tracker waited for.
    Tick(Stamp),
}

/// What comes from adapters.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// An adapter and what it can tell.
    Adapter(AdapterInfo),
    /// A pull.
    Reading(HeardReading),
    /// What the trace shows of a pull that was heard.
    Described(HeardDescription),
    /// The tool moved between two pulls.
    Motion(Motion),
    /// A link changed.
    Link(LinkChange),
    /// Readings are missing for good.
    Gap(Gap),
    /// The adapter's button was pressed.
    Press(Press),
    /// The operator spoke in a recording.
    Mark(Mark),
}

/// A pull as it arrived.
#[derive(Debug, Clone, PartialEq)]
pub struct HeardReading {
    /// What identifies it.
    pub key: ReadingKey,
    /// When its peak was, by our clock.
    pub at: Stamp,
    /// How far `at` can be off, in microseconds, if known.
    pub at_error_us: Option<u32>,
    /// The reading.
    pub reading: Reading,
    /// The octets it came from.
    pub raw: Option<Vec<u8>>,
}

/// What the trace shows of a pull, as it was found.
#[derive(Debug, Clone, PartialEq)]
pub struct HeardDescription {
    /// What identifies the reading.
    pub key: ReadingKey,
    /// When the reading's peak was, by our clock.
    pub at: Stamp,
    /// What the trace shows.
    pub described: Described,
    /// The samples.
    pub trace: Option<Trace>,
}

/// What the engine wants done.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// What was heard is on the disk (or needs no keeping): its adapter may forget it.
    Kept,
    /// What was heard could not be kept: hear it again later.
    NotKept(String),
    /// What was heard can never be kept, and why.
    Refused(String),
    /// A reading came again.
    Again(ReadingKey),
    /// A reading was kept that belongs to no job.
    Loose(Reading),
    /// What the operator said was kept.
    Marked(Stamp, Say),
    /// Something was concluded, and kept.
    Concluded(Conclusion),
    /// The operator asked what is next.
    Help(Stamp, Option<Next>),
    /// The operator answered, and nothing is asked; told once until something else happens.
    NothingAsked(Stamp),
    /// The adapter of this serial number is to give a cue.
    Cue(String, Cue),
    /// The answer to a command.
    Answer(Result<Done, Refusal>),
    /// Wake the engine with a tick then.
    WakeAt(Stamp),
    /// Something that the operator of the machine should know.
    Trouble(String),
}
