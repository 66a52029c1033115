//! What could be told at best: a reader that knows what no trace tells, the figures that hand and joint
//! were made with, and that has learnt from pulls of the very ranges it is asked about.
//!
//! An estimate from below: a better learner may find more. Where the program comes near to it, nothing
//! more is in the trace.

use crate::fit_trees::learnt;
use crate::generator::session::Wishes;
use crate::generator::{Act, Degree, Faults};
use crate::measure::Judged;
use crate::reading::{Matched, compare_all};
use clampbook::core::signal::inputs;

/// Seeds that it learns from. Those of the report begin elsewhere.
const SEEDS: std::ops::Range<u64> = 10_001..12_001;

/// The reader.
pub struct Bound {
    pulls: Vec<(Vec<f64>, Matched)>,
}

impl Bound {
    /// One for such sessions.
    pub fn of(wishes: Wishes) -> Self {
        let pulls = compare_all(SEEDS, wishes).matched;
        Self { pulls: pulls.into_iter().map(|one| (figures(&one), one)).collect() }
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
        let trees = learnt(&rows, &answers, &vec![1.0; rows.len()], rows.len());
        asked.iter().map(|one| (trees.ln_odds(&figures(one)), so(one))).collect()
    }

    /// How it judges whether each was already tight.
    pub fn tight(&self, asked: &[&Matched], fit: impl Fn(&Matched) -> bool) -> Vec<Judged> {
        self.judge(asked, fit, |one| one.truth.act == Act::Tight)
    }

    /// How it judges whether each had this fault.
    pub fn fault(&self, asked: &[&Matched], of: fn(&Faults) -> Degree) -> Vec<Judged> {
        let plain = |one: &Matched| !one.truth.faint && of(&one.truth.faults) != Degree::Slight;
        self.judge(asked, plain, |one| of(&one.truth.faults).is_full())
    }
}

/// Everything that is said of a pull, and everything that is known: the latter as figures by which what
/// is said can be told from what a sound pull would have shown.
fn figures(one: &Matched) -> Vec<f64> {
    let (pull, known) = (&one.pull, &one.truth.known);
    let peak = pull.peak.torque.nm().abs().max(0.1);
    let among = &pull.among;
    let ln = |value: f64| value.max(1e-6).ln();
    let or = |value: Option<f64>| value.unwrap_or(-1.0);
    let reached = &pull.rise.reached_s;
    let resolved = 0.002 + 0.2 / one.rate_hz;
    let whole = ln(reached[3] - reached[17] + resolved);
    let upper = ln(reached[11] - reached[16] + resolved);
    let stuck = ln(known.stuck_nm_s / peak);
    let turning = ln(known.turning_nm_s / peak);
    let trace = inputs::trace(pull);
    let mut row = inputs::standing(pull, &trace).to_vec();
    if let Some(turned) = inputs::trace_turned(pull, &trace) {
        row.extend(&turned[inputs::TRACE..]);
    }
    let paces = reached.windows(2).map(|pair| ln((pair[0] - pair[1]).max(0.0) + resolved));
    let paces: Vec<f64> = paces.collect();
    row.extend(paces.iter().map(|pace| pace + turning));
    row.extend(paces);
    let held_s = reached[17] + pull.fallen_s[1];
    row.extend([
        whole + stuck,
        whole + turning,
        upper + stuck,
        upper + turning,
        stuck - turning,
        known.toe_nm / peak,
        known.prevailing_nm / peak,
        known.uneven,
        known.grip_spread,
        known.stop_nm / peak,
        held_s - known.hold_s,
        pull.fallen_s[5] - pull.fallen_s[1] - known.release_s,
        known.turning_nm_s * resolved / peak,
        known.stuck_nm_s / one.rate_hz / peak,
        or(among.before_tight),
    ]);
    if let Some(turned) = &pull.turned {
        let sound_deg = |share: f64| share * peak / known.stiffness;
        row.extend([
            turned.upper_deg - sound_deg(0.4),
            turned.late_deg - sound_deg(0.15),
            turned.upper_deg / sound_deg(0.4),
            turned.early_deg / sound_deg(0.4),
            turned.foot_deg / sound_deg(0.15),
            turned.near_deg / sound_deg(0.05),
            turned.deg / sound_deg(0.9),
        ]);
    }
    row
}
