//! Torque: the value of the characteristic 0x2C0B, and the unit of torque in every message.

use core::fmt;

use crate::error::{Error, Length};
use crate::fields::{Field, View};
use crate::octets::Octets;

const MESSAGE: &str = "torque";

mod field {
    use super::Field;

    pub(super) const VALUE: Field = 0..4;
}

/// A torque in steps of 0.01 N·m, clockwise positive as seen along the drive towards the fastener.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Torque(i32);

impl Torque {
    /// The octets of a live torque value.
    pub const LENGTH: usize = field::VALUE.end;
    /// The value is not known.
    pub const NOT_KNOWN: Self = Self(0x7FFF_FFFF);
    /// No torque.
    pub const ZERO: Self = Self(0);

    /// A torque of so many hundredths of a newton metre. 0x7FFFFFFF gives [`Torque::NOT_KNOWN`].
    #[must_use]
    pub const fn from_centinewton_metres(value: i32) -> Self {
        Self(value)
    }

    /// The value in hundredths of a newton metre, or `None` where it is not known.
    #[must_use]
    pub const fn centinewton_metres(self) -> Option<i32> {
        if self.0 == Self::NOT_KNOWN.0 { None } else { Some(self.0) }
    }

    /// The integer on the wire, 0x7FFFFFFF where the value is not known.
    #[must_use]
    pub const fn raw(self) -> i32 {
        self.0
    }

    /// Reads a live torque value (L0).
    ///
    /// # Errors
    ///
    /// [`Error::Length`] for anything but 4 octets.
    pub fn parse(octets: &[u8]) -> Result<Self, Error> {
        let view = View::new(MESSAGE, Length::Exactly(Self::LENGTH), octets)?;
        Ok(Self(view.i32(field::VALUE)))
    }

    /// The octets of a live torque value (L0).
    #[must_use]
    pub fn emit(self) -> Octets {
        Octets::new().with(&self.0.to_le_bytes())
    }
}

impl fmt::Display for Torque {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.centinewton_metres() {
            None => f.write_str("not known"),
            Some(value) => {
                let sign = if value < 0 { "-" } else { "" };
                let size = value.unsigned_abs();
                write!(f, "{sign}{}.{:02} N·m", size / 100, size % 100)
            }
        }
    }
}
