//! The time between two pulls: nobody moves a socket to another fastener in a second.

use crate::core::event::Act;
use crate::core::tracker::hypothesis::{Assignment, Hypothesis, Seen};

/// Shorter than it takes to lift the socket off, find the next fastener and pull, seconds.
pub(in crate::core::tracker) const TOO_SHORT_TO_MOVE_S: f64 = 1.5;
/// A second pull by habit follows within this, seconds;
const HABIT_S: f64 = 4.0;
/// so short a pause is this much likelier with it than without,
const HABIT: f64 = 3.0;
/// and a longer one this much less likely.
const HABIT_GONE: f64 = 0.5;
/// Likelihood of so short a pause when the fastener changed, against when it did not.
const MOVED_ANYWAY: f64 = 0.1;

pub(in crate::core::tracker) fn ln_likelihood(
    account: &Hypothesis,
    seen: &Seen,
    assignment: &Assignment,
) -> f64 {
    let short = seen.gap_s.is_some_and(|gap| gap < TOO_SHORT_TO_MOVE_S);
    let moved = account.last.is_some_and(|last| Some(last.fastener) != assignment.fastener);
    let again = !moved && assignment.act == Act::Recheck;
    let at_once = seen.gap_s.is_some_and(|gap| gap <= HABIT_S);
    if short && moved {
        MOVED_ANYWAY.ln()
    } else if again {
        if at_once { HABIT.ln() } else { HABIT_GONE.ln() }
    } else {
        0.0
    }
}
