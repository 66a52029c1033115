//! Whether the drive turned as a slack, a half-tight or a tight fastener would let it.
//!
//! A slack fastener turns by (torque gained) ÷ stiffness; stiffness differs between joints by a factor
//! of ten, so it is learned within each group. A tight one does not turn, or, where it had settled or is
//! pulled a little beyond what it holds, by a little. To either comes the wind-up of bars and handle, if
//! the adapter counts forward turns only; one that counts both ways has lost it again by the release.
//! Densities are over ln(degrees + [`FLOOR_DEG`]).

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_normal, ln_sum, recipe};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::member::{Round, Turned};
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::rules::castle;
use crate::core::tracker::scene::Scene;
use crate::core::units::Torque;

/// Middle of what joints give, degrees a N·m (0.7 to 6 N·m a degree); what even a hard joint turns
/// between contact and full torque, degrees; and the spread of both together as a ratio's ln.
const COMPLIANCE: f64 = 0.45;
const HARD_JOINT_DEG: f64 = 10.0;
const COMPLIANCE_SPREAD: f64 = 0.65;
/// The same between two groups of one plan that end at the same torque.
const LIKE_GROUP_SPREAD: f64 = 0.35;
/// Spread between fasteners of one group that were slack, run down by hand or gun to about the same;
const SIBLING_SPREAD: f64 = 0.38;
/// between those that an earlier pass brought to the same torque;
const HALF_TIGHT_SPREAD: f64 = 0.3;
/// how many siblings these opinions are worth;
const SPREAD_WORTH: f64 = 3.0;
/// and of the one as a whole against the other.
const HALF_TIGHT_SHIFT: f64 = 0.4;
/// How much that differs between such groups.
const LIKE_GROUP_SHIFT: f64 = 0.15;
/// Groups that are asked.
const LIKE_GROUPS: usize = 2;
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
/// The same of those that held less than the hand pulled to, since it let go quickly.
const TURNS_AGAIN: f64 = 0.03;
const TURNS_AGAIN_SHARE: f64 = 0.5;
const TURNS_AGAIN_SPREAD: f64 = 0.5;
/// Share of slack fasteners that were run down further than their like, and how far, as a ratio's ln.
const RUN_DOWN: f64 = 0.06;
/// How many siblings that opinion is worth beside those that were run down alike.
const RUN_DOWN_WORTH: f64 = 4.0;
const RUN_DOWN_LN: f64 = 0.8;
const RUN_DOWN_SPREAD: f64 = 0.7;
/// Share of slack fasteners that a gun or a gall has already brought to torque, before any was seen;
const ALREADY_TIGHT_SHARE: f64 = 0.02;
/// that a gun has brought to the torque of an early pass;
const EARLY_TIGHT_SHARE: f64 = 0.12;
/// and how many pulls that opinion is worth.
const ALREADY_TIGHT_WORTH: f64 = 1.5;
/// Spread of the torque at which a fastener that an earlier swing left somewhere breaks away, as a share of it, and the
/// widest that it makes the spread of a turn, as a ratio's ln.
const BREAK_AWAY: f64 = 0.1;
const MOST_SPREAD: f64 = 0.85;
/// What a swing turns that barely gains, as a share of what its whole torque would turn.
const GOES_ON_TURNS: f64 = 0.12;
/// Share of rotations that nothing explains (a slipping socket, a swung handle), evenly over ln(degrees).
const STRAY_SHARE: f64 = 0.005;
const STRAY_WIDTH: f64 = 8.0;
/// Rotation is measured from a tenth of the peak.
const COUNTED_SHARE: f64 = 0.1;
/// A fastener that holds this share of the pull's peak is not expected to turn.
pub(in crate::core::tracker) const HOLDS_SHARE: f64 = 0.93;

/// All that the likelihood of a turn depends on, in one account.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::core::tracker) struct Ground {
    step: usize,
    /// Of the fastener, or of the first of its group if a recipe bears on none of them.
    assignment: Assignment,
    /// What it holds, N·m.
    held_nm: f64,
}

/// None of a pull on nothing of the plan.
pub(in crate::core::tracker) fn ground(
    scene: &Scene,
    account: &Hypothesis,
    assignment: &Assignment,
) -> Option<Ground> {
    let fastener = assignment.fastener?;
    let own = scene.step_of(fastener);
    let (step, like) = if recipe::bears(scene, own) {
        (own, fastener)
    } else {
        let step = standing_alike(scene, account, own);
        (step, scene.fasteners_of(step).start)
    };
    let held_nm = match assignment.slackened {
        true => 0.0,
        false => account.held_nm(scene, fastener, assignment.pass),
    };
    let assignment = Assignment { fastener: Some(like), ..*assignment };
    Some(Ground { step, assignment, held_nm })
}

/// The step, or the first that is like it where nothing was seen to turn in either.
fn standing_alike(scene: &Scene, account: &Hypothesis, step: usize) -> usize {
    let unseen = |step: usize| {
        let Round { slack, half_tight, did_turn, did_not, .. } = &account.rounds[step];
        (slack.count, half_tight.count, *did_turn, *did_not) == (0, 0, 0, 0)
    };
    let kin = scene.kin(step);
    let alike = |other: &usize| scene.kin(*other) == kin && unseen(*other);
    if unseen(step) { (kin..step).find(alike).unwrap_or(step) } else { step }
}

/// Any turn is as likely as any other.
pub(in crate::core::tracker) fn anything() -> f64 {
    -STRAY_WIDTH.ln()
}

pub(in crate::core::tracker) fn ln_likelihood(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    turned_deg: f64,
    ground: &Ground,
) -> f64 {
    let x = (turned_deg.max(0.0) + FLOOR_DEG).ln();
    let stray = STRAY_SHARE.ln() - STRAY_WIDTH.ln();
    let Ground { step, ref assignment, held_nm: held } = *ground;
    if assignment.act == Act::Loosen {
        return anything();
    }
    let pulled = scene.tightening(step, Torque::from_nm(nm)).max(0.1);
    let Some(full) = scene.final_window(step).map(|window| window.target.nm()) else {
        return anything();
    };
    let wind_up = WIND_UP_DEG * (pulled / full).max(0.05);
    let round = &account.rounds[step];
    let (middle, spread) = compliance(scene, account, step, full, held > 0.0);
    let tight = || tight(x, wind_up, pulled * middle);
    if assignment.act == Act::Recheck {
        let moved = (pulled - held).max(0.0) * middle;
        let ln = if moved > wind_up {
            let stays = holds_still(pulled / held.max(0.1));
            let moves = ln_normal(x, (moved + FLOOR_DEG).ln(), 0.7);
            ln_sum(&[stays.ln() + tight(), (1.0 - stays).ln() + moves])
        } else {
            tight()
        };
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + ln, stray]);
    }
    if let Some(ln) = recipe::turns(scene, account, pulled, x, assignment)
        && !assignment.unturned
    {
        return ln;
    }
    let gained = pulled - held.max(COUNTED_SHARE * pulled);
    if gained <= 0.0 || held > HOLDS_SHARE * pulled {
        let on = (GOES_ON_TURNS * pulled * middle + WIND_UP_COUNTED * wind_up + FLOOR_DEG).ln();
        let goes_on = ln_normal(x, on, MOST_SPREAD);
        let ln = ln_sum(&[0.5f64.ln() + tight(), 0.5f64.ln() + goes_on]);
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + ln, stray]);
    }
    if assignment.unturned {
        return already_tight_share(scene, round, assignment, held).ln() + tight();
    }
    let turns = (gained * middle + WIND_UP_COUNTED * wind_up + FLOOR_DEG).ln();
    // What it holds and what it breaks away at differ, which tells the more the less it gains.
    let spread = spread.hypot(BREAK_AWAY * held / gained);
    let turned = ln_turned(round, x, turns, spread.min(MOST_SPREAD), held);
    let slack = 1.0 - already_tight_share(scene, round, assignment, held);
    ln_sum(&[slack.ln() + turned, stray])
}

/// Share of tight fasteners that do not break away at so many times what they hold: a lognormal about 1, by a logistic
/// curve that is nowhere further than 0.01 from it (Haley 1952).
fn holds_still(times: f64) -> f64 {
    1.0 / (1.0 + (1.702 * times.ln() / BREAK_AWAY).exp())
}

/// `x` and `turns` are ln of the degrees told, and of those expected, `spread` is that of their ratio's ln.
fn ln_turned(round: &Round, x: f64, turns: f64, spread: f64, held_nm: f64) -> f64 {
    let straight = ln_normal(x, turns, spread);
    // Where it stood is known of one that an earlier pass brought there.
    if held_nm > 0.0 {
        return straight;
    }
    let alike = f64::from(round.slack.count);
    let run_down = RUN_DOWN * RUN_DOWN_WORTH / (RUN_DOWN_WORTH + alike);
    ln_sum(&[
        (1.0 - run_down).ln() + straight,
        run_down.ln() + ln_normal(x, turns - RUN_DOWN_LN, RUN_DOWN_SPREAD.hypot(spread)),
    ])
}

/// A pull on a fastener that was tight: it stayed, or moved on a little.
fn tight(x: f64, wind_up: f64, whole_deg: f64) -> f64 {
    let counted = ln_normal(x, (wind_up + FLOOR_DEG).ln(), WIND_UP_SPREAD);
    let still = ln_normal(x, FLOOR_DEG.ln() + 0.2, STILL_SPREAD);
    let stays = ln_sum(&[WIND_UP_COUNTED.ln() + counted, (1.0 - WIND_UP_COUNTED).ln() + still]);
    let moves = |share: f64, spread: f64| {
        let on = (share * whole_deg + WIND_UP_COUNTED * wind_up + FLOOR_DEG).ln();
        ln_normal(x, on, spread)
    };
    let rest = 1.0 - MOVES_ON - TURNS_AGAIN;
    ln_sum(&[
        rest.ln() + stays,
        MOVES_ON.ln() + moves(MOVES_ON_SHARE, MOVES_ON_SPREAD),
        TURNS_AGAIN.ln() + moves(TURNS_AGAIN_SHARE, TURNS_AGAIN_SPREAD),
    ])
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
    reached
        && !castle::goes_on(scene, account, fastener)
        && account.held_nm(scene, fastener, assignment.pass) <= HOLDS_SHARE * pulled
}

/// Degrees a N·m, and the spread of one fastener's as a ratio's ln: of slack ones, or of those that an
/// earlier pass left half tight.
fn compliance(
    scene: &Scene,
    account: &Hypothesis,
    step: usize,
    full_nm: f64,
    half_tight: bool,
) -> (f64, f64) {
    let round = &account.rounds[step];
    let usual = (COMPLIANCE + HARD_JOINT_DEG / full_nm.max(1.0)).ln();
    let mut before = (usual, COMPLIANCE_SPREAD.powi(2));
    let mut shift = (0.0, HALF_TIGHT_SHIFT.powi(2));
    let like = (0..account.rounds.len()).filter(|other| {
        let target = |step| scene.final_window(step).map(|window| window.target.nm());
        *other != step && account.rounds[*other].slack.count > 0 && target(*other) == Some(full_nm)
    });
    for other in like.take(LIKE_GROUPS).map(|other| &account.rounds[other]) {
        let slack = mean(before, &other.slack, SIBLING_SPREAD);
        shift = half_tight_shift(shift, slack, &other.half_tight);
        before = (slack.0, slack.1 + LIKE_GROUP_SPREAD.powi(2));
    }
    let slack = mean(before, &round.slack, SIBLING_SPREAD);
    let (mean, var, each) = if half_tight {
        let before = (slack.0 + shift.0, slack.1 + shift.1);
        let half = mean(before, &round.half_tight, HALF_TIGHT_SPREAD);
        (half.0, half.1, spread(&round.half_tight, HALF_TIGHT_SPREAD))
    } else {
        (slack.0, slack.1, spread(&round.slack, SIBLING_SPREAD))
    };
    (mean.exp(), (each.powi(2) + var).sqrt())
}

/// How half-tight ones of another group turned against its slack ones, and what that says of this group's.
fn half_tight_shift((before, var): (f64, f64), slack: (f64, f64), half: &Turned) -> (f64, f64) {
    if half.count == 0 {
        return (before, var);
    }
    let count = f64::from(half.count);
    let seen = half.ln_compliance / count - slack.0;
    let noise = HALF_TIGHT_SPREAD.powi(2) / count + slack.1 + LIKE_GROUP_SHIFT.powi(2);
    let precision = 1.0 / var + 1.0 / noise;
    ((before / var + seen / noise) / precision, 1.0 / precision)
}

/// The spread between siblings, as far as they have shown it.
fn spread(seen: &Turned, usual: f64) -> f64 {
    let count = f64::from(seen.count);
    let about = (seen.squares - seen.ln_compliance.powi(2) / count.max(1.0)).max(0.0);
    ((SPREAD_WORTH * usual * usual + about) / (SPREAD_WORTH + (count - 1.0).max(0.0))).sqrt()
}

/// Mean and variance of a group's ln compliance: a normal prior with known spreads moves towards the
/// siblings' as they are seen.
fn mean((before, var): (f64, f64), seen: &Turned, spread: f64) -> (f64, f64) {
    let (prior, each) = (1.0 / var, spread.powi(-2));
    let precision = prior + f64::from(seen.count) * each;
    ((before * prior + seen.ln_compliance * each) / precision, 1.0 / precision)
}

/// What the fastener of a tightening holds already, as a share of what it is pulled to.
pub(in crate::core::tracker) fn held_share(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    assignment: &Assignment,
) -> f64 {
    let held = assignment.fastener.filter(|_| !assignment.slackened).map(|fastener| {
        let pulled = scene.tightening(scene.step_of(fastener), Torque::from_nm(nm)).max(0.1);
        account.held_nm(scene, fastener, assignment.pass) / pulled
    });
    held.unwrap_or(0.0)
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
    let held = account.held_nm(scene, fastener, assignment.pass);
    let share = already_tight_share(scene, round, assignment, held);
    if assignment.unturned { share.ln() } else { (1.0 - share).ln() }
}

fn already_tight_share(scene: &Scene, round: &Round, assignment: &Assignment, held_nm: f64) -> f64 {
    let closing = assignment.fastener.and_then(|one| scene.closing_pass(scene.step_of(one)));
    let opinion = if held_nm > 0.0 {
        // A fastener that this adapter brought to an earlier pass's torque was seen to be slack above it.
        ALREADY_TIGHT_SHARE / 10.0
    } else if closing.is_some_and(|closing| assignment.pass < closing) {
        EARLY_TIGHT_SHARE
    } else {
        ALREADY_TIGHT_SHARE
    };
    let (turned, unturned) = (f64::from(round.did_turn), f64::from(round.did_not));
    (opinion * ALREADY_TIGHT_WORTH + unturned) / (ALREADY_TIGHT_WORTH + turned + unturned)
}
