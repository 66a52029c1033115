//! `job loose`, `job claim`: readings that came while no job was under way.

use crate::cli::access::{Access, Ask};
use crate::cli::account;
use crate::cli::args::ClaimArgs;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::core::command;
use crate::core::time::Stamp;
use crate::daemon::clock;
use crate::web::LooseRow;
use jiff::Timestamp;
use jiff::civil::{DateTime, Time};
use jiff::tz::TimeZone;
use std::path::Path;

/// Lists them.
///
/// # Errors
/// The journal cannot be read.
pub fn list(json: bool, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let loose = Access::find(journal)?.loose()?;
    for row in &loose {
        if json {
            printer.json(row)?;
        } else {
            let origin = if row.typed { "typed" } else { &row.adapter };
            printer.line(format_args!(
                "{:>6}  {}  {:>7.1} N·m  {origin}",
                row.entry, row.at, row.peak_nm
            ))?;
        }
    }
    if loose.is_empty() {
        printer.talk("every reading belongs to a job");
    }
    Ok(Done::Fine)
}

/// Puts some of them into the job under way.
///
/// # Errors
/// None is chosen, or one of them belongs to a job.
pub fn claim(args: &ClaimArgs, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let access = Access::find(journal)?;
    let entries: Vec<u64> = if args.numbers.is_empty() {
        let since = args.since.as_deref().map(|text| moment(text, clock::now())).transpose()?;
        let rows = access.loose()?;
        let late = |row: &&LooseRow| since.is_none_or(|since| row.stamp() >= since);
        rows.iter().filter(late).map(|row| row.entry).collect()
    } else {
        args.numbers.clone()
    };
    if entries.is_empty() {
        return Err(Failure::Input(
            "expected readings without a job, but found none; see `clampbook job loose`".to_owned(),
        ));
    }
    let done = access.ask(Ask::Claim(entries))?;
    if args.json {
        printer.json(&done)?;
    } else if let command::Done::Claimed { job, readings, warnings } = done {
        let plural = if readings == 1 { "" } else { "s" };
        printer.line(format_args!("{readings} reading{plural} put into job {}", job.0))?;
        for warning in &warnings {
            printer.toned(Tone::Alarm, account::warning_line(warning))?;
        }
    }
    Ok(Done::Fine)
}

/// A moment as people write it: with its zone, in local time, or a time of today.
fn moment(text: &str, now: Stamp) -> Result<Stamp, Failure> {
    let zone = TimeZone::system();
    let found = text.parse::<Timestamp>().ok().or_else(|| {
        let local = text.parse::<DateTime>().ok().or_else(|| {
            let today =
                Timestamp::from_microsecond(now.0).ok()?.to_zoned_datetime(zone.clone()).date();
            Some(today.to_datetime(text.parse::<Time>().ok()?))
        })?;
        zone.to_timestamp(local).ok()
    });
    found.map(|moment| Stamp(moment.as_microsecond())).ok_or_else(|| {
        Failure::Input(format!(
            "expected a time, but found \"{text}\"; write it like 17:30, or 2026-05-16T17:30"
        ))
    })
}

#[cfg(test)]
mod tests {
    use super::moment;
    use crate::core::time::Stamp;

    #[test]
    fn a_moment_with_a_zone_is_that_moment_and_nonsense_is_named() {
        let noon = moment("2026-05-16T12:00:00Z", Stamp(0)).unwrap();
        assert_eq!(noon, Stamp(1_778_932_800_000_000));
        let message = moment("soon", Stamp(0)).unwrap_err();
        assert_eq!(
            message.message(),
            Some("expected a time, but found \"soon\"; write it like 17:30, or 2026-05-16T17:30")
        );
    }

    #[test]
    fn a_time_alone_is_of_today() {
        let now = moment("2026-05-16T12:00:00", Stamp(0)).unwrap();
        assert_eq!(moment("12:30", now).unwrap(), now + 1800.0);
    }
}
