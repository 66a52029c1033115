//! `typed`: values from a keyboard, or from a device that poses as one.

use crate::cli::access::{Access, Ask};
use crate::cli::account;
use crate::cli::args::TypedArgs;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::cli::verb::job::next_line;
use crate::cli::verb::recheck;
use crate::core::command;
use crate::core::event::TorqueVerdict;
use crate::core::snapshot::Next;
use crate::core::typed::parse;
use crate::core::units::TorqueUnit;
use std::io::{self, BufRead, IsTerminal, Read};
use std::path::Path;

/// The longest line that is read, octets; what follows of it is passed over.
const LONGEST: u64 = 4096;

/// Runs the verb.
///
/// # Errors
/// A line could not be kept at all; lines that are merely wrong are named, and the rest goes on.
pub fn run(args: &TypedArgs, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let input = io::stdin();
    if input.is_terminal() {
        printer.talk(
            "one a line: 102.5 | 75 lbf·ft | low | done | 102.5 at NAME | at NAME | yes | undo | note TEXT | close; Ctrl-D ends",
        );
    }
    if !args.json {
        begin(journal, printer)?;
    }
    let mut input = input.lock();
    let (mut number, mut wrong, mut open) = (0, false, false);
    while let Some(line) = next(&mut input)? {
        number += 1;
        match keep(&line, args, journal, printer) {
            Ok(()) => {}
            Err(Failure::Input(message)) => {
                printer.error(format_args!("line {number}: {message}"));
                wrong = true;
            }
            Err(Failure::StillOpen(message)) => {
                printer.error(format_args!("line {number}: {message}"));
                open = true;
            }
            Err(Failure::Failed(message)) => {
                return Err(Failure::Failed(format!(
                    "line {number} and whatever follows it was not kept: {message}"
                )));
            }
            Err(other) => return Err(other),
        }
    }
    match (wrong, open) {
        (true, _) => Err(Failure::InputReported),
        (false, true) => Ok(Done::LeftOpen),
        (false, false) => Ok(Done::Fine),
    }
}

/// Says what is due, if a job is under way.
fn begin(journal: Option<&Path>, printer: Printer) -> Result<(), Failure> {
    let access = Access::find(journal)?;
    let jobs = if access.journal().exists() { access.jobs()? } else { Vec::new() };
    match jobs.iter().find(|row| row.is_under_way()) {
        Some(row) => {
            let state = access.job(crate::core::event::JobId(row.job))?;
            tell_next(printer, state.snapshot.next.as_ref())
        }
        None => {
            printer.talk("no job is under way: values are kept, and a job can claim them later");
            Ok(())
        }
    }
}

/// The next line; none at the end.
fn next(input: &mut impl BufRead) -> Result<Option<String>, Failure> {
    let mut octets = Vec::new();
    let broken = |error: io::Error| Failure::failed("reading standard input", &error);
    if input.by_ref().take(LONGEST).read_until(b'\n', &mut octets).map_err(broken)? == 0 {
        return Ok(None);
    }
    if octets.len() as u64 == LONGEST && octets.last() != Some(&b'\n') {
        input.skip_until(b'\n').map_err(broken)?;
    }
    Ok(Some(String::from_utf8_lossy(&octets).into_owned()))
}

fn keep(
    line: &str,
    args: &TypedArgs,
    journal: Option<&Path>,
    printer: Printer,
) -> Result<(), Failure> {
    match parse(line) {
        Ok(None) => return Ok(()),
        Ok(Some(_)) => {}
        Err(error) => return Err(Failure::Input(error.to_string())),
    }
    // Looked for anew at each line: a daemon may come or go while somebody types.
    let access = Access::find(journal)?;
    let unit: Option<TorqueUnit> = args.unit;
    let done = access.ask(Ask::Type { line: line.trim().to_owned(), unit })?;
    if args.json {
        return Ok(printer.json(&done)?);
    }
    tell(&done, printer)?;
    match done {
        command::Done::Closed { job, .. } => recheck::after(&access, job, printer),
        _ => Ok(()),
    }
}

fn tell(done: &command::Done, printer: Printer) -> Result<(), Failure> {
    match done {
        command::Done::Heard { job, said, value, verdicts, warnings, next } => {
            if let Some(say) = said {
                printer.line(account::said_line(say))?;
            }
            for verdict in verdicts.iter().filter(|verdict| !verdict.surer) {
                let tone = match verdict.torque {
                    TorqueVerdict::High => Tone::Alarm,
                    TorqueVerdict::In => Tone::Good,
                    TorqueVerdict::Low | TorqueVerdict::Na => Tone::Plain,
                };
                printer.toned(tone, account::verdict_line(verdict))?;
            }
            for warning in warnings {
                printer.toned(Tone::Alarm, account::warning_line(warning))?;
            }
            match (job, value) {
                (None, Some(value)) => {
                    printer.line(format_args!("{value} kept without a job"))?;
                    Ok(())
                }
                _ => tell_next(printer, next.as_ref()),
            }
        }
        command::Done::Closed { job, summary, life_critical } => {
            printer.line(format_args!("job {} closed", job.0))?;
            account::summary(printer, summary)?;
            Ok(account::stays(printer, life_critical)?)
        }
        _ => Ok(()),
    }
}

fn tell_next(printer: Printer, next: Option<&Next>) -> Result<(), Failure> {
    let line = match next {
        Some(Next::Confirm { text, .. }) => format!("next: {text} (yes)"),
        Some(Next::State { fastener }) => {
            format!("next: {fastener}, without the adapter (done)")
        }
        Some(Next::Pull { fastener, target, .. }) if target == "by hand" => {
            format!("next: {fastener}, snug by hand and then to its torque")
        }
        other => next_line(other),
    };
    Ok(printer.line(line)?)
}
