//! `recheck`: what is to be pulled again, by when, and whether it was.

mod calendar;

use crate::cli::access::Access;
use crate::cli::args::RecheckVerb;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::core::event::{Event, JobId, PersonalField};
use crate::core::plan::{Interval, RecheckMethod, Step};
use crate::core::recheck::Due;
use crate::core::time::Stamp;
use crate::daemon::clock;
use crate::journal::{JournalError, Reader};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs;
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
    /// How it is done, in sentences.
    #[serde(skip)]
    how: String,
    /// From the close of the job on.
    #[serde(skip)]
    days: Option<u16>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
enum State {
    Due,
    Overdue,
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
                    let tone = if row.state == State::Overdue { Tone::Alarm } else { Tone::Plain };
                    printer.toned(tone, line(row))?;
                }
            }
            if none {
                printer.talk("nothing waits to be pulled again");
            }
        }
        RecheckVerb::Calendar { out } => {
            let text = calendar::text(&rows);
            for row in rows.iter().filter(|row| row.state != State::Done && row.by.is_none()) {
                printer.talk(format_args!(
                    "not in the calendar: {} of job {}, {}, for it has no date",
                    row.group,
                    row.job,
                    when(row)
                ));
            }
            match out {
                None => printer.raw(text.as_bytes())?,
                Some(file) => {
                    fs::write(file, text).map_err(|error| {
                        Failure::failed(
                            format_args!("expected to write {}", file.display()),
                            &error,
                        )
                    })?;
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
        printer.line(format_args!("pull again: {}, after {after}", row.group))?;
    }
    Ok(())
}

/// What should have been pulled again by now, a line each.
#[must_use]
pub fn overdue(access: &Access) -> Vec<String> {
    let rows = rows(access.journal()).unwrap_or_default();
    let late = rows.iter().filter(|row| row.state == State::Overdue);
    late.map(|row| {
        let (job, group) = (row.job, &row.group);
        let when = when(row);
        format!(
            "OVERDUE: pull {group} of job {job} again, {when}: clampbook job start --recheck {job}"
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
        let vehicle = started.text(PersonalField::Vehicle).map(str::to_owned);
        let Event::JobStarted { plan, uuid, .. } = started.event else { continue };
        let recheck_job = again.get(&job).copied();
        let closing = match recheck_job {
            Some(again) => reader.job(again)?,
            None => None,
        };
        let state = match closing {
            Some(again) => match again.closed {
                None => State::UnderWay,
                Some(closing) if closing.complete == Some(true) => State::Done,
                Some(_) => since(due.by, now),
            },
            None => since(due.by, now),
        };
        let step = plan.steps.iter().find(|step| step.group == due.group);
        rows.push(Row {
            job: job.0,
            how: step.map(how).unwrap_or_default(),
            group: due.group,
            state,
            by: due.by.and_then(|by| date(by, &zone)),
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

/// How a group is pulled again, in sentences.
fn how(step: &Step) -> String {
    let method = step.rules.recheck.as_ref().map_or(RecheckMethod::default(), |one| one.method);
    let pulled = match method {
        RecheckMethod::PullToTorque => {
            "Pull it to its final torque as it stands, never slacken it first."
        }
        RecheckMethod::BackOffAndPull => "Slacken it first, then pull it to its final torque.",
        RecheckMethod::None => "",
    };
    match step.is_wheel() {
        true => format!("The wheel cold. {pulled}"),
        false => pulled.to_owned(),
    }
}

fn since(by: Option<Stamp>, now: Stamp) -> State {
    if by.is_some_and(|by| by < now) { State::Overdue } else { State::Due }
}

fn date(at: Stamp, zone: &TimeZone) -> Option<Date> {
    let at = jiff::Timestamp::from_microsecond(at.0).ok()?;
    Some(at.to_zoned_datetime(zone.clone()).date())
}

fn line(row: &Row) -> String {
    let state = match row.state {
        State::Due => "due",
        State::Overdue => "OVERDUE",
        State::UnderWay => "under way",
        State::Done => "done",
    };
    let about = row.vehicle.as_deref().unwrap_or(&row.plan);
    let started = match (row.state, row.recheck_job) {
        (State::Done | State::UnderWay, Some(job)) => format!(", job {job}"),
        _ => String::new(),
    };
    format!("{:>4}  {:<20} {state:<9} {}  {about}{started}", row.job, row.group, when(row))
}

/// By when, and where that comes from.
fn when(row: &Row) -> String {
    let distance = row.km.map(|km| Interval { km: Some(km), days: None }.to_string());
    let by = row.by.map(|by| format!("by {by}"));
    let words = [distance.map(|distance| format!("after {distance}")), by];
    let words: Vec<String> = words.into_iter().flatten().collect();
    let whose =
        if row.in_plan { "" } else { " (usual for a wheel; the maker's distance comes first)" };
    format!("{}{whose}", words.join(" or "))
}
