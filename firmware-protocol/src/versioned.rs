//! What `parse` gives where a message carries its own version.

/// A message that may be of a version which this crate does not know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Versioned<'a, T> {
    /// A message of a version that this crate knows.
    Known(T),
    /// A message of another version: to be kept as it is, and not to be read by today's layout.
    Unknown {
        /// The version that it states.
        version: u8,
        /// All its octets.
        octets: &'a [u8],
    },
}

impl<T> Versioned<'_, T> {
    /// The message, if its version is known.
    pub fn known(self) -> Option<T> {
        match self {
            Self::Known(message) => Some(message),
            Self::Unknown { .. } => None,
        }
    }
}
