//! Samples in, pulls out.

use super::block::{Block, Nonsense, Source};
use super::clock::{Clock, Follows};
use super::constants::{
    ABSURD_DEG_PER_S, ABSURD_NM, BLIND_S, BLIND_SAMPLES, END_SHARE_OF_PEAK, END_SHARE_OF_START,
    LONGEST_S, LOW_SHARE, QUIET_S, REPORT_EVERY, RESTED_S, RESTING_FACTOR, REVERSED_S,
    ROTATION_GRID_DEG, START_FLOOR_NM, START_FLOOR_SHARE, START_NOISES, START_SHARE_OF_RANGE,
    USUAL_RANGE_NM,
};
use super::description::Description;
use super::lead::Lead;
use super::read::{Context, Reader};
use super::stretch::Stretch;
use super::zero::Zero;
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// What was found in a stream of samples.
#[expect(clippy::large_enum_variant, reason = "it is handed on at once; a box would take memory")]
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Found {
    /// A pull has ended.
    Pull(Description),
    /// A bump, a dropped tool, a hand resting on the handle: torque that was no pull.
    Knock {
        /// When it was highest.
        at: Stamp,
        /// How high.
        torque: Torque,
    },
    /// A zero was taken while nothing was loaded.
    Zero {
        /// When.
        at: Stamp,
        /// What the adapter shows with nothing on it.
        zero: Torque,
    },
    /// Something in the stream cannot be used.
    Nonsense {
        /// Where in the stream.
        at: Stamp,
        /// What.
        what: Nonsense,
    },
}

/// Finds pulls in a stream of samples, and reads each.
///
/// Room is taken once, when it is made; a sample takes none. Blocks may have any size: the same
/// samples give the same pulls, to the bit.
#[derive(Debug, Clone)]
pub struct PullFinder {
    source: Source,
    range_nm: f64,
    clock: Clock,
    zero: Zero,
    lead: Lead,
    stretch: Stretch,
    reader: Reader,
    open: Option<Open>,
    /// Torque still on the handle after a pull, N·m along that pull.
    resting_nm: f64,
    last: Sample,
    last_at: Stamp,
    /// Samples missing since the last good one.
    missing: u64,
    /// Spoiled samples in a row.
    spoiled: u32,
    /// Turned since the stream began, in units of the grid.
    turned: i64,
    has_turned: bool,
}

#[derive(Debug, Clone, Copy, Default)]
struct Sample {
    raw_nm: f64,
    turned: i64,
}

#[derive(Debug, Clone, Copy)]
struct Open {
    sign: f64,
    rate_hz: f64,
    peak_nm: f64,
    /// Samples since it began.
    age: u64,
    /// Samples in a row below the end, below the resting share, and against the pull.
    quiet: u64,
    low: u64,
    against: u64,
    missing: u32,
    saturated: u32,
    turned_at_start: i64,
}

impl PullFinder {
    /// A finder for the samples of one adapter.
    #[must_use]
    pub fn new(source: Source) -> Self {
        let source = source.believed();
        let range = source.range_max.map_or(USUAL_RANGE_NM, |max| max.nm().abs());
        Self {
            source,
            range_nm: range,
            clock: Clock::new(),
            zero: Zero::new(range),
            lead: Lead::new(),
            stretch: Stretch::new(),
            reader: Reader::new(),
            open: None,
            resting_nm: 0.0,
            last: Sample::default(),
            last_at: Stamp::default(),
            missing: 0,
            spoiled: 0,
            turned: 0,
            has_turned: false,
        }
    }

    /// True while a pull is under way.
    #[must_use]
    pub fn pulling(&self) -> bool {
        self.open.is_some()
    }

    /// Reads a block, and tells `found` of everything that ended in it.
    pub fn feed(&mut self, block: &Block<'_>, found: &mut impl FnMut(Found)) {
        if block.torque.is_empty() {
            return;
        }
        match self.clock.follow(block) {
            Follows::On => {}
            Follows::After(samples) => self.miss(samples),
            Follows::Anew => {
                self.end(self.last_at, found);
                self.begin_anew();
                self.reader.forget();
            }
            Follows::Never(what) => {
                found(Found::Nonsense { at: block.start, what });
                return;
            }
        }
        let turned = self.usable_turns(block, found);
        self.has_turned = turned.is_some();
        let mut before = 0;
        for (index, torque) in block.torque.iter().enumerate() {
            if let Some(deg) = turned.and_then(|turned| turned.get(index)) {
                let limit = ABSURD_DEG_PER_S / self.clock.rate_hz() * (self.missing + 1) as f64;
                let now = grid(*deg)
                    .filter(|now| ((now - before) as f64 * ROTATION_GRID_DEG).abs() <= limit);
                match now {
                    Some(now) => {
                        self.turned += now - before;
                        before = now;
                    }
                    None => {
                        before = grid(*deg).unwrap_or(before);
                        let at = self.clock.now();
                        found(Found::Nonsense { at, what: Nonsense::Rotation });
                    }
                }
            }
            self.take(torque.nm(), found);
            self.clock.step();
        }
    }

    /// The stream has ended: ends the pull under way, if any.
    pub fn finish(&mut self, found: &mut impl FnMut(Found)) {
        self.report_spoiled(found);
        self.end(self.last_at, found);
    }

    fn usable_turns<'a>(
        &self,
        block: &Block<'a>,
        found: &mut impl FnMut(Found),
    ) -> Option<&'a [f64]> {
        let turned = block.turned_deg?;
        if turned.len() == block.torque.len() {
            return Some(turned);
        }
        let what = Nonsense::Rotations { expected: block.torque.len(), found: turned.len() };
        found(Found::Nonsense { at: block.start, what });
        None
    }

    fn begin_anew(&mut self) {
        self.zero.disturb();
        self.lead.clear();
        self.resting_nm = 0.0;
        self.missing = 0;
    }

    fn miss(&mut self, samples: u64) {
        self.missing = self.missing.saturating_add(samples);
    }

    fn take(&mut self, raw_nm: f64, found: &mut impl FnMut(Found)) {
        if !raw_nm.is_finite() || raw_nm.abs() >= ABSURD_NM {
            self.missing = self.missing.saturating_add(1);
            self.spoiled += 1;
            if self.spoiled == REPORT_EVERY {
                self.report_spoiled(found);
            }
            return;
        }
        self.report_spoiled(found);
        let sample = Sample { raw_nm, turned: self.turned };
        if self.missing > 0 {
            self.bridge(sample, found);
        }
        self.add(sample, found);
        self.last = sample;
        self.last_at = self.clock.now();
    }

    fn report_spoiled(&mut self, found: &mut impl FnMut(Found)) {
        if self.spoiled > 0 {
            let count = std::mem::take(&mut self.spoiled);
            found(Found::Nonsense { at: self.clock.now(), what: Nonsense::Samples { count } });
        }
    }

    /// Puts a straight line in place of a few missing samples of a pull; more of them end it.
    fn bridge(&mut self, next: Sample, found: &mut impl FnMut(Found)) {
        let missing = std::mem::take(&mut self.missing);
        self.zero.disturb();
        let Some(open) = &mut self.open else {
            self.lead.clear();
            return;
        };
        let longest = ((BLIND_S * self.clock.rate_hz()) as u64).min(BLIND_SAMPLES);
        if missing > longest {
            self.end(self.last_at, found);
            self.begin_anew();
            return;
        }
        open.missing = open.missing.saturating_add(missing as u32);
        let last = self.last;
        for index in 1..=missing {
            let share = index as f64 / (missing + 1) as f64;
            let raw_nm = last.raw_nm + (next.raw_nm - last.raw_nm) * share;
            let turned = last.turned + ((next.turned - last.turned) as f64 * share) as i64;
            self.add(Sample { raw_nm, turned }, found);
        }
    }

    fn add(&mut self, sample: Sample, found: &mut impl FnMut(Found)) {
        let nm = sample.raw_nm - self.zero.nm;
        if self.open.is_some() {
            self.advance(sample, nm, found);
            return;
        }
        let start = self.start_nm();
        let size = nm.abs();
        if size >= start + self.resting_nm * RESTING_FACTOR {
            self.open_pull(sample, nm);
            return;
        }
        self.resting_nm = self.resting_nm.min(size);
        if size < start * END_SHARE_OF_START {
            self.resting_nm = 0.0;
        }
        self.lead.push(sample.raw_nm, sample.turned);
        if size < start {
            if self.zero.rest(sample.raw_nm, self.clock.rate_hz()) {
                let zero = Torque::from_nm(self.zero.nm);
                found(Found::Zero { at: self.clock.now(), zero });
            }
        } else {
            self.zero.disturb();
        }
    }

    fn start_nm(&self) -> f64 {
        START_FLOOR_NM
            .min(self.range_nm * START_FLOOR_SHARE)
            .max(self.range_nm * START_SHARE_OF_RANGE)
            .max(self.zero.noise_nm * START_NOISES)
    }

    fn open_pull(&mut self, sample: Sample, nm: f64) {
        let sign = nm.signum();
        self.stretch.clear();
        self.stretch.has_turned = self.has_turned;
        let zero = self.zero_for_pull();
        let first = self.lead.oldest_turned().unwrap_or(sample.turned);
        for (raw_nm, turned) in self.lead.drain() {
            self.stretch.push((raw_nm - zero) * sign, degrees(turned - first) * sign);
        }
        self.zero.disturb();
        self.open = Some(Open {
            sign,
            rate_hz: self.clock.rate_hz(),
            peak_nm: 0.0,
            age: self.stretch.torque().len() as u64,
            quiet: 0,
            low: 0,
            against: 0,
            missing: 0,
            saturated: 0,
            turned_at_start: first,
        });
        self.put(sample, (sample.raw_nm - zero) * sign);
    }

    /// Without a zero of its own yet, a steady lead is the best that is known.
    fn zero_for_pull(&mut self) -> f64 {
        let lent = if self.zero.taken { None } else { self.lead.steady(self.range_nm) };
        if let Some((mean, sd)) = lent {
            self.zero.lend(mean, sd);
        }
        self.zero.nm
    }

    fn put(&mut self, sample: Sample, pulled: f64) {
        let range_nm = self.range_nm;
        let Some(open) = &mut self.open else { return };
        open.age += 1;
        open.peak_nm = open.peak_nm.max(pulled);
        if sample.raw_nm.abs() >= range_nm && sample.raw_nm == self.last.raw_nm {
            open.saturated = open.saturated.saturating_add(1);
        }
        let turned = degrees(sample.turned - open.turned_at_start) * open.sign;
        self.stretch.push(pulled, turned);
    }

    fn advance(&mut self, sample: Sample, nm: f64, found: &mut impl FnMut(Found)) {
        let start = self.start_nm();
        let rate_hz = self.clock.rate_hz();
        let Some(open) = &mut self.open else { return };
        let pulled = nm * open.sign;
        let end = (start * END_SHARE_OF_START).max(open.peak_nm * END_SHARE_OF_PEAK);
        open.against = if -pulled >= start { open.against + 1 } else { 0 };
        open.quiet = if pulled < end { open.quiet + 1 } else { 0 };
        open.low = if pulled < open.peak_nm * LOW_SHARE { open.low + 1 } else { 0 };
        let lasted = |samples: u64, seconds: f64| samples as f64 >= seconds * rate_hz;
        let reversed = open.against > 0 && lasted(open.against, REVERSED_S);
        let over = reversed
            || lasted(open.quiet, QUIET_S) && open.quiet > 0
            || lasted(open.low, RESTED_S)
            || lasted(open.age, LONGEST_S);
        self.put(sample, pulled);
        if over {
            self.end(self.clock.now(), found);
            self.resting_nm = if reversed { 0.0 } else { pulled.max(0.0) };
            if reversed {
                self.lead.clear();
                self.open_pull(sample, nm);
            }
        }
    }

    /// Ends the pull under way, whose last sample was taken at `last_at`.
    fn end(&mut self, last_at: Stamp, found: &mut impl FnMut(Found)) {
        let Some(open) = self.open.take() else { return };
        self.lead.clear();
        let stride = self.stretch.stride();
        let context = Context {
            sign: open.sign,
            rate_hz: open.rate_hz / f64::from(stride),
            last_at,
            source: self.source,
            range_nm: self.range_nm,
            start_nm: self.start_nm(),
            zero_nm: self.zero.nm,
            zero_sd_nm: self.zero.sd_nm,
            noise_nm: self.zero.noise_nm / f64::from(stride).sqrt(),
            missing: open.missing,
            saturated: open.saturated,
        };
        self.reader.read(self.stretch.torque(), self.stretch.turned(), &context, found);
    }
}

fn grid(deg: f64) -> Option<i64> {
    let units = deg / ROTATION_GRID_DEG;
    (units.abs() < 1e15).then_some(units.round() as i64)
}

fn degrees(units: i64) -> f64 {
    units as f64 * ROTATION_GRID_DEG
}
