//! How far, and which way, the tool head moved since an earlier pull.
//!
//! All likelihoods are relative to a move about which nothing is known.

use crate::core::event::Moved;
use crate::core::plan::Pattern;
use crate::core::tracker::evidence::lie::Step;
use crate::core::tracker::evidence::{ln_normal, ln_sum};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::Assignment;
use crate::core::tracker::scene::Scene;

/// Share of moves that an adapter gets wrong by far more than it says: knocks, a tool laid down…
pub(super) const WRONG: f64 = 0.02;
/// …half of them by so many times its deviation, and half so that nothing is known of them.
pub(super) const WRONG_BY: f64 = 5.0;
/// ln of a ratio beside which a wrong move needs no looking at.
const CLEAR: f64 = 1.0;
/// Spread of a move about which nothing is known, millimetres an axis: within arm's reach of the joint.
pub(super) const ANYWHERE_MM: f64 = 150.0;
/// The same from one group to another.
const AWAY_MM: f64 = 400.0;
/// A move to the pull that is weighed, from the one so many pulls before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::core::tracker) struct Move {
    /// 1: from the pull just before.
    pub back: usize,
    pub moved: Moved,
    /// One standard deviation an axis, millimetres.
    pub sd_mm: f64,
}

/// From which member to which; none where geometry says nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::core::tracker) enum Hop {
    /// The same fastener again.
    Stayed,
    /// On a ring of `n`.
    Ring {
        group: usize,
        step: Step,
    },
    /// To another group.
    Away,
    Unknown,
}

/// The fastener that a move led from, so many pulls before the one that is weighed.
pub(in crate::core::tracker) fn from(account: &Hypothesis, back: usize) -> Option<usize> {
    account.history.get(account.history.len().checked_sub(back)?)?.was.fastener
}

pub(in crate::core::tracker) fn hop(
    scene: &Scene,
    account: &Hypothesis,
    back: usize,
    assignment: &Assignment,
) -> Hop {
    let (Some(from), Some(to)) = (from(account, back), assignment.fastener) else {
        return Hop::Unknown;
    };
    let step = scene.step_of(to);
    let shape = scene.step(step);
    if scene.step_of(from) != step {
        return Hop::Away;
    }
    if shape.turned_to_reach {
        return Hop::Unknown;
    }
    if from == to {
        return Hop::Stayed;
    }
    if shape.pattern != Pattern::Ring {
        return Hop::Unknown;
    }
    let (from, to) = (scene.id(from).member, scene.id(to).member);
    Hop::Ring { group: step, step: Step { n: shape.members, from, to } }
}

/// The move's likelihood, relative to one about which nothing is known.
pub(in crate::core::tracker) fn ln_likelihood(account: &Hypothesis, seen: &Move, hop: &Hop) -> f64 {
    let ln = ln_ratio(hop, account, seen);
    if ln > CLEAR {
        return ln + (1.0 - WRONG).ln();
    }
    let far = Move { sd_mm: seen.sd_mm.max(0.1) * WRONG_BY, ..*seen };
    let wrong = (0.5 * WRONG).ln();
    ln_sum(&[(1.0 - WRONG).ln() + ln, wrong + ln_ratio(hop, account, &far), wrong])
}

/// ln that no likelihood of the move is above: that of a move just as expected, told by so much noise.
pub(in crate::core::tracker) fn most(seen: &Move) -> f64 {
    let sd = seen.sd_mm.max(0.1);
    let (far, narrow) = match seen.moved {
        Moved::Axes { right_mm, up_mm } => (right_mm.hypot(up_mm), sd),
        Moved::Distance { mm } => (mm, mm.max(0.1).min(sd)),
    };
    let beside = ANYWHERE_MM * ANYWHERE_MM / (sd * narrow);
    beside.max(1.0).ln() + 0.5 * (far / ANYWHERE_MM).powi(2)
}

/// True if geometry bears on which fastener it was: the move is one within a ring, and no mistake.
pub(in crate::core::tracker) fn tells(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Move,
    assignment: &Assignment,
) -> bool {
    let hop = hop(scene, account, seen.back, assignment);
    matches!(hop, Hop::Ring { .. } | Hop::Stayed) && ln_ratio(&hop, account, seen) > WRONG.ln()
}

/// Learns where the ring lies from a move that `assignment` explains.
pub(in crate::core::tracker) fn learn(
    scene: &Scene,
    account: &mut Hypothesis,
    seen: &Move,
    assignment: &Assignment,
) {
    let hop = hop(scene, account, seen.back, assignment);
    let Hop::Ring { group, step } = hop else { return };
    account.lies[group].learn(step, seen.moved, seen.sd_mm.max(0.1));
}

fn ln_ratio(hop: &Hop, account: &Hypothesis, seen: &Move) -> f64 {
    let sd = seen.sd_mm.max(0.1);
    let spread = match hop {
        Hop::Unknown => return 0.0,
        Hop::Ring { group, step } => return account.lies[*group].ln_ratio(*step, seen.moved, sd),
        Hop::Stayed => sd,
        Hop::Away => AWAY_MM,
    };
    match seen.moved {
        Moved::Axes { right_mm, up_mm } => {
            plane((right_mm, up_mm), spread) - plane((right_mm, up_mm), ANYWHERE_MM)
        }
        Moved::Distance { mm } => rayleigh(mm, spread) - rayleigh(mm, ANYWHERE_MM),
    }
}

/// ln of the density of a move whose two parts are normal around 0.
pub(super) fn plane(found: (f64, f64), sd: f64) -> f64 {
    ln_normal(found.0, 0.0, sd) + ln_normal(found.1, 0.0, sd)
}

/// ln of the density of a distance whose two parts are normal around 0.
pub(super) fn rayleigh(mm: f64, sd: f64) -> f64 {
    let mm = mm.max(0.1);
    mm.ln() - 2.0 * sd.ln() - mm * mm / (2.0 * sd * sd)
}
