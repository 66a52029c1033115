//! Values that the plan left to be looked up.

use crate::core::command::{Done, Refusal};
use crate::core::event::{Event, Given, GivenStep, Origin, PersonalField, What};
use crate::core::plan::{Plan, give};
use crate::core::time::Stamp;
use crate::daemon::engine::{Engine, not_kept};
use crate::daemon::wake::Outcome;

impl Engine {
    /// Keeps the value that a line like `slide-pins 26 N·m` gives. The plan's own text stays as it was.
    pub(super) fn give(
        &mut self,
        now: Stamp,
        line: String,
        origin: Origin,
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        let current = self.current.as_ref().ok_or(Refusal::NoJob)?;
        let at = current.latest.max(now);
        let plan = current.tracker.plan();
        let entries = self.journal.reader().entries_of_job(current.job).map_err(not_kept)?;
        let entries: Vec<_> = entries.into_iter().filter_map(Result::ok).collect();
        let text = entries.iter().find_map(|entry| entry.text(PersonalField::PlanText));
        let text = text.ok_or(Refusal::NoPlanText)?;
        let before: Vec<&str> = entries
            .iter()
            .filter_map(|entry| match &entry.event {
                Event::Given(given) if holds(plan, &given.steps) => Some(given.line.as_str()),
                _ => None,
            })
            .collect();
        let steps = give(plan, text, &before, &line).map_err(|problems| {
            Refusal::NotGiven(problems.iter().map(ToString::to_string).collect())
        })?;
        let given = Given { line, steps, origin };
        let what = What::Given(given.clone());
        let outcomes = self.keep(at, what, Event::Given(given), Vec::new()).map_err(not_kept)?;
        Ok((self.heard(None, None, &outcomes), outcomes))
    }
}

/// True unless it was taken back.
fn holds(plan: &Plan, steps: &[GivenStep]) -> bool {
    let as_given = |given: &GivenStep| {
        let step = plan.steps.iter().find(|step| step.group == given.group);
        step.is_some_and(|step| {
            step.passes
                .iter()
                .map(|pass| &pass.expect)
                .eq(given.passes.iter().map(|pass| &pass.expect))
        })
    };
    steps.iter().all(as_given)
}
