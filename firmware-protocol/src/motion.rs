//! Motion: how far the tool head moved between two readings (L3).

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::key::{Epoch, Sequence, check_epoch, check_sequence};
use crate::octets::Octets;
use crate::reading::{join_version, split_version};
use crate::versioned::Versioned;

const MESSAGE: &str = "motion";
const DISTANCE: u16 = 1;

mod field {
    use super::Field;

    pub(super) const EPOCH: Field = 0..2;
    pub(super) const FROM: Field = EPOCH.end..EPOCH.end + 4;
    pub(super) const TO: Field = FROM.end..FROM.end + 4;
    pub(super) const RIGHT: Field = TO.end..TO.end + 2;
    pub(super) const UP: Field = RIGHT.end..RIGHT.end + 2;
    pub(super) const DEVIATION: Field = UP.end..UP.end + 2;
    pub(super) const FLAGS: Field = DEVIATION.end..DEVIATION.end + 2;
}

/// How far, in the plane square to the drive, as seen by the operator who faces the joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Travel {
    /// With its direction.
    Vector {
        /// Millimetres to the right.
        right: i16,
        /// Millimetres up, against gravity.
        up: i16,
    },
    /// Without a direction.
    Distance {
        /// Millimetres.
        distance: u16,
    },
}

/// How far the tool head moved between the peaks of two readings of one epoch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Motion {
    /// The epoch of both readings.
    pub epoch: Epoch,
    /// The earlier reading.
    pub from: Sequence,
    /// The later reading.
    pub to: Sequence,
    /// How far.
    pub travel: Travel,
    /// One standard deviation of each axis, or of the distance, in steps of 0.1 mm.
    pub deviation: u16,
}

impl Motion {
    /// The octets of a motion of this version.
    pub const LENGTH: usize = field::FLAGS.end;
    /// The version, in the top four bits of the last field.
    pub const VERSION: u8 = 1;

    /// Reads a motion.
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for fewer than 18 octets, or for more in this version; [`Error::Value`] for
    /// an epoch or a sequence number of zero, for readings that are not in order, for a second axis
    /// beside a distance, or for a flag that this version does not have.
    pub fn parse(octets: &[u8]) -> Result<Versioned<'_, Self>, Error> {
        let view = View::new(MESSAGE, Length::AtLeast(Self::LENGTH), octets)?;
        let (version, flags) = split_version(view.u16(field::FLAGS));
        if version != Self::VERSION {
            return Ok(Versioned::Unknown { version, octets });
        }
        Length::Exactly(Self::LENGTH).check(MESSAGE, octets)?;
        let refuse = |expected, found| Err(Error::Value { message: MESSAGE, expected, found });
        let epoch = check_epoch(MESSAGE, view.u16(field::EPOCH))?;
        let from = check_sequence(MESSAGE, view.u32(field::FROM))?;
        let to = check_sequence(MESSAGE, view.u32(field::TO))?;
        if from >= to {
            return refuse("a later reading after the earlier one", to.get().into());
        }
        let up = view.i16(field::UP);
        let travel = match flags {
            0 => Travel::Vector { right: view.i16(field::RIGHT), up },
            DISTANCE if up == 0 => Travel::Distance { distance: view.u16(field::RIGHT) },
            DISTANCE => return refuse("zero in the second axis beside a distance", up.into()),
            _ => return refuse("the flags 0 (vector) or 1 (distance)", flags.into()),
        };
        Ok(Versioned::Known(Self {
            epoch,
            from,
            to,
            travel,
            deviation: view.u16(field::DEVIATION),
        }))
    }

    /// The octets of the motion.
    #[must_use]
    pub fn emit(&self) -> Octets {
        let (right, up, flags) = match self.travel {
            Travel::Vector { right, up } => (right.to_le_bytes(), up, 0),
            Travel::Distance { distance } => (distance.to_le_bytes(), 0, DISTANCE),
        };
        Octets::new()
            .with(&self.epoch.get().to_le_bytes())
            .with(&self.from.get().to_le_bytes())
            .with(&self.to.get().to_le_bytes())
            .with(&right)
            .with(&up.to_le_bytes())
            .with(&self.deviation.to_le_bytes())
            .with(&join_version(Self::VERSION, flags).to_le_bytes())
    }
}

impl fmt::Display for Motion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "motion from {}/{} to {}/{}, ", self.epoch, self.from, self.epoch, self.to)?;
        match self.travel {
            Travel::Vector { right, up } => write!(f, "right {right} mm, up {up} mm")?,
            Travel::Distance { distance } => write!(f, "distance {distance} mm")?,
        }
        write!(f, ", deviation {}.{} mm", self.deviation / 10, self.deviation % 10)
    }
}
