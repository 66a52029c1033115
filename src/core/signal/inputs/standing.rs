//! Whether a fastener stood still shows in the whole course of a pull, and in how it stands to those before.

use super::row::Row;
use super::trace::{HAND, OWN, hand, own};
use super::{TIGHT, TRACE, fastest_pace, hold_s, pace, shape, slowest_pace, tight, upper_pace};
use crate::core::signal::description::Description;
use crate::core::signal::weights;

/// How many inputs tell a fastener that stood still from one that turned, without rotation.
pub const STANDING: usize = TRACE + BEYOND;

const BEYOND: usize = TIGHT + 1 + PACES;

/// The same of the pull itself, beside the hand's usual pace.
pub const STOOD: usize = OWN + HAND + 1 + PACES;

/// How many paces there are.
const PACES: usize = 20;

/// Everything that may tell it: what tells faults, `tight` with the ln of the odds that is made of it by the
/// weights in place, and the pull's own paces. `trace` is [`super::trace`] of the pull.
#[must_use]
pub fn standing(pull: &Description, trace: &[f64; TRACE]) -> [f64; STANDING] {
    let mut row = Row::<STANDING>::new();
    row.add(*trace);
    row.add(beyond(pull, weights::SHAPE.model.ln_odds(&shape(pull))));
    row.figures
}

/// What of it is beyond [`super::trace`], where the ln of the odds by the shape alone is already known.
#[inline(always)]
pub(in crate::core::signal) fn beyond(pull: &Description, ln_shape: f64) -> [f64; BEYOND] {
    let tight = tight(pull, ln_shape);
    let mut row = Row::<BEYOND>::new();
    row.add(tight);
    row.add([weights::TIGHT.model.ln_odds(&tight)]);
    row.add(paces(pull));
    row.figures
}

/// Whatever of it tells nothing of what came before, and when: evidence for whoever knows more of that.
#[must_use]
pub fn stood(pull: &Description) -> [f64; STOOD] {
    let mut row = Row::<STOOD>::new();
    row.add(own(pull));
    row.add(hand(pull));
    row.add([weights::SHAPE.model.ln_odds(&shape(pull))]);
    row.add(paces(pull));
    row.figures
}

/// The pull's own paces in seconds. A hand has a pace that no joint changes, so that seconds tell more than the
/// form alone.
fn paces(pull: &Description) -> [f64; PACES] {
    let (fastest, slowest, upper) = (fastest_pace(pull), slowest_pace(pull), upper_pace(pull));
    [
        upper,
        pace(pull, 8, 14),
        fastest,
        slowest,
        pace(pull, 1, 2),
        pace(pull, 1, 4),
        pace(pull, 2, 4),
        pace(pull, 4, 8),
        pace(pull, 8, 12),
        pace(pull, 12, 14),
        pace(pull, 14, 16),
        pace(pull, 16, 18),
        pace(pull, 18, 19),
        slowest / fastest,
        upper / fastest,
        upper / slowest,
        pace(pull, 2, 6) / upper,
        pace(pull, 6, 12) / upper,
        hold_s(pull),
        pull.rise.reached_s[0],
    ]
}
