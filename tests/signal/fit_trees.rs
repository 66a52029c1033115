//! Fits the trees.

use crate::fit::{Pulls, tightened, weight};
use crate::generator::{Act, Degree, Faults};
use crate::logistic::rare;
use crate::reading::Matched;
use crate::trees::Trees;
use clampbook::core::signal::inputs;

/// A fault.
struct Fault {
    name: &'static str,
    /// How much of it a pull had.
    of: fn(&Faults) -> Degree,
    /// True if rotation tells of it.
    turns: bool,
    /// What a pull that had a little of it counts as one that has none: where it is a count or a time that
    /// makes the difference, it can be learnt.
    slight: f64,
}

static FAULTS: [Fault; 5] = [
    Fault { name: "stick-slip", of: |faults| faults.stick_slip, turns: false, slight: 1.0 },
    Fault { name: "under-sampled", of: |faults| faults.under_sampled, turns: false, slight: 1.0 },
    Fault { name: "yielding", of: |faults| faults.yielding, turns: true, slight: 0.0 },
    Fault { name: "thread-damage", of: |faults| faults.thread_damage, turns: true, slight: 0.0 },
    Fault { name: "bottomed", of: |faults| faults.bottomed_or_crossed, turns: true, slight: 0.0 },
];

const HEAD: &str = "\
# Fitted trees: `cargo bench --bench evaluation -- fit` writes this file from generated pulls.
#
# Unit: leaves in thousandths of ln of odds, questions in the unit of the input. Reason: those trees make
# the pulls of the fitting seeds probable. The inputs are those of `standing`, `stood`, `trace` and
# `trace_turned` in `inputs.rs`, in order.
";

/// What tells a fastener that stood still, with all that came before it.
pub fn standing(pulls: &Pulls) -> Trees {
    still(pulls, |one| inputs::standing(&one.pull, &inputs::trace(&one.pull)))
}

/// The same by the pull itself.
pub fn stood(pulls: &Pulls) -> Trees {
    still(pulls, |one| inputs::stood(&one.pull))
}

/// Ranked for accusations that are rarely wrong, then calibrated on all that may be asked about.
fn still<const N: usize>(pulls: &Pulls, inputs: impl Fn(&Matched) -> [f64; N]) -> Trees {
    let fit: Vec<&Matched> = pulls.still.iter().chain(&pulls.turning).filter(tightened).collect();
    let so: Vec<bool> = fit.iter().map(|one| one.truth.act == Act::Tight).collect();
    let rows: Vec<_> = fit.iter().map(|one| inputs(one)).collect();
    let own: Vec<f64> = fit.iter().map(|one| weight(one)).collect();
    learnt(&rows, &so, &own, rows.len())
}

/// The text of the file of trees; `standing` is [`standing`], `stood` is [`stood`].
pub fn text(pulls: &Pulls, standing: &Trees, stood: &Trees) -> String {
    let models = std::thread::scope(|scope| {
        let fits = FAULTS.each_ref().map(|fault| {
            let still = scope.spawn(move || model(pulls, fault, false));
            let turning = fault.turns.then(|| scope.spawn(move || model(pulls, fault, true)));
            [Some(still), turning]
        });
        let fits = fits.into_iter().flatten().flatten();
        let texts =
            fits.map(|fit| fit.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)));
        texts.collect::<String>()
    });
    format!("{HEAD}{}{}{models}", standing.text("standing"), stood.text("stood"))
}

/// Learnt from what has the fault and what has none of it, and from what has a little of it as far as the
/// fault says, in evenings of both kinds; calibrated on all of the usual ones, of which only those count that
/// have it in full.
fn model<'a>(pulls: &'a Pulls, fault: &Fault, turned: bool) -> String {
    let both = |still: &'a [Matched], turning: &'a [Matched]| {
        still.iter().filter(move |_| !turned).chain(turning)
    };
    let mut all: Vec<&Matched> = both(&pulls.still, &pulls.turning).collect();
    let usual = all.len();
    all.extend(both(&pulls.troubled_still, &pulls.troubled_turning));
    let degree = |one: &&Matched| (fault.of)(&one.truth.faults);
    let so: Vec<bool> = all.iter().map(|one| degree(one).is_full()).collect();
    let own = |one| if degree(one) == Degree::Slight { fault.slight } else { 1.0 };
    let own: Vec<f64> = all.iter().map(own).collect();
    let name = fault.name;
    let trace = |one: &&Matched| inputs::trace(&one.pull);
    if turned {
        let rows: Vec<_> = all
            .iter()
            .map(|one| {
                inputs::trace_turned(&one.pull, &trace(one)).unwrap_or([0.0; inputs::TRACE_TURNED])
            })
            .collect();
        learnt(&rows, &so, &own, usual).text(&format!("{name}-turned"))
    } else {
        let rows: Vec<_> = all.iter().map(trace).collect();
        learnt(&rows, &so, &own, usual).text(name)
    }
}

/// Learnt so that an accusation is rarely wrong, then calibrated on the first `usual` of them alike.
pub fn learnt<R: AsRef<[f64]>>(rows: &[R], so: &[bool], own: &[f64], usual: usize) -> Trees {
    let first = Trees::fit(rows, so, own);
    let weights = rows.iter().zip(so).zip(own);
    let weights: Vec<f64> =
        weights.map(|((row, so), own)| rare(*own, *so, first.ln_odds(row.as_ref()))).collect();
    let mut trees = Trees::fit(rows, so, &weights);
    trees.calibrate(&rows[..usual], &so[..usual]);
    trees
}
