//! The charge of the adapter's battery.

use core::fmt;

use crate::error::Error;

/// A charge from 0 to 100 %, or not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Battery(u8);

impl Battery {
    /// The charge is not known.
    pub const NOT_KNOWN: Self = Self(0xFF);

    /// A charge of so many per cent; above 100 it is 100.
    #[must_use]
    pub const fn from_percent(value: u8) -> Self {
        if value > 100 { Self(100) } else { Self(value) }
    }

    /// The charge in per cent, or `None` where it is not known.
    #[must_use]
    pub const fn percent(self) -> Option<u8> {
        if self.0 == Self::NOT_KNOWN.0 { None } else { Some(self.0) }
    }

    pub(crate) fn from_raw(message: &'static str, raw: u8) -> Result<Self, Error> {
        match raw {
            0..=100 | 0xFF => Ok(Self(raw)),
            _ => Err(Error::Value {
                message,
                expected: "a battery charge of 0 to 100 or 255",
                found: raw.into(),
            }),
        }
    }

    pub(crate) const fn raw(self) -> u8 {
        self.0
    }
}

impl fmt::Display for Battery {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.percent() {
            None => f.write_str("not known"),
            Some(value) => write!(f, "{value} %"),
        }
    }
}
