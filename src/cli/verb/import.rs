//! `import`: lines of JSON back into a journal.

use crate::cli::access::{journal_path, make_journal};
use crate::cli::args::Import;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::progress::Progress;
use crate::journal::{Export, ImportError, Imported};
use serde::Serialize;
use std::fs::File;
use std::io::{self, BufRead, BufReader};
use std::path::Path;

#[derive(Serialize)]
struct Told {
    read: u64,
    added: u64,
    known: u64,
    verbatim: bool,
    renumbered_jobs: Vec<[u32; 2]>,
}

/// Runs the verb.
///
/// # Errors
/// The lines are no export or do not hold, or the journal cannot be written.
pub fn run(args: &Import, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let path = journal_path(journal)?;
    let mut lines: Box<dyn BufRead> = match args.file.as_os_str() == "-" {
        true => Box::new(BufReader::new(io::stdin())),
        false => {
            let unusable = |found: &str| {
                let file = args.file.display();
                Failure::Input(format!(
                    "{file}: expected a file that `clampbook export` wrote, but found{found}"
                ))
            };
            let file = File::open(&args.file)
                .map_err(|error| unusable(&format!(": {error}; name the file")))?;
            if args.file.is_dir() {
                return Err(unusable(" a directory; name the file in it"));
            }
            Box::new(BufReader::with_capacity(1 << 16, file))
        }
    };
    let refused = |error| match error {
        ImportError::NotAnExport { .. }
        | ImportError::Newer { .. }
        | ImportError::Line { .. }
        | ImportError::Length { .. } => Failure::Input(format!("{}: {error}", args.file.display())),
        ImportError::TwoUnderWay(..) | ImportError::NotUnderstood(_) => {
            Failure::Input(error.to_string())
        }
        ImportError::Journal(_) | ImportError::Read(_) => {
            Failure::failed("nothing was imported", &error)
        }
    };
    // What is no export makes no journal.
    let export = Export::of(&mut *lines).map_err(refused)?;
    let mut journal = make_journal(&path)?;
    let progress = Progress::bar(printer, 0);
    let imported = journal.import(export, &mut |done, all| progress.of(done, all));
    drop(progress);
    tell(&imported.map_err(refused)?, args.json, printer)
}

fn tell(imported: &Imported, json: bool, printer: Printer) -> Result<Done, Failure> {
    let Imported { read, added, known, verbatim, renumbered } = imported;
    if json {
        printer.json(&Told {
            read: *read,
            added: *added,
            known: *known,
            verbatim: *verbatim,
            renumbered_jobs: renumbered.iter().map(|(one, other)| [one.0, other.0]).collect(),
        })?;
        return Ok(Done::Fine);
    }
    printer.line(format_args!("{read} entries read, {added} added, {known} there already"))?;
    for (theirs, ours) in renumbered {
        printer.line(format_args!("their job {} is job {} here", theirs.0, ours.0))?;
    }
    if !verbatim {
        printer.talk(
            "the journal had entries of its own: what was added stands behind them under new numbers, so reports \
             made from the other journal belong to that one",
        );
    }
    Ok(Done::Fine)
}
