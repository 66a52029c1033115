//! Rotation of the drive during a pull.

use core::fmt;

/// A rotation in steps of 0.1°, clockwise positive as seen along the drive towards the fastener.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Rotation(i16);

impl Rotation {
    /// The rotation is not known.
    pub const NOT_KNOWN: Self = Self(0x7FFF);
    /// The largest rotation that can be told, 3276.6°; it also stands for anything above.
    pub const MOST: Self = Self(0x7FFE);
    /// The smallest rotation that can be told, −3276.8°; it also stands for anything below.
    pub const LEAST: Self = Self(i16::MIN);

    /// A rotation of so many tenths of a degree, held to the range that can be told.
    #[must_use]
    pub const fn from_tenths(value: i32) -> Self {
        if value > Self::MOST.0 as i32 {
            Self::MOST
        } else if value < Self::LEAST.0 as i32 {
            Self::LEAST
        } else {
            Self(value as i16)
        }
    }

    /// The rotation in tenths of a degree, or `None` where it is not known.
    #[must_use]
    pub const fn tenths(self) -> Option<i16> {
        if self.0 == Self::NOT_KNOWN.0 { None } else { Some(self.0) }
    }

    pub(crate) const fn from_raw(raw: i16) -> Self {
        Self(raw)
    }

    pub(crate) const fn raw(self) -> i16 {
        self.0
    }
}

impl fmt::Display for Rotation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.tenths() {
            None => f.write_str("not known"),
            Some(value) => {
                let sign = if value < 0 { "-" } else { "" };
                let size = value.unsigned_abs();
                write!(f, "{sign}{}.{}°", size / 10, size % 10)
            }
        }
    }
}
