//! Faults of delivery, made on purpose: the reading itself is made and kept as always.

/// How often one live reading is to be notified, and which blocks of the trace are not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Faults {
    skip: u16,
    double: u16,
    sent_blocks: u16,
    lost_blocks: u16,
    delay: u16,
    delay_ms: u32,
}

impl Faults {
    /// The next `count` live readings are not notified.
    pub fn skip(&mut self, count: u16) {
        self.skip = count;
    }

    /// The next `count` live readings are notified twice.
    pub fn double(&mut self, count: u16) {
        self.double = count;
    }

    /// The next `count` live readings are notified `by_ms` milliseconds late, after whatever comes meanwhile.
    pub fn delay(&mut self, count: u16, by_ms: u32) {
        self.delay = count;
        self.delay_ms = by_ms;
    }

    /// How late the next live reading is to be notified, in milliseconds.
    pub fn next_delay_ms(&mut self) -> u32 {
        if self.delay > 0 {
            self.delay -= 1;
            self.delay_ms
        } else {
            0
        }
    }

    /// How often the next live reading is to be notified: 0, 1 or 2 times.
    pub fn next_copies(&mut self) -> u8 {
        if self.skip > 0 {
            self.skip -= 1;
            0
        } else if self.double > 0 {
            self.double -= 1;
            2
        } else {
            1
        }
    }

    /// Of the next blocks of the trace `after` are sent, and then `count` made and counted, and not sent.
    pub fn lose_blocks(&mut self, count: u16, after: u16) {
        self.lost_blocks = count;
        self.sent_blocks = after;
    }

    /// Whether the next block of the trace is not to be sent.
    pub fn loses_next_block(&mut self) -> bool {
        if self.sent_blocks > 0 {
            self.sent_blocks -= 1;
            return false;
        }
        let loses = self.lost_blocks > 0;
        self.lost_blocks = self.lost_blocks.saturating_sub(1);
        loses
    }
}
