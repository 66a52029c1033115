//! `adapter`: scan, list, add, show, identify, zero, forget.

mod add;
mod ask;
mod certificate;
mod forget;
mod show;

use crate::adapter::ble::{self, LinkError, Seen};
use crate::cli::access;
use crate::cli::args::AdapterVerb;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::progress::Progress;
use crate::core::command::AdapterAsk;
use crate::daemon::config::{Config, Kept};
use serde::Serialize;
use std::future::Future;
use std::path::Path;
use std::time::Duration;

#[derive(Serialize)]
struct Listed<'a> {
    adapter: &'a str,
    #[serde(flatten)]
    added: Option<&'a Kept>,
}

#[derive(Serialize)]
struct Found<'a> {
    address: &'a str,
    name: Option<&'a str>,
    rssi_dbm: Option<i16>,
    keeps_readings: bool,
    pairing: bool,
}

/// Runs the verb.
///
/// # Errors
/// The adapter is not understood or cannot be reached, the kept adapters cannot be read or written, or
/// the radio fails.
pub fn run(verb: &AdapterVerb, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    match verb {
        AdapterVerb::Scan { seconds, controller, json } => {
            scan(Duration::from_secs((*seconds).into()), controller.as_deref(), *json, printer)
        }
        AdapterVerb::Certificate { file, example, json } => {
            let wish = certificate::Wish { file: file.as_deref(), example: *example, json: *json };
            certificate::run(&wish, &access::journal_path(journal)?, printer)
        }
        AdapterVerb::List { json } => list(&access::journal_path(journal)?, *json, printer),
        AdapterVerb::Add { adapter, name, seconds, controller, no_zero } => {
            let wish = add::Wish {
                adapter: adapter.as_deref(),
                name: name.as_deref(),
                listen: Duration::from_secs((*seconds).into()),
                controller: controller.as_deref(),
                zero: !no_zero,
            };
            add::run(&wish, &access::journal_path(journal)?, printer)
        }
        AdapterVerb::Show { adapter, json } => {
            show::run(adapter.as_deref(), &access::journal_path(journal)?, *json, printer)
        }
        AdapterVerb::Identify { adapter, seconds } => {
            let ask = AdapterAsk::Identify { seconds: *seconds };
            ask::run(adapter.as_deref(), ask, &access::journal_path(journal)?, printer)
        }
        AdapterVerb::Zero { adapter } => {
            let ask = AdapterAsk::Zero;
            ask::run(adapter.as_deref(), ask, &access::journal_path(journal)?, printer)
        }
        AdapterVerb::Forget { adapter, bond } => {
            forget::run(adapter, *bond, &access::journal_path(journal)?, printer)
        }
    }
}

fn load(journal: &Path) -> Result<Config, Failure> {
    Config::load(journal)
        .map_err(|error| Failure::input("the kept adapters cannot be used", &error))
}

/// The added adapter that is named, or the only one.
fn choose<'a>(kept: &'a Config, named: Option<&str>) -> Result<&'a Kept, Failure> {
    let names = || {
        let names: Vec<&str> = kept.added.iter().map(|kept| kept.name.as_str()).collect();
        names.join(", ")
    };
    let plain = named.map(|named| named.strip_prefix("ble:").unwrap_or(named));
    match (plain, kept.added.as_slice()) {
        (_, []) => Err(Failure::Input(
            "expected an adapter that was added, but found none; add one with `clampbook adapter add`"
                .to_owned(),
        )),
        (None, [only]) => Ok(only),
        (None, _) => Err(Failure::Input(format!(
            "expected the name of an adapter, but found none; name one of {}",
            names()
        ))),
        (Some(named), _) => kept.find(named).ok_or_else(|| {
            Failure::Input(format!(
                "expected an adapter that was added, but found {named}; name one of {}",
                names()
            ))
        }),
    }
}

/// Does what talks to the radio, while something turns on the terminal.
fn with_radio<T>(
    printer: Printer,
    doing: &str,
    work: impl Future<Output = T>,
) -> Result<T, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::failed("the runtime cannot start", &error))?;
    let progress = Progress::spinner(printer, doing);
    let outcome = runtime.block_on(work);
    drop(progress);
    // A call of the system that hangs must not keep the process.
    runtime.shutdown_background();
    Ok(outcome)
}

/// A failed link as the command line ends with it.
fn link_failure(adapter: Option<&str>, error: &LinkError) -> Failure {
    Failure::Failed(error.trouble(adapter).to_string())
}

fn list(journal: &Path, json: bool, printer: Printer) -> Result<Done, Failure> {
    let kept = load(journal)?;
    let written = kept.adapters.iter().map(|adapter| Listed { adapter, added: None });
    let added = kept.added.iter().map(|one| Listed { adapter: &one.serial, added: Some(one) });
    for listed in written.chain(added) {
        if json {
            printer.json(&listed)?;
        } else {
            match listed.added {
                Some(kept) if kept.name != kept.serial => {
                    printer.line(format_args!("{}  {}", kept.serial, kept.name))?;
                }
                _ => printer.line(listed.adapter)?,
            }
        }
    }
    if kept.adapters.is_empty() && kept.added.is_empty() {
        printer.talk("no adapter is kept; add one with `clampbook adapter add`");
    }
    Ok(Done::Fine)
}

fn scan(
    duration: Duration,
    controller: Option<&str>,
    json: bool,
    printer: Printer,
) -> Result<Done, Failure> {
    let seen = with_radio(printer, "looking for adapters", ble::scan(duration, controller))?
        .map_err(|error| link_failure(None, &error))?;
    for adapter in &seen {
        if json {
            printer.json(&Found {
                address: &adapter.address,
                name: adapter.name.as_deref(),
                rssi_dbm: adapter.rssi,
                keeps_readings: adapter.keeps_readings,
                pairing: adapter.pairing,
            })?;
        } else {
            printer.line(line(adapter))?;
        }
    }
    if seen.is_empty() {
        printer.talk("no adapter was heard; wake it, bring it near, and look again");
    } else {
        printer.talk("keep one with: clampbook adapter add NAME|ADDRESS (hold its button for pairing mode first)");
    }
    Ok(Done::Fine)
}

/// One line of what was seen.
fn line(seen: &Seen) -> String {
    let name = seen.name.as_deref().unwrap_or("(no name)");
    let keeps = if seen.keeps_readings { "keeps its readings" } else { "live torque only" };
    let rssi = seen.rssi.map_or_else(String::new, |dbm| format!("{dbm} dBm"));
    let pairing = if seen.pairing { "pairing mode" } else { "" };
    format!("{}  {name:<12}  {keeps:<18}  {rssi:<8}  {pairing}", seen.address).trim_end().to_owned()
}
