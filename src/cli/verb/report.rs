//! `report`: the document of a job, as HTML and as JSON.

use crate::cli::access::{Access, failure};
use crate::cli::args::Report;
use crate::cli::keys;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::core::event::JobId;
use crate::daemon::clock;
use crate::report::{Report as Document, html, json};
use crate::web;
use std::fs;
use std::path::{Path, PathBuf};

/// Runs the verb.
///
/// # Errors
/// The journal cannot be read or has no such job, or a file cannot be written.
pub fn run(args: &Report, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let access = Access::find(journal)?;
    access.check_readable()?;
    let report = web::report(access.journal(), JobId(args.job), clock::now()).map_err(failure)?;
    let json = written(&report, args.key.as_deref())?;
    if args.html.is_some() || args.json.is_some() {
        if let Some(file) = &args.html {
            put(file, &html::render(&report), printer)?;
        }
        if let Some(file) = &args.json {
            put(file, &json, printer)?;
        }
        return Ok(Done::Fine);
    }
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => PathBuf::from(format!("job-{}", args.job)),
    };
    fs::create_dir_all(&folder).map_err(|error| cannot_write(&folder, &error))?;
    put(&folder.join("report.html"), &html::render(&report), printer)?;
    put(&folder.join("report.json"), &json, printer)?;
    Ok(Done::Fine)
}

/// The JSON report, signed if there is a key.
fn written(report: &Document, named: Option<&Path>) -> Result<String, Failure> {
    let place = keys::place(named)?;
    match keys::read(&place)? {
        Some(key) => json::render_signed(report, &key)
            .map_err(|error| Failure::failed("the report cannot be signed", &error)),
        None if named.is_some() => Err(Failure::Input(format!(
            "expected a key at {}, but found none; make one with `clampbook audit key --file {}`",
            place.display(),
            place.display()
        ))),
        None => Ok(json::render(report)),
    }
}

fn put(file: &Path, text: &str, printer: Printer) -> Result<(), Failure> {
    if file == Path::new("-") {
        return Ok(printer.raw(text.as_bytes())?);
    }
    fs::write(file, text).map_err(|error| cannot_write(file, &error))?;
    Ok(printer.line(file.display())?)
}

fn cannot_write(place: &Path, error: &std::io::Error) -> Failure {
    Failure::failed(format_args!("expected to write {}", place.display()), error)
}
