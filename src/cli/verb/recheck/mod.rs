//! `recheck`: what is to be pulled again, by when, and whether it was.

mod calendar;
mod words;

use crate::cli::access::Access;
use crate::cli::args::RecheckVerb;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::cli::put;
use crate::core::event::{Entry, Event, JobId, PersonalField};
use crate::core::language::Language;
use crate::core::plan::{Interval, RecheckMethod, Step};
use crate::core::recheck::{self, Due, REMINDER_DAYS};
use crate::core::time::Stamp;
use crate::daemon::clock;
use crate::journal::{JournalError, Reader};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::Path;

const SECONDS_A_DAY: f64 = 86_400.0;

/// A group that is to be pulled again.
#[derive(Debug, Serialize)]
struct Row {
    /// The job that tightened it.
    job: u32,
    group: String,
    state: State,
    /// Local date; none if only a distance is set.
    by: Option<Date>,
    /// Local date to remember it by, the program's own; none if a time is set.
    reminder: Option<Date>,
    km: Option<f64>,
    /// False: the plan says nothing, and this is what is usual for a wheel.
    in_plan: bool,
    /// The job that pulled it again, or is about to.
    recheck_job: Option<u32>,
    plan: String,
    vehicle: Option<String>,
    #[serde(skip)]
    uuid: String,
    #[serde(skip)]
    closed: Stamp,
    #[serde(skip)]
    is_wheel: bool,
    /// How it is done.
    #[serde(skip)]
    method: RecheckMethod,
    /// From the close of the job on.
    #[serde(skip)]
    days: Option<u16>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
enum State {
    Due,
    Overdue,
    /// No time is set, and the day to remember it by has come.
    Remind,
    UnderWay,
    Done,
}

/// Runs the verb.
///
/// # Errors
/// The journal cannot be read, or the file not be written.
pub fn run(verb: &RecheckVerb, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let access = Access::find(journal)?;
    access.check_readable()?;
    let rows = rows(access.journal())?;
    match verb {
        RecheckVerb::List { all, json } => {
            let shown = rows.iter().filter(|row| *all || row.state != State::Done);
            let mut none = true;
            for row in shown {
                none = false;
                if *json {
                    printer.json(row)?;
                } else {
                    let late = matches!(row.state, State::Overdue | State::Remind);
                    printer.toned(if late { Tone::Alarm } else { Tone::Plain }, line(row))?;
                }
            }
            if none {
                printer.talk("nothing waits to be pulled again");
            }
        }
        RecheckVerb::Calendar { out, language } => {
            let text = calendar::text(&rows, *language);
            match out {
                None => printer.raw(text.as_bytes())?,
                Some(file) => {
                    put::put(file, text.as_bytes())?;
                    printer.line(file.display())?;
                }
            }
        }
    }
    Ok(Done::Fine)
}

/// Says what is due after a job that was just closed.
///
/// # Errors
/// Standard output cannot be written.
pub fn after(access: &Access, job: JobId, printer: Printer) -> Result<(), Failure> {
    // The job is closed, whether or not this can be told.
    let Ok(rows) = rows(access.journal()) else {
        return Ok(());
    };
    for row in rows.iter().filter(|row| row.job == job.0 && row.state != State::Done) {
        let after = Interval { km: row.km, days: row.days };
        let after = match after.is_none() {
            true => "as the plan says".to_owned(),
            false => format!("after {after}"),
        };
        let reminder = match row.reminder {
            Some(_) => format!(
                "; reminder in {REMINDER_DAYS} days ({})",
                words::whose(row, Language::English)
            ),
            None => String::new(),
        };
        printer.line(format_args!("pull again: {}, {after}{reminder}", row.group))?;
    }
    Ok(())
}

/// What should have been pulled again by now, and what is to be remembered, a line each.
#[must_use]
pub fn overdue(access: &Access) -> Vec<String> {
    let rows = rows(access.journal()).unwrap_or_default();
    let late = rows.iter().filter_map(|row| match row.state {
        State::Overdue => Some(("OVERDUE", row)),
        State::Remind => Some(("REMINDER", row)),
        State::Due | State::UnderWay | State::Done => None,
    });
    late.map(|(state, row)| {
        let (job, group) = (row.job, &row.group);
        let when = words::when(row, Language::English);
        format!(
            "{state}: pull {group} of job {job} again, {when}: clampbook job start --recheck {job}"
        )
    })
    .collect()
}

fn rows(journal: &Path) -> Result<Vec<Row>, Failure> {
    read(journal, clock::now())
        .map_err(|error| Failure::failed("the journal cannot be read", &error))
}

fn read(journal: &Path, now: Stamp) -> Result<Vec<Row>, JournalError> {
    let reader = Reader::open(journal)?;
    let mut dues: Vec<(JobId, Stamp, Due)> = Vec::new();
    let mut again: BTreeMap<JobId, JobId> = BTreeMap::new();
    for entry in reader.rechecks()?.into_iter().flatten() {
        match (entry.event, entry.job) {
            (Event::RecheckDue { due }, Some(job)) => {
                dues.extend(due.into_iter().map(|due| (job, entry.at, due)));
            }
            (Event::RecheckOf { job: of, .. }, Some(job)) => {
                again.insert(of, job);
            }
            _ => {}
        }
    }
    let zone = TimeZone::system();
    let mut rows = Vec::new();
    for (job, closed, due) in dues {
        let Some(Ok(started)) = reader.started(job)? else { continue };
        let vehicle = vehicle(&reader, job, &started)?;
        let Event::JobStarted { plan, uuid, .. } = started.event else { continue };
        // What was kept before there were reminders gets one, too.
        let reminder = due.reminder.unwrap_or_else(|| recheck::reminder(closed));
        let reminder = due.by.is_none().then_some(reminder);
        let since = since(due.by, reminder, now);
        let recheck_job = again.get(&job).copied();
        let closing = match recheck_job {
            Some(again) => reader.job(again)?,
            None => None,
        };
        let state = match closing {
            Some(again) => match again.closed {
                None => State::UnderWay,
                Some(closing) if closing.complete == Some(true) => State::Done,
                Some(_) => since,
            },
            None => since,
        };
        let step = plan.steps.iter().find(|step| step.group == due.group);
        let method = step.and_then(|step| Some(step.rules.recheck.as_ref()?.method));
        rows.push(Row {
            job: job.0,
            is_wheel: step.is_some_and(Step::is_wheel),
            method: method.unwrap_or_default(),
            group: due.group,
            state,
            by: due.by.and_then(|by| date(by, &zone)),
            reminder: reminder.and_then(|at| date(at, &zone)),
            days: due.by.map(|by| (by.seconds_since(closed) / SECONDS_A_DAY).round() as u16),
            km: due.km,
            in_plan: due.in_plan,
            recheck_job: recheck_job.map(|JobId(job)| job),
            plan: plan.name,
            vehicle,
            uuid,
            closed,
        });
    }
    Ok(rows)
}

/// The vehicle of a job, as it was put right last.
fn vehicle(reader: &Reader, job: JobId, started: &Entry) -> Result<Option<String>, JournalError> {
    let of_vehicle = |entry: &Entry| match entry.event {
        Event::Corrected { field, .. } => field == PersonalField::Vehicle,
        _ => false,
    };
    let corrected = reader.corrections(job)?.into_iter().flatten().rev().find(of_vehicle);
    let said = corrected.as_ref().unwrap_or(started);
    Ok(said.text(PersonalField::Vehicle).map(str::to_owned))
}

fn since(by: Option<Stamp>, reminder: Option<Stamp>, now: Stamp) -> State {
    match (by, reminder) {
        (Some(by), _) if by < now => State::Overdue,
        (_, Some(reminder)) if reminder < now => State::Remind,
        _ => State::Due,
    }
}

fn date(at: Stamp, zone: &TimeZone) -> Option<Date> {
    let at = jiff::Timestamp::from_microsecond(at.0).ok()?;
    Some(at.to_zoned_datetime(zone.clone()).date())
}

fn line(row: &Row) -> String {
    let state = match row.state {
        State::Due => "due",
        State::Overdue => "OVERDUE",
        State::Remind => "REMIND",
        State::UnderWay => "under way",
        State::Done => "done",
    };
    let about = row.vehicle.as_deref().unwrap_or(&row.plan);
    let started = match (row.state, row.recheck_job) {
        (State::Done | State::UnderWay, Some(job)) => format!(", job {job}"),
        _ => String::new(),
    };
    format!(
        "{:>4}  {:<20} {state:<9} {}  {about}{started}",
        row.job,
        row.group,
        words::when(row, Language::English)
    )
}
