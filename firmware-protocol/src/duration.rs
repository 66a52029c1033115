//! Duration of a pull.

use core::fmt;

/// A duration in milliseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Duration(u16);

impl Duration {
    /// The duration is not known.
    pub const NOT_KNOWN: Self = Self(0xFFFF);
    /// The longest duration that can be told, 65 534 ms; it also stands for anything longer.
    pub const MOST: Self = Self(0xFFFE);

    /// A duration of so many milliseconds, held to the range that can be told.
    #[must_use]
    pub const fn from_millis(value: u32) -> Self {
        if value > Self::MOST.0 as u32 { Self::MOST } else { Self(value as u16) }
    }

    /// The duration in milliseconds, or `None` where it is not known.
    #[must_use]
    pub const fn millis(self) -> Option<u16> {
        if self.0 == Self::NOT_KNOWN.0 { None } else { Some(self.0) }
    }

    pub(crate) const fn from_raw(raw: u16) -> Self {
        Self(raw)
    }

    pub(crate) const fn raw(self) -> u16 {
        self.0
    }
}

impl fmt::Display for Duration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.millis() {
            None => f.write_str("not known"),
            Some(value) => write!(f, "{value} ms"),
        }
    }
}
