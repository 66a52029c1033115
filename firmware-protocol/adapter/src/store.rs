//! Readings kept until they are released, each with the motion that led to it.

use clampbook_protocol::{Key, Motion, Reading};

/// One reading, and how the tool came to it, if that is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Record {
    /// The reading.
    pub reading: Reading,
    /// How far the head of the tool moved since an earlier reading of the same epoch.
    pub motion: Option<Motion>,
}

impl From<Reading> for Record {
    fn from(reading: Reading) -> Self {
        Self { reading, motion: None }
    }
}

/// Readings in the order they were made, oldest first, at most `N` of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Store<const N: usize> {
    records: [Option<Record>; N],
    length: usize,
    overwritten: u64,
    lost: bool,
}

impl<const N: usize> Default for Store<N> {
    fn default() -> Self {
        Self { records: [None; N], length: 0, overwritten: 0, lost: false }
    }
}

impl<const N: usize> Store<N> {
    /// Keeps one more reading. Without room the oldest one gives its place, and counts as overwritten.
    pub fn push(&mut self, record: impl Into<Record>) {
        if self.length == N {
            self.records.rotate_left(1);
            self.length -= 1;
            self.overwritten += 1;
            self.lost = true;
        }
        if let Some(place) = self.records.get_mut(self.length) {
            *place = Some(record.into());
            self.length += 1;
        }
    }

    /// The readings, oldest first.
    pub fn readings(&self) -> impl DoubleEndedIterator<Item = &Reading> + Clone {
        self.records().map(|record| &record.reading)
    }

    /// The readings with their motions, oldest first.
    pub fn records(&self) -> impl DoubleEndedIterator<Item = &Record> + Clone {
        self.records.iter().take(self.length).flatten()
    }

    /// The motion that led to the reading of a key, if that is kept.
    #[must_use]
    pub fn motion_to(&self, key: Key) -> Option<Motion> {
        // It is mostly asked of what was made last.
        self.records().rev().find(|record| record.reading.key == key)?.motion
    }

    /// The reading at a place, counted from the oldest.
    #[must_use]
    pub fn get(&self, place: usize) -> Option<&Reading> {
        Some(&self.records.get(..self.length)?.get(place)?.as_ref()?.reading)
    }

    /// How many are kept.
    #[must_use]
    pub fn len(&self) -> usize {
        self.length
    }

    /// True when none is kept.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.length == 0
    }

    /// True when the next one overwrites the oldest.
    #[must_use]
    pub fn is_full(&self) -> bool {
        self.length == N
    }

    /// How many were overwritten before they were released, since the start.
    #[must_use]
    pub fn overwritten(&self) -> u64 {
        self.overwritten
    }

    /// True from a loss until the next release.
    #[must_use]
    pub fn has_lost(&self) -> bool {
        self.lost
    }

    /// Remembers a loss from before the start.
    pub fn set_lost(&mut self) {
        self.lost = true;
    }

    /// Forgets the readings that `released` names, and returns how many.
    pub fn release(&mut self, mut released: impl FnMut(&Reading) -> bool) -> usize {
        let before = self.length;
        let mut kept = 0;
        for place in 0..before {
            let record = self.records[place].take();
            if record.as_ref().is_some_and(|record| !released(&record.reading)) {
                self.records[kept] = record;
                kept += 1;
            }
        }
        self.length = kept;
        if kept < before {
            self.lost = false;
        }
        before - kept
    }
}
