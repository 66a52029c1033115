//! Another program on this computer that listens to the same adapter.

use crate::core::time::Stamp;

/// Tells whether every reading comes twice, as it does when two programs on one computer listen. Only on
/// a first link: the system may go on delivering for a lost link of our own beside the new one.
#[derive(Debug, Default)]
pub(super) struct Rival {
    last: Option<(Stamp, Vec<u8>)>,
    doubles: u32,
    told: bool,
}

impl Rival {
    /// Two signals of one value follow each other at once, seconds.
    const AT_ONCE_S: f64 = 0.1;
    /// An adapter may repeat a reading now and then, which is no sign of anything.
    const DOUBLES: u32 = 3;

    /// Looks out for one on a first link only.
    pub(super) fn new(first: bool) -> Self {
        Self { told: !first, ..Self::default() }
    }

    /// Takes a reading; true once there is reason to tell of another program.
    pub(super) fn suspects(&mut self, at: Stamp, octets: &[u8]) -> bool {
        let double = self.last.as_ref().is_some_and(|(before, last)| {
            last == octets && at.seconds_since(*before) < Self::AT_ONCE_S
        });
        if double {
            self.doubles += 1;
            self.last = None;
        } else {
            if self.last.is_some() {
                self.doubles = 0;
            }
            self.last = Some((at, octets.to_vec()));
        }
        self.doubles >= Self::DOUBLES && !std::mem::replace(&mut self.told, true)
    }
}
