//! What could be told at best: a reader that knows what no trace tells, the figures that hand and joint
//! were made with, and that has learnt from pulls of the very ranges it is asked about.
//!
//! An estimate from below: a better learner may find more. Where the program comes near to it, nothing
//! more is in the trace.

use crate::generator::session::Wishes;
use crate::generator::{Act, Faults};
use crate::measure::Judged;
use crate::reading::{Matched, compare_all};
use crate::trees::Trees;

/// Seeds that it learns from. Those of the report begin elsewhere.
const SEEDS: std::ops::Range<u64> = 10_001..10_801;

/// The reader.
pub struct Bound {
    pulls: Vec<(Vec<f64>, Matched)>,
}

impl Bound {
    /// One for such sessions.
    pub fn of(wishes: Wishes) -> Self {
        let pulls = compare_all(SEEDS, wishes).matched;
        Self { pulls: pulls.into_iter().map(|one| (inputs(&one), one)).collect() }
    }

    /// How it judges `asked`, learnt from those of its own pulls that are `fit`.
    pub fn judge(
        &self,
        asked: &[&Matched],
        fit: impl Fn(&Matched) -> bool,
        so: impl Fn(&Matched) -> bool,
    ) -> Vec<Judged> {
        let own = self.pulls.iter().filter(|(_, one)| fit(one));
        let (rows, answers): (Vec<Vec<f64>>, Vec<bool>) =
            own.map(|(row, one)| (row.clone(), so(one))).unzip();
        let trees = Trees::fit(&rows, &answers);
        asked.iter().map(|one| (trees.ln_odds(&inputs(one)), so(one))).collect()
    }

    /// How it judges whether each was already tight.
    pub fn tight(&self, asked: &[&Matched], fit: impl Fn(&Matched) -> bool) -> Vec<Judged> {
        self.judge(asked, fit, |one| one.truth.act == Act::Tight)
    }

    /// How it judges whether each had this fault.
    pub fn fault(&self, asked: &[&Matched], of: fn(&Faults) -> bool) -> Vec<Judged> {
        self.judge(asked, |one| !one.truth.faint, |one| of(&one.truth.faults))
    }
}

/// Everything that is said of a pull, and everything that is known.
fn inputs(one: &Matched) -> Vec<f64> {
    let (pull, known) = (&one.pull, &one.truth.known);
    let peak = pull.peak.torque.nm().abs().max(0.1);
    let (texture, among) = (&pull.texture, &pull.among);
    let ln = |value: f64| value.max(1e-6).ln();
    let or = |value: Option<f64>| value.unwrap_or(-1.0);
    let reached = &pull.rise.reached_s;
    let resolved = 0.002 + 0.2 / one.rate_hz;
    let paces = reached.windows(2).map(|pair| ln((pair[0] - pair[1]).max(0.0) + resolved));
    let mut row: Vec<f64> = paces.collect();
    let whole = ln(reached[3] - reached[17] + resolved);
    let stuck = ln(known.stuck_nm_s / peak);
    let turning = ln(known.turning_nm_s / peak);
    row.extend([
        ln(reached[19] + resolved),
        whole,
        whole + stuck,
        whole + turning,
        ln(reached[11] - reached[16] + resolved) + stuck,
        ln(reached[11] - reached[16] + resolved) + turning,
        stuck - turning,
        known.toe_nm / peak,
        known.prevailing_nm / peak,
        known.uneven,
        known.grip_spread,
        one.rate_hz,
        peak / pull.seen.range_nm,
        pull.duration_ms,
        f64::from(texture.falls),
        texture.largest_fall,
        texture.largest_fall_ms,
        texture.usual_fall,
        texture.falls_hz,
        f64::from(texture.teeth),
        texture.roughness,
        texture.level_s,
        texture.sinking_s,
        texture.sunk,
        or(among.after_s),
        or(among.to_before),
        or(among.to_highest),
        or(among.to_turning_pace),
        or(among.to_tight_pace),
        among.seemed_turning,
        among.seemed_tight,
        or(among.before_tight),
    ]);
    row.extend(pull.fallen_s.windows(2).map(|pair| pair[1] - pair[0]));
    row.extend(pull.peak.within_s.map(|seconds| seconds * one.rate_hz));
    row.extend(pull.peak.beside_nm.map(|nm| nm / peak));
    if let Some(turned) = &pull.turned {
        row.extend([
            turned.deg,
            turned.foot_deg,
            turned.early_deg,
            turned.upper_deg,
            turned.late_deg,
            turned.after_deg,
            turned.began_share,
            turned.wind_up_deg_per_nm,
            or(among.to_usual_slope),
        ]);
    }
    row
}
