//! Reading record: one pull, reduced to its peak (L1).

use core::fmt;

use crate::duration::Duration;
use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::flags::flags;
use crate::key::Key;
use crate::octets::Octets;
use crate::rotation::Rotation;
use crate::tick::Tick;
use crate::torque::Torque;
use crate::versioned::Versioned;

const MESSAGE: &str = "reading record";

mod field {
    use super::Field;

    pub(super) const EPOCH: Field = 0..2;
    pub(super) const SEQUENCE: Field = EPOCH.end..EPOCH.end + 4;
    pub(super) const TICK: Field = SEQUENCE.end..SEQUENCE.end + 4;
    pub(super) const PEAK: Field = TICK.end..TICK.end + 4;
    pub(super) const ROTATION: Field = PEAK.end..PEAK.end + 2;
    pub(super) const DURATION: Field = ROTATION.end..ROTATION.end + 2;
    pub(super) const FLAGS: Field = DURATION.end..DURATION.end + 2;
}

flags! {
    /// What else is to be known about a reading: the lower 12 bits of the record's last field.
    ReadingFlags(u16) {
        /// The torque went beyond what the sensor can tell: the true peak is higher than given.
        CLIPPED = 0, "clipped";
        /// The torque went beyond the adapter's overload limit.
        OVERLOAD = 1, "overload";
        /// The zero has not been checked since the boot, or since an overload.
        ZERO_UNCHECKED = 2, "zero-unchecked";
        /// The record may not cover the whole pull: it had begun before the adapter was measuring,
        /// or was cut short.
        INCOMPLETE = 3, "incomplete";
        /// The rotation went beyond what its sensor can tell, and is not to be relied on.
        ROTATION_UNSURE = 4, "rotation-unsure";
        /// The battery was too low for the stated accuracy.
        SUPPLY_LOW = 5, "supply-low";
    }
}

/// One pull, as the adapter keeps and tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Reading {
    /// Epoch and sequence number.
    pub key: Key,
    /// When the peak was reached.
    pub at: Tick,
    /// The peak: the torque of largest size, with its sign.
    pub peak: Torque,
    /// How far the drive turned while the torque stood above 10 % of the peak.
    pub rotation: Rotation,
    /// How long the torque stood above 10 % of the peak.
    pub duration: Duration,
    /// What else is to be known.
    pub flags: ReadingFlags,
}

impl Reading {
    /// The octets of a record of this version.
    pub const LENGTH: usize = field::FLAGS.end;
    /// The version of the record, in the top four bits of its last field.
    pub const VERSION: u8 = 1;

    /// Reads a record.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 20 octets, or for more in a record of this version;
    /// [`Error::Value`] for an epoch or a sequence number of zero, in any version.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        let key = Self::key_in(octets)?;
        let (version, flags) = split_version(view.u16(field::FLAGS));
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        Length::Exactly(Self::LENGTH).check(MESSAGE, octets)?;
        Ok(Versioned::Known(Self {
            key,
            at: Tick(view.u32(field::TICK)),
            peak: Torque::from_centinewton_metres(view.i32(field::PEAK)),
            rotation: Rotation::from_raw(view.i16(field::ROTATION)),
            duration: Duration::from_raw(view.u16(field::DURATION)),
            flags: ReadingFlags(flags),
        }))
    }

    /// The key of a record of any version, known or not: it stands at the same place in all.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 6 octets, [`Error::Value`] for a zero.
    pub fn key_in(octets: &[u8]) -> Result<Key, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(field::SEQUENCE.end), octets)?;
        Key::check(MESSAGE, view.u16(field::EPOCH), view.u32(field::SEQUENCE))
    }

    /// The octets of the record.
    #[must_use]
    pub fn emit(&self) -> Octets {
        Octets::new()
            .with(&self.key.epoch.get().to_le_bytes())
            .with(&self.key.sequence.get().to_le_bytes())
            .with(&self.at.0.to_le_bytes())
            .with(&self.peak.raw().to_le_bytes())
            .with(&self.rotation.raw().to_le_bytes())
            .with(&self.duration.raw().to_le_bytes())
            .with(&join_version(Self::VERSION, self.flags.bits()).to_le_bytes())
    }
}

/// The version in the top four bits of a field of flags, and the flags without it.
pub(crate) const fn split_version(field: u16) -> (u8, u16) {
    ((field >> 12) as u8, field & 0x0FFF)
}

/// A field of flags with the version in its top four bits.
pub(crate) const fn join_version(version: u8, flags: u16) -> u16 {
    ((version as u16) << 12) | (flags & 0x0FFF)
}

impl fmt::Display for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "reading {}, at {}, peak {}, rotation {}, duration {}, flags {}",
            self.key, self.at, self.peak, self.rotation, self.duration, self.flags
        )
    }
}
