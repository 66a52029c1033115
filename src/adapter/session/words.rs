//! What a session hears from an adapter and what it wants done, free of octets.

use crate::adapter::source::SourceEvent;
use crate::core::event::{AdapterInfo, Moved};
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// What came from the adapter, or became of the link to it.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// The link is up, the adapter is the right one, and its notifications are turned on.
    Connected(AdapterInfo),
    /// A reading, as it was made or out of the adapter's memory.
    Record(Record),
    /// A reading whose key can be told, but nothing else.
    Unreadable {
        /// Its epoch.
        epoch: u32,
        /// Its number.
        sequence: u32,
    },
    /// How the tool moved between two readings.
    Motion(Move),
    /// A message that cannot be read at all.
    Garbled,
    /// The adapter's status.
    Beat(Beat),
    /// The answer to [`Order::Report`] or [`Order::Release`].
    Answer(Answer),
    /// The link is down.
    Disconnected,
}

/// One reading as the adapter keeps it.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// The adapter's boot.
    pub epoch: u32,
    /// The number within that boot, from 1.
    pub sequence: u32,
    /// When the peak was.
    pub when: When,
    /// The peak, signed.
    pub peak: Torque,
    /// How far the drive turned, degrees.
    pub rotation_deg: Option<f64>,
    /// How long torque stood, milliseconds.
    pub duration_ms: Option<f64>,
    /// The octets it came from.
    pub raw: Option<Vec<u8>>,
}

/// How the tool moved between two readings of one boot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Move {
    /// The adapter's boot.
    pub epoch: u32,
    /// The number of the earlier reading.
    pub from: u32,
    /// The number of the later reading.
    pub to: u32,
    /// How far.
    pub moved: Moved,
    /// One standard deviation an axis, millimetres.
    pub sd_mm: f64,
}

/// When a peak was.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// In ticks of 10 ms since the adapter's boot.
    Tick(u32),
    /// In our own time.
    At(Stamp),
}

/// What the status says, as far as a session needs it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Beat {
    /// True if it answers [`Order::ReadStatus`].
    pub asked: bool,
    /// The current boot.
    pub epoch: u32,
    /// The adapter's present tick; none if its times are ours already.
    pub tick: Option<u32>,
    /// Number of its newest reading, 0 for none.
    pub newest: u32,
    /// Records of earlier boots are held.
    pub older_epochs: bool,
    /// The adapter is about to end the link and sleep.
    pub asleep_soon: bool,
}

/// How an order ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// Done.
    Done,
    /// No record fits.
    NoneFound,
    /// Not now.
    Busy,
    /// Never.
    Refused(String),
}

/// What the adapter is to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Tell the status.
    ReadStatus,
    /// Send records.
    Report(Wanted),
    /// Forget the records of an epoch up to a number: they are committed here.
    Release {
        /// The epoch.
        epoch: u32,
        /// The highest number to forget.
        up_to: u32,
    },
}

/// Which records are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// All that are held, of every epoch.
    All,
    /// Those of an epoch from a number on.
    From {
        /// The epoch.
        epoch: u32,
        /// The lowest number wanted.
        sequence: u32,
    },
    /// Those of an epoch from one number to another, both included.
    Range {
        /// The epoch.
        epoch: u32,
        /// The lowest number wanted.
        first: u32,
        /// The highest number wanted.
        last: u32,
    },
}

/// What a session wants done, in this order.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Tell the adapter.
    Order(Order),
    /// Tell the rest of the program.
    Event(SourceEvent),
    /// End the link and build it anew.
    TearDown(Reason),
}

/// Why a link has to be built anew.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// The adapter's status did not come twice in a row.
    Silent,
    /// An order was not answered.
    Unanswered,
    /// The adapter says that it sent records, but none arrived.
    NotFlowing,
}
