//! `adapter`: scan, list, add.

use crate::adapter::{SourceSpec, ble};
use crate::cli::access;
use crate::cli::args::AdapterVerb;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::progress::Progress;
use crate::daemon::config::{self, Config};
use serde::Serialize;
use std::path::Path;
use std::time::Duration;

#[derive(Serialize)]
struct Kept<'a> {
    adapter: &'a str,
}

#[derive(Serialize)]
struct Found<'a> {
    address: &'a str,
    name: Option<&'a str>,
    rssi_dbm: Option<i16>,
    keeps_readings: bool,
}

/// Runs the verb.
///
/// # Errors
/// The adapter is not understood, the kept adapters cannot be read or written, or the radio fails.
pub fn run(verb: &AdapterVerb, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    match verb {
        AdapterVerb::Scan { seconds, controller, json } => {
            scan(Duration::from_secs((*seconds).into()), controller.as_deref(), *json, printer)
        }
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

fn scan(
    duration: Duration,
    controller: Option<&str>,
    json: bool,
    printer: Printer,
) -> Result<Done, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::failed("the runtime cannot start", &error))?;
    let progress = Progress::spinner(printer, "looking for adapters");
    let seen = runtime.block_on(ble::scan(duration, controller));
    drop(progress);
    // A call of the system that hangs must not keep the process.
    runtime.shutdown_background();
    let seen = seen.map_err(|error| Failure::failed("no adapter can be looked for", &error))?;
    for adapter in &seen {
        let found = Found {
            address: &adapter.address,
            name: adapter.name.as_deref(),
            rssi_dbm: adapter.rssi,
            keeps_readings: adapter.keeps_readings,
        };
        if json {
            printer.json(&found)?;
        } else {
            let name = found.name.unwrap_or("(no name)");
            let keeps = match found.keeps_readings {
                true => "keeps its readings",
                false => "live torque only",
            };
            let rssi = found.rssi_dbm.map_or_else(String::new, |dbm| format!("{dbm} dBm"));
            printer
                .line(format!("{}  {name:<24}  {keeps:<18}  {rssi}", found.address).trim_end())?;
        }
    }
    if seen.is_empty() {
        printer.talk("no adapter was heard; wake it, bring it near, and look again");
    } else {
        printer.talk("keep one with: clampbook adapter add ble:NAME (a name is anybody's; an address or a serial number is better)");
    }
    Ok(Done::Fine)
}
