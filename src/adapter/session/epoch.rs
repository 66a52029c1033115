//! What is known of the readings of one epoch.

use super::runs::Runs;
use crate::adapter::source::SourceEvent;
use crate::core::time::Stamp;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// How long a reading waits for an earlier one that is missing, seconds.
const PATIENCE_S: f64 = 1.0;

/// The readings of one epoch.
#[derive(Debug, Clone, Default)]
pub(super) struct Epoch {
    /// Numbers that arrived, were committed earlier, or are known to be gone.
    settled: Runs,
    /// Numbers that are committed.
    committed: Runs,
    /// Numbers that the adapter said it does not have.
    gone: Runs,
    /// Those of them that came after all.
    late: Runs,
    /// Numbers that are committed or gone: those the adapter need not hold for us.
    durable: Runs,
    /// Highest number that the adapter is known to have given.
    newest: u32,
    /// What `newest` was when the adapter was last asked for its status.
    newest_when_asked: u32,
    /// Up to here the adapter was told to forget.
    released: u32,
    /// True if readings before the first one heard are not ours to miss.
    joined_late: bool,
    /// Numbers up to this one, from 1 on, were gone when we met, and are not missed.
    before_us: u32,
    /// Since when something has been missing.
    missing_since: Option<Stamp>,
    /// Missing numbers that it is no use to ask for again during this link.
    hopeless: Runs,
    /// The adapter gave a number twice: nothing of this epoch is released any more.
    broken: bool,
    /// The octets of each reading as they first came.
    octets: BTreeMap<u32, Vec<u8>>,
    /// Readings not told yet, because an earlier one is missing, with the end of the wait.
    held: BTreeMap<u32, (Stamp, SourceEvent)>,
}

impl Epoch {
    /// An epoch of which nothing is known. Whoever joins late does not miss what was before.
    pub(super) fn new(joined_late: bool) -> Self {
        Self { joined_late, ..Self::default() }
    }

    /// A reading arrived; `false` if it is known already.
    pub(super) fn arrived(&mut self, sequence: u32) -> bool {
        self.newest = self.newest.max(sequence);
        // The adapter evidently still holds it.
        self.released = self.released.min(sequence.saturating_sub(1));
        // One that was given up for gone is welcome all the same.
        self.settled.insert(sequence)
            || (self.gone.contains(sequence) && self.late.insert(sequence))
    }

    /// Whether a reading has come, or was committed earlier.
    pub(super) fn has_arrived(&self, sequence: u32) -> bool {
        self.settled.contains(sequence) && !self.gone.contains(sequence)
            || self.late.contains(sequence)
    }

    /// The adapter was told to forget everything up to this number.
    pub(super) fn forgotten(&mut self, up_to: u32) {
        self.released = up_to;
    }

    /// It is not known what the adapter was told to forget.
    pub(super) fn tell_again(&mut self) {
        self.released = 0;
    }

    /// A reading is committed.
    pub(super) fn committed(&mut self, sequence: u32) {
        self.newest = self.newest.max(sequence);
        self.settled.insert(sequence);
        self.durable.insert(sequence);
        self.committed.insert(sequence);
    }

    /// The adapter says which number is its newest.
    pub(super) fn heard_of(&mut self, newest: u32) {
        self.newest = self.newest.max(newest);
    }

    /// These numbers are known to be gone since earlier.
    pub(super) fn known_gone(&mut self, run: RangeInclusive<u32>) {
        self.newest = self.newest.max(*run.end());
        self.settled.insert_run(run.clone());
        self.gone.insert_run(run.clone());
        self.durable.insert_run(run);
    }

    /// The adapter does not have these numbers: gives those that are now to be missed.
    pub(super) fn gone(&mut self, run: RangeInclusive<u32>) -> Vec<RangeInclusive<u32>> {
        let mut missing = self.settled.missing(run);
        for run in &missing {
            self.settled.insert_run(run.clone());
            self.durable.insert_run(run.clone());
            self.gone.insert_run(run.clone());
        }
        // Made before we ever met, and perhaps given to somebody else: not ours to miss.
        if self.joined_late
            && let Some(first) = missing.first().filter(|run| *run.start() == 1)
        {
            self.before_us = self.before_us.max(*first.end());
            missing.remove(0);
        }
        missing
    }

    /// A reading arrived: gives the numbers after it that are to be missed now, because it shows that
    /// we had met before they were made.
    pub(super) fn missed_after(&mut self, sequence: u32) -> Option<RangeInclusive<u32>> {
        let run = sequence.saturating_add(1)..=self.before_us;
        self.before_us = self.before_us.min(sequence.saturating_sub(1));
        (!run.is_empty()).then_some(run)
    }

    /// It is no use to ask for these numbers during this link.
    pub(super) fn give_up(&mut self, run: RangeInclusive<u32>) {
        self.hopeless.insert_run(run);
    }

    /// A new link: ask for everything again.
    pub(super) fn hope_again(&mut self) {
        self.hopeless = Runs::default();
    }

    /// The first run of numbers to ask for, and since when they have been missing.
    pub(super) fn missing(&mut self, now: Stamp) -> Option<(Stamp, RangeInclusive<u32>)> {
        let mut runs = Vec::new();
        if self.newest > 0 && self.settled.prefix() < self.newest {
            runs = self.settled.missing(1..=self.newest);
            runs.retain(|run| !self.hopeless.contains(*run.start()));
        }
        match runs.into_iter().next() {
            None => {
                self.missing_since = None;
                None
            }
            Some(run) => Some((*self.missing_since.get_or_insert(now), run)),
        }
    }

    /// Nothing of it is under way, held back, or still to be told to the adapter.
    pub(super) fn is_finished(&self) -> bool {
        self.durable.prefix() >= self.newest && self.releasable().is_none()
    }

    /// How many numbers of `run` are still missing.
    pub(super) fn count_missing(&self, run: RangeInclusive<u32>) -> u64 {
        let runs = self.settled.missing(run);
        runs.iter().map(|run| u64::from(run.end() - run.start()) + 1).sum()
    }

    /// The number from which on a fetch can start: all below are committed or gone.
    pub(super) fn first_wanted(&self) -> u32 {
        self.durable.prefix().saturating_add(1)
    }

    /// What is committed was told to the adapter, as far as is known, and the first number heard
    /// need not have been the first one made.
    pub(super) fn resumed(&mut self) {
        self.released = self.committed.highest_up_to(self.durable.prefix()).unwrap_or(0);
        self.joined_late = !self.settled.contains(1);
    }

    /// Up to which number the adapter may forget, if that is news to it.
    pub(super) fn releasable(&self) -> Option<u32> {
        if self.broken {
            return None;
        }
        // What is gone at the end is no number that the adapter would know of.
        let up_to = self.committed.highest_up_to(self.durable.prefix())?;
        (up_to > self.released).then_some(up_to)
    }

    /// Whether these octets are the ones that this number came with before, if it came before.
    pub(super) fn agrees(&mut self, sequence: u32, octets: Option<&[u8]>) -> bool {
        let Some(octets) = octets else { return true };
        octets == self.octets.entry(sequence).or_insert_with(|| octets.to_vec())
    }

    /// The adapter is asked for its status.
    pub(super) fn asked(&mut self) {
        self.newest_when_asked = self.newest;
    }

    /// Whether the adapter's newest number leaves out numbers that it gave before it was asked: a
    /// reading made after the answer may overtake it on its way through the system.
    pub(super) fn contradicts(&self, newest: u32) -> bool {
        newest < self.newest_when_asked
    }

    /// The adapter gave a number twice; `false` if that is known already.
    pub(super) fn break_off(&mut self) -> bool {
        !std::mem::replace(&mut self.broken, true)
    }

    /// Everything that the adapter is known to have made is told or gone.
    pub(super) fn is_settled(&self) -> bool {
        self.settled.prefix() >= self.newest && self.held.is_empty()
    }

    /// Keeps a reading until its turn.
    pub(super) fn hold(&mut self, sequence: u32, now: Stamp, event: SourceEvent) {
        self.held.insert(sequence, (now + PATIENCE_S, event));
    }

    /// Whether a reading has come and its turn has been.
    pub(super) fn was_told(&self, sequence: u32) -> bool {
        self.has_arrived(sequence) && !self.held.contains_key(&sequence)
    }

    /// The next reading whose turn it is, with its number: none before it is missing, or it has waited long enough
    /// for one that nobody is fetching.
    pub(super) fn next_told(&mut self, now: Stamp, fetching: bool) -> Option<(u32, SourceEvent)> {
        let until = self.told_at()?;
        let entry = self.held.first_entry()?;
        let complete = self.settled.prefix() >= *entry.key();
        (complete || (!fetching && now >= until)).then(|| {
            let (sequence, (_, event)) = entry.remove_entry();
            (sequence, event)
        })
    }

    /// When the next reading has waited long enough.
    pub(super) fn told_at(&self) -> Option<Stamp> {
        self.held.values().map(|(until, _)| *until).min()
    }
}
