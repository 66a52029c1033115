//! `job wheels`: a job on wheels alone, from a few words instead of a file.

use crate::cli::access::Access;
use crate::cli::args::WheelsArgs;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::verb::job;
use crate::core::plan::{
    Expect, MOST_WHEELS, Plan, PlanFile, Severity, Wheels, parse, wheel_names, wheels_text,
};
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// The words make no plan, or the job is refused.
pub fn run(args: &WheelsArgs, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let text = text(args, printer)?;
    let access = Access::find(journal)?;
    let done = access.ask(job::start(text, &args.vehicle))?;
    job::started(&access, &done, args.json, printer)
}

fn text(args: &WheelsArgs, printer: Printer) -> Result<String, Failure> {
    let names = match args.names.len() {
        0 => wheel_names(args.wheels.unwrap_or(1).into()),
        1..=MOST_WHEELS => args.names.iter().map(|name| name.trim().to_owned()).collect(),
        found => {
            return Err(Failure::Input(format!(
                "expected at most {MOST_WHEELS} names, but found {found}; start a job for each axle, or write a plan"
            )));
        }
    };
    let text = wheels_text(&Wheels {
        studs: args.studs,
        target: args.target.clone(),
        tolerance: args.tolerance.clone(),
        source: args.source.clone(),
        recheck: args.recheck.clone(),
        names,
    });
    let plan = match parse(&text) {
        Ok(PlanFile { plan, .. }) => plan,
        Err(faults) => {
            // Nobody sees this text: places in it would mislead.
            let errors = faults.iter().filter(|fault| fault.severity == Severity::Error);
            let mut said: Vec<String> =
                errors.map(|fault| format!("{}; {}", fault.message, fault.remedy)).collect();
            said.dedup();
            return Err(Failure::Input(said.join("\n")));
        }
    };
    if !has_figure(&plan) {
        return Err(Failure::Input(format!(
            "expected a torque for --target, but found `{}`; look it up, and write it like \"165 N·m\"",
            args.target
        )));
    }
    if args.source.is_none() {
        printer.talk("where the torque comes from is not noted; --source \"…\" does that");
    }
    Ok(text)
}

fn has_figure(plan: &Plan) -> bool {
    plan.steps.iter().all(|step| {
        let last = step.passes.last();
        last.is_some_and(|pass| matches!(pass.expect, Expect::Window(_)))
    })
}
