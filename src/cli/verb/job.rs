//! `job`: start, list, show, mark, close.

use crate::cli::access::{Access, Ask};
use crate::cli::account;
use crate::cli::args::{JobVerb, MarkArgs, MarkVerb, VehicleArgs};
use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::cli::verb::{amend, loose, recheck, wheels};
use crate::core::command;
use crate::core::event::{JobId, Mark, Origin, Say};
use crate::core::park::Leaving;
use crate::core::plan::{self, Severity, Turned};
use crate::core::snapshot::{GroupState, Next};
use crate::web::{JobRow, JobState, StartRequest};
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// It was refused, or the journal or the plan cannot be used.
pub fn run(verb: &JobVerb, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    match verb {
        JobVerb::Start { plan, recheck, vehicle, json } => {
            let ask = match (plan, recheck) {
                (Some(plan), _) => start(undoubted(plan, printer)?, vehicle),
                (None, Some(job)) => Ask::Recheck(JobId(*job)),
                (None, None) => return Err(Failure::Input("expected a plan file".to_owned())),
            };
            let access = Access::find(journal)?;
            let done = access.ask(ask)?;
            started(&access, &done, *json, printer)
        }
        JobVerb::Wheels(args) => wheels::run(args, journal, printer),
        JobVerb::List { page, all, json } => {
            let access = Access::find(journal)?;
            let (rows, pages) = match all {
                true => (access.jobs()?, 1),
                false => access.jobs_page(*page)?,
            };
            for row in &rows {
                if *json {
                    printer.json(row)?;
                } else {
                    list_row(printer, row)?;
                }
            }
            if pages > 1 {
                printer
                    .talk(format_args!("page {page} of {pages}; older ones: --page N, or --all"));
            }
            Ok(Done::Fine)
        }
        JobVerb::Show { job, json } => {
            let access = Access::find(journal)?;
            let state = access.job(access.job_or_newest(*job)?)?;
            if *json {
                printer.json(&state)?;
            } else {
                show(printer, &state)?;
            }
            Ok(Done::Fine)
        }
        JobVerb::Mark(mark) => {
            let access = Access::find(journal)?;
            let done = access.ask(asked(mark))?;
            if let command::Done::Marked { job, warnings }
            | command::Done::Heard { job: Some(job), warnings, .. } = done
            {
                for warning in &warnings {
                    printer.toned(Tone::Alarm, account::warning_line(warning))?;
                }
                show_next(printer, &access.job(job)?)?;
            }
            Ok(Done::Fine)
        }
        JobVerb::Loose { json } => loose::list(*json, journal, printer),
        JobVerb::Claim(args) => loose::claim(args, journal, printer),
        JobVerb::Correct(args) => amend::correct(args, journal, printer),
        JobVerb::Erase(args) => amend::erase(args, journal, printer),
        JobVerb::Park { json } => {
            let done = Access::find(journal)?.ask(Ask::Park)?;
            if *json {
                printer.json(&done)?;
            } else if let command::Done::Parked { job, leaving } = done {
                printer.line(format_args!("job {} parked", job.0))?;
                tell_leaving(printer, &leaving)?;
                printer.talk(format_args!("go on with it: clampbook job resume {}", job.0));
            }
            Ok(Done::Fine)
        }
        JobVerb::Resume { job, json } => {
            let access = Access::find(journal)?;
            let done = access.ask(Ask::Resume(job.map(JobId)))?;
            if *json {
                printer.json(&done)?;
            } else if let command::Done::Resumed { job, leaving } = done {
                printer.line(format_args!("job {} is under way again", job.0))?;
                tell_leaving(printer, &leaving)?;
                show_next(printer, &access.job(job)?)?;
            }
            Ok(Done::Fine)
        }
        JobVerb::Close { open } => {
            let access = Access::find(journal)?;
            let done = access.ask(Ask::Close(open.clone()))?;
            if let command::Done::Closed { job, summary, life_critical } = done {
                printer.line(format_args!("job {} closed", job.0))?;
                account::summary(printer, &summary)?;
                account::stays(printer, &life_critical)?;
                recheck::after(&access, job, printer)?;
                printer.talk(format_args!("its report: clampbook report {}", job.0));
            }
            Ok(Done::Fine)
        }
    }
}

/// A job on that vehicle, from a plan file's text.
pub fn start(plan: String, vehicle: &VehicleArgs) -> Ask {
    let VehicleArgs { vin, plate } = vehicle;
    Ask::Start(StartRequest { plan, vin: vin.clone(), plate: plate.clone() })
}

/// The text of the plan at `path`, once its doubts are told. Notes are left to `plan check`.
fn undoubted(path: &Path, printer: Printer) -> Result<String, Failure> {
    let read = files::plan(path, printer)?;
    let mut refused = false;
    for (file, doubt) in &read.doubts {
        if doubt.severity != Severity::Note {
            printer.plain_error(format_args!("{file}:{doubt} [{}]", doubt.code));
        }
        refused |= doubt.severity == Severity::Error;
    }
    if refused { Err(Failure::InputReported) } else { Ok(read.text) }
}

/// Tells that a job was started, and what comes first.
pub fn started(
    access: &Access,
    done: &command::Done,
    json: bool,
    printer: Printer,
) -> Result<Done, Failure> {
    if json {
        printer.json(done)?;
    } else if let command::Done::Started { job } = done {
        printer.line(format_args!("job {} started", job.0))?;
        show_next(printer, &access.job(*job)?)?;
    }
    Ok(Done::Fine)
}

fn tell_leaving(printer: Printer, leaving: &Leaving) -> Result<(), Failure> {
    if leaving.open.is_empty() {
        return Ok(printer.line("nothing is open")?);
    }
    for (what, names) in [
        ("open", &leaving.open),
        ("only started", &leaving.started),
        ("new parts", &leaving.to_buy),
    ] {
        if !names.is_empty() {
            let parting = if what == "new parts" { "; " } else { ", " };
            printer.line(format_args!("{what}: {}", names.join(parting)))?;
        }
    }
    Ok(account::stays(printer, &leaving.life_critical)?)
}

fn asked(args: &MarkArgs) -> Ask {
    let say = match args.verb.clone() {
        MarkVerb::At { fastener } => Say::At { fastener },
        MarkVerb::Confirm { hold, because } => Say::Confirm { hold, because },
        MarkVerb::Stated { fastener } => Say::Stated { fastener },
        MarkVerb::Low { fastener } => Say::Low { fastener },
        MarkVerb::Opened { fastener } => Say::Opened { fastener },
        MarkVerb::AlsoOpened { name } => Say::AlsoOpened { name },
        MarkVerb::Spoiled { fastener } => Say::Spoiled { fastener },
        MarkVerb::Figure { of, value } => Say::Figure { of, value },
        MarkVerb::Skip { fastener, reason } => Say::Skip { fastener, reason },
        MarkVerb::Note { text } => Say::Note { text },
        MarkVerb::Retract => Say::Retract,
        MarkVerb::Value { joint, torque } => {
            return Ask::Type { line: format!("value {joint} {torque}"), unit: None };
        }
    };
    let origin = if args.pedal { Origin::Pedal } else { Origin::CommandLine };
    Ask::Mark(Mark { say, origin })
}

fn list_row(printer: Printer, row: &JobRow) -> Result<(), Failure> {
    let state = match (&row.closed, row.complete) {
        (None, _) if row.is_parked() => "parked",
        (None, _) => "under way",
        (Some(_), Some(true)) => "closed",
        (Some(_), _) => "closed with something open",
    };
    let said_by = match row.said_by.as_slice() {
        [] => String::new(),
        names => format!("  (said by {})", names.join(", ")),
    };
    Ok(printer.line(format_args!(
        "{:>4}  {}  {state:<26}  {} readings  {}{said_by}",
        row.job,
        row.started,
        row.readings,
        row.plan.as_deref().unwrap_or("(plan not understood)"),
    ))?)
}

fn show(printer: Printer, state: &JobState) -> Result<(), Failure> {
    list_row(printer, &state.job)?;
    if let Some(reason) = &state.open_reason {
        printer.line(format_args!("closed with something open: {reason}"))?;
    }
    for group in &state.snapshot.groups {
        for member in &group.members {
            let peak = member.peak_nm.map_or_else(String::new, |nm| format!("{nm:.1} N·m"));
            let suspect = if member.suspect { "  LOOK AT IT" } else { "" };
            let ending = match member.ending {
                crate::core::event::Ending::Shown => "shown",
                crate::core::event::Ending::Counted => "counted",
                crate::core::event::Ending::Stated => "stated",
                crate::core::event::Ending::Open => "open",
            };
            printer.line(format_args!("  {:<24} {ending:<8} {peak:>11}{suspect}", member.name))?;
        }
    }
    for hold in &state.snapshot.holds {
        let confirmed = if hold.confirmed { "confirmed" } else { "not confirmed" };
        printer.line(format_args!("  {:<24} {confirmed}: {}", hold.name, hold.text))?;
    }
    account::summary(printer, &state.summary)?;
    if state.job.closed.is_none() {
        show_next(printer, state)?;
    }
    Ok(())
}

fn show_next(printer: Printer, state: &JobState) -> Result<(), Failure> {
    let next = state.snapshot.next.as_ref();
    let mut line = next_line(next);
    if let Some(Next::Pull { fastener, .. } | Next::State { fastener }) = next {
        let its = |group: &&GroupState| group.members.iter().any(|member| member.name == *fastener);
        let how = state.snapshot.groups.iter().find(its).map(handling);
        how.into_iter().flatten().for_each(|part| line = format!("{line}; {part}"));
    }
    Ok(printer.line(line)?)
}

/// How a group is handled, beside its socket.
fn handling(group: &GroupState) -> Vec<String> {
    let turned = group.turned.map(|turned| match turned {
        Turned::Nut => "turn the nut".to_owned(),
        Turned::Head => "turn the head".to_owned(),
    });
    let held = group.hold_with.as_ref().map(|tool| format!("hold the other side with {tool}"));
    let by_hand = group.by_hand_only.then(|| "no impact tool".to_owned());
    let access = match group.access {
        plan::Access::Fits => None,
        plan::Access::TooLong => Some("adapter and socket are too long for it".to_owned()),
        plan::Access::KeyInTheWay => Some("the key that holds it is in the way".to_owned()),
    };
    [turned, held, by_hand, access].into_iter().flatten().collect()
}

/// What to do next, in a line.
#[must_use]
pub fn next_line(next: Option<&Next>) -> String {
    let next = match next {
        None => "nothing is left to pull".to_owned(),
        Some(Next::Pull { fastener, pass, passes, target }) => {
            format!("{fastener}, pass {pass} of {passes}: {target}")
        }
        Some(Next::Confirm { hold, text }) => {
            format!("{text} (clampbook job mark confirm {hold})")
        }
        Some(Next::LookUp { group }) => {
            format!("look up the value of {group} (clampbook job mark value {group} \"26 N·m\")")
        }
        Some(Next::State { fastener }) => {
            format!("{fastener}, without the adapter (clampbook job mark stated {fastener})")
        }
    };
    format!("next: {next}")
}
