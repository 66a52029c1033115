//! The key of a record: epoch and sequence.

use core::fmt;
use core::num::{NonZeroU16, NonZeroU32};

use crate::error::Error;

/// One boot of the adapter, counted from 1.
pub type Epoch = NonZeroU16;
/// The number of a reading within its epoch, counted from 1.
pub type Sequence = NonZeroU32;

/// What names a reading for ever, together with the adapter's serial number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key {
    /// The boot in which the reading was made.
    pub epoch: Epoch,
    /// The number of the reading within that boot.
    pub sequence: Sequence,
}

impl Key {
    /// A key, or `None` if either number is zero.
    #[must_use]
    pub fn new(epoch: u16, sequence: u32) -> Option<Self> {
        Some(Self { epoch: Epoch::new(epoch)?, sequence: Sequence::new(sequence)? })
    }

    pub(crate) fn check(message: &'static str, epoch: u16, sequence: u32) -> Result<Self, Error> {
        Ok(Self {
            epoch: check_epoch(message, epoch)?,
            sequence: check_sequence(message, sequence)?,
        })
    }
}

pub(crate) fn check_epoch(message: &'static str, epoch: u16) -> Result<Epoch, Error> {
    Epoch::new(epoch).ok_or(Error::Value { message, expected: "an epoch of 1 or more", found: 0 })
}

pub(crate) fn check_sequence(message: &'static str, sequence: u32) -> Result<Sequence, Error> {
    Sequence::new(sequence).ok_or(Error::Value {
        message,
        expected: "a sequence number of 1 or more",
        found: 0,
    })
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.epoch, self.sequence)
    }
}
