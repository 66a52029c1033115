//! Whether the drive turned as a slack, a half-tight or a tight fastener would let it.
//!
//! A slack fastener turns by (torque gained) ÷ stiffness; stiffness differs between joints by a factor
//! of ten, so it is learned within each group. A tight one does not turn, or, where it had settled or is
//! pulled a little beyond what it holds, by a little. To either comes the wind-up of bars and handle, if
//! the adapter counts forward turns only; one that counts both ways has lost it again by the release.
//! Densities are over ln(degrees + [`FLOOR_DEG`]).

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis};
use crate::core::tracker::member::{Round, Turned};
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
const SIBLING_SPREAD: f64 = 0.3;
/// between those that an earlier pass brought to the same torque;
const HALF_TIGHT_SPREAD: f64 = 0.22;
/// how many siblings these opinions are worth;
const SPREAD_WORTH: f64 = 2.0;
/// and by how much more those half tight turn for each N·m, as a ratio's ln, and its spread: a gun has run
/// down what is called slack, by nobody knows how much.
const HALF_TIGHT_SHIFT: f64 = 0.2;
const HALF_TIGHT_SHIFT_SPREAD: f64 = 0.4;
/// Groups that are asked.
const LIKE_GROUPS: usize = 2;
/// Less than this is not told from nothing, degrees (noise, a step of a tenth, play of the square).
const FLOOR_DEG: f64 = 0.4;
/// Wind-up of bars and handle at full torque where it is counted, degrees, and its spread as a ratio's
/// ln (0.5 to 4°); share of adapters that count it.
const WIND_UP_DEG: f64 = 1.8;
const WIND_UP_SPREAD: f64 = 0.6;
const WIND_UP_COUNTED: f64 = 0.4;
/// Spread of that ratio's ln between pulls of one job.
const WIND_UP_EACH: f64 = 0.35;
/// A tight fastener that is pulled to no more than this share of what it holds moves on by nothing.
const NO_FURTHER: f64 = 1.03;
/// Spread of the ln where nothing turned and nothing is counted.
const STILL_SPREAD: f64 = 0.3;
/// Share of pulls on a tight fastener that move it on, by up to this share of what the whole torque
/// would turn it: embedding and relaxation take a tenth of it, and people pull a little further.
const MOVES_ON: f64 = 0.45;
const MOVES_ON_SHARE: f64 = 0.06;
const MOVES_ON_SPREAD: f64 = 0.8;
/// Share of slack fasteners that were run down further than their like, and how far, as a ratio's ln.
const RUN_DOWN: f64 = 0.06;
/// How many siblings that opinion is worth beside those that were run down alike.
const RUN_DOWN_WORTH: f64 = 4.0;
const RUN_DOWN_LN: f64 = 0.8;
const RUN_DOWN_SPREAD: f64 = 0.7;
/// Share of jobs in which a gun has already brought slack fasteners to torque: whoever's gun goes so far
/// with one does so with all, so that the first pulls of a pass tell;
const ALREADY_TIGHT_SHARE: f64 = 0.03;
/// to the torque of an early pass, which it meets with some more often than with others;
const EARLY_TIGHT_SHARE: f64 = 0.12;
/// and how many pulls these opinions are worth.
const ALREADY_TIGHT_WORTH: f64 = 0.1;
const EARLY_TIGHT_WORTH: f64 = 0.5;
/// Share of jobs in which a gun has run the fasteners down, to between these shares of full torque: a swing
/// that stops below that turns nothing.
const GUN_SHARE: f64 = 0.4;
const GUN_TO: (f64, f64) = (0.1, 0.7);
/// By how much the spread grows where a swing stopped short, as the whole of it is missing: it may have met
/// more or less of what the gun left to turn.
const SHORT_SPREAD: f64 = 0.6;
/// Spread of ln(break-away torque / torque held): a swing that goes on turns only from there.
const BREAK_AWAY_SPREAD: f64 = 0.08;
/// Share of single fasteners, galled or stuck before they seat, whatever the others do.
const STUCK_SHARE: f64 = 0.003;
/// Share of rotations that nothing explains (a slipping socket, a swung handle), evenly over ln(degrees).
const STRAY_SHARE: f64 = 0.005;
const STRAY_WIDTH: f64 = 8.0;
/// Rotation is measured from a tenth of the peak.
const COUNTED_SHARE: f64 = 0.1;
/// A fastener that holds this share of the pull's peak is not expected to turn.
pub(in crate::core::tracker) const HOLDS_SHARE: f64 = 0.93;

/// ln of the highest density that a rotation can have: siblings seldom lie closer than a tenth.
pub(in crate::core::tracker) const MOST: f64 = 1.5;

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
    let wound = &account.habit.wound;
    let part = (pulled / full).max(0.05);
    let held = if assignment.slackened { 0.0 } else { account.members[fastener].held_nm };
    let round = &account.rounds[step];
    let (middle, spread) = compliance(scene, account, step, full, held > 0.0);
    let tight = tight(x, part, pulled * middle, wound);
    if assignment.act == Act::Recheck {
        let moved = (pulled - held).max(0.0) * middle;
        let far = moved > WIND_UP_DEG * part;
        let ln = if far { ln_normal(x, (moved + FLOOR_DEG).ln(), 0.7) } else { tight };
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + ln, stray]);
    }
    let gained = pulled - held.max(COUNTED_SHARE * pulled);
    if gained <= 0.0 || held > HOLDS_SHARE * pulled {
        return ln_sum(&[(1.0 - STRAY_SHARE).ln() + tight, stray]);
    }
    if assignment.unturned {
        return already_tight_share(scene, round, assignment, held).ln() + tight;
    }
    let reached = scene.window(step, assignment.pass).is_none_or(|one| pulled >= one.low.nm());
    let turns = (gained * middle + wound.expected_deg(part) + FLOOR_DEG).ln();
    let turned = if held > 0.0 {
        let still = beyond((pulled / held).ln() / BREAK_AWAY_SPREAD);
        // Where it stood is known of one that an earlier pull brought there.
        ln_sum(&[(1.0 - still).ln() + ln_normal(x, turns, spread), still.ln() + tight])
    } else {
        let short = if reached { 0.0 } else { SHORT_SPREAD * (1.0 - pulled / full).max(0.0) };
        let alike = f64::from(round.slack.count);
        // Those that lie close together were not run down unevenly.
        let uneven = (spread / SIBLING_SPREAD).min(1.0).powi(2);
        let run_down = RUN_DOWN * uneven * RUN_DOWN_WORTH / (RUN_DOWN_WORTH + alike);
        ln_sum(&[
            (1.0 - run_down).ln() + ln_normal(x, turns, spread.hypot(short)),
            run_down.ln() + ln_normal(x, turns - RUN_DOWN_LN, RUN_DOWN_SPREAD.hypot(spread).hypot(short)),
        ])
    };
    if !reached {
        let still = if held > 0.0 { 0.0 } else { below_gun(pulled / full) };
        return ln_sum(&[(1.0 - still).ln() + turned, still.ln() + tight, stray]);
    }
    let slack = 1.0 - already_tight_share(scene, round, assignment, held);
    ln_sum(&[slack.ln() + turned, stray])
}

/// The probability that the swing of `assignment` turned nothing, as a gun had run the fastener down further.
pub(in crate::core::tracker) fn short_of_gun(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    assignment: &Assignment,
) -> f64 {
    let slack = |fastener: &usize| {
        assignment.act == Act::Tighten
            && (assignment.slackened || account.members[*fastener].held_nm <= 0.0)
    };
    let Some(fastener) = assignment.fastener.filter(slack) else { return 0.0 };
    let step = scene.step_of(fastener);
    let pulled = scene.tightening(step, Torque::from_nm(nm));
    let reached = scene.window(step, assignment.pass).is_none_or(|one| pulled >= one.low.nm());
    match scene.final_window(step) {
        Some(full) if !reached => below_gun(pulled / full.target.nm()),
        _ => 0.0,
    }
}

/// The probability that a gun ran a fastener down to more than this share of full torque.
fn below_gun(share: f64) -> f64 {
    let (least, most) = GUN_TO;
    GUN_SHARE * ((most - share) / (most - least)).clamp(0.01, 1.0)
}

/// The probability that a normal variate lies beyond this many of its deviations: the logistic stand-in, which is
/// nowhere wrong by more than a hundredth (Bowling et al. 2009).
fn beyond(deviations: f64) -> f64 {
    let exponent = 0.070_56 * deviations.powi(3) + 1.5976 * deviations;
    1.0 / (1.0 + exponent.min(50.0).exp())
}

/// A pull on a fastener that was tight: it stayed, or moved on a little. `part`: of full torque; `whole_deg`: what
/// the whole torque would turn a slack one.
fn tight(x: f64, part: f64, whole_deg: f64, wound: &Wound) -> f64 {
    let share = wound.share();
    let stays = ln_sum(&[share.ln() + wound.ln_counted(x, part), (1.0 - share).ln() + ln_still(x)]);
    ln_sum(&[(1.0 - MOVES_ON).ln() + stays, MOVES_ON.ln() + ln_moves_on(x, part, whole_deg, wound)])
}

fn ln_still(x: f64) -> f64 {
    ln_normal(x, FLOOR_DEG.ln() + 0.2, STILL_SPREAD)
}

fn ln_moves_on(x: f64, part: f64, whole_deg: f64, wound: &Wound) -> f64 {
    let on = (MOVES_ON_SHARE * whole_deg + wound.expected_deg(part) + FLOOR_DEG).ln();
    ln_normal(x, on, MOVES_ON_SPREAD)
}

/// What pulls on tight fasteners have told of the wind-up: whether this adapter counts it, and how much it is.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(in crate::core::tracker) struct Wound {
    /// ln of how much likelier they are if it counts it.
    ln_counts: f64,
    /// How many turned more than nothing, and the sum of ln(degrees at full torque).
    count: u16,
    ln_deg: f64,
}

impl Wound {
    /// The probability that the adapter counts it.
    fn share(&self) -> f64 {
        let odds = WIND_UP_COUNTED / (1.0 - WIND_UP_COUNTED) * self.ln_counts.exp();
        (odds / (1.0 + odds)).clamp(0.02, 0.98)
    }

    /// What is expected of it, not knowing whether it is counted, degrees.
    fn expected_deg(&self, part: f64) -> f64 {
        self.share() * part * self.middle().0.exp()
    }

    /// ln of the degrees at full torque, and the spread of one pull's.
    fn middle(&self) -> (f64, f64) {
        let (prior, each) = (WIND_UP_SPREAD.powi(-2), WIND_UP_EACH.powi(-2));
        let precision = prior + f64::from(self.count) * each;
        let middle = (WIND_UP_DEG.ln() * prior + self.ln_deg * each) / precision;
        (middle, (1.0 / precision + WIND_UP_EACH.powi(2)).sqrt())
    }

    fn ln_counted(&self, x: f64, part: f64) -> f64 {
        let (middle, spread) = self.middle();
        ln_normal(x, (part * middle.exp() + FLOOR_DEG).ln(), spread)
    }

    /// Learns from a pull on a fastener that was tight and is pulled no further.
    fn learn(&mut self, turned_deg: f64, part: f64, whole_deg: f64) {
        let x = (turned_deg.max(0.0) + FLOOR_DEG).ln();
        let on = MOVES_ON.ln() + ln_moves_on(x, part, whole_deg, self);
        let with = |stays: f64| ln_sum(&[(1.0 - MOVES_ON).ln() + stays, on]);
        let told = with(self.ln_counted(x, part)) - with(ln_still(x));
        self.ln_counts = (self.ln_counts + told.clamp(-1.0, 1.0)).clamp(-4.0, 4.0);
        if turned_deg > FLOOR_DEG {
            self.count = self.count.saturating_add(1);
            self.ln_deg += (turned_deg / part).ln();
        }
    }
}

/// Learns how much of what is turned is wind-up, from a pull that `assignment` says was on a tight fastener.
pub(in crate::core::tracker) fn learn(
    scene: &Scene,
    account: &mut Hypothesis,
    nm: f64,
    turned_deg: f64,
    assignment: &Assignment,
) {
    let Some(fastener) = assignment.fastener.filter(|_| assignment.act == Act::Recheck) else {
        return;
    };
    let step = scene.step_of(fastener);
    let Some(full) = scene.final_window(step).map(|window| window.target.nm()) else { return };
    let pulled = scene.tightening(step, Torque::from_nm(nm));
    if pulled <= 0.0 || pulled > NO_FURTHER * account.members[fastener].held_nm {
        return;
    }
    let (middle, _) = compliance(scene, account, step, full, true);
    account.habit.wound.learn(turned_deg, (pulled / full).max(0.05), pulled * middle);
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
    let like = (0..account.rounds.len()).filter(|other| {
        let target = |step| scene.final_window(step).map(|window| window.target.nm());
        *other != step && account.rounds[*other].slack.count > 0 && target(*other) == Some(full_nm)
    });
    for other in like.take(LIKE_GROUPS) {
        let seen = mean(before, &account.rounds[other].slack, SIBLING_SPREAD);
        before = (seen.0, seen.1 + LIKE_GROUP_SPREAD.powi(2));
    }
    let slack = mean(before, &round.slack, SIBLING_SPREAD);
    let siblings = spread(&round.slack, SIBLING_SPREAD);
    let (mean, var, each) = if half_tight {
        // What the slack ones showed, as far as a gun may have been there, beside what joints give.
        let usual = (before.0 + HALF_TIGHT_SHIFT, before.1);
        let count = f64::from(round.slack.count);
        let shown = round.slack.ln_compliance / count.max(1.0) + HALF_TIGHT_SHIFT;
        let var = SIBLING_SPREAD.powi(2) / count + HALF_TIGHT_SHIFT_SPREAD.powi(2);
        let (one, other) = (1.0 / usual.1, 1.0 / var);
        let both = ((usual.0 * one + shown * other) / (one + other), 1.0 / (one + other));
        let half = mean(both, &round.half_tight, HALF_TIGHT_SPREAD);
        (half.0, half.1, spread(&round.half_tight, HALF_TIGHT_SPREAD))
    } else {
        (slack.0, slack.1, siblings)
    };
    (mean.exp(), (each.powi(2) + var).sqrt())
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

/// What the fastener of a pull already holds, as a share of the torque that it is pulled to.
pub(in crate::core::tracker) fn held_share(
    scene: &Scene,
    account: &Hypothesis,
    nm: f64,
    assignment: &Assignment,
) -> f64 {
    assignment.fastener.filter(|_| !assignment.slackened).map_or(0.0, |fastener| {
        let pulled = scene.tightening(scene.step_of(fastener), Torque::from_nm(nm));
        account.members[fastener].held_nm / pulled.max(0.1)
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
    let held = account.members[fastener].held_nm;
    let share = already_tight_share(scene, round, assignment, held);
    if assignment.unturned { share.ln() } else { (1.0 - share).ln() }
}

fn already_tight_share(scene: &Scene, round: &Round, assignment: &Assignment, held_nm: f64) -> f64 {
    let closing = assignment.fastener.and_then(|one| scene.closing_pass(scene.step_of(one)));
    let (opinion, worth) = if held_nm > 0.0 {
        // A fastener that this adapter brought to an earlier pass's torque was seen to be slack above it.
        (ALREADY_TIGHT_SHARE / 10.0, ALREADY_TIGHT_WORTH)
    } else if closing.is_some_and(|closing| assignment.pass < closing) {
        (EARLY_TIGHT_SHARE, EARLY_TIGHT_WORTH)
    } else {
        (ALREADY_TIGHT_SHARE, ALREADY_TIGHT_WORTH)
    };
    let (turned, unturned) = (f64::from(round.did_turn), f64::from(round.did_not));
    let by_gun = (opinion * worth + unturned) / (worth + turned + unturned);
    STUCK_SHARE + (1.0 - STUCK_SHARE) * by_gun.min(0.99)
}
