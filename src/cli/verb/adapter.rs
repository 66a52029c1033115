//! `adapter`: scan, list, add.

use crate::adapter::SourceSpec;
use crate::cli::access;
use crate::cli::args::AdapterVerb;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::daemon::config::{self, Config};
use serde::Serialize;
use std::path::Path;

#[derive(Serialize)]
struct Kept<'a> {
    adapter: &'a str,
}

/// Runs the verb.
///
/// # Errors
/// The adapter is not understood, the kept adapters cannot be read or written, or the radio fails.
pub fn run(verb: &AdapterVerb, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    match verb {
        AdapterVerb::List { json } => {
            let journal = access::journal_path(journal)?;
            let kept = load(&journal)?;
            for adapter in &kept.adapters {
                if *json {
                    printer.json(&Kept { adapter })?;
                } else {
                    printer.line(adapter)?;
                }
            }
            if kept.adapters.is_empty() {
                printer.talk("no adapter is kept; add one with `clampbook adapter add ble:NAME`");
            }
            Ok(Done::Fine)
        }
        AdapterVerb::Add { spec } => {
            SourceSpec::parse(spec)
                .map_err(|error| Failure::input("the adapter is not understood", &error))?;
            let journal = access::journal_path(journal)?;
            let mut kept = load(&journal)?;
            if kept.adapters.contains(spec) {
                printer.talk(format_args!("{spec} was kept already"));
                return Ok(Done::Fine);
            }
            kept.adapters.push(spec.clone());
            kept.save(&journal)
                .map_err(|error| Failure::failed("the adapter could not be kept", &error))?;
            printer.talk(format_args!(
                "{spec} is kept in {}; `clampbook serve` listens to it from its next start",
                config::file_of(&journal).display()
            ));
            Ok(Done::Fine)
        }
    }
}

fn load(journal: &Path) -> Result<Config, Failure> {
    Config::load(journal)
        .map_err(|error| Failure::input("the kept adapters cannot be used", &error))
}
