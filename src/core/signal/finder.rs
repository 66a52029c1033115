//! Samples in, pulls out.

mod together;

use super::block::{Block, Nonsense, Source};
use super::clock::{Clock, Follows};
use super::constants::{
    ABSURD_DEG_PER_S, ABSURD_NM, BLIND_S, BLIND_SAMPLES, END_SHARE_OF_START, REPORT_EVERY,
    RESTING_FACTOR, ROTATION_GRID_DEG, START_FLOOR_NM, START_FLOOR_SHARE, START_NOISES,
    START_SHARE_OF_RANGE, USUAL_RANGE_NM,
};
use super::description::Description;
use super::lead::Lead;
use super::read::{Context, Reader};
use super::stretch::Stretch;
use super::turns::Turns;
use super::under_way::{Over, UnderWay};
use super::zero::Zero;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use fearless_simd::{Level, Simd, dispatch};

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

/// Rotations that are put on the grid together.
const TURNED: usize = 64;

/// Finds pulls in a stream of samples, and reads each.
///
/// Room is taken once, when it is made; a sample takes none. Blocks may have any size: the same
/// samples give the same pulls, to the bit.
#[derive(Debug, Clone)]
pub struct PullFinder {
    level: Level,
    source: Source,
    range_nm: f64,
    clock: Clock,
    zero: Zero,
    lead: Lead,
    stretch: Stretch,
    reader: Reader,
    open: Option<UnderWay>,
    /// Torque at which a pull begins, N·m.
    start_nm: f64,
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

impl PullFinder {
    /// A finder for the samples of one adapter.
    #[must_use]
    pub fn new(source: Source) -> Self {
        let source = source.believed();
        let range = source.range_max.map_or(USUAL_RANGE_NM, |max| max.nm().abs());
        let zero = Zero::new(range);
        Self {
            level: Level::new(),
            source,
            range_nm: range,
            start_nm: start_nm(range, &zero),
            clock: Clock::new(),
            zero,
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
        self.read(block, found);
    }

    fn read(&mut self, block: &Block<'_>, found: &mut dyn FnMut(Found)) {
        if block.torque.is_empty() {
            return;
        }
        match self.clock.follow(block) {
            Follows::On => {}
            Follows::After(samples) => self.miss(samples),
            Follows::Anew => {
                self.end(self.last_at, found);
                self.begin_anew();
                self.lead.begin(self.clock.rate_hz());
                self.reader.forget();
                self.zero.begin(self.clock.rate_hz());
            }
            Follows::Never(what) => {
                found(Found::Nonsense { at: block.start, what });
                return;
            }
        }
        let steps = self.usable_turns(block, found);
        self.has_turned = steps.is_some();
        dispatch!(self.level, simd => match steps {
            Some(steps) => self.take_turned(simd, block.torque, steps, found),
            None => self.take_all(simd, block.torque, Turns::Still(self.turned), found),
        });
        if self.missing == 0 {
            self.last_at = self.clock.back(1.0);
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
        found: &mut dyn FnMut(Found),
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

    /// Takes a sample for each rotation.
    #[inline(always)]
    fn take_turned(
        &mut self,
        simd: impl Simd,
        torque: &[f32],
        steps: &[f64],
        found: &mut dyn FnMut(Found),
    ) {
        let mut turned = [0; TURNED];
        let mut before = 0;
        for (torque, steps) in torque.chunks(TURNED).zip(steps.chunks(TURNED)) {
            let turned = &mut turned[..steps.len()];
            if let Some(last) = self.whole_turns(steps, before, turned) {
                before = last;
                self.take_all(simd, torque, Turns::Each(turned), found);
                continue;
            }
            for (torque, deg) in torque.iter().zip(steps) {
                self.turn(*deg, &mut before, found);
                self.take(f64::from(*torque), found);
            }
        }
    }

    /// Where the drive stood at each of these samples, if nothing is odd in any, and the last of them
    /// in the count of the block.
    #[inline(always)]
    fn whole_turns(&self, steps: &[f64], before: i64, turned: &mut [i64]) -> Option<i64> {
        let limit = ABSURD_DEG_PER_S / self.clock.rate_hz();
        let base = self.turned - before;
        let mut last = before;
        for (to, deg) in turned.iter_mut().zip(steps) {
            let now = grid(*deg).filter(|now| degrees(now - last).abs() <= limit)?;
            *to = base + now;
            last = now;
        }
        (self.missing == 0).then_some(last)
    }

    fn turn(&mut self, deg: f64, before: &mut i64, found: &mut dyn FnMut(Found)) {
        let limit = ABSURD_DEG_PER_S / self.clock.rate_hz() * (self.missing + 1) as f64;
        let told = grid(deg);
        match told.filter(|now| degrees(now - *before).abs() <= limit) {
            Some(now) => {
                self.turned += now - *before;
                *before = now;
            }
            None => {
                *before = told.unwrap_or(*before);
                found(Found::Nonsense { at: self.clock.now(), what: Nonsense::Rotation });
            }
        }
    }

    fn take(&mut self, raw_nm: f64, found: &mut dyn FnMut(Found)) {
        if !raw_nm.is_finite() || raw_nm.abs() >= ABSURD_NM {
            if self.missing == 0 {
                self.last_at = self.clock.back(1.0);
            }
            self.missing = self.missing.saturating_add(1);
            self.spoiled += 1;
            if self.spoiled == REPORT_EVERY {
                self.report_spoiled(found);
            }
        } else {
            self.report_spoiled(found);
            let sample = Sample { raw_nm, turned: self.turned };
            if self.missing > 0 {
                self.bridge(sample, found);
            }
            self.add(sample, found);
            self.last = sample;
        }
        self.clock.step(1);
    }

    fn report_spoiled(&mut self, found: &mut dyn FnMut(Found)) {
        if self.spoiled > 0 {
            let count = std::mem::take(&mut self.spoiled);
            found(Found::Nonsense { at: self.clock.now(), what: Nonsense::Samples { count } });
        }
    }

    /// Puts a straight line in place of a few missing samples of a pull; more of them end it.
    fn bridge(&mut self, next: Sample, found: &mut dyn FnMut(Found)) {
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

    fn add(&mut self, sample: Sample, found: &mut dyn FnMut(Found)) {
        let nm = sample.raw_nm - self.zero.nm;
        if self.open.is_some() {
            self.advance(sample, nm, found);
            return;
        }
        let size = nm.abs();
        if size >= self.start_nm + self.resting_nm * RESTING_FACTOR {
            self.open_pull(sample, nm);
            return;
        }
        self.resting_nm = self.resting_nm.min(size);
        if size < self.start_nm * END_SHARE_OF_START {
            self.resting_nm = 0.0;
        }
        self.lead.push(sample.raw_nm, sample.turned);
        if size >= self.start_nm {
            self.zero.disturb();
        } else if self.zero.rest(sample.raw_nm) {
            self.zeroed(self.clock.now(), found);
        }
    }

    /// A zero was taken.
    fn zeroed(&mut self, at: Stamp, found: &mut dyn FnMut(Found)) {
        self.start_nm = start_nm(self.range_nm, &self.zero);
        found(Found::Zero { at, zero: Torque::from_nm(self.zero.nm) });
    }

    fn open_pull(&mut self, sample: Sample, nm: f64) {
        let sign = nm.signum();
        self.stretch.begin(self.has_turned);
        let zero = self.zero_for_pull();
        let first = self.lead.oldest_turned().unwrap_or(sample.turned);
        for (lead_nm, turned) in self.lead.parts() {
            let Some(room) = self.stretch.room(lead_nm.len()) else { continue };
            dispatch!(self.level, _simd => less(lead_nm, (zero, sign), room));
            self.stretch
                .extend(lead_nm.len(), Turns::Each(turned), |at| degrees(at - first) * sign);
        }
        self.zero.disturb();
        let age = self.stretch.torque().len();
        self.open = Some(UnderWay::begin(sign, self.clock.rate_hz(), first, age));
        self.put(sample, as_kept((sample.raw_nm - zero) * sign));
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
        let Some(open) = &mut self.open else { return };
        let full =
            sample.raw_nm.abs() >= as_kept(self.range_nm) && sample.raw_nm == self.last.raw_nm;
        open.add(pulled, full);
        let turned = degrees(sample.turned - open.turned_at_start) * open.sign;
        self.stretch.push(pulled, turned);
    }

    fn advance(&mut self, sample: Sample, nm: f64, found: &mut dyn FnMut(Found)) {
        let Some(open) = &mut self.open else { return };
        let pulled = as_kept(nm * open.sign);
        let over = open.over(pulled, self.start_nm);
        self.put(sample, pulled);
        if over == Over::Not {
            return;
        }
        self.end(self.clock.now(), found);
        self.resting_nm = pulled.max(0.0);
        if over == Over::Reversed {
            self.resting_nm = 0.0;
            self.lead.clear();
            self.open_pull(sample, nm);
        }
    }

    /// Ends the pull under way, whose last sample was taken at `last_at`.
    fn end(&mut self, last_at: Stamp, found: &mut dyn FnMut(Found)) {
        let Some(open) = self.open.take() else { return };
        self.lead.clear();
        let stride = self.stretch.stride();
        let context = Context {
            sign: open.sign,
            rate_hz: open.rate_hz / f64::from(stride),
            last_at,
            source: self.source,
            range_nm: self.range_nm,
            start_nm: self.start_nm,
            zero_nm: self.zero.nm,
            zero_sd_nm: self.zero.sd_nm,
            noise_nm: self.zero.noise_nm / f64::from(stride).sqrt(),
            missing: open.missing,
            saturated: open.saturated,
        };
        self.reader.read(self.stretch.torque(), self.stretch.turned(), &context, found);
    }
}

/// As precise as samples of a pull are kept, however they are taken.
fn as_kept(nm: f64) -> f64 {
    f64::from(nm as f32)
}

/// Puts these there, each less `zero` and times `sign`.
#[inline(always)]
fn less(nm: &[f32], (zero, sign): (f64, f64), to: &mut [f32]) {
    for (to, nm) in to.iter_mut().zip(nm) {
        *to = ((f64::from(*nm) - zero) * sign) as f32;
    }
}

fn start_nm(range_nm: f64, zero: &Zero) -> f64 {
    START_FLOOR_NM
        .min(range_nm * START_FLOOR_SHARE)
        .max(range_nm * START_SHARE_OF_RANGE)
        .max(zero.noise_nm * START_NOISES)
}

fn grid(deg: f64) -> Option<i64> {
    /// 1.5 · 2^52: a number of this size has no fraction, so that adding it rounds.
    const WHOLE: f64 = 6_755_399_441_055_744.0;
    let units = deg / ROTATION_GRID_DEG;
    (units.abs() < 1e15).then_some(((units + WHOLE) - WHOLE) as i64)
}

fn degrees(units: i64) -> f64 {
    units as f64 * ROTATION_GRID_DEG
}
