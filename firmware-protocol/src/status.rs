//! Status: the heartbeat (L1).

use core::fmt;

use crate::battery::Battery;
use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::flags::flags;
use crate::key::{Epoch, Sequence, check_epoch};
use crate::octets::Octets;
use crate::reading::{join_version, split_version};
use crate::tick::Tick;
use crate::versioned::Versioned;

const MESSAGE: &str = "status";

mod field {
    use super::Field;

    pub(super) const EPOCH: Field = 0..2;
    pub(super) const TICK: Field = EPOCH.end..EPOCH.end + 4;
    pub(super) const NEWEST: Field = TICK.end..TICK.end + 4;
    pub(super) const LOWEST_HELD: Field = NEWEST.end..NEWEST.end + 4;
    pub(super) const HELD: Field = LOWEST_HELD.end..LOWEST_HELD.end + 2;
    pub(super) const BATTERY: Field = HELD.end..HELD.end + 1;
    pub(super) const STATE: Field = BATTERY.end..BATTERY.end + 1;
    pub(super) const FLAGS: Field = STATE.end..STATE.end + 2;
}

flags! {
    /// What else is to be known about the adapter: the lower 12 bits of the status's last field.
    StatusFlags(u16) {
        /// An overload was measured since the last good zero: the adapter is suspect.
        OVERLOAD = 0, "overload";
        /// Records of an epoch before the current one are held.
        OLDER_EPOCHS = 1, "older-epochs";
        /// Records were overwritten before they were released.
        RECORDS_LOST = 2, "records-lost";
        /// The memory is full: the next reading overwrites the oldest record.
        MEMORY_FULL = 3, "memory-full";
        /// Torque stands on the drive.
        UNDER_TORQUE = 4, "under-torque";
        /// The battery is being charged.
        CHARGING = 5, "charging";
        /// The adapter's calibration is past the date at which it is due.
        CALIBRATION_DUE = 6, "calibration-due";
    }
}

/// What the adapter is about to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum State {
    /// Measuring.
    Awake,
    /// Measuring, and about to end the link and sleep.
    AsleepSoon,
    /// Measuring, and open to a new host.
    Pairing,
    /// A state that this crate has no name for, 3 to 15.
    Other(u8),
}

impl State {
    const fn from_raw(raw: u8) -> Self {
        match raw & 0x0F {
            0 => Self::Awake,
            1 => Self::AsleepSoon,
            2 => Self::Pairing,
            other => Self::Other(other),
        }
    }

    const fn raw(self) -> u8 {
        match self {
            Self::Awake => 0,
            Self::AsleepSoon => 1,
            Self::Pairing => 2,
            Self::Other(raw) => raw & 0x0F,
        }
    }
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Awake => f.write_str("awake"),
            Self::AsleepSoon => f.write_str("asleep soon"),
            Self::Pairing => f.write_str("pairing"),
            Self::Other(raw) => write!(f, "state {raw}"),
        }
    }
}

/// What is known of the adapter's zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Zero {
    /// Not checked since the boot.
    Unchecked,
    /// Checked, and within the limit.
    Good,
    /// Found beyond the limit, or in doubt after an overload: to be zeroed with no load on the drive.
    Needed,
    /// Being taken now.
    InProgress,
    /// A state that this crate has no name for, 4 to 15.
    Other(u8),
}

impl Zero {
    const fn from_raw(raw: u8) -> Self {
        match raw >> 4 {
            0 => Self::Unchecked,
            1 => Self::Good,
            2 => Self::Needed,
            3 => Self::InProgress,
            other => Self::Other(other),
        }
    }

    const fn raw(self) -> u8 {
        let code = match self {
            Self::Unchecked => 0,
            Self::Good => 1,
            Self::Needed => 2,
            Self::InProgress => 3,
            Self::Other(raw) => raw,
        };
        code << 4
    }
}

impl fmt::Display for Zero {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unchecked => f.write_str("unchecked"),
            Self::Good => f.write_str("good"),
            Self::Needed => f.write_str("needed"),
            Self::InProgress => f.write_str("in progress"),
            Self::Other(raw) => write!(f, "zero state {raw}"),
        }
    }
}

/// The heartbeat: where the adapter stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Status {
    /// The current boot.
    pub epoch: Epoch,
    /// The adapter's time when the status was made.
    pub now: Tick,
    /// The newest reading of the current epoch, or `None` if none was made yet.
    pub newest: Option<Sequence>,
    /// The lowest reading of the current epoch that is still held, or `None` if none is.
    pub lowest_held: Option<Sequence>,
    /// The number of records held, of all epochs.
    pub held: u16,
    /// The battery's charge.
    pub battery: Battery,
    /// What the adapter is about to do.
    pub state: State,
    /// What is known of its zero.
    pub zero: Zero,
    /// What else is to be known.
    pub flags: StatusFlags,
}

impl Status {
    /// The octets of a status of this version.
    pub const LENGTH: usize = field::FLAGS.end;
    /// The version of the status, in the top four bits of its last field.
    pub const VERSION: u8 = 1;

    /// Reads a status.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 20 octets, or for more in a status of this version;
    /// [`Error::Value`] for an epoch of zero, for a battery charge of 101 to 254, or for a lowest
    /// held reading above the newest.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        let (version, flags) = split_version(view.u16(field::FLAGS));
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        Length::Exactly(Self::LENGTH).check(MESSAGE, octets)?;
        let newest = view.u32(field::NEWEST);
        let lowest_held = view.u32(field::LOWEST_HELD);
        if lowest_held > newest {
            return Err(Error::Value {
                message: MESSAGE,
                expected: "a lowest held sequence number no higher than the newest",
                found: lowest_held.into(),
            });
        }
        let state = view.u8(field::STATE);
        Ok(Versioned::Known(Self {
            epoch: check_epoch(MESSAGE, view.u16(field::EPOCH))?,
            now: Tick(view.u32(field::TICK)),
            newest: Sequence::new(newest),
            lowest_held: Sequence::new(lowest_held),
            held: view.u16(field::HELD),
            battery: Battery::from_raw(MESSAGE, view.u8(field::BATTERY))?,
            state: State::from_raw(state),
            zero: Zero::from_raw(state),
            flags: StatusFlags(flags),
        }))
    }

    /// The octets of the status.
    #[must_use]
    pub fn emit(&self) -> Octets {
        let number = |sequence: Option<Sequence>| sequence.map_or(0, Sequence::get).to_le_bytes();
        Octets::new()
            .with(&self.epoch.get().to_le_bytes())
            .with(&self.now.0.to_le_bytes())
            .with(&number(self.newest))
            .with(&number(self.lowest_held))
            .with(&self.held.to_le_bytes())
            .with(&[self.battery.raw(), self.state.raw() | self.zero.raw()])
            .with(&join_version(Self::VERSION, self.flags.bits()).to_le_bytes())
    }
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = |sequence: Option<Sequence>| sequence.map_or(0, Sequence::get);
        write!(
            f,
            "status epoch {}, now {}, newest {}, lowest held {}, held {}, battery {}, state {}, zero {}, flags {}",
            self.epoch,
            self.now,
            number(self.newest),
            number(self.lowest_held),
            self.held,
            self.battery,
            self.state,
            self.zero,
            self.flags
        )
    }
}
