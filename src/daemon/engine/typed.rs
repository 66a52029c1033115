//! Values that are typed.

use crate::core::command::{Done, Refusal, resolve};
use crate::core::event::{
    Conclusion, Draft, Event, Input, Mark, Origin, Reading, ReadingKey, Say, What,
};
use crate::core::plan::{Expect, FastenerId, Plan};
use crate::core::snapshot::Next;
use crate::core::time::Stamp;
use crate::core::typed::{TYPED, Typed, TypedWhat, typed_source};
use crate::core::units::{StatedTorque, Torque, TorqueUnit};
use crate::daemon::drafts;
use crate::daemon::engine::{Engine, not_kept};
use crate::daemon::wake::Outcome;

/// No hand tool shows more, N·m.
const LARGEST_NM: f64 = 5000.0;

impl Engine {
    /// Does what one line says. `unit` is for numbers that name none.
    pub(super) fn typed(
        &mut self,
        now: Stamp,
        typed: Typed,
        unit: Option<TorqueUnit>,
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        let Typed { what, at } = typed;
        let say = match what {
            TypedWhat::Value { number, unit: written } => {
                return self.typed_value(now, number, written.or(unit), at);
            }
            TypedWhat::Give(line) => return self.give(now, line, Origin::Typed),
            TypedWhat::Close => return self.close(now, None),
            TypedWhat::Undo => Say::Retract,
            TypedWhat::Note(text) => Say::Note { text },
            TypedWhat::Yes { hold: Some(hold), because } => Say::Confirm { hold, because },
            TypedWhat::Yes { hold: None, because } => match self.next()? {
                Some(Next::Confirm { hold, .. }) => Say::Confirm { hold, because },
                _ => return Err(Refusal::NothingAsked),
            },
            TypedWhat::At => Say::At { fastener: self.meant(at)? },
            TypedWhat::Low => Say::Low { fastener: self.meant(at)? },
            TypedWhat::Done => Say::Stated { fastener: self.meant(at)? },
        };
        let mark = Mark { say: say.clone(), origin: Origin::Typed };
        let outcomes = self.keep_checked_mark(now, mark)?;
        Ok((self.heard(Some(say), None, &outcomes), outcomes))
    }

    fn typed_value(
        &mut self,
        now: Stamp,
        number: f64,
        unit: Option<TorqueUnit>,
        at: Option<String>,
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        let sequence = self.journal.reader().last_typed().map_err(not_kept)?.unwrap_or(0);
        let Some(sequence) = sequence.checked_add(1) else {
            return Err(Refusal::NotKept(
                "the journal's numbers of typed values are used up".to_owned(),
            ));
        };
        let Some(current) = &self.current else {
            if at.is_some() {
                return Err(Refusal::NoJob);
            }
            let stated = torque(number, unit)?;
            let draft = value(now, None, sequence, stated.torque());
            let outcomes = self.commit(vec![draft.clone()], Vec::new()).map_err(not_kept)?;
            self.loose += 1;
            return Ok((self.heard(None, Some(stated), &outcomes), outcomes));
        };
        let (job, when) = (current.job, current.latest.max(now));
        let plan = current.tracker.plan();
        let mark = match at {
            None => None,
            Some(fastener) => {
                let say = resolve(plan, &[], Say::At { fastener })?;
                Some(Mark { say, origin: Origin::Typed })
            }
        };
        let next = current.tracker.snapshot().next;
        // Who is asked for a value and types a number may mean either.
        let asked_for = match &next {
            Some(Next::LookUp { group }) if mark.is_none() => Some(group.clone()),
            _ => None,
        };
        let expected = match (&mark, &asked_for) {
            (Some(Mark { say: Say::At { fastener }, .. }), _) => plan.fastener(fastener),
            (_, Some(group)) => plan.fastener(&format!("{group}/1")),
            _ => expected(plan, next),
        };
        let stated = torque(number, unit.or_else(|| author_unit(plan, expected)))?;
        let left = expected.is_some_and(|id| plan.step(id.step).left_hand);
        let nm = stated.torque().nm();
        let peak = Torque::from_nm(if left { -nm } else { nm });
        if let Some(group) = asked_for {
            let kept = value(when, None, sequence, peak);
            self.commit(vec![kept], Vec::new()).map_err(not_kept)?;
            self.loose += 1;
            return Err(Refusal::ValueFirst { group, typed: stated.to_string() });
        }
        let mut drafts = Vec::new();
        let mut inputs = Vec::new();
        if !current.told.contains_key(TYPED) {
            let info = typed_source();
            inputs.push(Input { at: when, what: What::Adapter(info.clone()) });
            drafts.push(drafts::plain(when, Some(job), Event::Adapter(info)));
        }
        if let Some(mark) = mark {
            inputs.push(Input { at: when, what: What::Mark(mark.clone()) });
            drafts.push(drafts::plain(when, Some(job), Event::Mark(mark)));
        }
        let draft = value(when, Some(job), sequence, peak);
        if let Event::Reading { reading, .. } = &draft.event {
            inputs.push(Input { at: when, what: What::Reading(reading.clone()) });
        }
        drafts.push(draft);
        let outcomes = self.commit(drafts, inputs).map_err(not_kept)?;
        Ok((self.heard(None, Some(stated), &outcomes), outcomes))
    }

    pub(super) fn heard(
        &self,
        said: Option<Say>,
        value: Option<StatedTorque>,
        outcomes: &[Outcome],
    ) -> Done {
        let (mut verdicts, mut warnings) = (Vec::new(), Vec::new());
        for outcome in outcomes {
            match outcome {
                Outcome::Concluded(Conclusion::Verdict(verdict)) => verdicts.push(verdict.clone()),
                Outcome::Concluded(Conclusion::Warning(warning)) => warnings.push(warning.clone()),
                _ => {}
            }
        }
        let next = self.current.as_ref().and_then(|current| current.tracker.snapshot().next);
        Done::Heard { job: self.job(), said, value, verdicts, warnings, next }
    }

    fn next(&self) -> Result<Option<Next>, Refusal> {
        let current = self.current.as_ref().ok_or(Refusal::NoJob)?;
        Ok(current.tracker.snapshot().next)
    }

    /// The fastener named, or the one that is due.
    fn meant(&self, at: Option<String>) -> Result<String, Refusal> {
        let next = self.next()?;
        match (at, next) {
            (Some(name), _) => Ok(name),
            (None, Some(Next::Pull { fastener, .. } | Next::State { fastener })) => Ok(fastener),
            (None, Some(Next::Confirm { text, .. })) => Err(Refusal::NotDue(format!(
                "a question that waits: {text} Answer `yes` once it is so"
            ))),
            (None, Some(Next::LookUp { group })) => {
                Err(Refusal::NotDue(format!("that the value of {group} is still to be looked up")))
            }
            (None, None) => Err(Refusal::NotDue("that nothing is left".to_owned())),
        }
    }
}

fn value(at: Stamp, job: Option<crate::core::event::JobId>, number: u32, peak: Torque) -> Draft {
    let reading = Reading {
        adapter: TYPED.to_owned(),
        seq: number.into(),
        peak,
        rotation_deg: None,
        duration_ms: None,
        description: None,
    };
    let key = ReadingKey::Typed { number };
    drafts::plain(at, job, Event::Reading { key, at, at_error_us: None, reading })
}

fn torque(number: f64, unit: Option<TorqueUnit>) -> Result<StatedTorque, Refusal> {
    let unit = unit.ok_or(Refusal::NoUnit)?;
    let stated = StatedTorque { value: number, unit };
    if stated.torque().nm() > LARGEST_NM {
        return Err(Refusal::TooMuch(stated.to_string()));
    }
    Ok(stated)
}

/// The fastener that is asked for.
fn expected(plan: &Plan, next: Option<Next>) -> Option<FastenerId> {
    match next? {
        Next::Pull { fastener, .. } | Next::State { fastener } => plan.fastener(&fastener),
        Next::Confirm { hold, .. } => {
            let hold = plan.holds.iter().position(|known| known.name == hold)?;
            plan.fasteners().find(|id| {
                let step = plan.step(id.step);
                step.holds.contains(&hold)
                    || step.passes.iter().any(|pass| pass.holds.contains(&hold))
            })
        }
        Next::LookUp { .. } => None,
    }
}

/// The unit that the author of the plan used for this joint; without one, for every joint, if it is one.
fn author_unit(plan: &Plan, expected: Option<FastenerId>) -> Option<TorqueUnit> {
    let units = |index: usize| {
        plan.steps[index].passes.iter().filter_map(|pass| match &pass.expect {
            Expect::Window(window) => Some(window.stated.unit),
            Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
        })
    };
    if let Some(unit) = expected.and_then(|id| units(id.step.0).next_back()) {
        return Some(unit);
    }
    let mut all = (0..plan.steps.len()).flat_map(units);
    let first = all.next()?;
    all.all(|unit| unit == first).then_some(first)
}
