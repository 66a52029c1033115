//! `plan`: show, diff, schema; `new`, `check` and `import-csv` have files of their own.

use crate::cli::args::{PlanShow, PlanVerb};
use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::verb::{plan_check, plan_import, plan_new};
use crate::core::plan;
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// The plan cannot be used.
pub fn run(verb: &PlanVerb, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    match verb {
        PlanVerb::New(new) => plan_new::run(new, journal, printer),
        PlanVerb::Check(check) => plan_check::run(check, printer),
        PlanVerb::Show(args) => show(args, printer),
        PlanVerb::Diff { from, to, json } => diff(from, to, *json, printer),
        PlanVerb::ImportCsv(import) => plan_import::run(import, printer),
        PlanVerb::Schema => {
            let schema = serde_json::to_string_pretty(&plan::schema())
                .map_err(|error| Failure::failed("writing the schema", &error))?;
            printer.line(schema)?;
            Ok(Done::Fine)
        }
    }
}

fn show(args: &PlanShow, printer: Printer) -> Result<Done, Failure> {
    let files::ReadPlan { plan, text, .. } = files::plan(&args.plan, printer)?;
    match (args.gather, args.json) {
        _ if args.text => printer.raw(text.as_bytes())?,
        (false, false) => printer.raw(plan::show(&plan).as_bytes())?,
        (false, true) => printer.json(&plan)?,
        (true, false) => printer.raw(plan::gather(&plan).to_string().as_bytes())?,
        (true, true) => printer.json(&plan::gather(&plan))?,
    }
    Ok(Done::Fine)
}

fn diff(from: &Path, to: &Path, json: bool, printer: Printer) -> Result<Done, Failure> {
    let (from, to) = (files::plan(from, printer)?.plan, files::plan(to, printer)?.plan);
    let changes = plan::diff(&from, &to);
    for change in &changes {
        if json {
            printer.json(change)?;
        } else {
            printer.line(change)?;
        }
    }
    if changes.is_empty() {
        printer.talk("both plans ask the same");
    }
    Ok(Done::Fine)
}
