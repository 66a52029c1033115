//! A value that is looked up while the work is under way.

use crate::core::event::{GivenPass, GivenStep};
use crate::core::plan::fault::Complaint;
use crate::core::plan::make::{Wishes, make};
use crate::core::plan::values_list::{Problem, TypedLine};
use crate::core::plan::{Code, Expect, Pass, Plan, Step, parse};

/// What is named as the place of a value that was said.
const SAID: &str = "the value";

/// The passes that follow from `line` (`slide-pins 26 N·m ±10 %`) for groups of `plan` whose value is still to be
/// looked up. `text` is the plan's text, `before` are the lines that were given before and hold.
///
/// # Errors
/// The line names no such group, is no value, or would change more than that: a plan under way stays as it is.
pub fn give(
    plan: &Plan,
    text: &str,
    before: &[&str],
    line: &str,
) -> Result<Vec<GivenStep>, Vec<Problem>> {
    let mut known = text.to_owned();
    for line in before {
        known = with(&known, line)?;
    }
    let was = parsed(&known)?;
    let is = parsed(&with(&known, line)?)?;
    if was.steps.len() != is.steps.len() || was.around != is.around || was.holds != is.holds {
        return Err(refused(line));
    }
    let pairs = was.steps.iter().zip(&is.steps);
    let changed: Vec<(&Step, &Step)> = pairs.filter(|(was, is)| was != is).collect();
    let waits = |group: &str| {
        plan.steps.iter().any(|step| step.group == group && step.passes.iter().any(is_missing))
    };
    let fits = |(was, is): &(&Step, &Step)| only_expects(was, is) && waits(&is.group);
    if changed.is_empty() || !changed.iter().all(fits) {
        return Err(refused(line));
    }
    if let Some((_, step)) = changed.iter().find(|(_, step)| step.passes.iter().any(is_missing)) {
        return Err(problem(
            format!(
                "expected a value for `{}`, but a pass of it is still to be looked up",
                step.group
            ),
            "say what the target is, like `26 N·m`; a plan with \"?\" in a pass has to be corrected first",
        ));
    }
    let pass = |pass: &Pass| GivenPass { name: pass.name.clone(), expect: pass.expect.clone() };
    let given = |(_, is): &(&Step, &Step)| GivenStep {
        group: is.group.clone(),
        passes: is.passes.iter().map(pass).collect(),
    };
    Ok(changed.iter().map(given).collect())
}

/// True if the two differ in nothing but what their passes expect.
fn only_expects(was: &Step, is: &Step) -> bool {
    let mut alike = is.clone();
    for (pass, was) in alike.passes.iter_mut().zip(&was.passes) {
        pass.name.clone_from(&was.name);
        pass.expect.clone_from(&was.expect);
    }
    alike == *was
}

fn is_missing(pass: &Pass) -> bool {
    pass.expect == Expect::ToBeLookedUp
}

fn with(text: &str, line: &str) -> Result<String, Vec<Problem>> {
    let line = TypedLine { place: SAID.to_owned(), text: line.to_owned() };
    make(text, &Wishes { values: vec![line], ..Wishes::default() }).map(|made| made.text)
}

fn parsed(text: &str) -> Result<Plan, Vec<Problem>> {
    let of_plan = |fault| Problem::of_plan("the plan with the value", fault);
    parse(text).map(|file| file.plan).map_err(|faults| faults.into_iter().map(of_plan).collect())
}

fn refused(line: &str) -> Vec<Problem> {
    problem(
        format!(
            "expected a joint whose value is still to be looked up and the value, but found `{line}`"
        ),
        "a plan under way changes in nothing else; `clampbook job show` names what waits for a value",
    )
}

fn problem(message: String, remedy: &str) -> Vec<Problem> {
    vec![Problem::new(SAID, Complaint::new(Code::Figure, message, remedy))]
}
