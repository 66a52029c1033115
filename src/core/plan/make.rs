//! A new plan from a skeleton or from an older plan: text in, text out.

use crate::core::plan::edit::PlanEdit;
use crate::core::plan::fault::Complaint;
use crate::core::plan::mirror::{Side, mirror};
use crate::core::plan::values_list::{self, Given, Problem, TypedLine};
use crate::core::plan::{Code, PlanFile, parse};

/// What the new plan is to be like.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wishes {
    /// Which side it is for; none keeps the side.
    pub side: Option<Side>,
    /// The vehicle, in free text.
    pub vehicle: Option<String>,
    /// Where the values come from.
    pub source: Option<String>,
    /// The tolerance of every joint that states none.
    pub tolerance: Option<String>,
    /// Joints that are not opened this time.
    pub without: Vec<String>,
    /// Values, one a line.
    pub values: Vec<TypedLine>,
}

/// A new plan that can be used.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// Its text.
    pub text: String,
    /// What the text says.
    pub file: PlanFile,
    /// What was done beside what was asked for.
    pub remarks: Vec<String>,
}

/// Makes a new plan of `base`.
///
/// # Errors
/// Everything that is wrong with what was wished, each with its place.
pub fn make(base: &str, wishes: &Wishes) -> Result<Made, Vec<Problem>> {
    let base = base.strip_prefix('\u{feff}').unwrap_or(base);
    parse(base).map_err(|faults| of_plan("the plan to start from", faults))?;
    let mut remarks = Vec::new();
    let mut text = base.to_owned();
    if let Some(side) = wishes.side {
        text = mirror(base, side).map_err(|error| {
            let error = error.to_string();
            let (message, remedy) = error.split_once("; ").unwrap_or((&error, ""));
            vec![Problem::new("--mirror", Complaint::new(Code::Name, message, remedy))]
        })?;
    }
    let mut edit = PlanEdit::read(&text).map_err(|error| {
        let remedy = "start from a plan that `clampbook plan check` accepts";
        let message =
            format!("expected a plan that can be changed, but found: {}", error.message());
        vec![Problem::new("the plan to start from", Complaint::new(Code::Syntax, message, remedy))]
    })?;
    if text != base {
        remarks.extend(edit.left_hand().into_iter().map(|joint| {
            format!("`{joint}` has a left-hand thread here: look up which way it turns on the other side")
        }));
    }
    let known = edit.known();
    let (given, mut problems) = values_list::read(&wishes.values, &known);
    let mut without = Vec::new();
    for name in &wishes.without {
        match values_list::find(name, &known) {
            Some(joint) => without.push(joint.name.clone()),
            None => problems.push(Problem::new("--without", values_list::unknown(name, &known))),
        }
    }
    for (key, text) in
        [("tolerance", &wishes.tolerance), ("source", &wishes.source), ("vehicle", &wishes.vehicle)]
    {
        let Some(text) = text else { continue };
        match values_list::top_value(key, text) {
            Ok(()) => set_top(&mut edit, key, text, &mut remarks),
            Err(complaint) => problems.push(Problem::new(&format!("--{key}"), complaint)),
        }
    }
    for given in given {
        match given {
            Given::Top { key, text } => set_top(&mut edit, key, &text, &mut remarks),
            Given::LeaveOut { joint } => without.push(joint),
            Given::Value { joint, count, text, figure } => {
                if count.is_some_and(|count| edit.set_count(&joint, count)) {
                    remarks
                        .push(format!("`{joint}` has another count now: its order was taken out"));
                }
                edit.set_target(&joint, &text, &figure);
            }
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    for joint in without {
        edit.leave_out(&joint);
    }
    let text = edit.text();
    match parse(&text) {
        Ok(file) => Ok(Made { text, file, remarks }),
        Err(faults) => Err(of_plan("the new plan", faults)),
    }
}

fn set_top(edit: &mut PlanEdit, key: &str, text: &str, remarks: &mut Vec<String>) {
    edit.set_top(key, text.trim());
    if key != "vehicle" {
        return;
    }
    for (key, name) in [("vin", "VIN"), ("plate", "plate")] {
        if edit.remove_top(key) {
            remarks.push(format!("the {name} was taken out: it belonged to the vehicle before"));
        }
    }
}

fn of_plan(which: &str, faults: Vec<crate::core::plan::Fault>) -> Vec<Problem> {
    let errors =
        faults.into_iter().filter(|fault| fault.severity == crate::core::plan::Severity::Error);
    errors.map(|fault| Problem::of_plan(which, fault)).collect()
}
