//! The adapter's own time.

use core::fmt;

/// Time since the adapter booted, in ticks of 10 ms. It starts at zero with each epoch and keeps
/// running while the adapter sleeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tick(pub u32);

impl Tick {
    /// The length of one tick in milliseconds.
    pub const MILLIS: u32 = 10;

    /// Milliseconds since the boot.
    #[must_use]
    pub const fn millis(self) -> u64 {
        self.0 as u64 * Self::MILLIS as u64
    }
}

impl fmt::Display for Tick {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{:02} s", self.0 / 100, self.0 % 100)
    }
}
