//! `plan import-csv`: a plan from a table.

use crate::cli::args::PlanImport;
use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::put;
use crate::core::plan::{self, ImportOptions, Severity};

/// Runs the verb.
///
/// # Errors
/// The table cannot be read, or the plan cannot be written.
pub fn run(import: &PlanImport, printer: Printer) -> Result<Done, Failure> {
    let text = files::table_text(&import.table)?;
    let shown = import.table.display().to_string();
    let stem = import.table.file_stem().map(|stem| stem.to_string_lossy().into_owned());
    let options = ImportOptions {
        name: import.name.clone().or(stem).unwrap_or_else(|| "Imported".to_owned()),
        columns: columns(&import.columns)?,
        unit: import.unit,
        tolerance: import.tolerance.clone(),
        source: import.source.clone(),
        vehicle: import.vehicle.clone(),
    };
    let made = plan::import_csv(&shown, &text, &options).map_err(|problems| {
        problems.iter().for_each(|problem| printer.plain_error(problem));
        Failure::InputReported
    })?;
    for remark in &made.remarks {
        printer.warning(remark);
    }
    for fault in made.file.faults.iter().filter(|fault| fault.severity == Severity::Warning) {
        printer.warning(format_args!("{}; {}", fault.message, fault.remedy));
    }
    printer.talk(plan::read_back(&made.file.plan).trim_end());
    match &import.out {
        None => printer.raw(made.text.as_bytes())?,
        Some(path) => {
            put::put_new(path, &made.text, import.force)?;
            printer.line(path.display())?;
        }
    }
    printer.talk("compare every value with its source, then: clampbook plan check FILE");
    Ok(Done::Fine)
}

fn columns(typed: &[String]) -> Result<Vec<(String, String)>, Failure> {
    let one = |text: &String| {
        text.rsplit_once('=').map(|(heading, what)| (heading.to_owned(), what.to_owned())).ok_or_else(
            || {
                Failure::Input(format!(
                    "expected a heading and what it is for --column, but found `{text}`; write it like `Where=joint`"
                ))
            },
        )
    };
    typed.iter().map(one).collect()
}
