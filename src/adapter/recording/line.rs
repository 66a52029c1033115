//! The lines of a recording as checked values.

use crate::core::event::{self, AdapterInfo, LinkChange, Mark, Reading};
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// One usable line.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its number in the file, from 1.
    pub number: u64,
    /// What it says.
    pub item: Item,
}

/// What a line says. Stamps count from the start of the recording.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// When the recording started.
    Header(Header),
    /// An adapter and what it can tell.
    Adapter {
        /// When it was first seen.
        at: Stamp,
        /// The adapter.
        info: AdapterInfo,
    },
    /// One pull, reduced by the adapter to its peak.
    Reading {
        /// Time of the peak.
        at: Stamp,
        /// The reading.
        reading: Reading,
    },
    /// A block of contiguous samples.
    Trace(Trace),
    /// How far the tool moved between two readings.
    Motion(Motion),
    /// The adapter's own button.
    Button(Button),
    /// What the operator said.
    Mark {
        /// When.
        at: Stamp,
        /// What.
        mark: Mark,
    },
    /// The radio link.
    Link {
        /// When.
        at: Stamp,
        /// What became of it.
        change: LinkChange,
    },
}

impl Item {
    /// When it happened; a header has no time of its own.
    #[must_use]
    pub fn at(&self) -> Option<Stamp> {
        match self {
            Self::Header(_) => None,
            Self::Adapter { at, .. }
            | Self::Reading { at, .. }
            | Self::Mark { at, .. }
            | Self::Link { at, .. } => Some(*at),
            Self::Trace(trace) => Some(trace.at),
            Self::Motion(motion) => Some(motion.at),
            Self::Button(button) => Some(button.at),
        }
    }
}

/// The first line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Header {
    /// When the recording started.
    pub started: jiff::Timestamp,
}

/// A block of contiguous samples of one adapter.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Time of the first sample.
    pub at: Stamp,
    /// The adapter's short id.
    pub adapter: String,
    /// Samples a second.
    pub rate_hz: f64,
    /// The samples, signed.
    pub torque: Vec<Torque>,
    /// Rotation in degrees, cumulative within the block; as many as there are samples.
    pub deg: Option<Vec<f64>>,
}

impl Trace {
    /// The samples alone.
    #[must_use]
    pub fn samples(&self) -> event::Trace {
        event::Trace {
            start: self.at,
            rate_hz: self.rate_hz,
            torque: self.torque.clone(),
            turned_deg: self.deg.clone(),
        }
    }

    /// Time of the sample at `index`.
    #[must_use]
    pub fn time_of(&self, index: usize) -> Stamp {
        self.at + index as f64 / self.rate_hz
    }
}

/// How far the tool head moved between two readings of one adapter.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// When it was known.
    pub at: Stamp,
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading it moved from.
    pub from_seq: u64,
    /// Number of the reading it moved to.
    pub to_seq: u64,
    /// How far.
    pub moved: event::Moved,
    /// One standard deviation per axis, millimetres.
    pub sd_mm: f64,
}

/// A press of the adapter's own button.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Button {
    /// When.
    pub at: Stamp,
    /// The adapter's short id.
    pub adapter: String,
    /// How.
    pub press: Press,
}

/// How a button was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Press {
    /// Once, and let go at once.
    Short,
    /// Held.
    Long,
    /// Twice in a row.
    Double,
}
