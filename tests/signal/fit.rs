//! Fits the weights of the probabilities on seeds that nothing is reported on.

use crate::generator::session::Wishes;
use crate::generator::{Act, Truth};
use crate::logistic::{fit, fit_rare, write};
use crate::reading::{Matched, compare_all};
use crate::trees::Trees;
use clampbook::core::signal::inputs;
use std::ops::Range;

/// Seeds that are fitted on, in the stated ranges and in wider ones: what nobody here has seen lies
/// beside any range. Those of the report, and those that anything is judged on, begin elsewhere.
pub const SEEDS: Range<u64> = 1..2_001;
pub const WIDE_SEEDS: Range<u64> = 1..1_201;
/// The same of evenings with many faulty joints, in both ranges: most faults are rare, and what is mistaken
/// for one is mostly another.
pub const TROUBLED_SEEDS: Range<u64> = 20_001..21_001;
/// Reach of the inputs: few spreads where hands differ, far where a fault is far from what is usual.
const FEW: f64 = 3.0;
const FAR: f64 = 8.0;
/// Weight of pulls that are neither of a slack nor of a tight fastener, or are faulty.
const BETWEEN: f64 = 0.25;

/// Pulls to fit on.
pub struct Pulls {
    pub still: Vec<Matched>,
    pub turning: Vec<Matched>,
    /// Of evenings with many faulty joints.
    pub troubled_still: Vec<Matched>,
    pub troubled_turning: Vec<Matched>,
}

impl Pulls {
    pub fn read(seeds: Range<u64>, wide_seeds: Range<u64>, troubled_seeds: Range<u64>) -> Self {
        let both_ranges = |seeds: &Range<u64>, wide_seeds: &Range<u64>, rotation, troubled| {
            let read = |seeds: &Range<u64>, wide| {
                compare_all(seeds.clone(), Wishes { rotation, wide, troubled }).matched
            };
            let mut all = read(seeds, false);
            all.extend(read(wide_seeds, true));
            all
        };
        let usual = |rotation| both_ranges(&seeds, &wide_seeds, rotation, false);
        let troubled = |rotation| both_ranges(&troubled_seeds, &troubled_seeds, rotation, true);
        Self {
            still: usual(false),
            turning: usual(true),
            troubled_still: troubled(false),
            troubled_turning: troubled(true),
        }
    }
}

/// The text of the file of weights. What pulls before seemed to be is judged by the weights in place:
/// it has settled when a second fit changes nothing.
/// `standing` and `stood` are what trees make of the same pulls.
pub fn weights(pulls: &Pulls, standing: &Trees, stood: &Trees) -> String {
    let (still, turning) = (&pulls.still, &pulls.turning);
    let both: Vec<Matched> = still.iter().chain(turning).copied().collect();
    let is_tight = |truth: &Truth| truth.act == Act::Tight;
    let acts = || both.iter().filter(tightened);
    let shape = fit(
        true,
        FEW,
        acts().map(|one| (inputs::shape(&one.pull), is_tight(&one.truth), clear(one))),
    );
    let tight_inputs =
        |one: &Matched| inputs::tight(&one.pull, shape.ln_odds(&inputs::shape(&one.pull)));
    let tight = fit_rare(
        true,
        FEW,
        acts().map(|one| (tight_inputs(one), is_tight(&one.truth), weight(one))),
    );
    let turned = fit(
        false,
        FEW,
        turning.iter().filter(tightened).filter_map(|one| {
            let ln_odds = stood.ln_odds(&inputs::stood(&one.pull));
            Some((inputs::turned(&one.pull, ln_odds)?, is_tight(&one.truth), weight(one)))
        }),
    );
    let stands =
        |one: &Matched| standing.ln_odds(&inputs::standing(&one.pull, &inputs::trace(&one.pull)));
    let standing_turned = fit(
        false,
        FEW,
        turning.iter().filter(tightened).filter_map(|one| {
            let given = inputs::turned(&one.pull, stands(one))?;
            Some((given, is_tight(&one.truth), weight(one)))
        }),
    );
    let trial = fit(
        true,
        FEW,
        both.iter().filter(|one| one.truth.act != Act::Loosen && usable(one)).map(|one| {
            let alone = stands(one);
            let with_turn =
                inputs::turned(&one.pull, alone).map(|given| standing_turned.ln_odds(&given));
            let ln_odds = with_turn.unwrap_or(alone);
            (inputs::trial(&one.pull, ln_odds), one.truth.act == Act::Trial, 1.0)
        }),
    );
    let mut text = String::from(HEAD);
    write(&mut text, "SHAPE", "inputs::SHAPE", &shape);
    write(&mut text, "TIGHT", "inputs::TIGHT", &tight);
    write(&mut text, "TIGHT_TURNED", "inputs::TURNED", &turned);
    write(&mut text, "STANDING_TURNED", "inputs::TURNED", &standing_turned);
    write(&mut text, "TRIAL", "inputs::TRIAL", &trial);
    let flag = |of: fn(&Truth) -> bool| {
        fit_rare(
            true,
            FAR,
            both.iter().map(move |one| (inputs::texture(&one.pull), of(&one.truth), 1.0)),
        )
    };
    write(&mut text, "SLIP", "inputs::TEXTURE", &flag(|truth| truth.faults.slip.is_full()));
    write(&mut text, "IMPACT", "inputs::TEXTURE", &flag(|truth| truth.faults.impact.is_full()));
    text
}

/// Pulls of which it is asked whether the fastener was already tight.
pub fn tightened(one: &&Matched) -> bool {
    matches!(one.truth.act, Act::Fresh | Act::Tight) && usable(one)
}

fn usable(one: &Matched) -> bool {
    !one.truth.faults.impact.is_full() && !one.truth.faint
}

/// What was begun between slack and tight is neither: it counts, but less.
pub fn weight(one: &Matched) -> f64 {
    clear(one).max(BETWEEN)
}

/// The same, but it does not count at all: torque over time shows no more of it than where it was begun.
fn clear(one: &Matched) -> f64 {
    let between = one.truth.act == Act::Fresh && one.truth.held > 0.7;
    if between || one.truth.faults.odd { 0.0 } else { 1.0 }
}

const HEAD: &str = "\
//! Fitted weights: `cargo bench --bench evaluation -- fit` writes this file from generated pulls.
//!
//! Unit: ln of odds a spread of the input. Reason: those weights make the pulls of the fitting seeds
//! most probable, with a ridge against large ones. What each input means is in `inputs.rs`.

#![allow(clippy::approx_constant, reason = \"a weight may come near to pi by chance\")]

use super::inputs;
use super::logistic::{Fitted, Logistic};
";
