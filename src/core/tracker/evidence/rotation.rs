//! Whether the drive turned as a slack, a half-tight or a tight fastener would let it.
//!
//! A slack fastener turns by (torque gained) ÷ stiffness; stiffness differs between joints by a factor
//! of ten, so it is learned within each group. A tight one does not turn, or, where it had settled or is
//! pulled a little beyond what it holds, by a little. To either comes the wind-up of bars and handle, if
//! the adapter counts forward turns only; one that counts both ways has lost it again by the release.
//! Densities are over ln(degrees + [`FLOOR_DEG`]).

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
/// Less than this is not told from nothing, degrees (noise, a step of a tenth, play of the square).
const FLOOR_DEG: f64 = 0.4;
/// Wind-up of bars and handle at full torque where it is counted, degrees, and its spread as a ratio's
/// ln (0.5 to 4°); share of adapters that count it.
const WIND_UP_DEG: f64 = 1.8;
const WIND_UP_SPREAD: f64 = 0.6;
const WIND_UP_COUNTED: f64 = 0.4;
/// Spread of the ln where nothing turned and nothing is counted.
const STILL_SPREAD: f64 = 0.3;
/// Share of pulls on a tight fastener that move it on, by up to this share of what the whole torque
/// would turn it: embedding and relaxation take a tenth of it, and people pull a little further.
const MOVES_ON: f64 = 0.45;
const MOVES_ON_SHARE: f64 = 0.06;
const MOVES_ON_SPREAD: f64 = 0.8;
/// Share of slack fasteners that were run down further than their like, and how far, as a ratio's ln.
const RUN_DOWN: f64 = 0.1;
const RUN_DOWN_LN: f64 = 0.8;
const RUN_DOWN_SPREAD: f64 = 0.7;
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
    let x = (turned_deg.max(0.0) + FLOOR_DEG).ln();
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
    let (middle, spread) = compliance(round);
    let tight = tight(x, wind_up, pulled * middle);
    if assignment.act == Act::Recheck {
        let moved = (pulled - held).max(0.0) * middle;
        let ln = if moved > wind_up { ln_normal(x, (moved + FLOOR_DEG).ln(), 0.7) } else { tight };
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + ln, stray]);
    }
    let gained = pulled - held.max(COUNTED_SHARE * pulled);
    if gained <= 0.0 || held > HOLDS_SHARE * pulled {
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + tight, stray]);
    }
    if assignment.unturned {
        return already_tight_share(round, held).ln() + tight;
    }
    let turns = (gained * middle + WIND_UP_COUNTED * wind_up + FLOOR_DEG).ln();
    let turned = ln_sum(&[
        (1.0 - RUN_DOWN).ln() + ln_normal(x, turns, spread),
        RUN_DOWN.ln() + ln_normal(x, turns - RUN_DOWN_LN, RUN_DOWN_SPREAD.hypot(spread)),
    ]);
    ln_sum(&[(1.0 - already_tight_share(round, held)).ln() + turned, stray])
}

/// A pull on a fastener that was tight: it stayed, or moved on a little.
fn tight(x: f64, wind_up: f64, whole_deg: f64) -> f64 {
    let counted = ln_normal(x, (wind_up + FLOOR_DEG).ln(), WIND_UP_SPREAD);
    let still = ln_normal(x, FLOOR_DEG.ln() + 0.2, STILL_SPREAD);
    let stays =
        ln_sum(&[WIND_UP_COUNTED.ln() + counted, (1.0 - WIND_UP_COUNTED).ln() + still]);
    let on = (MOVES_ON_SHARE * whole_deg + WIND_UP_COUNTED * wind_up + FLOOR_DEG).ln();
    ln_sum(&[(1.0 - MOVES_ON).ln() + stays, MOVES_ON.ln() + ln_normal(x, on, MOVES_ON_SPREAD)])
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

/// True if the fastener of a tightening already holds about the torque that it is pulled to.
pub(in crate::core::tracker) fn holds(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    assignment: &Assignment,
) -> bool {
    assignment.fastener.is_some_and(|fastener| {
        let pulled = scene.tightening(scene.step_of(fastener), Torque::from_nm(nm));
        !assignment.slackened && account.members[fastener].held_nm > HOLDS_SHARE * pulled
    })
}

/// ln of how likely a slack fastener is one that turns, or does not.
pub(in crate::core::tracker) fn ln_share(
    scene: &Scene,
    account: &Hypothesis,
    assignment: &Assignment,
) -> f64 {
    let Some(fastener) = assignment.fastener.filter(|_| assignment.act == Act::Tighten) else {
        return 0.0;
    };
    let round = &account.rounds[scene.step_of(fastener)];
    let share = already_tight_share(round, account.members[fastener].held_nm);
    if assignment.unturned { share.ln() } else { (1.0 - share).ln() }
}

fn already_tight_share(round: &Round, held_nm: f64) -> f64 {
    // A fastener that this adapter brought to an earlier pass's torque was seen to be slack above it.
    let opinion = if held_nm > 0.0 { ALREADY_TIGHT_SHARE / 10.0 } else { ALREADY_TIGHT_SHARE };
    let (turned, unturned) = (f64::from(round.turned), f64::from(round.unturned));
    (opinion * ALREADY_TIGHT_WORTH + unturned) / (ALREADY_TIGHT_WORTH + turned + unturned)
}
