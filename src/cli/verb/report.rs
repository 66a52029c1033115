//! `report`: the document of a job, as HTML, JSON, PDF, CSV and plain text.

use crate::cli::access::{Access, failure};
use crate::cli::args::{CopyName, Report};
use crate::cli::keys;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::put;
use crate::core::event::JobId;
use crate::daemon::clock;
#[cfg(feature = "pdf")]
use crate::report::pdf;
use crate::report::seal::Key;
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
    let mut each = |file: &Option<PathBuf>, made: &dyn Fn() -> Result<Vec<u8>, Failure>| {
        let Some(file) = file else { return Ok(()) };
        named = true;
        show(file, &made()?, printer)
    };
    // First, so that nothing is written where there is none.
    each(&args.pdf, &|| printed(&report, extent, args))?;
    each(&args.html, &|| Ok(html::render(&report, extent, args.language).into()))?;
    each(&args.json, &|| Ok(written(&report, args.key.as_deref())?.into()))?;
    each(&args.csv, &|| Ok(table::render(&report).into()))?;
    each(&args.text, &|| Ok(plain::render(&report, extent, args.language).into()))?;
    if named {
        return Ok(Done::Fine);
    }
    let folder = match &args.out {
        Some(folder) => folder.clone(),
        None => PathBuf::from(format!("job-{job}")),
    };
    fs::create_dir_all(&folder).map_err(|error| put::cannot_write(&folder, &error))?;
    let html = html::render(&report, extent, args.language);
    show(&folder.join("report.html"), html.as_bytes(), printer)?;
    // JSON knows no short copy: all of it would lie beside what a customer is given.
    if extent == Extent::Full {
        let json = written(&report, args.key.as_deref())?;
        show(&folder.join("report.json"), json.as_bytes(), printer)?;
    }
    Ok(Done::Fine)
}

/// The JSON report, signed if there is a key.
fn written(report: &Document, named: Option<&Path>) -> Result<String, Failure> {
    match key(named)? {
        Some(key) => json::render_signed(report, &key)
            .map_err(|error| Failure::failed("the report cannot be signed", &error)),
        None => Ok(json::render(report)),
    }
}

/// The PDF, with the signature if there is a key.
#[cfg(feature = "pdf")]
fn printed(report: &Document, extent: Extent, args: &Report) -> Result<Vec<u8>, Failure> {
    let key = key(args.key.as_deref())?;
    pdf::render(report, extent, args.language, key.as_ref())
        .map_err(|error| Failure::failed("the report cannot be set as PDF", &error))
}

#[cfg(not(feature = "pdf"))]
fn printed(_: &Document, _: Extent, _: &Report) -> Result<Vec<u8>, Failure> {
    Err(Failure::Input(
        "expected a clampbook that sets PDF, but this one was built without; build it with \
         `cargo build --release --features pdf`, or write --html and print that from a browser"
            .to_owned(),
    ))
}

/// The key that signs, if there is one; the one that is named has to be there.
fn key(named: Option<&Path>) -> Result<Option<Key>, Failure> {
    let place = keys::place(named)?;
    match keys::read(&place)? {
        None if named.is_some() => Err(Failure::Input(format!(
            "expected a key at {}, but found none; make one with `clampbook audit key --file {}`",
            place.display(),
            place.display()
        ))),
        key => Ok(key),
    }
}

fn show(file: &Path, octets: &[u8], printer: Printer) -> Result<(), Failure> {
    if file == Path::new("-") {
        return Ok(printer.raw(octets)?);
    }
    put::put(file, octets)?;
    Ok(printer.line(file.display())?)
}
