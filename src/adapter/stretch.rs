//! Blocks of a trace as they come off a link, put in place on our clock.

use crate::core::event::Trace;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use std::collections::VecDeque;

/// Blocks that may wait until it is known when they were taken: three seconds of a fast trace.
const WAITING: usize = 64;

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
    waiting: VecDeque<Samples>,
    last: Option<Last>,
    lost: u64,
}

/// What is known of the last block.
#[derive(Debug, Clone, Copy)]
struct Last {
    block: u16,
    tick: u32,
    /// When the next sample is due.
    due: Stamp,
    /// How far the drive had turned, degrees.
    turned: f64,
}

impl Stretch {
    /// Nothing came yet. `rate_hz` is what the adapter states, samples a second.
    #[must_use]
    pub fn new(rate_hz: f64) -> Self {
        Self { rate_hz, waiting: VecDeque::new(), last: None, lost: 0 }
    }

    /// How many blocks were sent, or at least counted, and never came.
    #[must_use]
    pub fn lost(&self) -> u64 {
        self.lost
    }

    /// A block came. It waits until it is known when it was taken; of too many the oldest go.
    pub fn queue(&mut self, block: Samples) {
        if self.waiting.len() == WAITING {
            self.waiting.pop_front();
        }
        self.waiting.push_back(block);
    }

    /// The samples of the next block in place, and whether it is the last of its pull; none while
    /// `moment_of` does not know the time of its tick.
    pub fn next(&mut self, moment_of: impl Fn(u32) -> Option<Stamp>) -> Option<(Trace, bool)> {
        while self.waiting.front().is_some_and(|block| self.came_before(block)) {
            self.waiting.pop_front();
        }
        let at = moment_of(self.waiting.front()?.tick)?;
        let block = self.waiting.pop_front()?;
        let last = block.last;
        Some((self.place(block, at), last))
    }

    /// True for a block that came already: a link that was made anew may deliver everything twice. An adapter that
    /// counts anew does so later.
    fn came_before(&self, block: &Samples) -> bool {
        self.last.is_some_and(|last| {
            let later = block.tick.wrapping_sub(last.tick).cast_signed() > 0;
            last.ahead(block) <= 0 && !later
        })
    }

    /// A block that follows the last one follows it without a hole: ticks are coarser than samples.
    fn place(&mut self, block: Samples, at: Stamp) -> Trace {
        let ahead = self.last.map_or(1, |last| last.ahead(&block));
        self.lost += u64::try_from(ahead - 1).unwrap_or(0);
        let follows = ahead == 1 && !block.first && !block.lost_before;
        let start = match self.last {
            Some(last) if follows => last.due,
            // Whatever the clocks say, it came later.
            Some(last) => at.max(last.due),
            None => at,
        };
        // Rotation is counted from the pull's first sample, so that a lost block loses none of it.
        let before = self.last.filter(|_| !block.first).map_or(0.0, |last| last.turned);
        let turned = block.turned_deg.as_ref().and_then(|turned| turned.last().copied());
        let turned_deg = block
            .turned_deg
            .map(|turned| turned.into_iter().map(|deg| deg - before).collect::<Vec<f64>>());
        let trace = Trace { start, rate_hz: self.rate_hz, torque: block.torque, turned_deg };
        self.last = Some(Last {
            block: block.block,
            tick: block.tick,
            due: trace.end(),
            turned: turned.unwrap_or(before),
        });
        trace
    }
}

impl Last {
    /// How many numbers on another block is; below 1 for one that is not ahead.
    fn ahead(&self, block: &Samples) -> i32 {
        i32::from(block.block.wrapping_sub(self.block).cast_signed())
    }
}

#[cfg(test)]
mod tests {
    use super::{Samples, Stretch, WAITING};
    use crate::core::time::Stamp;
    use crate::core::units::Torque;

    /// Ticks are milliseconds.
    fn block(block: u16, first: bool, tick: u32, nm: &[f64], turned: &[f64]) -> Samples {
        Samples {
            block,
            first,
            last: false,
            lost_before: false,
            tick,
            torque: nm.iter().map(|nm| Torque::from_nm(*nm)).collect(),
            turned_deg: Some(turned.to_vec()),
        }
    }

    /// Start and turn of every block that can be put in place.
    fn placed(stretch: &mut Stretch) -> Vec<(f64, Vec<f64>)> {
        let moment = |tick: u32| Some(Stamp::from_seconds(f64::from(tick) / 1e3));
        std::iter::from_fn(|| stretch.next(moment))
            .map(|(trace, _)| (trace.start.seconds(), trace.turned_deg.unwrap()))
            .collect()
    }

    #[test]
    fn blocks_follow_without_a_hole_and_lost_ones_leave_one() {
        let mut stretch = Stretch::new(200.0);
        stretch.queue(block(65_535, true, 1_000, &[0.0, 1.0], &[0.0, 0.5]));
        // The tick is 10 ms off, as it may be.
        stretch.queue(block(0, false, 1_020, &[2.0], &[1.0]));
        // Block 1 was lost.
        stretch.queue(block(2, false, 1_030, &[4.0], &[3.0]));
        // The next pull.
        stretch.queue(block(3, true, 5_000, &[0.0], &[0.0]));
        assert_eq!(stretch.next(|_| None), None, "nothing has a time yet");
        assert_eq!(
            placed(&mut stretch),
            [(1.0, vec![0.0, 0.5]), (1.01, vec![0.5]), (1.03, vec![2.0]), (5.0, vec![0.0]),]
        );
        assert_eq!(stretch.lost(), 1);
    }

    #[test]
    fn a_block_that_is_delivered_twice_is_placed_once() {
        let mut stretch = Stretch::new(100.0);
        let blocks = [
            block(65_535, true, 1_000, &[0.0, 1.0], &[0.0, 0.5]),
            block(0, false, 1_020, &[2.0], &[1.0]),
        ];
        for block in &blocks {
            stretch.queue(block.clone());
            stretch.queue(block.clone());
        }
        blocks.iter().skip(1).for_each(|block| stretch.queue(block.clone()));
        // The adapter counts anew.
        stretch.queue(block(0, true, 5_000, &[0.0], &[0.0]));
        assert_eq!(
            placed(&mut stretch),
            [(1.0, vec![0.0, 0.5]), (1.02, vec![0.5]), (5.0, vec![0.0])]
        );
        assert_eq!(stretch.lost(), 0);
    }

    #[test]
    fn of_too_many_blocks_without_a_time_the_newest_are_kept() {
        let mut stretch = Stretch::new(200.0);
        for number in 0..WAITING as u16 + 2 {
            stretch.queue(block(number, number == 0, 5 * u32::from(number), &[1.0], &[0.0]));
        }
        let placed = placed(&mut stretch);
        assert_eq!((placed.len(), placed[0].0), (WAITING, 0.01));
    }
}
