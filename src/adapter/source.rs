//! What every source of readings has in common: what it says, what it is told, how it is ended.

use crate::adapter::Clock;
use crate::adapter::trouble::Trouble;
use crate::core::command::{AdapterAsk, Done, Refusal};
use crate::core::event::{
    AdapterInfo, Described, Gap, LinkChange, Mark, Motion, Reading, ReadingKey, Trace,
};
use crate::core::guide::{Aim, Cue};
use crate::core::live::LinkHealth;
use crate::core::press::Press;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use tokio::sync::{mpsc, oneshot, watch};

/// What a source says.
#[derive(Debug, Clone, PartialEq)]
pub enum SourceEvent {
    /// An adapter and what it can tell; again when its abilities changed.
    Adapter {
        /// When it was known.
        at: Stamp,
        /// The adapter.
        info: AdapterInfo,
    },
    /// A reading, each key once (as far as the adapter numbers its readings).
    Reading {
        /// What identifies it.
        key: ReadingKey,
        /// Time of its peak.
        at: Stamp,
        /// How far `at` can be off, in microseconds, if known.
        at_error_us: Option<u32>,
        /// The reading.
        reading: Reading,
        /// The octets it came from, if it came from a wire.
        raw: Option<Vec<u8>>,
    },
    /// What the trace shows of a reading that was said before.
    Described {
        /// What identifies the reading.
        key: ReadingKey,
        /// Time of the reading's peak.
        at: Stamp,
        /// What its trace shows.
        described: Described,
        /// The samples.
        trace: Option<Trace>,
    },
    /// The tool moved between two readings.
    Motion {
        /// When it was known.
        at: Stamp,
        /// From which to which, and how far.
        motion: Motion,
    },
    /// Torque on the drive now: for a screen only, never for a verdict.
    Live {
        /// When.
        at: Stamp,
        /// The adapter's short id.
        adapter: String,
        /// The torque, signed.
        torque: Torque,
    },
    /// The adapter's own button was pressed.
    Press {
        /// When.
        at: Stamp,
        /// The adapter's short id.
        adapter: String,
        /// How.
        press: Press,
    },
    /// The operator said something.
    Mark {
        /// When.
        at: Stamp,
        /// What.
        mark: Mark,
    },
    /// The radio link changed.
    Link {
        /// When.
        at: Stamp,
        /// What became of it.
        change: LinkChange,
    },
    /// Readings are missing for good.
    Gap {
        /// When that was certain.
        at: Stamp,
        /// Which.
        gap: Gap,
    },
    /// How the link is: for a screen, never for a verdict.
    Health(Box<LinkHealth>),
    /// Something that the operator should know or do; the source goes on by itself.
    Trouble {
        /// When.
        at: Stamp,
        /// What.
        trouble: Trouble,
    },
    /// Nothing more will come. A radio never says so before it is shut down.
    Ended,
}

/// What a source is told: the reading of this key is committed, the adapter may forget it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stored {
    /// The reading's key.
    pub key: ReadingKey,
}

/// Something asked of an adapter while its source runs.
#[derive(Debug)]
pub struct Errand {
    /// What.
    pub ask: AdapterAsk,
    /// Where the answer goes. Whoever asked may have gone.
    pub answer: oneshot::Sender<Result<Done, Refusal>>,
}

/// How an adapter is to guide the hand. Only the newest of these counts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Guidance {
    /// What its next pull should reach; none if nothing is asked of it.
    pub aim: Option<Aim>,
    /// What it is to show or sound once, and how many cues there were up to this one.
    pub cue: Option<(u64, Cue)>,
}

/// What a source needs of the world.
pub struct SourceIo {
    /// Where it says things. Bounded: a source waits rather than drop anything.
    pub events: mpsc::Sender<SourceEvent>,
    /// What is committed. A source reads it whenever it can and never makes the sender wait long.
    pub stored: mpsc::Receiver<Stored>,
    /// What is asked of the adapter itself.
    pub errands: mpsc::Receiver<Errand>,
    /// How its adapter is to guide the hand. A source without such an adapter leaves it alone.
    pub guidance: watch::Receiver<Guidance>,
    /// Ends the source.
    pub shutdown: Shutdown,
    /// The present moment.
    pub clock: Clock,
    /// What is committed already.
    pub known: Known,
}

/// What was committed before a source is started, so that what is missing in it can be told. May be
/// empty; then nothing from before the first link is called missing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Known {
    /// Keys of readings.
    pub keys: Vec<ReadingKey>,
    /// Gaps, with the adapter's serial number as its id.
    pub gaps: Vec<Gap>,
}

/// The sending half of [`Shutdown`]. Dropping it is a shutdown too.
#[derive(Debug)]
pub struct ShutdownTrigger(watch::Sender<bool>);

/// A wish to end that any number of tasks can wait for.
#[derive(Debug, Clone)]
pub struct Shutdown(watch::Receiver<bool>);

impl ShutdownTrigger {
    /// A trigger and what it ends.
    #[must_use]
    pub fn new() -> (Self, Shutdown) {
        let (sender, receiver) = watch::channel(false);
        (Self(sender), Shutdown(receiver))
    }

    /// Ends whatever waits for it.
    pub fn shut_down(&self) {
        self.0.send_replace(true);
    }
}

impl Shutdown {
    /// Returns once the shutdown is wished.
    pub async fn wished(&mut self) {
        // A dropped trigger is an error here and means the same.
        let _ = self.0.wait_for(|wished| *wished).await;
    }

    /// Whether the shutdown is wished already.
    #[must_use]
    pub fn is_wished(&self) -> bool {
        *self.0.borrow() || self.0.has_changed().is_err()
    }
}
