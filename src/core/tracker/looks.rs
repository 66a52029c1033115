//! What a pull looks like beside what one hand's pulls look like that turn their fastener.
//!
//! Hands differ more from each other than the pulls of one. Each account keeps the mean of what turned in it, and a
//! pull is judged by how far it is from that, and by what it is itself.

use crate::core::signal::{Description, LEVELS};
use crate::core::tracker::looks_weights::{TIGHT, TURNED};

/// Figures of a pull.
pub const LOOKS: usize = 7;
/// What is judged: the figures less the hand's own, and the figures.
pub const INPUTS: usize = 2 * LOOKS;

/// How many pulls the general opinion of a hand is worth.
const WORTH: f64 = 2.0;
/// Beyond this, ln of odds tell no more.
const BOUNDS: (f64, f64) = (-9.0, 6.0);
/// Less is not told from nothing: seconds, torque (N·m), and a share.
const LEAST_S: f64 = 0.002;
const LEAST_NM: f64 = 0.1;
const LEAST_SHARE: f64 = 1e-3;
const LEAST_PROBABILITY: f64 = 1e-9;

/// What one pull looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Looks([f64; LOOKS]);

impl Looks {
    /// The figures of a description, none where it is no whole pull: ln of the odds that the fastener was tight, by
    /// everything and by the shape alone; ln of the seconds that torque takes from 60 to 85 %, from 30 to 60 % and from
    /// 85 to 95 % of the peak, for each N·m of it; ln of the steepest slope as a share of the peak a second; and ln of
    /// the seconds from snug to the peak.
    #[must_use]
    pub fn of(description: &Description) -> Option<Self> {
        let (act, rise) = (&description.act, &description.rise);
        let ln_peak = description.peak.torque.nm().abs().max(LEAST_NM).ln();
        let pace = |from: f64, to: f64| {
            let at = |share: f64| {
                let place = LEVELS.iter().position(|level| *level >= share - 1e-9);
                place.map_or(0.0, |place| rise.reached_s[place])
            };
            ((at(from) - at(to)).max(0.0) + LEAST_S).ln() - ln_peak
        };
        let odds = act.already_tight.max(LEAST_PROBABILITY) / act.fresh.max(LEAST_PROBABILITY);
        let figures = [
            odds.ln().clamp(BOUNDS.0, BOUNDS.1),
            pace(0.6, 0.85),
            pace(0.3, 0.6),
            (rise.slope_nm_per_s / ln_peak.exp()).max(LEAST_SHARE).ln(),
            (rise.snug_to_peak_s + LEAST_S).ln(),
            pace(0.85, 0.95),
            act.ln_tight_over_fresh.clamp(BOUNDS.0, BOUNDS.1),
        ];
        figures.iter().all(|figure| figure.is_finite()).then_some(Self(figures))
    }

    /// The figures.
    #[must_use]
    pub const fn figures(&self) -> [f64; LOOKS] {
        self.0
    }

    /// ln of how much likelier it looks so on a tight fastener than on one that turns under this hand.
    #[must_use]
    pub fn ln_tight(&self, usual: &Usual) -> f64 {
        TIGHT.model.ln_odds(&usual.inputs(self, &TURNED)) - TIGHT.prior_ln_odds
    }
}

/// What pulls of one hand look like that turn their fastener.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Usual {
    count: u16,
    sums: [f64; LOOKS],
}

impl Usual {
    /// Takes in a pull that turned.
    pub fn learn(&mut self, looks: &Looks) {
        self.count = self.count.saturating_add(1);
        self.sums.iter_mut().zip(looks.0).for_each(|(sum, figure)| *sum += figure);
    }

    /// What a pull is judged by; `of_hands` is what people's pulls look like in general.
    #[must_use]
    pub fn inputs(&self, looks: &Looks, of_hands: &[f64; LOOKS]) -> [f64; INPUTS] {
        let mut inputs = [0.0; INPUTS];
        for index in 0..LOOKS {
            let mean =
                (WORTH * of_hands[index] + self.sums[index]) / (WORTH + f64::from(self.count));
            inputs[index] = looks.0[index] - mean;
            inputs[LOOKS + index] = looks.0[index];
        }
        inputs
    }
}
