//! `report`: the document of a job, as HTML, JSON, CSV and plain text.

use crate::cli::access::{Access, failure};
use crate::cli::args::{CopyName, Report};
use crate::cli::keys;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::core::event::JobId;
use crate::daemon::clock;
use crate::report::{Extent, Report as Document, html, json, plain, schema, table};
use crate::web;
use std::fs;
use std::path::{Path, PathBuf};

/// Runs the verb.
///
/// # Errors
/// The journal cannot be read or has no such job, or a file cannot be written.
pub fn run(args: &Report, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let Some(job) = args.job.filter(|_| !args.schema) else {
        printer.raw(schema::render().as_bytes())?;
        return Ok(Done::Fine);
    };
    let access = Access::find(journal)?;
    access.check_readable()?;
    let report = web::report(access.journal(), JobId(job), clock::now()).map_err(failure)?;
    let report = if args.redact { report.redacted() } else { report };
    let extent = match args.copy {
        CopyName::Full => Extent::Full,
        CopyName::Customer => Extent::Customer,
    };
    let mut named = false;
    let mut each = |file: &Option<PathBuf>, text: &dyn Fn() -> Result<String, Failure>| {
        let Some(file) = file else { return Ok(()) };
        named = true;
        put(file, &text()?, printer)
    };
    each(&args.html, &|| Ok(html::render(&report, extent, args.language)))?;
    each(&args.json, &|| written(&report, args.key.as_deref()))?;
    each(&args.csv, &|| Ok(table::render(&report)))?;
    each(&args.text, &|| Ok(plain::render(&report, extent, args.language)))?;
    if named {
        return Ok(Done::Fine);
    }
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => PathBuf::from(format!("job-{job}")),
    };
    fs::create_dir_all(&folder).map_err(|error| cannot_write(&folder, &error))?;
    let json = written(&report, args.key.as_deref())?;
    put(&folder.join("report.html"), &html::render(&report, extent, args.language), printer)?;
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
