//! Fits what a pull looks like on a tight fastener, beside the pulls of the same hand that turn one.

use super::class::TRACE;
use super::job::{Job, Pull};
use super::logistic::{fit, write};
use super::tell;
use clampbook::core::event::{Act, What};
use clampbook::core::tracker::looks::{INPUTS, LOOKS, Looks, Usual};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;

/// Seeds that are fitted on. Those of the report and those that are looked at lie elsewhere.
pub const SEEDS: Range<u64> = 3_000_001..3_002_001;
/// Beyond so many spreads an input says no more.
const REACH: f64 = 5.0;
/// A fastener that held less than this share of the peak turns like a slack one.
const SLACK_SHARE: f64 = 0.7;

const HEAD: &str = "\
//! Fitted weights: `cargo bench --bench identity -- fit` writes this file from generated jobs.
//!
//! Unit: ln of odds a spread of the input. Reason: those weights make the pulls of the fitting seeds most
//! probable, with a ridge against large ones. What each input means is in `looks.rs`.

#![allow(clippy::approx_constant, reason = \"a weight may come near to pi by chance\")]

use super::looks;
use crate::core::signal::logistic::{Fitted, Logistic};
";

/// One pull that is known to have turned its fastener, or to have found it tight.
struct Known {
    looks: Looks,
    tight: bool,
}

/// The text of the file of weights.
pub fn weights(seeds: Range<u64>) -> String {
    let jobs: Vec<Vec<Known>> = seeds.map(known).collect();
    let mut of_hands = [0.0; LOOKS];
    let turned = || jobs.iter().flatten().filter(|one| !one.tight);
    for one in turned() {
        of_hands.iter_mut().zip(one.looks.figures()).for_each(|(sum, figure)| *sum += figure);
    }
    let count = turned().count() as f64;
    of_hands.iter_mut().for_each(|sum| *sum = (*sum / count * 1e4).round() / 1e4);
    let examples = jobs.iter().flat_map(|job| {
        let mut usual = Usual::default();
        let mut examples: Vec<([f64; INPUTS], bool, f64)> = Vec::new();
        for one in job {
            examples.push((usual.inputs(&one.looks, &of_hands), one.tight, 1.0));
            if !one.tight {
                usual.learn(&one.looks);
            }
        }
        examples
    });
    let model = fit(true, REACH, examples);
    let mut text = String::from(HEAD);
    let _ = write!(
        text,
        "\n/// What pulls that turn look like, of people in general.\n\
         pub(super) const TURNED: [f64; looks::LOOKS] = {of_hands:?};\n"
    );
    write(&mut text, "TIGHT", "looks::INPUTS", &model);
    text
}

/// The pulls of a job in order, but for those that are neither slack nor tight.
fn known(seed: u64) -> Vec<Known> {
    let job = Job::seeded(seed);
    // Whom a gun left tight was slack to nobody.
    if job.person.gun.is_some_and(|(level, _)| level >= SLACK_SHARE) {
        return Vec::new();
    }
    let mut seen = BTreeMap::new();
    for input in tell::inputs(&job, &TRACE) {
        match input.what {
            What::Reading(one) => seen.extend(one.description.map(|shape| (one.seq, *shape))),
            What::Described(one) => {
                seen.insert(one.seq, *one.description);
            }
            _ => {}
        }
    }
    let mut held: BTreeMap<(usize, u16), f64> = BTreeMap::new();
    let mut found = Vec::new();
    for (seq, pull) in (1..).zip(&job.pulls) {
        let place = (pull.group, pull.member);
        let before = held.get(&place).copied().unwrap_or(0.0);
        let looks = seen.get(&seq).and_then(Looks::of);
        found.extend(looks.and_then(|looks| Some(Known { looks, tight: is_tight(pull, before)? })));
        match pull.act {
            Act::Loosen => held.remove(&place),
            _ => held.insert(place, before.max(pull.told.peak_nm)),
        };
    }
    found
}

fn is_tight(pull: &Pull, held_nm: f64) -> Option<bool> {
    match pull.act {
        Act::Recheck => Some(true),
        Act::Tighten if held_nm < SLACK_SHARE * pull.told.peak_nm => Some(false),
        Act::Tighten | Act::Loosen | Act::Trial => None,
    }
}
