//! The habits of whoever does the job.

use super::generator::hand::Hand;
use super::generator::random::Chance;

#[derive(Debug, Clone)]
pub struct Person {
    pub hand: Hand,
    /// What a gun brings nuts to before the adapter comes: share of the target, and its spread.
    pub gun: Option<(f64, f64)>,
    /// Once round when everything is done, though no plan asks for it.
    pub checks: Option<Check>,
    /// Share of tightenings that first stop short.
    pub stops_short: f64,
    /// Share of tightenings pulled a second time at once.
    pub pulls_twice: f64,
    /// Seconds between pulls: bounds.
    pub pause_s: (f64, f64),
    /// Seconds between swings of one tightening: bounds.
    pub swing_pause_s: (f64, f64),
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Check {
    Clockwise,
    Pattern,
}

impl Person {
    pub fn any(chance: &mut Chance) -> Self {
        let under_car = chance.happens(0.6);
        // Most guns stay below the target; one in ten does not.
        let gun = chance.happens(0.4).then(|| {
            let level =
                if chance.happens(0.1) { chance.even(0.85, 1.3) } else { chance.even(0.1, 0.7) };
            (level, 0.12)
        });
        Self {
            hand: Hand::any(false, chance),
            gun,
            checks: chance
                .happens(0.25)
                .then(|| if chance.happens(0.6) { Check::Clockwise } else { Check::Pattern }),
            stops_short: chance.one_of(&[0.02, 0.05, 0.2]),
            pulls_twice: if chance.happens(0.12) { chance.even(0.3, 0.9) } else { 0.0 },
            pause_s: if under_car { (5.0, 20.0) } else { (3.0, 9.0) },
            swing_pause_s: if under_car { (5.0, 20.0) } else { (0.6, 3.0) },
        }
    }
}
