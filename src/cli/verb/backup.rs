//! `backup`: a consistent copy of the journal, also while it is written to.

use crate::cli::access::{journal_path, open_reader};
use crate::cli::args::Backup;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::progress::Progress;
use crate::cli::put;
use crate::journal::{self, BackupError, chain};
use serde::Serialize;
use std::fs;
use std::path::Path;

#[derive(Serialize)]
struct Copied {
    file: String,
    entries: u64,
    head: String,
    octets: u64,
}

/// Runs the verb.
///
/// # Errors
/// The journal cannot be read, the copy not be written, or the chain does not hold.
pub fn run(args: &Backup, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let from = journal_path(journal)?;
    let reader = open_reader(&from)?;
    let file = args.file.display();
    put::check_free(&args.file, args.force)?;
    if same(&from, &args.file) {
        return Err(Failure::Input(format!(
            "{file}: expected another file than the journal itself; name another"
        )));
    }
    // Taken for that of the copy, it would be read into it.
    let stale = journal::beside(&args.file, "-wal");
    if fs::metadata(&stale).is_ok_and(|there| there.len() > 0) {
        return Err(Failure::Input(format!(
            "{}: expected nothing beside the copy, but found the write-ahead file of another journal; name another file",
            stale.display()
        )));
    }
    let progress = Progress::bar(printer, 0);
    let check =
        reader.back_up(&args.file, &mut |done, all| progress.of(done, all)).map_err(|error| {
            match error {
                BackupError::Write(error) => put::cannot_write(&args.file, &error),
                BackupError::Journal(error) => {
                    Failure::failed("the journal cannot be copied", &error)
                }
            }
        })?;
    drop(progress);
    let octets = fs::metadata(&args.file).map_or(0, |metadata| metadata.len());
    let copied = Copied {
        file: file.to_string(),
        entries: check.sound.length,
        head: chain::hex(&check.sound.hash),
        octets,
    };
    if args.json {
        printer.json(&copied)?;
    } else {
        printer.line(format_args!("{file}: {} entries, {octets} octets", copied.entries))?;
    }
    match check.fault {
        None => Ok(Done::Fine),
        Some(fault) => Err(Failure::Failed(format!(
            "the journal was copied as it is, and it does not hold: {fault}; see `clampbook audit`"
        ))),
    }
}

fn same(one: &Path, other: &Path) -> bool {
    match (one.canonicalize(), other.canonicalize()) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    }
}
