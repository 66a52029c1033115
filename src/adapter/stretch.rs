//! Blocks of a trace as they come off a link, put in place on our clock.

use crate::core::event::Trace;
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// One block, as the adapter tells it.
#[derive(Debug, Clone, PartialEq)]
pub struct Samples {
    /// Its number; 65 535 is followed by 0.
    pub block: u16,
    /// The first block of a pull.
    pub first: bool,
    /// The last block of a pull.
    pub last: bool,
    /// The adapter itself lost samples before it.
    pub lost_before: bool,
    /// When the first sample was taken, in the adapter's ticks.
    pub tick: u32,
    /// The samples, clockwise positive.
    pub torque: Vec<Torque>,
    /// Rotation since the first sample of the pull, degrees.
    pub turned_deg: Option<Vec<f64>>,
}

/// Puts the blocks of one link in place.
#[derive(Debug, Clone)]
pub struct Stretch {
    rate_hz: f64,
    /// Number of the last block, when the next sample is due, and how far the drive had turned.
    last: Option<(u16, Stamp, f64)>,
    lost: u64,
}

impl Stretch {
    /// Nothing came yet. `rate_hz` is what the adapter states, samples a second.
    #[must_use]
    pub fn new(rate_hz: f64) -> Self {
        Self { rate_hz, last: None, lost: 0 }
    }

    /// How many blocks were sent, or at least counted, and never came.
    #[must_use]
    pub fn lost(&self) -> u64 {
        self.lost
    }

    /// The samples of a block whose tick was at `at`, in place. A block that follows the last one
    /// follows it without a hole: ticks are coarser than samples.
    pub fn place(&mut self, block: Samples, at: Stamp) -> Trace {
        let missed =
            self.last.map_or(0, |(last, ..)| block.block.wrapping_sub(last).wrapping_sub(1));
        self.lost += u64::from(missed);
        let follows = missed == 0 && !block.first && !block.lost_before;
        let start = match self.last {
            Some((_, due, _)) if follows => due,
            // Whatever the clocks say, it came later.
            Some((_, due, _)) => at.max(due),
            None => at,
        };
        // Rotation is counted from the pull's first sample, so that a lost block loses none of it.
        let before = self.last.filter(|_| !block.first).map_or(0.0, |(.., turned)| turned);
        let turned = block.turned_deg.as_ref().and_then(|turned| turned.last().copied());
        let turned_deg = block
            .turned_deg
            .map(|turned| turned.into_iter().map(|deg| deg - before).collect::<Vec<f64>>());
        let trace = Trace { start, rate_hz: self.rate_hz, torque: block.torque, turned_deg };
        self.last = Some((block.block, trace.end(), turned.unwrap_or(before)));
        trace
    }
}

#[cfg(test)]
mod tests {
    use super::{Samples, Stretch};
    use crate::core::time::Stamp;
    use crate::core::units::Torque;

    fn block(block: u16, first: bool, nm: &[f64], turned: &[f64]) -> Samples {
        Samples {
            block,
            first,
            last: false,
            lost_before: false,
            tick: 0,
            torque: nm.iter().map(|nm| Torque::from_nm(*nm)).collect(),
            turned_deg: Some(turned.to_vec()),
        }
    }

    #[test]
    fn blocks_follow_without_a_hole_and_lost_ones_leave_one() {
        let mut stretch = Stretch::new(200.0);
        let at = Stamp::from_seconds;
        let placed = [
            (block(65_535, true, &[0.0, 1.0], &[0.0, 0.5]), 1.0),
            // The tick is 10 ms off, as it may be.
            (block(0, false, &[2.0], &[1.0]), 1.02),
            // Block 1 was lost.
            (block(2, false, &[4.0], &[3.0]), 1.03),
            // The next pull.
            (block(3, true, &[0.0], &[0.0]), 5.0),
        ]
        .map(|(block, seconds)| {
            let trace = stretch.place(block, at(seconds));
            (trace.start.seconds(), trace.turned_deg)
        });
        assert_eq!(
            placed,
            [
                (1.0, Some(vec![0.0, 0.5])),
                (1.01, Some(vec![0.5])),
                (1.03, Some(vec![2.0])),
                (5.0, Some(vec![0.0])),
            ]
        );
        assert_eq!(stretch.lost(), 1);
    }
}
