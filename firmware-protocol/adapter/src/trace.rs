//! The trace (L2): the samples of a pull become numbered blocks, which wait in a queue of fixed length until
//! the link has room for them. What does not fit into it is dropped by whole blocks, and the numbers tell.

use clampbook_protocol::{
    Epoch, Rotation, Sample, Tick, Torque, TraceBlock, TraceFlags, TraceHead, encode_trace,
};

use crate::faults::Faults;

/// Most samples of one block: one in the head, and one for each octet after it.
const MOST_SAMPLES: usize = TraceBlock::MOST - TraceBlock::LEAST + 1;

/// A block spans at most a tenth of a second, so that the host sees the pull while it happens.
const BLOCKS_A_SECOND: usize = 10;

const NO_SAMPLE: Sample = Sample { torque: Torque::ZERO, rotation: Rotation::NOT_KNOWN };

/// What became of the blocks since the start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Blocks that were made. Each has become sent, lost or dropped, or still waits.
    pub made: u32,
    /// Blocks that were handed over to be sent.
    pub sent: u32,
    /// Blocks lost on purpose, by [`Faults::lose_blocks`].
    pub lost: u32,
    /// Blocks that the link had no room for in time, or that waited for a link that ended.
    pub dropped: u32,
}

/// The octets of a block that waits.
#[derive(Debug, Clone, Copy)]
struct Waiting {
    octets: [u8; TraceBlock::MOST],
    length: usize,
}

/// Makes blocks of samples, and keeps at most `N` of them until they are sent.
#[derive(Debug)]
pub struct Tracer<const N: usize> {
    rate: u16,
    rotates: bool,
    epoch: Option<Epoch>,
    /// The number of the next block.
    block: u16,
    /// Flags of the next block.
    flags: TraceFlags,
    start: Tick,
    samples: [Sample; MOST_SAMPLES],
    count: usize,
    queue: [Waiting; N],
    oldest: usize,
    waiting: usize,
    counts: Counts,
}

impl<const N: usize> Tracer<N> {
    /// A tracer of so many samples a second; `rotates`: the adapter can send rotation with them.
    #[must_use]
    pub fn new(rate: u16, rotates: bool) -> Self {
        const { assert!(N > 0, "a queue without a place would drop every block") };
        Self {
            rate: if rate == 0 { 1 } else { rate },
            rotates,
            epoch: None,
            block: 0,
            flags: TraceFlags::NONE,
            start: Tick(0),
            samples: [NO_SAMPLE; MOST_SAMPLES],
            count: 0,
            queue: [Waiting { octets: [0; TraceBlock::MOST], length: 0 }; N],
            oldest: 0,
            waiting: 0,
            counts: Counts::default(),
        }
    }

    /// Samples a second.
    #[must_use]
    pub fn rate(&self) -> u16 {
        self.rate
    }

    /// What became of the blocks so far.
    #[must_use]
    pub fn counts(&self) -> Counts {
        self.counts
    }

    /// Tells in which epoch it runs: with another one than before, what waits is dropped and the numbers
    /// begin at 0 again.
    pub fn set_epoch(&mut self, epoch: Epoch) {
        if self.epoch != Some(epoch) {
            self.forget();
            self.epoch = Some(epoch);
            self.block = 0;
        }
    }

    /// A pull begins: the next sample is its first. `rotates`: its samples carry a rotation.
    pub fn begin(&mut self, rotates: bool) {
        self.count = 0;
        self.flags = TraceFlags::FIRST.with_if(rotates && self.rotates, TraceFlags::ROTATION);
    }

    /// Takes a sample, `at` the time when it was taken. `room`: octets that a notification holds on this
    /// link, ATT_MTU - 3. A sample that is not known counts as lost.
    pub fn take(&mut self, sample: Sample, at: Tick, room: usize, faults: &mut Faults) {
        let rotates = self.flags.has(TraceFlags::ROTATION);
        let unknown = sample.torque == Torque::NOT_KNOWN
            || (rotates && sample.rotation == Rotation::NOT_KNOWN);
        if unknown {
            self.lose(room, faults);
            return;
        }
        // Not before there is a next sample: only then is it known that the block is not the last.
        if self.count >= self.most_samples(room) {
            self.cut(TraceFlags::NONE, room, faults);
        }
        if self.count == 0 {
            self.start = at;
        }
        if let Some(place) = self.samples.get_mut(self.count) {
            *place = sample;
            self.count += 1;
        }
    }

    /// Samples of this pull are missing before the next one.
    pub fn lose(&mut self, room: usize, faults: &mut Faults) {
        self.cut(TraceFlags::NONE, room, faults);
        self.flags = self.flags.without(TraceFlags::FIRST).with(TraceFlags::SAMPLES_LOST);
    }

    /// The pull has ended: what was taken of it since the last block becomes its last one.
    pub fn end(&mut self, room: usize, faults: &mut Faults) {
        self.cut(TraceFlags::LAST, room, faults);
        self.flags = TraceFlags::NONE;
    }

    /// The octets of the block that waits longest.
    #[must_use]
    pub fn next(&self) -> Option<&[u8]> {
        let waiting = self.queue.get(self.oldest).filter(|_| self.waiting > 0)?;
        waiting.octets.get(..waiting.length)
    }

    /// The block that waited longest was handed over.
    pub fn sent(&mut self) {
        if self.waiting > 0 {
            self.remove_oldest();
            self.counts.sent += 1;
        }
    }

    /// Nobody listens any more: what waits is dropped, and samples that are in no block yet are lost.
    pub fn forget(&mut self) {
        while self.waiting > 0 {
            self.drop_oldest();
        }
        self.count = 0;
        self.flags = self.flags.without(TraceFlags::FIRST).with(TraceFlags::SAMPLES_LOST);
    }

    /// How many samples a block of this pull may hold.
    fn most_samples(&self, room: usize) -> usize {
        let rotates = self.flags.has(TraceFlags::ROTATION);
        let (head, step) =
            if rotates { (TraceBlock::LEAST + 2, 2) } else { (TraceBlock::LEAST, 1) };
        let fit = 1 + room.min(TraceBlock::MOST).saturating_sub(head) / step;
        fit.min(usize::from(self.rate) / BLOCKS_A_SECOND).max(1)
    }

    /// Makes a block of the samples, or more than one where the room has become less since.
    fn cut(&mut self, flags: TraceFlags, room: usize, faults: &mut Faults) {
        let mut done = 0;
        while done < self.count {
            let most = self.most_samples(room);
            let rest = &self.samples[done..self.count];
            let part = &rest[..rest.len().min(most)];
            let ticks = done as u32 * (1_000 / Tick::MILLIS) / u32::from(self.rate);
            let is_final = part.len() == rest.len();
            let head = TraceHead {
                block: self.block,
                flags: self.flags.with_if(is_final, flags),
                start: Tick(self.start.0.wrapping_add(ticks)),
            };
            let mut octets = [0; TraceBlock::MOST];
            let space = &mut octets[..room.min(TraceBlock::MOST)];
            let length = encode_trace(head, part, space).map(|written| written.octets.len());
            done += part.len();
            self.block = self.block.wrapping_add(1);
            self.counts.made += 1;
            self.flags = self.flags.without(TraceFlags::FIRST.with(TraceFlags::SAMPLES_LOST));
            if faults.loses_next_block() {
                self.counts.lost += 1;
            } else if let Ok(length) = length {
                self.queue_block(Waiting { octets, length });
            } else {
                // Not even one sample fits into what the link takes.
                self.counts.dropped += 1;
            }
        }
        self.count = 0;
    }

    /// Puts a block last; where there is no place for it, the oldest goes, so that the host sees what is now.
    fn queue_block(&mut self, block: Waiting) {
        if self.waiting == N {
            self.drop_oldest();
        }
        self.queue[(self.oldest + self.waiting) % N] = block;
        self.waiting += 1;
    }

    fn drop_oldest(&mut self) {
        self.remove_oldest();
        self.counts.dropped += 1;
    }

    fn remove_oldest(&mut self) {
        self.oldest = (self.oldest + 1) % N;
        self.waiting -= 1;
    }
}

#[cfg(test)]
mod tests;
