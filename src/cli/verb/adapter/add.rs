//! `adapter add`: choose, pair, zero, keep.

use super::{line, link_failure, load, with_radio};
use crate::adapter::ble::{self, Added, LinkClass, LinkError, Seen, Visit};
use crate::adapter::{Cause, SourceSpec};
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::core::command::{self, AdapterAsk, Refusal};
use crate::daemon::clock;
use crate::daemon::config::{self, Config, Kept};
use std::io::{self, IsTerminal};
use std::path::Path;
use std::time::Duration;

/// No more are linked to in search of a serial number: each takes a while.
const TRIED: usize = 5;

/// What is wished for.
pub struct Wish<'a> {
    /// Name, address, serial number, or a source.
    pub adapter: Option<&'a str>,
    /// What its owner calls it.
    pub name: Option<&'a str>,
    /// How long to listen.
    pub listen: Duration,
    /// The controller to use.
    pub controller: Option<&'a str>,
    /// Whether it is to be zeroed.
    pub zero: bool,
}

/// What was chosen: where, and which serial number it must have.
struct Choice<'a> {
    seen: Vec<&'a Seen>,
    serial: Option<String>,
}

/// Runs the verb.
///
/// # Errors
/// Nothing fits, the adapter refuses, or it cannot be kept.
pub fn run(wish: &Wish, journal: &Path, printer: Printer) -> Result<Done, Failure> {
    let mut kept = load(journal)?;
    if let Some(text) = wish.adapter
        && text.starts_with("sim:")
    {
        return keep_simulated(text, kept, journal, printer);
    }
    let wanted = wish.adapter.map(|text| text.strip_prefix("ble:").unwrap_or(text));
    let seen =
        with_radio(printer, "looking for adapters", ble::scan(wish.listen, wish.controller))?
            .map_err(|error| link_failure(wanted, &error))?;
    let choice = match wanted {
        Some(wanted) => named(wanted, &kept, &seen)?,
        None => Choice { seen: vec![listed(&seen, printer)?], serial: None },
    };
    let doing = "pairing; keep the adapter near";
    let added = with_radio(printer, doing, async {
        match add(&choice, wish.controller).await {
            Ok((added, visit)) => {
                let zeroed = match wish.zero && added.bonded {
                    true => Some(visit.ask(AdapterAsk::Zero, clock::reader()).await),
                    false => None,
                };
                let sheet = visit.sheet().await;
                visit.close().await;
                Ok((added, sheet, zeroed))
            }
            Err(error) => Err(error),
        }
    })?;
    let (added, sheet, zeroed) = added.map_err(|error| {
        let name = wanted.or_else(|| choice.seen.first().and_then(|one| one.name.as_deref()));
        link_failure(name, &error)
    })?;
    let name = wish
        .name
        .map(str::to_owned)
        .or_else(|| kept.find(&added.serial).map(|before| before.name.clone()));
    let name = name.unwrap_or_else(|| added.serial.clone());
    if let Some(other) =
        kept.added.iter().find(|one| one.name == name && one.serial != added.serial)
    {
        return Err(Failure::Input(format!(
            "expected a name of its own, but found {name}, which is the adapter {}; give another \
             with --name",
            other.serial
        )));
    }
    let serial = added.serial.clone();
    let pairing = match (added.bonded, added.was_bonded) {
        (true, false) => "paired",
        (true, true) => "was paired already",
        (false, _) => "tells only live torque, which needs no pairing",
    };
    kept.adapters.retain(|spec| spec.strip_prefix("ble:").is_none_or(|rest| rest != serial));
    kept.put(keep(added, name.clone()));
    kept.save(journal).map_err(|error| Failure::failed("the adapter could not be kept", &error))?;
    for text in super::show::lines(&sheet) {
        printer.line(text)?;
    }
    tell_zero(zeroed, printer);
    printer.talk(format_args!(
        "adapter {serial} {pairing} and is kept as {name} in {}; `clampbook serve` listens to it from \
         its next start",
        config::file_of(journal).display()
    ));
    Ok(Done::Fine)
}

fn keep(added: Added, name: String) -> Kept {
    Kept {
        serial: added.serial,
        name,
        bonded: added.bonded,
        address: added.address,
        controller: added.controller,
    }
}

fn tell_zero(zeroed: Option<Result<command::Done, Refusal>>, printer: Printer) {
    match zeroed {
        Some(Ok(done)) => {
            if let Some(text) = super::ask::words(&done) {
                printer.talk(text);
            }
        }
        Some(Err(refusal)) => printer.warning(format_args!("{refusal} (`clampbook adapter zero`)")),
        None => {}
    }
}

/// Adds the first of the choice that turns out to be the right one.
async fn add(choice: &Choice<'_>, controller: Option<&str>) -> Result<(Added, Visit), LinkError> {
    let mut wrong = None;
    for seen in &choice.seen {
        match ble::add(seen, choice.serial.as_deref(), controller).await {
            Err(error) if error.class == LinkClass::WrongAdapter => wrong = Some(error),
            outcome => return outcome,
        }
    }
    Err(wrong.unwrap_or_else(|| Cause::OutOfRange.into()))
}

/// What may be the adapter that is called so.
fn named<'a>(wanted: &str, kept: &Config, seen: &'a [Seen]) -> Result<Choice<'a>, Failure> {
    let here = |one: &&Seen| {
        one.address.eq_ignore_ascii_case(wanted) || one.name.as_deref() == Some(wanted)
    };
    let exact: Vec<&Seen> = seen.iter().filter(here).collect();
    // Of an adapter that was added before, the serial number is known: a name is anybody's.
    let known = kept.find(wanted).map(|kept| kept.serial.clone());
    match exact.len() {
        1 => return Ok(Choice { seen: exact, serial: known }),
        0 => {}
        _ if known.is_some() => return Ok(Choice { seen: exact, serial: known }),
        _ => {
            let lines: Vec<String> = exact.into_iter().map(line).collect();
            return Err(Failure::Input(format!(
                "expected one adapter called {wanted}, but found several; name it by its address:\n{}",
                lines.join("\n")
            )));
        }
    }
    // It must be a serial number, then, which only the adapter itself can tell. Its name often ends so.
    let likely = |one: &&Seen| {
        let tail = one.name.as_deref().unwrap_or_default().rsplit([' ', '-', '_']).next();
        tail.is_some_and(|tail| tail.len() >= 3 && wanted.ends_with(tail))
    };
    let mut tried: Vec<&Seen> = seen.iter().collect();
    tried.sort_by_key(|one| (!likely(one), !one.pairing));
    tried.truncate(TRIED);
    if tried.is_empty() {
        let trouble = Cause::OutOfRange.trouble(Some(wanted));
        return Err(Failure::Failed(format!(
            "adapter {wanted}: {}; wake it, bring it near, and run the same again",
            trouble.message
        )));
    }
    let serial = known.unwrap_or_else(|| wanted.to_owned());
    Ok(Choice { seen: tried, serial: Some(serial) })
}

/// The one that the operator picks, or the only one.
fn listed(seen: &[Seen], printer: Printer) -> Result<&Seen, Failure> {
    let none =
        "expected an adapter, but heard none; wake it, bring it near, and run the same again";
    let lines: Vec<String> = seen
        .iter()
        .enumerate()
        .map(|(index, one)| format!("{:>3}  {}", index + 1, line(one)))
        .collect();
    match seen {
        [] => return Err(Failure::Failed(none.to_owned())),
        [only] => return Ok(only),
        _ => {}
    }
    if !io::stdin().is_terminal() {
        return Err(Failure::Input(format!(
            "expected the name or address of one adapter, but found several:\n{}",
            lines.join("\n")
        )));
    }
    for text in lines {
        printer.talk(text);
    }
    printer.plain_error("which one? (number; empty for none)");
    let mut answer = String::new();
    io::stdin().read_line(&mut answer).map_err(Failure::from)?;
    let number: Option<usize> = answer.trim().parse().ok();
    number.and_then(|number| seen.get(number.checked_sub(1)?)).ok_or_else(|| {
        Failure::Input(format!(
            "expected a number from 1 to {}, but found \"{}\"; nothing was added",
            seen.len(),
            answer.trim()
        ))
    })
}

fn keep_simulated(
    text: &str,
    mut kept: Config,
    journal: &Path,
    printer: Printer,
) -> Result<Done, Failure> {
    SourceSpec::parse(text)
        .map_err(|error| Failure::input("the adapter is not understood", &error))?;
    if kept.adapters.iter().any(|other| other == text) {
        printer.talk(format_args!("{text} was kept already"));
        return Ok(Done::Fine);
    }
    kept.adapters.push(text.to_owned());
    kept.save(journal).map_err(|error| Failure::failed("the adapter could not be kept", &error))?;
    printer.talk(format_args!(
        "{text} is kept in {}; `clampbook serve` listens to it from its next start",
        config::file_of(journal).display()
    ));
    Ok(Done::Fine)
}
