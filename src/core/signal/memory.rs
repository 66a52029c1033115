//! The pulls before, as far as they help to read the next.

use super::constants::{
    ALIKE_LN, BEGAN_DEG, NEAR_LN, REMEMBERED, USUAL_FASTEST, USUAL_LEAST, USUAL_SLOPE,
};
use super::description::{Alike, Among, Before, Description};
use super::inputs;
use super::lanes::{higher, lower};
use super::rough::Rough;
use crate::core::time::Stamp;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f64x8};

/// The latest figures of one kind.
#[derive(Debug, Clone, Copy, Default)]
struct Latest {
    values: [f64; REMEMBERED],
    count: usize,
}

/// How fast one pull rose, and what it seemed to be.
#[derive(Debug, Clone, Copy, Default)]
struct Risen {
    figures: Figures,
    ln_peak: f64,
    ln_pace: f64,
    tight: f64,
}

/// Figures of a rise: the peak, [`inputs::upper_pace`], [`inputs::fastest_pace`], [`inputs::slowest_pace`],
/// [`inputs::foot_pace`], [`inputs::top_pace`], and [`inputs::held_s`] as far as the samples resolve it.
type Figures = [f64; FIGURES];
const PEAK: usize = 0;
const PACE: usize = 1;
const FASTEST: usize = 2;
const SLOWEST: usize = 3;
const FOOT: usize = 4;
const TOP: usize = 5;
const HELD: usize = 6;
/// With one place left empty, as many as are worked on side by side.
const FIGURES: usize = 8;

impl Risen {
    fn of(pull: &Description, tight: f64) -> Self {
        let mut figures = [1.0; FIGURES];
        figures[PEAK] = pull.peak.torque.nm().abs().max(0.1);
        figures[PACE] = inputs::upper_pace(pull);
        figures[FASTEST] = inputs::fastest_pace(pull);
        figures[SLOWEST] = inputs::slowest_pace(pull);
        figures[FOOT] = inputs::foot_pace(pull);
        figures[TOP] = inputs::top_pace(pull);
        figures[HELD] = inputs::held_s(pull) + inputs::resolved_s(pull);
        let (ln_peak, ln_pace) = (figures[PEAK].rough_ln(), figures[PACE].rough_ln());
        Self { figures, ln_peak, ln_pace, tight }
    }
}

#[derive(Debug, Clone, Default)]
pub(super) struct Memory {
    risen: [Risen; REMEMBERED],
    /// How many have risen in all.
    count: usize,
    slopes: Latest,
    /// Paces of the fastest quarter of the peak.
    fastest: Latest,
    peaks_nm: Latest,
    before: Option<Last>,
}

/// The pull before, whichever way it went.
#[derive(Debug, Clone, Copy)]
struct Last {
    to: Stamp,
    nm: f64,
    risen: Risen,
    /// With the ratios still to come.
    said: Before,
}

impl Last {
    fn of(pull: &Description, risen: Risen) -> Self {
        let texture = &pull.texture;
        Self {
            to: pull.to,
            nm: pull.peak.torque.nm(),
            risen,
            said: Before {
                paces: [1.0; 5],
                held_s: inputs::held_s(pull),
                level_s: texture.level_s,
                sinking_s: texture.sinking_s,
                plateau_slope: texture.plateau_slope,
                plateau_waver: texture.plateau_waver,
                roughness: texture.roughness,
                given_back: texture.given_back,
                upper_deg: pull.turned.map(|turned| turned.upper_deg),
                late_deg: pull.turned.map(|turned| turned.late_deg),
            },
        }
    }

    /// As `next` sees it.
    fn beside(&self, next: &Risen) -> Before {
        let ratio = |figure: usize| next.figures[figure] / self.risen.figures[figure];
        Before { paces: [FOOT, PACE, TOP, FASTEST, SLOWEST].map(ratio), ..self.said }
    }
}

impl Memory {
    pub fn forget(&mut self) {
        *self = Self::default();
    }

    /// How `pull` stands to those before it; then it is one of them. `tight` is the probability, by its
    /// own shape, that its fastener was already tight.
    #[inline(always)]
    pub fn place(&mut self, simd: impl Simd, pull: &Description, tight: f64) -> Among {
        let peak = pull.peak.torque.nm();
        // Below that, the turn is noise, and the fastener was tight already.
        let upper_deg = pull.turned.map(|turned| turned.upper_deg).filter(|deg| *deg > BEGAN_DEG);
        let slope = upper_deg.map(|deg| 0.4 * peak.abs() / deg);
        let risen = Risen::of(pull, tight);
        let [(turning, seemed_turning), (still, seemed_tight)] = self.usual_paces(&risen);
        if peak > 0.0 {
            self.fastest.add(risen.figures[FASTEST]);
        }
        let fastest = self.fastest.at(USUAL_FASTEST, 1);
        let latest = self.count.checked_sub(1).map(|last| self.risen[last % REMEMBERED]);
        let among = Among {
            after_s: self.before.map(|before| pull.from - before.to),
            to_before: self.before.map(|before| peak / before.nm).filter(|ratio| ratio.is_finite()),
            to_highest: self.peaks_nm.highest().map(|highest| peak.abs() / highest),
            to_usual_slope: slope
                .and_then(|slope| Some(slope / self.slopes.at(USUAL_SLOPE, USUAL_LEAST)?)),
            to_turning_pace: turning,
            to_tight_pace: still,
            to_fastest_pace: fastest.map(|fastest| risen.figures[PACE] / fastest),
            seemed_turning,
            seemed_tight,
            before_tight: latest.map(|risen| risen.tight),
            before: self.before.map(|before| before.beside(&risen)),
            alike: self.alike(simd, &risen),
        };
        self.before = Some(Last::of(pull, risen));
        if peak > 0.0 {
            self.risen[self.count % REMEMBERED] = risen;
            self.count += 1;
            self.peaks_nm.add(peak);
        }
        if let Some(slope) = slope {
            self.slopes.add(slope);
        }
        among
    }

    /// How `one` stands to the pulls to about the same torque.
    #[inline(always)]
    fn alike(&self, simd: impl Simd, one: &Risen) -> Option<Alike> {
        let mut theirs = [f64x8::splat(simd, 0.0); REMEMBERED];
        let mut count = 0;
        for before in &self.risen[..self.count.min(REMEMBERED)] {
            if (before.ln_peak - one.ln_peak).abs() < NEAR_LN {
                insert(&mut theirs[..=count], f64x8::load_array(simd, before.figures));
                count += 1;
            }
        }
        let last = count.checked_sub(1)?;
        let own = f64x8::load_array(simd, one.figures);
        let least = (own / theirs[0]).to_array();
        let middle = (own / theirs[last / 2]).to_array();
        let most = (own / theirs[last]).to_array();
        let ratios = |figure: usize| [least[figure], middle[figure], most[figure]];
        let [_, peak_middle, peak_highest] = ratios(PEAK);
        let [fastest_shortest, fastest_middle, _] = ratios(FASTEST);
        let [_, slowest_middle, slowest_longest] = ratios(SLOWEST);
        let [_, top_middle, top_longest] = ratios(TOP);
        let [_, held_middle, held_longest] = ratios(HELD);
        Some(Alike {
            count: count as u32,
            peak: [peak_middle, peak_highest],
            upper: ratios(PACE),
            fastest: [fastest_shortest, fastest_middle],
            slowest: [slowest_middle, slowest_longest],
            foot: ratios(FOOT),
            top: [top_middle, top_longest],
            held: [held_middle, held_longest],
        })
    }

    /// The pace of `one` as a ratio to the mean of those alike that seemed to turn their fastener, and of
    /// those that seemed not to, with the sum of their weights.
    fn usual_paces(&self, one: &Risen) -> [(Option<f64>, f64); 2] {
        let mut sums = [(0.0, 0.0); 2];
        for before in &self.risen[..self.count.min(REMEMBERED)] {
            let off = (before.ln_peak - one.ln_peak) / ALIKE_LN;
            let alike = (-0.5 * off * off).rough_exp();
            for ((paces, weights), seemed) in
                sums.iter_mut().zip([1.0 - before.tight, before.tight])
            {
                let weight = seemed * alike;
                *paces += weight * before.ln_pace;
                *weights += weight;
            }
        }
        sums.map(|(paces, weights)| {
            let ratio = (weights > 1e-6).then(|| (one.ln_pace - paces / weights).rough_exp());
            (ratio, weights)
        })
    }
}

impl Latest {
    fn add(&mut self, value: f64) {
        self.values[self.count % REMEMBERED] = value;
        self.count += 1;
    }

    fn highest(&self) -> Option<f64> {
        let known = &self.values[..self.count.min(REMEMBERED)];
        known.iter().copied().max_by(f64::total_cmp)
    }

    /// The value below which this share of them lies, if there are at least so many.
    fn at(&self, share: f64, least: usize) -> Option<f64> {
        let known = self.count.min(REMEMBERED);
        if known < least {
            return None;
        }
        let mut sorted = [0.0; REMEMBERED];
        for (count, value) in self.values[..known].iter().enumerate() {
            insert_one(&mut sorted[..=count], *value);
        }
        Some(sorted[((known - 1) as f64 * share).round() as usize])
    }
}

/// Puts `one` into its place, lane by lane, among those before the last place, which are in order.
#[inline(always)]
fn insert<S: Simd>(sorted: &mut [f64x8<S>], mut one: f64x8<S>) {
    let Some((last, before)) = sorted.split_last_mut() else { return };
    for other in before {
        (*other, one) = (other.min(one), other.max(one));
    }
    *last = one;
}

/// The same of one value.
fn insert_one(sorted: &mut [f64], mut one: f64) {
    let Some((last, before)) = sorted.split_last_mut() else { return };
    for other in before {
        (*other, one) = (lower(*other, one), higher(*other, one));
    }
    *last = one;
}
