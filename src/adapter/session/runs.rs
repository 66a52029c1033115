//! A set of numbers, kept as runs of neighbours.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// A set of numbers of 32 bits. Its size in memory depends on its holes, not on its numbers.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Runs {
    /// First number of a run → its last number. Runs neither touch nor overlap.
    runs: BTreeMap<u32, u32>,
}

impl Runs {
    /// Whether `number` is in the set.
    #[must_use]
    pub fn contains(&self, number: u32) -> bool {
        let run = self.runs.range(..=number).next_back();
        run.is_some_and(|(_, last)| number <= *last)
    }

    /// Adds one number; `false` if it was there already.
    pub fn insert(&mut self, number: u32) -> bool {
        if self.contains(number) {
            return false;
        }
        self.insert_run(number..=number);
        true
    }

    /// Adds all numbers of `run`.
    pub fn insert_run(&mut self, run: RangeInclusive<u32>) {
        let (mut first, mut last) = run.into_inner();
        if first > last {
            return;
        }
        if let Some((before, end)) = self.runs.range(..=first).next_back()
            && end.saturating_add(1) >= first
        {
            first = *before;
            last = last.max(*end);
        }
        while let Some((next, end)) = self.runs.range(first..).next() {
            if *next > last.saturating_add(1) {
                break;
            }
            let (next, end) = (*next, *end);
            last = last.max(end);
            self.runs.remove(&next);
        }
        self.runs.insert(first, last);
    }

    /// The highest number, or `None` of an empty set.
    #[must_use]
    pub fn highest(&self) -> Option<u32> {
        self.runs.values().next_back().copied()
    }

    /// The highest number that is not above `most`, or `None` if there is none.
    #[must_use]
    pub fn highest_up_to(&self, most: u32) -> Option<u32> {
        let run = self.runs.range(..=most).next_back();
        run.map(|(_, last)| most.min(*last))
    }

    /// The highest number up to which, from 1 on, none is missing; 0 if 1 is.
    #[must_use]
    pub fn prefix(&self) -> u32 {
        let run = self.runs.range(..=1).next_back();
        run.map_or(0, |(_, last)| *last)
    }

    /// The runs of numbers within `within` that are not in the set, in order.
    #[must_use]
    pub fn missing(&self, within: RangeInclusive<u32>) -> Vec<RangeInclusive<u32>> {
        let (first, last) = within.into_inner();
        let mut missing = Vec::new();
        let mut next = u64::from(first);
        let before = self.runs.range(..=first).next_back();
        let after = self.runs.range(first..).filter(|(start, _)| **start != first);
        for (start, end) in before.into_iter().chain(after) {
            if u64::from(*start) > u64::from(last) {
                break;
            }
            if u64::from(*start) > next {
                // Below `start`, which is a number of 32 bits.
                missing.push(next as u32..=*start - 1);
            }
            next = next.max(u64::from(*end) + 1);
        }
        if next <= u64::from(last) {
            missing.push(next as u32..=last);
        }
        missing
    }
}
