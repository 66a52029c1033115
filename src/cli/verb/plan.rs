//! `plan`: check, show; `new` has a file of its own.

use crate::cli::args::PlanVerb;
use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::verb::plan_new;
use crate::core::plan::{self, Fault, PlanFile, Severity};
use serde::Serialize;
use std::path::Path;

#[derive(Serialize)]
struct Named<'a> {
    file: String,
    #[serde(flatten)]
    fault: &'a Fault,
}

/// Runs the verb.
///
/// # Errors
/// The plan cannot be used.
pub fn run(verb: &PlanVerb, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    match verb {
        PlanVerb::New(new) => plan_new::run(new, journal, printer),
        PlanVerb::Check { plan, json } => check(plan, *json, printer),
        PlanVerb::Show { plan, json } => {
            let plan = files::plan(plan, printer)?.plan;
            if *json {
                printer.json(&plan)?;
            } else {
                printer.raw(plan::show(&plan).as_bytes())?;
            }
            Ok(Done::Fine)
        }
    }
}

/// The faults are what was asked for: they are data.
fn check(path: &Path, json: bool, printer: Printer) -> Result<Done, Failure> {
    let text = files::plan_text(path)?;
    let (faults, file) = match plan::parse(&text) {
        Ok(file) => (file.faults.clone(), Some(file)),
        Err(faults) => (faults, None),
    };
    for fault in &faults {
        if json {
            let file = path.display().to_string();
            printer.json(&Named { file, fault })?;
        } else {
            printer.line(files::named(path, fault))?;
        }
    }
    match file {
        Some(PlanFile { plan, .. }) => {
            printer.talk(format_args!(
                "{}: can be used: {}, {}",
                path.display(),
                counted(plan.steps.len(), "joint"),
                counted(plan.fasteners().count(), "fastener"),
            ));
            Ok(Done::Fine)
        }
        None => {
            let errors = faults.iter().filter(|fault| fault.severity == Severity::Error).count();
            printer.talk(format_args!(
                "{}: cannot be used: {}",
                path.display(),
                counted(errors, "error")
            ));
            Err(Failure::InputReported)
        }
    }
}

fn counted(count: usize, thing: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {thing}{plural}")
}
