//! Where a job stands, as plain data.

use crate::core::event::{Ending, Warning};
use crate::core::plan::{Expect, Window};
use crate::core::snapshot::{Asked, GroupState, HoldState, MemberState, Next, Snapshot};
use crate::core::tracker::due::{due, heard};
use crate::core::tracker::ending::{done, ending};
use crate::core::tracker::evidence::order::{Signs, expectations};
use crate::core::tracker::state::State;
use crate::core::tracker::words;

pub(super) fn snapshot(state: &State, warnings: &[Warning]) -> Snapshot {
    let scene = &state.scene;
    let groups: Vec<GroupState> =
        (0..scene.plan.steps.len()).map(|step| group(state, step)).collect();
    let members = groups.iter().flat_map(|group| &group.members);
    let holds = scene.plan.holds.iter().zip(&scene.confirmed);
    Snapshot {
        plan: scene.plan.name.clone(),
        next: next(state),
        open: members
            .filter(|member| member.ending == Ending::Open)
            .map(|member| member.name.clone())
            .collect(),
        questions: questions(state),
        groups,
        holds: holds
            .map(|(hold, confirmed)| HoldState {
                name: hold.name.clone(),
                text: hold.text.clone(),
                confirmed: *confirmed,
            })
            .collect(),
        warnings: warnings.to_vec(),
    }
}

/// Of every life-critical group that is done as far as counting tells: two questions that cost nothing, and
/// find what no adapter without a sense of place can.
fn questions(state: &State) -> Vec<String> {
    let scene = &state.scene;
    let ends = |fastener| ending(scene, &state.beliefs, fastener);
    let counted_only = |step: &usize| {
        let endings: Vec<Ending> = scene.fasteners_of(*step).map(ends).collect();
        scene.step(*step).life_critical
            && scene.step(*step).members > 1
            && endings.contains(&Ending::Counted)
            && !endings.contains(&Ending::Open)
    };
    let steps = (0..scene.plan.steps.len()).filter(counted_only);
    steps.map(|step| words::before_closing(scene, step)).collect()
}

fn group(state: &State, step: usize) -> GroupState {
    let scene = &state.scene;
    let shape = scene.step(step);
    let passes = shape.passes.len();
    let best = state.beliefs.best();
    let due = best.pass_due(scene, step).unwrap_or(passes - 1);
    GroupState {
        name: shape.group.clone(),
        title: shape.title.clone(),
        pattern: shape.pattern,
        socket: shape.socket.clone(),
        left_hand: shape.left_hand,
        pass: number(due + 1),
        passes: number(passes),
        order: scene.pass(step, due).order.clone(),
        asked: scene.window(step, due).map(asked),
        members: scene
            .fasteners_of(step)
            .map(|fastener| {
                let member = &best.members[fastener];
                MemberState {
                    name: scene.name(fastener),
                    ending: ending(scene, &state.beliefs, fastener),
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
    let (step, pass) = due(scene, best)?;
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
    let name = scene.name(fastener);
    Some(match &scene.pass(step, pass).expect {
        Expect::ToBeLookedUp => Next::LookUp { group: scene.step(step).group.clone() },
        Expect::NoFigure => Next::State { fastener: name },
        Expect::ByHand => pull(name, pass, scene.step(step).passes.len(), "by hand".to_owned()),
        Expect::Window(window) => {
            let target = format!("{} ({window})", window.target_text());
            pull(name, pass, scene.step(step).passes.len(), target)
        }
    })
}

fn pull(fastener: String, pass: usize, passes: usize, target: String) -> Next {
    Next::Pull { fastener, pass: number(pass + 1), passes: number(passes), target }
}

fn likeliest(state: &State, step: usize, pass: usize) -> Option<usize> {
    let scene = &state.scene;
    let best = state.beliefs.best();
    expectations(scene, best, 0.0, Signs::default())
        .found
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
