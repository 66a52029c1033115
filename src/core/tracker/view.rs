//! Where a job stands, as plain data.

use crate::core::event::{Ending, Warning};
use crate::core::plan::{Access, Expect, Window};
use crate::core::snapshot::{Asked, GroupState, HoldState, MemberState, Next, Snapshot};
use crate::core::tracker::due::{due, heard};
use crate::core::tracker::ending::{done, ending};
use crate::core::tracker::evidence::order::expectations;
use crate::core::tracker::rules::{access, closing};
use crate::core::tracker::state::State;
use std::borrow::Cow;

pub(super) fn snapshot(state: &State, warnings: &[Warning]) -> Snapshot {
    let scene = &state.scene;
    let groups: Vec<GroupState> =
        (0..scene.plan.steps.len()).map(|step| group(state, step)).collect();
    let members = groups.iter().flat_map(|group| &group.members);
    let holds = scene.plan.holds.iter().zip(&scene.confirmed);
    let conditions = closing::conditions(state).into_iter();
    let open_items = closing::open_items(scene).map(|item| item.name);
    Snapshot {
        plan: scene.plan.name.clone(),
        next: next(state),
        open: members
            .filter(|member| member.ending == Ending::Open)
            .map(|member| member.name.clone())
            .chain(open_items)
            .collect(),
        groups,
        holds: holds
            .map(|(hold, confirmed)| HoldState {
                name: hold.name.clone(),
                text: hold.text.clone(),
                confirmed: *confirmed,
            })
            .chain(conditions.map(|one| HoldState {
                name: one.name,
                text: one.text,
                confirmed: one.met,
            }))
            .collect(),
        warnings: warnings.to_vec(),
    }
}

fn group(state: &State, step: usize) -> GroupState {
    let scene = &state.scene;
    let shape = scene.step(step);
    let passes = shape.passes.len();
    let best = state.beliefs.best();
    let due = best.pass_due(scene, step).unwrap_or(passes - 1);
    let mut members = scene.fasteners_of(step);
    let shown = members.find(|one| best.waits(scene, *one, due));
    let shown = shown.unwrap_or(scene.fasteners_of(step).start);
    GroupState {
        name: shape.group.clone(),
        title: shape.title.clone(),
        pattern: shape.pattern,
        socket: shape.socket.clone(),
        left_hand: shape.left_hand,
        turned: shape.rules.turned,
        hold_with: shape.rules.hold_with.clone(),
        by_hand_only: shape.rules.by_hand_only,
        access: match shape.rules.access {
            Access::KeyInTheWay if shape.rules.fixture.offset.is_some() => Access::Fits,
            access => access,
        },
        pass: number(due + 1),
        passes: number(passes),
        order: scene.pass(step, due).order.clone(),
        asked: scene.window_for(shown, due).map(|window| asked(&window)),
        members: scene
            .fasteners_of(step)
            .map(|fastener| {
                let member = &best.members[fastener];
                MemberState {
                    name: scene.name(fastener),
                    ending: ending(scene, &state.beliefs, fastener),
                    state: closing::joint_state(scene, best, fastener),
                    probability: done(scene, &state.beliefs, fastener),
                    peak_nm: member.peak_nm.or(member.partial.map(|partial| partial.nm)),
                    suspect: member.over || member.spoiled.is_some() || member.loosened,
                    waits: best.waits(scene, fastener, due),
                }
            })
            .collect(),
    }
}

fn asked(window: &Window) -> Asked {
    let unit = window.stated.unit;
    Asked {
        unit,
        unit_nm: unit.newton_metres(),
        target: window.stated.value,
        limits: window.limits_in(unit),
        target_nm: window.target.nm(),
        low_nm: window.low.nm(),
        high_nm: window.high.map(|high| high.nm()),
    }
}

/// What to do next.
fn next(state: &State) -> Option<Next> {
    let scene = &state.scene;
    let best = state.beliefs.best();
    if let Some(fact) = closing::unnoted(scene).filter(|_| state.readings.is_empty()) {
        return Some(asks(fact));
    }
    let active = scene.at.or(best.last.map(|last| last.fastener)).map(|one| scene.step_of(one));
    let finished = active.filter(|step| best.pass_due(scene, *step).is_none());
    if let Some(condition) = finished.and_then(|step| closing::next_of(state, step)) {
        return Some(asks(condition));
    }
    let Some((step, pass)) = due(scene, best) else {
        let joints = (0..scene.plan.steps.len()).find_map(|step| closing::next_of(state, step));
        let left = joints.or_else(|| closing::open_items(scene).next())?;
        return Some(asks(left));
    };
    // Nobody hears a pass by hand: what is asked before the pass behind it has to be asked now.
    let heard = heard(scene, step, pass);
    if let Some(hold) = heard.and_then(|heard| scene.unconfirmed_hold(step, heard)) {
        let hold = &scene.plan.holds[hold];
        let first = if heard == Some(pass) { "" } else { "Snug by hand first. " };
        let text = format!("{first}{}", hold.text);
        return Some(Next::Confirm { hold: hold.name.clone(), text });
    }
    let fastener = scene
        .at
        .or_else(|| likeliest(state, step, pass))
        .or_else(|| scene.fasteners_of(step).find(|one| best.waits(scene, *one, pass)))?;
    if let Some(first) = closing::first_of(scene, best, fastener) {
        return Some(asks(first));
    }
    let name = scene.name(fastener);
    let pulled = matches!(scene.pass(step, pass).expect, Expect::Window(_));
    if pulled && access::blocked(scene, step).is_some() {
        return Some(Next::State { fastener: name });
    }
    Some(match &scene.pass(step, pass).expect {
        Expect::ToBeLookedUp => Next::LookUp { group: scene.step(step).group.clone() },
        Expect::NoFigure => match scene.pass(step, pass).turn {
            Some(turn) if scene.adapters.iter().any(|one| one.reports.rotation) => {
                pull(name, pass, scene.step(step).passes.len(), turn.to_string())
            }
            Some(_) | None => Next::State { fastener: name },
        },
        Expect::ByHand => {
            let how = scene.pass(step, pass).turn.map(|turn| turn.to_string());
            let how = how.unwrap_or_else(|| "by hand".to_owned());
            pull(name, pass, scene.step(step).passes.len(), how)
        }
        Expect::Window(window) => {
            let window = scene.window_for(fastener, pass).unwrap_or(Cow::Borrowed(window));
            let target = format!("{} ({window})", window.target_text());
            pull(name, pass, scene.step(step).passes.len(), target)
        }
    })
}

fn asks(asked: closing::Asked) -> Next {
    Next::Confirm { hold: asked.name, text: asked.text }
}

fn pull(fastener: String, pass: usize, passes: usize, target: String) -> Next {
    Next::Pull { fastener, pass: number(pass + 1), passes: number(passes), target }
}

fn likeliest(state: &State, step: usize, pass: usize) -> Option<usize> {
    let scene = &state.scene;
    let best = state.beliefs.best();
    expectations(scene, best)
        .into_iter()
        .filter(|(assignment, _)| assignment.pass == pass)
        .filter_map(|(assignment, share)| assignment.fastener.map(|fastener| (fastener, share)))
        .filter(|(one, _)| scene.step_of(*one) == step && best.waits(scene, *one, pass))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(fastener, _)| fastener)
}

fn number(value: usize) -> u32 {
    u32::try_from(value).unwrap_or(u32::MAX)
}
