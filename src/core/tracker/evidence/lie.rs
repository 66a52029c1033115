//! Where the members of a ring lie, as far as moves have told.
//!
//! Members of a ring of radius R lie at R·(sin θ, cos θ), θ clockwise from the top, one n-th of a circle
//! apart. Where member 1 lies is not known: u = R·(sin φ, cos φ), every φ alike and R about as usual. What
//! a move from one member to another shows of u is linear in it, so that all moves together leave a
//! precision λ and a vector b, and the likelihood of them all is the integral over R and φ of
//! exp(b·u − λR²/2): over φ a Bessel function (Abramowitz and Stegun 1964, 9.6.16), over R nearly normal.
//! Without direction only the chord 2R·sin(kπ/n) is seen, and R is estimated.

use crate::core::event::Moved;
use crate::core::tracker::evidence::motion::{ANYWHERE_MM, WRONG, WRONG_BY, plane, rayleigh};
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::scene::Scene;
use std::f64::consts::TAU;
use std::sync::LazyLock;

/// So many of the ways to take a ring's moves are held, each one right or wrong,
const SEATS: usize = 3;
/// and none below this share of the likeliest.
const LEAST_SEAT: f64 = 0.002;
/// Most members of a ring that is usual.
const USUAL: u16 = 12;
/// Usual radius of a ring whose pitch circle the plan does not give, and its spread, millimetres.
const RADIUS_MM: (f64, f64) = (58.0, 22.0);
/// Spread of a radius that the plan gives, millimetres.
const GIVEN_RADIUS_SD_MM: f64 = 1.5;

/// What one account holds of where a ring's members lie.
///
/// A move was right, and tells where they lie, or it was wrong, and does not. As long as that is open, both
/// are held, each with its share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::core::tracker) struct Lie {
    /// The likeliest first, and their shares, which sum to 1; a share of 0 is none.
    seats: [(f64, Seat); SEATS],
    /// Radius and its variance before anything moved; millimetres.
    usual: (f64, f64),
}

/// Where a ring lies, if these of its moves were right and no others.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Seat {
    /// Precision λ that moves have given to where member 1 lies, 1/mm².
    precision: f64,
    /// Precision times where they put it, b: right, up; 1/mm.
    told: (f64, f64),
    /// ln of the integral over where the ring may lie.
    ln_held: f64,
    /// Radius as far as distances tell, and its variance; millimetres.
    radius: f64,
    radius_var: f64,
}

/// A move from member to member of a ring of `n`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::core::tracker) struct Step {
    pub n: u16,
    pub from: u16,
    pub to: u16,
}

impl Lie {
    /// What is known of a step before anything moved.
    pub fn of(scene: &Scene, step: usize) -> Self {
        let given = scene.step(step).pitch_circle_mm.map(|circle| circle / 2.0);
        let radius = given.unwrap_or(RADIUS_MM.0);
        let spread = if given.is_some() { GIVEN_RADIUS_SD_MM } else { RADIUS_MM.1 };
        let usual = (radius, spread * spread);
        let ln_held = ln_held(0.0, (0.0, 0.0), usual);
        let seat = Seat { precision: 0.0, told: (0.0, 0.0), ln_held, radius, radius_var: usual.1 };
        let mut seats = [(0.0, seat); SEATS];
        seats[0].0 = 1.0;
        Self { seats, usual }
    }

    fn held(&self) -> impl Iterator<Item = (f64, Seat)> + '_ {
        self.seats.iter().copied().take_while(|(share, _)| *share > 0.0)
    }

    /// ln of how likely a move is, relative to one about which nothing is known.
    pub(super) fn ln_ratio(&self, step: Step, moved: Moved, sd: f64) -> f64 {
        let way = between(step);
        let each =
            self.held().map(|(share, seat)| share.ln() + seat.ln_ratio(self.usual, way, moved, sd));
        each.reduce(|one, other| ln_sum(&[one, other])).unwrap_or(0.0)
    }

    /// Takes in a move, right or wrong.
    pub(super) fn learn(&mut self, step: Step, moved: Moved, sd: f64) {
        let way = between(step);
        let mut open = [(0.0, self.seats[0].1); 2 * SEATS];
        for (places, (share, seat)) in open.chunks_exact_mut(2).zip(self.held()) {
            let fits = |sd: f64| seat.ln_ratio(self.usual, way, moved, sd).exp();
            let right = (1.0 - WRONG) * fits(sd);
            let wrong = 0.5 * WRONG * (1.0 + fits(sd * WRONG_BY));
            places[0] = (share * right, seat.with(self.usual, way, moved, sd));
            places[1] = (share * wrong, seat);
        }
        open.sort_by(|one, other| other.0.total_cmp(&one.0));
        let least = open[0].0 * LEAST_SEAT;
        let kept = open.into_iter().take(SEATS).filter(|(share, _)| *share >= least);
        let all: f64 = kept.clone().map(|(share, _)| share).sum();
        let mut seats = [(0.0, open[0].1); SEATS];
        for (to, (share, seat)) in seats.iter_mut().zip(kept) {
            *to = (share / all, seat);
        }
        self.seats = seats;
    }
}

impl Seat {
    fn with(mut self, usual: (f64, f64), way: (f64, f64), moved: Moved, sd: f64) -> Self {
        match moved {
            Moved::Axes { right_mm, up_mm } => {
                let (cos, sin) = way;
                let each = 1.0 / (sd * sd);
                self.precision += (cos * cos + sin * sin) * each;
                // Transposed: what the move says of u.
                self.told.0 += (cos * right_mm - sin * up_mm) * each;
                self.told.1 += (sin * right_mm + cos * up_mm) * each;
                self.ln_held = ln_held(self.precision, self.told, usual);
            }
            Moved::Distance { mm } => {
                let chord = chord(way);
                let gain = self.radius_var * chord / (chord * chord * self.radius_var + sd * sd);
                self.radius += gain * (mm - chord * self.radius);
                self.radius_var *= 1.0 - gain * chord;
            }
        }
        self
    }

    fn ln_ratio(&self, usual: (f64, f64), way: (f64, f64), moved: Moved, sd: f64) -> f64 {
        match moved {
            Moved::Axes { right_mm, up_mm } => {
                plane((right_mm, up_mm), sd) + self.with(usual, way, moved, sd).ln_held
                    - self.ln_held
                    - plane((right_mm, up_mm), ANYWHERE_MM)
            }
            Moved::Distance { mm } => {
                let chord = chord(way);
                // Noise square to the move makes it look longer.
                let expected = (chord * self.radius).hypot(sd);
                let spread = (chord * chord * self.radius_var + sd * sd).sqrt();
                ln_normal(mm, expected, spread) - rayleigh(mm, ANYWHERE_MM)
            }
        }
    }
}

/// ln of the integral over where a ring of a usual radius may lie, by what moves have told.
fn ln_held(precision: f64, told: (f64, f64), (radius, var): (f64, f64)) -> f64 {
    let told = (told.0 * told.0 + told.1 * told.1).sqrt();
    let precision = precision + 1.0 / var;
    let pull = told + radius / var;
    -0.5 * (var * precision).ln() + pull * pull / (2.0 * precision) - radius * radius / (2.0 * var)
        + ln_i0_scaled(told * pull / precision)
}

/// The move from one member to another as a matrix (cos, sin; -sin, cos) on u.
fn between(Step { n, from, to }: Step) -> (f64, f64) {
    let (from, to) = (place(n, from), place(n, to));
    (to.0 - from.0, to.1 - from.1)
}

/// Cosine and sine of where a member lies, clockwise from member 1.
fn place(n: u16, member: u16) -> (f64, f64) {
    let ring = RINGS.get(usize::from(n));
    let known = ring.and_then(|ring| ring.get(usize::from(member - 1)));
    known.copied().unwrap_or_else(|| work_out(n, member))
}

fn work_out(n: u16, member: u16) -> (f64, f64) {
    let angle = TAU * f64::from(member - 1) / f64::from(n);
    (angle.cos(), angle.sin())
}

/// Of rings that are usual: every move is weighed in every account.
static RINGS: LazyLock<Vec<Vec<(f64, f64)>>> = LazyLock::new(|| {
    (0..=USUAL).map(|n| (1..=n).map(|member| work_out(n, member)).collect()).collect()
});

/// The chord between two members of a ring of radius 1, by what [`between`] tells of them.
fn chord((cos, sin): (f64, f64)) -> f64 {
    cos.hypot(sin)
}

/// ln of I₀(x)·e⁻ˣ for x ≥ 0 (Abramowitz and Stegun 1964, 9.8.1 and 9.8.2).
fn ln_i0_scaled(x: f64) -> f64 {
    let series = |at: f64, terms: &[f64]| terms.iter().rev().fold(0.0, |sum, term| sum * at + term);
    if x < 3.75 {
        let t = (x / 3.75).powi(2);
        let terms =
            [1.0, 3.515_622_9, 3.089_942_4, 1.206_749_2, 0.265_973_2, 0.036_076_8, 0.004_581_3];
        series(t, &terms).ln() - x
    } else {
        let terms = [
            0.398_942_28,
            0.013_285_92,
            0.002_253_19,
            -0.001_575_65,
            0.009_162_81,
            -0.020_577_06,
            0.026_355_37,
            -0.016_476_33,
            0.003_923_77,
        ];
        series(3.75 / x, &terms).ln() - 0.5 * x.ln()
    }
}
