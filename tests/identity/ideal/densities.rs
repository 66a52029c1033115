//! How likely a pull looks as it does on a slack and on a tight fastener, learnt from other jobs.

use super::swings::Swings;
use crate::class::Class;
use crate::job::{Job, Pull};
use crate::measure::quantile;
use crate::tell;
use clampbook::core::event::{Act, What};
use clampbook::core::plan::Expect;
use clampbook::core::signal::Description;
use std::collections::BTreeMap;

/// Jobs that are learnt from. Those of the report begin elsewhere, and nothing else looks at them.
const SEEDS: std::ops::Range<u64> = 1_000_001..1_000_241;
/// Share of what looks unlike all others, and how many times wider it is spread.
const STRAY: (f64, f64) = (0.03, 4.0);
/// Bounds of the share of the torque that a slack fastener is brought to which it held already: how a
/// pull looks differs between them.
pub const HELD: [f64; 3] = [0.4, 0.7, 0.93];
/// Less than this is not told from nothing, degrees.
const FLOOR_DEG: f64 = 0.4;
/// How far a tight fastener moves on, as a share of what the whole torque would turn it.
const MOVES_ON: f64 = 0.03;

/// What is learnt once for all classes.
pub struct Densities {
    /// Of ln(degrees) about what is expected of a slack, and of a tight fastener: middle and spread.
    turned: [(f64, f64); 2],
    /// Of the shape of a pull, by what the fastener held: the last is of tight ones.
    shapes: Vec<Normal>,
    pub swings: Swings,
}

impl Densities {
    pub fn learn(trace: &Class) -> Self {
        let mut turned = [Vec::new(), Vec::new()];
        let mut shapes: Vec<Vec<[f64; 3]>> = vec![Vec::new(); HELD.len() + 1];
        for seed in SEEDS {
            let job = Job::seeded(seed);
            let mut seen = BTreeMap::new();
            for input in tell::inputs(&job, trace) {
                match input.what {
                    What::Reading(one) => {
                        seen.extend(one.description.map(|shape| (one.seq, *shape)))
                    }
                    What::Described(one) => {
                        seen.insert(one.seq, *one.description);
                    }
                    _ => {}
                }
            }
            for (place, pull) in job.pulls.iter().enumerate() {
                let first = place == 0 || job.pulls[place - 1].effort != pull.effort;
                if !first || pull.act == Act::Loosen {
                    continue;
                }
                let held = held(&job, pull, pull.told.peak_nm);
                let tight = pull.act == Act::Recheck || held >= HELD[2];
                turned[usize::from(tight)].push(turns(&job, pull)[usize::from(tight)]);
                if let Some(shape) = seen.get(&(place as u64 + 1)) {
                    let kind = if tight { HELD.len() } else { band(held) };
                    shapes[kind].push(shape_of(pull, shape));
                }
            }
        }
        let middle = |mut all: Vec<f64>| {
            let (low, middle, high) =
                (quantile(&mut all, 0.159), quantile(&mut all, 0.5), quantile(&mut all, 0.841));
            (middle, (high - low) / 2.0)
        };
        Self {
            turned: turned.map(middle),
            shapes: shapes.iter().map(|all| Normal::of(all)).collect(),
            swings: Swings::learn(),
        }
    }

    /// ln of the density of what a pull shows, of a slack and of a tight fastener.
    pub fn shows(
        &self,
        job: &Job,
        class: &Class,
        pull: &Pull,
        shape: Option<&Description>,
    ) -> [f64; 2] {
        let held = held(job, pull, pull.told.peak_nm);
        if pull.act == Act::Loosen || held >= HELD[2] {
            return [0.0; 2];
        }
        if class.rotation {
            let off = turns(job, pull);
            return [0, 1].map(|tight| {
                let (middle, spread) = self.turned[tight];
                let ln = |spread: f64| normal(off[tight] - middle, spread);
                let (stray, wider) = STRAY;
                ln_sum([(1.0 - stray).ln() + ln(spread), stray.ln() + ln(spread * wider)])
            });
        }
        let Some(shape) = shape else { return [0.0; 2] };
        let looks = shape_of(pull, shape);
        [band(held), HELD.len()].map(|kind| self.shapes[kind].ln(&looks))
    }
}

fn band(held: f64) -> usize {
    HELD[..HELD.len() - 1].iter().filter(|bound| held >= **bound).count()
}

/// What a fastener that is due in the pull's pass holds, as a share of so much torque: by the gun, or by the
/// pass before.
pub fn held(job: &Job, pull: &Pull, nm: f64) -> f64 {
    let target = |pass: &clampbook::core::plan::Pass| match &pass.expect {
        Expect::Window(window) if !pass.check => Some(window.target.nm()),
        _ => None,
    };
    let passes = &job.plan.steps[pull.group].passes;
    let before =
        passes[..pull.pass.min(passes.len())].iter().filter_map(target).fold(0.0, f64::max);
    let gun = job.person.gun.map_or(0.07, |(level, _)| level) * job.figures.target_nm;
    before.max(gun) / nm.abs().max(0.1)
}

/// ln of how far the drive turned, less what is expected of a slack, and of a tight fastener.
fn turns(job: &Job, pull: &Pull) -> [f64; 2] {
    let (figures, peak) = (&job.figures, pull.told.peak_nm.abs());
    let forward_only = job.adapter.rotation.as_ref().is_some_and(|gyro| gyro.forward_only);
    let wind_up = if forward_only { 0.9 * figures.wind_up * peak } else { 0.0 };
    let whole = peak / figures.stiffness;
    let gained = whole * (1.0 - held(job, pull, peak).max(0.1)).max(0.0);
    let ln = (pull.told.rotation_deg.abs() + FLOOR_DEG).ln();
    [gained, MOVES_ON * whole].map(|deg| ln - (deg + wind_up + FLOOR_DEG).ln())
}

/// What a shape tells: the evidence of the pull alone, and its pace from 60 % to 85 % of the peak against
/// what the hand would take to turn the joint, and to find it stuck.
fn shape_of(pull: &Pull, shape: &Description) -> [f64; 3] {
    let reached = &shape.rise.reached_s;
    let took = (reached[11] - reached[16]).max(0.0) + 0.002 + 0.2 / shape.seen.rate_hz;
    let pace = (took / 0.25).ln() - pull.told.peak_nm.abs().max(0.1).ln();
    let known = &pull.told.known;
    let [turning, stuck] = [known.turning_nm_s, known.stuck_nm_s].map(|nm_s| nm_s.max(0.1).ln());
    [shape.act.ln_tight_over_fresh.clamp(-7.0, 5.0), pace + turning, pace + stuck]
}

/// A normal distribution of three figures.
struct Normal {
    middle: [f64; 3],
    /// Lower factor of the covariance (Cholesky).
    factor: [[f64; 3]; 3],
}

impl Normal {
    fn of(all: &[[f64; 3]]) -> Self {
        let count = all.len().max(1) as f64;
        let middle = [0, 1, 2].map(|axis| all.iter().map(|one| one[axis]).sum::<f64>() / count);
        let covariance = |a: usize, b: usize| {
            let products = all.iter().map(|one| (one[a] - middle[a]) * (one[b] - middle[b]));
            products.sum::<f64>() / count + if a == b { 0.01 } else { 0.0 }
        };
        let mut factor = [[0.0; 3]; 3];
        for row in 0..3 {
            for column in 0..=row {
                let known: f64 = (0..column).map(|k| factor[row][k] * factor[column][k]).sum();
                let left = covariance(row, column) - known;
                factor[row][column] = if row == column {
                    left.max(1e-6).sqrt()
                } else {
                    left / factor[column][column]
                };
            }
        }
        Self { middle, factor }
    }

    fn ln(&self, at: &[f64; 3]) -> f64 {
        let (stray, wider) = STRAY;
        ln_sum([(1.0 - stray).ln() + self.within(at, 1.0), stray.ln() + self.within(at, wider)])
    }

    /// ln of the density with every spread so many times wider.
    fn within(&self, at: &[f64; 3], wider: f64) -> f64 {
        let mut whitened = [0.0; 3];
        let mut sum = 0.0;
        for row in 0..3 {
            let known: f64 = (0..row).map(|k| self.factor[row][k] * whitened[k]).sum();
            whitened[row] = (at[row] - self.middle[row] - known) / self.factor[row][row];
            sum += normal(whitened[row] / wider, 1.0) - (self.factor[row][row] * wider).ln();
        }
        sum
    }
}

/// ln of the normal density around 0.
fn normal(off: f64, spread: f64) -> f64 {
    -0.5 * (off / spread).powi(2) - spread.ln() - 0.918_938_533_204_672_7
}

/// ln of the density of a move so far off in two directions.
pub fn plane((right, up): (f64, f64), sd: f64) -> f64 {
    normal(right, sd) + normal(up, sd)
}

/// ln of the density of a distance that is really `chord`, with noise on both axes (Rice 1945).
pub fn rice(mm: f64, chord: f64, sd: f64) -> f64 {
    let mm = mm.max(0.1);
    let x = mm * chord / (sd * sd);
    mm.ln() - 2.0 * sd.ln() - (mm - chord).powi(2) / (2.0 * sd * sd) + ln_i0_scaled(x)
}

/// ln of I₀(x)·e⁻ˣ: the integral over half a turn that defines it (Abramowitz and Stegun 1964, 9.6.16).
fn ln_i0_scaled(x: f64) -> f64 {
    const STEPS: usize = 200;
    let reach = (12.0 / x.max(1e-9)).sqrt().min(std::f64::consts::PI);
    let middle = |step: usize| (step as f64 + 0.5) / STEPS as f64 * reach;
    let sum: f64 = (0..STEPS).map(|step| (x * (middle(step).cos() - 1.0)).exp()).sum();
    (sum * reach / STEPS as f64 / std::f64::consts::PI).ln()
}

/// ln of the sum of what these are the logarithms of.
pub fn ln_sum(terms: impl IntoIterator<Item = f64>) -> f64 {
    let terms: Vec<f64> = terms.into_iter().collect();
    let most = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + terms.iter().map(|term| (term - most).exp()).sum::<f64>().ln()
}
