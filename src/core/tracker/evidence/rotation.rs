//! Whether the drive turned as a slack, a half-tight or a tight fastener would let it.
//!
//! A slack fastener turns by (torque gained) ÷ stiffness plus the wind-up of bars and handle; a tight
//! one by the wind-up alone. Stiffness differs between joints by a factor of ten, so it is learned
//! within each group. Rotations are compared by ratio (log-normal).

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis, Round};
use crate::core::tracker::scene::Scene;
use crate::core::units::Torque;

/// Middle of what joints give, degrees a N·m (0.7 to 6 N·m a degree), and its spread as a ratio's ln.
const COMPLIANCE: f64 = 0.45;
const COMPLIANCE_SPREAD: f64 = 0.8;
/// Spread between fasteners of one group.
const SIBLING_SPREAD: f64 = 0.45;
/// Wind-up of bars and handle at full torque, degrees, and its spread as a ratio's ln (0.5 to 4°).
const WIND_UP_DEG: f64 = 2.0;
const WIND_UP_SPREAD: f64 = 0.6;
/// Share of slack fasteners that a gun or a gall has already brought to torque, before any was seen,
/// and how many pulls that opinion is worth.
const ALREADY_TIGHT_SHARE: f64 = 0.02;
const ALREADY_TIGHT_WORTH: f64 = 2.0;
/// Share of rotations that nothing explains (a slipping socket, a swung handle), evenly over ln(degrees).
const STRAY_SHARE: f64 = 0.005;
const STRAY_WIDTH: f64 = 8.0;
/// Rotation is measured from a tenth of the peak.
const COUNTED_SHARE: f64 = 0.1;
/// A fastener that holds this share of the pull's peak is not expected to turn.
pub(in crate::core::tracker) const HOLDS_SHARE: f64 = 0.93;

pub(in crate::core::tracker) fn ln_likelihood(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    turned_deg: f64,
    assignment: &Assignment,
) -> f64 {
    let x = turned_deg.max(0.1).ln();
    let stray = STRAY_SHARE.ln() - STRAY_WIDTH.ln();
    let Some(fastener) = assignment.fastener else { return -STRAY_WIDTH.ln() };
    if assignment.act == Act::Loosen {
        return -STRAY_WIDTH.ln();
    }
    let step = scene.step_of(fastener);
    let pulled = scene.tightening(step, Torque::from_nm(nm)).max(0.1);
    let Some(full) = scene.final_window(step).map(|window| window.target.nm()) else {
        return -STRAY_WIDTH.ln();
    };
    let wind_up = WIND_UP_DEG * (pulled / full).max(0.05);
    let held = if assignment.slackened { 0.0 } else { account.members[fastener].held_nm };
    let round = &account.rounds[step];
    let tight = ln_normal(x, wind_up.ln(), WIND_UP_SPREAD);
    if assignment.act == Act::Recheck {
        let moved = (pulled - held).max(0.0) * compliance(round).0;
        let ln = if moved > wind_up { ln_normal(x, (moved + wind_up).ln(), 0.6) } else { tight };
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + ln, stray]);
    }
    let gained = pulled - held.max(COUNTED_SHARE * pulled);
    if gained <= 0.0 || held > HOLDS_SHARE * pulled {
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + tight, stray]);
    }
    if assignment.unturned {
        return already_tight_share(round, held).ln() + tight;
    }
    let (middle, spread) = compliance(round);
    let turns = ln_normal(x, (gained * middle + wind_up).ln(), spread);
    ln_sum(&[(1.0 - already_tight_share(round, held)).ln() + turns, stray])
}

/// True if a tightening could be one that did not turn: torque is reached, and nothing seen explains
/// why the fastener should already hold it.
pub(in crate::core::tracker) fn may_be_unturned(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    assignment: &Assignment,
) -> bool {
    let Some(fastener) = assignment.fastener.filter(|_| assignment.act == Act::Tighten) else {
        return false;
    };
    let step = scene.step_of(fastener);
    let pulled = scene.tightening(step, Torque::from_nm(nm));
    let reached = scene.window(step, assignment.pass).is_some_and(|w| pulled >= w.low.nm());
    reached && account.members[fastener].held_nm <= HOLDS_SHARE * pulled
}

fn compliance(round: &Round) -> (f64, f64) {
    // Normal prior with known spreads: the mean moves towards the siblings' as they are seen.
    let prior = COMPLIANCE_SPREAD.powi(-2);
    let each = SIBLING_SPREAD.powi(-2);
    let seen = f64::from(round.turned);
    let precision = prior + seen * each;
    let mean = (COMPLIANCE.ln() * prior + round.ln_compliance * each) / precision;
    (mean.exp(), (SIBLING_SPREAD.powi(2) + 1.0 / precision).sqrt())
}

fn already_tight_share(round: &Round, held_nm: f64) -> f64 {
    // A fastener that this adapter brought to an earlier pass's torque was seen to be slack above it.
    let opinion = if held_nm > 0.0 { ALREADY_TIGHT_SHARE / 10.0 } else { ALREADY_TIGHT_SHARE };
    let (turned, unturned) = (f64::from(round.turned), f64::from(round.unturned));
    (opinion * ALREADY_TIGHT_WORTH + unturned) / (ALREADY_TIGHT_WORTH + turned + unturned)
}
