//! Fits the trees of the flags.

use crate::fit::Pulls;
use crate::generator::{Degree, Faults};
use crate::reading::Matched;
use crate::trees::Trees;
use clampbook::core::signal::inputs;

/// A fault: its name, how much of it a pull had, and whether rotation tells of it.
type Fault = (&'static str, fn(&Faults) -> Degree, bool);

const FAULTS: [Fault; 5] = [
    ("stick-slip", |faults| faults.stick_slip, false),
    ("under-sampled", |faults| faults.under_sampled, false),
    ("yielding", |faults| faults.yielding, true),
    ("thread-damage", |faults| faults.thread_damage, true),
    ("bottomed", |faults| faults.bottomed_or_crossed, true),
];

const HEAD: &str = "\
# Fitted trees: `cargo bench --bench evaluation -- fit` writes this file from generated pulls.
#
# Unit: leaves in thousandths of ln of odds, questions in the unit of the input. Reason: those trees make
# the pulls of the fitting seeds probable. The inputs are those of `trace` and `trace_turned` in
# `inputs.rs`, in order.
";

/// The text of the file of trees.
pub fn text(pulls: &Pulls) -> String {
    let models = std::thread::scope(|scope| {
        let fits = FAULTS.map(|(name, of, turns)| {
            let still = scope.spawn(move || model(name, pulls, of, false));
            let turning = turns.then(|| scope.spawn(move || model(name, pulls, of, true)));
            [Some(still), turning]
        });
        let fits = fits.into_iter().flatten().flatten();
        let texts =
            fits.map(|fit| fit.join().unwrap_or_else(|fault| std::panic::resume_unwind(fault)));
        texts.collect::<String>()
    });
    format!("{HEAD}{models}")
}

fn model(name: &str, pulls: &Pulls, of: fn(&Faults) -> Degree, turned: bool) -> String {
    let plain = |one: &&Matched| of(&one.truth.faults) != Degree::Slight;
    let still = pulls.still.iter().filter(|_| !turned);
    let fit: Vec<&Matched> = still.chain(&pulls.turning).filter(plain).collect();
    let so: Vec<bool> = fit.iter().map(|one| of(&one.truth.faults).is_full()).collect();
    let trace = |one: &&Matched| inputs::trace(&one.pull);
    if turned {
        let rows: Vec<_> = fit
            .iter()
            .map(|one| {
                inputs::trace_turned(&one.pull, &trace(one)).unwrap_or([0.0; inputs::TRACE_TURNED])
            })
            .collect();
        Trees::fit(&rows, &so).text(&format!("{name}-turned"))
    } else {
        let rows: Vec<_> = fit.iter().map(trace).collect();
        Trees::fit(&rows, &so).text(name)
    }
}
