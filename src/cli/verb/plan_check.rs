//! `plan check`: what cannot be read, and what is in doubt.

use crate::cli::args::PlanCheck;
use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::core::plan::{self, AdapterSheet, Code, Fault, PlanFile, Setting, Severity};
use crate::daemon::clock;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::path::Path;

#[derive(Serialize)]
struct Named<'a> {
    file: String,
    #[serde(flatten)]
    fault: &'a Fault,
}

#[derive(Serialize)]
struct Meaning {
    code: &'static str,
    meaning: &'static str,
}

/// Runs the verb. The faults are what was asked for: they are data.
///
/// # Errors
/// The plan cannot be used, or there is no such code.
pub fn run(check: &PlanCheck, printer: Printer) -> Result<Done, Failure> {
    let path = match (&check.explain, &check.plan) {
        (Some(code), _) => return explain(code, check.json, printer),
        (None, Some(path)) => path,
        (None, None) => return Ok(Done::Fine),
    };
    let sheets = sheets(&check.adapter, printer)?;
    let text = match files::plan_text(path)? {
        Ok(text) => text,
        Err(faults) => {
            for (file, fault) in &faults {
                say(&file.display().to_string(), fault, check.json, printer)?;
            }
            return unusable(path, faults.len(), printer);
        }
    };
    let today = today();
    let (mut faults, file) = match plan::parse(&text.text) {
        Ok(file) => {
            let setting = Setting { adapters: &sheets, today: today.as_deref() };
            let doubts = plan::review(&file, &setting);
            (file.faults.iter().cloned().chain(doubts).collect::<Vec<_>>(), Some(file))
        }
        Err(faults) => (faults, None),
    };
    faults.sort_by_key(|fault| (fault.line, fault.column));
    for fault in &faults {
        let (file, fault) = text.place(path, fault);
        say(&file, &fault, check.json, printer)?;
    }
    let errors = faults.iter().filter(|fault| fault.severity == Severity::Error).count();
    match file {
        Some(PlanFile { plan, .. }) if errors == 0 => {
            printer.talk(format_args!(
                "{}: can be used: {}, {}",
                path.display(),
                counted(plan.steps.len(), "joint"),
                counted(plan.fasteners().count(), "fastener"),
            ));
            Ok(Done::Fine)
        }
        _ => unusable(path, errors, printer),
    }
}

fn say(file: &str, fault: &Fault, json: bool, printer: Printer) -> Result<(), Failure> {
    if json {
        printer.json(&Named { file: file.to_owned(), fault })?;
    } else {
        printer.line(format_args!("{file}:{fault} [{}]", fault.code))?;
    }
    Ok(())
}

fn unusable(path: &Path, errors: usize, printer: Printer) -> Result<Done, Failure> {
    printer.talk(format_args!("{}: cannot be used: {}", path.display(), counted(errors, "error")));
    Err(Failure::InputReported)
}

/// The adapters' sheets. What is wrong with one is said on standard error.
fn sheets(paths: &[std::path::PathBuf], printer: Printer) -> Result<Vec<AdapterSheet>, Failure> {
    let mut sheets = Vec::new();
    let mut failed = false;
    for path in paths {
        match AdapterSheet::parse(&files::sheet_text(path)?) {
            Ok(sheet) => sheets.push(sheet),
            Err(faults) => {
                failed = true;
                faults.iter().for_each(|fault| printer.plain_error(files::named(path, fault)));
            }
        }
    }
    if failed { Err(Failure::InputReported) } else { Ok(sheets) }
}

fn explain(code: &str, json: bool, printer: Printer) -> Result<Done, Failure> {
    let codes: Vec<Code> = if code.is_empty() {
        Code::ALL.to_vec()
    } else {
        let found = plan::explain(code).map_err(|error| Failure::Input(error.to_string()))?;
        vec![found]
    };
    for code in codes {
        if json {
            printer.json(&Meaning { code: code.name(), meaning: code.meaning() })?;
        } else {
            printer.line(format_args!("{code}: {}", code.meaning()))?;
        }
    }
    Ok(Done::Fine)
}

/// The day here and now, to hold the adapters' calibration against.
fn today() -> Option<String> {
    let now = Timestamp::from_microsecond(clock::now().0).ok()?;
    Some(TimeZone::system().to_datetime(now).date().to_string())
}

fn counted(count: usize, thing: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {thing}{plural}")
}
