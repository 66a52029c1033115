//! The lines of a recording as checked values.

use crate::core::event::{AdapterInfo, Given, LinkChange, Mark, Motion, Reading, Trace};
pub use crate::core::press::Press;
use crate::core::time::Stamp;

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
    /// A block of contiguous samples; none is missing.
    Trace {
        /// The adapter's short id.
        adapter: String,
        /// The samples.
        trace: Trace,
    },
    /// How far the tool moved between two readings.
    Motion {
        /// When it was known.
        at: Stamp,
        /// How far.
        motion: Motion,
    },
    /// The adapter's own button.
    Button(Button),
    /// What the operator said.
    Mark {
        /// When.
        at: Stamp,
        /// What.
        mark: Mark,
    },
    /// A value that the plan left to be looked up.
    Given {
        /// When.
        at: Stamp,
        /// Which.
        given: Given,
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
            | Self::Motion { at, .. }
            | Self::Mark { at, .. }
            | Self::Given { at, .. }
            | Self::Link { at, .. } => Some(*at),
            Self::Trace { trace, .. } => Some(trace.start),
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
