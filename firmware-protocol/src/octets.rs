//! A short message, owned without allocation.

use core::fmt;
use core::ops::Deref;

/// The octets of one message: at most [`Octets::MOST`], which is what a notification carries at the
/// default ATT_MTU of 23.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Octets {
    buffer: [u8; Self::MOST],
    length: u8,
}

impl Octets {
    /// The most octets that one message has.
    pub const MOST: usize = 20;

    pub(crate) const fn new() -> Self {
        Self { buffer: [0; Self::MOST], length: 0 }
    }

    /// The octets, or the first [`Octets::MOST`] of them.
    pub(crate) fn first_of(octets: &[u8]) -> Self {
        Self::new().with(octets.get(..Self::MOST).unwrap_or(octets))
    }

    /// Appends octets. Beyond [`Octets::MOST`] the rest is left out, which no layout of ours does.
    pub(crate) fn with(mut self, octets: &[u8]) -> Self {
        let start = usize::from(self.length);
        let count = octets.len().min(Self::MOST - start);
        debug_assert_eq!(count, octets.len(), "a layout is longer than a message");
        self.buffer[start..start + count].copy_from_slice(&octets[..count]);
        self.length += count as u8;
        self
    }
}

impl Deref for Octets {
    type Target = [u8];

    fn deref(&self) -> &[u8] {
        &self.buffer[..usize::from(self.length)]
    }
}

impl AsRef<[u8]> for Octets {
    fn as_ref(&self) -> &[u8] {
        self
    }
}

impl fmt::Debug for Octets {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for octet in self.iter() {
            write!(f, "{octet:02x}")?;
        }
        Ok(())
    }
}
