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
    /// Two signals of one value follow each other at once, as far as a busy computer lets them, seconds.
    const AT_ONCE_S: f64 = 0.5;
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

#[cfg(test)]
mod tests {
    use super::Rival;
    use crate::core::time::Stamp;

    /// Each value at a time in milliseconds; at which of them there was reason to tell.
    fn told(first: bool, values: &[(i64, u8)]) -> Vec<i64> {
        let mut rival = Rival::new(first);
        let suspected =
            values.iter().filter(|(ms, value)| rival.suspects(Stamp(ms * 1_000), &[*value]));
        suspected.map(|(ms, _)| *ms).collect()
    }

    #[test]
    fn three_doubles_in_a_row_are_told_once_and_on_a_first_link_only() {
        let doubles =
            [(0, 1), (20, 1), (900, 2), (990, 2), (2_000, 3), (2_001, 3), (3_000, 4), (3_001, 4)];
        assert_eq!(told(true, &doubles), [2_001]);
        assert!(told(false, &doubles).is_empty());
        let repeated_now_and_then = [
            (0, 1),
            (20, 1),
            (900, 2),
            (990, 2),
            (2_000, 3),
            (3_000, 4),
            (3_001, 4),
            (4_000, 5),
            (4_600, 5),
        ];
        assert!(told(true, &repeated_now_and_then).is_empty());
    }
}
