//! Why octets were refused.

use core::fmt;

/// Why octets were refused: what was expected, and what was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Error {
    /// A message has a length that its layout does not allow.
    Length {
        /// What the octets were read as.
        message: &'static str,
        /// The length that the layout asks for.
        expected: Length,
        /// The length found.
        found: usize,
    },
    /// A field holds a value that the layout does not allow.
    Value {
        /// What the octets were read as.
        message: &'static str,
        /// What the layout allows, in words.
        expected: &'static str,
        /// The value found.
        found: i64,
    },
    /// A buffer given for writing is too small.
    Buffer {
        /// What was to be written.
        message: &'static str,
        /// The octets needed.
        needed: usize,
        /// The octets that there is room for.
        room: usize,
    },
}

/// A length that a layout asks for, in octets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Length {
    /// Just so many.
    Exactly(usize),
    /// So many or more.
    AtLeast(usize),
    /// From the first to the second, both included.
    Between(usize, usize),
}

impl Length {
    const fn allows(self, found: usize) -> bool {
        match self {
            Self::Exactly(length) => found == length,
            Self::AtLeast(length) => found >= length,
            Self::Between(least, most) => least <= found && found <= most,
        }
    }

    /// Refuses octets of another length.
    pub(crate) const fn check(self, message: &'static str, octets: &[u8]) -> Result<(), Error> {
        let found = octets.len();
        if self.allows(found) {
            Ok(())
        } else {
            Err(Error::Length { message, expected: self, found })
        }
    }
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exactly(1) => write!(f, "1 octet"),
            Self::Exactly(length) => write!(f, "{length} octets"),
            Self::AtLeast(1) => write!(f, "1 octet or more"),
            Self::AtLeast(length) => write!(f, "{length} octets or more"),
            Self::Between(least, most) => write!(f, "{least} to {most} octets"),
        }
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Length { message, expected, found } => {
                write!(f, "{message}: expected {expected}, but found {found}")
            }
            Self::Value { message, expected, found } => {
                write!(f, "{message}: expected {expected}, but found {found}")
            }
            Self::Buffer { message, needed, room } => write!(
                f,
                "{message}: expected room for {needed} octets, but found {room}; give a larger buffer"
            ),
        }
    }
}

impl core::error::Error for Error {}
