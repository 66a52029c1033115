//! How every fastener ends.

use crate::core::event::{Ending, Summary, WarningCode};
use crate::core::plan::Identity;
use crate::core::tracker::belief::Beliefs;
use crate::core::tracker::policy::{LET_GO_RAISES, MOST_RAISED, SHOWN, SHOWN_LIFE_CRITICAL};
use crate::core::tracker::rules::{Angle, closing};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::state::State;
use std::collections::BTreeMap;

/// How one fastener would end if the job ended now.
pub(super) fn ending(scene: &Scene, beliefs: &Beliefs, fastener: usize) -> Ending {
    let step = scene.step(scene.step_of(fastener));
    let level = if step.life_critical { SHOWN_LIFE_CRITICAL } else { SHOWN };
    // What is not followed any more may be what happened.
    let let_go = beliefs.let_go_at(scene.step_of(fastener));
    let level = level + (1.0 - level) * (LET_GO_RAISES * let_go).min(MOST_RAISED);
    let all = scene.fasteners_of(scene.step_of(fastener));
    let told = |typed: bool| {
        beliefs.probability(|one| {
            let member = &one.members[fastener];
            // That one more has turned tells which only once there is no other.
            let which = || member.placed || all.clone().all(|other| one.done(scene, other));
            one.done(scene, fastener) && member.told && (typed || !member.typed) && which()
        })
    };
    let best = beliefs.best();
    if !closing::lacking(scene, best, fastener).is_empty() {
        return Ending::Open;
    }
    let said = best.members[fastener].kept.angle == Angle::Said;
    // A typed value is a person's word, however well it fits.
    let typed = best.done(scene, fastener) && best.members[fastener].typed;
    let counted = step.identity == Identity::Counted;
    let by_word = typed || said && best.done(scene, fastener);
    let stated = scene.said[fastener].stated || by_word && (counted || told(true) >= level);
    let checked = !best.awaits_check(scene, fastener);
    if checked && !said && told(false) >= level {
        Ending::Shown
    } else if stated {
        Ending::Stated
    } else if checked && counted && !by_word && best.done(scene, fastener) {
        Ending::Counted
    } else {
        Ending::Open
    }
}

/// The probability that a fastener was brought to its window and not loosened since, 0..=1.
pub(super) fn done(scene: &Scene, beliefs: &Beliefs, fastener: usize) -> f64 {
    beliefs.probability(|one| one.done(scene, fastener))
}

pub(super) fn summary(
    state: &State,
    verdicts: u64,
    warnings: &BTreeMap<WarningCode, u64>,
) -> Summary {
    let (scene, beliefs) = (&state.scene, &state.beliefs);
    let endings: Vec<(String, Ending)> = (0..scene.count())
        .map(|fastener| (scene.name(fastener), ending(scene, beliefs, fastener)))
        .collect();
    let open: Vec<String> = endings
        .iter()
        .filter(|(_, ending)| *ending == Ending::Open)
        .map(|(name, _)| name.clone())
        .chain(closing::open_items(scene).map(|item| item.name))
        .collect();
    let holds = scene.plan.holds.iter().zip(&scene.confirmed);
    let conditions = closing::conditions(state).into_iter();
    Summary {
        complete: open.is_empty(),
        identified: endings.iter().all(|(_, ending)| *ending != Ending::Counted),
        fasteners: endings.into_iter().collect(),
        probability: (0..scene.count())
            .map(|fastener| (scene.name(fastener), done(scene, beliefs, fastener)))
            .collect(),
        open,
        holds: holds
            .map(|(hold, confirmed)| (hold.name.clone(), *confirmed))
            .chain(conditions.map(|one| (one.name, one.met)))
            .collect(),
        verdicts,
        warnings: warnings.clone(),
    }
}
