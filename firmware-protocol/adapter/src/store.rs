//! Readings kept until they are released.

use clampbook_protocol::Reading;

/// Readings in the order they were made, oldest first, at most `N` of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Store<const N: usize> {
    readings: [Option<Reading>; N],
    length: usize,
    overwritten: u64,
    lost: bool,
}

impl<const N: usize> Default for Store<N> {
    fn default() -> Self {
        Self { readings: [None; N], length: 0, overwritten: 0, lost: false }
    }
}

impl<const N: usize> Store<N> {
    /// Keeps one more reading. Without room the oldest one gives its place, and counts as overwritten.
    pub fn push(&mut self, reading: Reading) {
        if self.length == N {
            self.readings.rotate_left(1);
            self.length -= 1;
            self.overwritten += 1;
            self.lost = true;
        }
        if let Some(place) = self.readings.get_mut(self.length) {
            *place = Some(reading);
            self.length += 1;
        }
    }

    /// The readings, oldest first.
    pub fn readings(&self) -> impl DoubleEndedIterator<Item = &Reading> + Clone {
        self.readings.iter().take(self.length).flatten()
    }

    /// The reading at a place, counted from the oldest.
    #[must_use]
    pub fn get(&self, place: usize) -> Option<&Reading> {
        self.readings.get(..self.length)?.get(place)?.as_ref()
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
            let reading = self.readings[place].take();
            if reading.as_ref().is_some_and(|reading| !released(reading)) {
                self.readings[kept] = reading;
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
