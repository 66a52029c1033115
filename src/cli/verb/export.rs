//! `export`: the whole journal as lines of JSON.

use crate::cli::access::{journal_path, open_reader};
use crate::cli::args::Export;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::progress::Progress;
use crate::cli::put;
use crate::journal::ExportError;
use std::io::{BufWriter, Write};
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// The journal cannot be read, or the lines not be written.
pub fn run(args: &Export, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let from = journal_path(journal)?;
    let reader = open_reader(&from)?;
    let length = reader
        .head()
        .map_err(|error| Failure::failed("the journal cannot be exported", &error))?
        .length;
    let Some(file) = &args.out else {
        let mut out = BufWriter::with_capacity(1 << 16, printer.data());
        return written(reader.export(&mut out, &mut |_| {})).map(|_| Done::Fine);
    };
    put::check_free(file, args.force)?;
    let unwritable = |error: std::io::Error| put::cannot_write(file, &error);
    let part = put::part(file).map_err(unwritable)?;
    let mut out = BufWriter::with_capacity(1 << 16, part.as_file());
    let progress = Progress::bar(printer, length);
    let result = match reader.export(&mut out, &mut |number| progress.at(number)) {
        Err(ExportError::Write(error)) => Err(unwritable(error)),
        result => written(result),
    };
    drop(progress);
    let entries = result?;
    out.flush().and_then(|()| part.as_file().sync_all()).map_err(unwritable)?;
    drop(out);
    part.persist(file).map_err(|error| unwritable(error.error))?;
    printer.line(format_args!("{}: {entries} entries", file.display()))?;
    printer.talk("names, VIN, plate and traces are in it: keep it like the journal itself");
    Ok(Done::Fine)
}

fn written(result: Result<crate::journal::head::Head, ExportError>) -> Result<u64, Failure> {
    match result {
        Ok(head) => Ok(head.length),
        Err(ExportError::Write(error)) => Err(error.into()),
        Err(error) => Err(Failure::failed("the journal cannot be exported", &error)),
    }
}
