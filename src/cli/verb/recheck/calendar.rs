//! What is to be pulled again, as a calendar (RFC 5545): a day each.

use crate::cli::verb::recheck::{Row, State, when};
use crate::report::visible::one_line;
use chrono::{DateTime, NaiveDate};
use icalendar::{Calendar, Component, Event, EventLike, Property};

/// The calendar. What is done is left out; what has no date stands on the day to remember it by.
pub(super) fn text(rows: &[Row]) -> String {
    let mut calendar = Calendar::empty();
    for (name, value) in
        [("VERSION", "2.0"), ("PRODID", "-//Clampbook//Clampbook//EN"), ("CALSCALE", "GREGORIAN")]
    {
        calendar.append_property(Property::new(name, value));
    }
    calendar.name("Clampbook: pull again");
    for row in rows.iter().filter(|row| row.state != State::Done) {
        calendar.extend(event(row));
    }
    calendar.done().to_string()
}

fn title(row: &Row) -> &'static str {
    if row.by.is_some() { "Pull again" } else { "Reminder to pull again" }
}

fn event(row: &Row) -> Option<Event> {
    let by = row.by.or(row.reminder)?;
    let (month, day) = (u32::try_from(by.month()).ok()?, u32::try_from(by.day()).ok()?);
    let day = NaiveDate::from_ymd_opt(by.year().into(), month, day)?;
    let about = one_line(row.vehicle.as_deref().unwrap_or(&row.plan));
    let group = one_line(&row.group);
    let made = DateTime::from_timestamp_micros(row.closed.0)?;
    let event = Event::new()
        .uid(&format!("{}-{group}@clampbook", one_line(&row.uuid)))
        .timestamp(made)
        // Without an end it is the whole of that day (RFC 5545, 3.6.1).
        .starts(day)
        .summary(&format!("{}: {group}, {about}", title(row)))
        .description(&format!(
            "{}. {} Start it: clampbook job start --recheck {}",
            when(row),
            row.how,
            row.job
        ))
        .done();
    Some(event)
}

#[cfg(test)]
mod tests {
    use super::{one_line, text};
    use crate::cli::verb::recheck::{Row, State};
    use crate::core::time::Stamp;
    use ical::IcalParser;
    use jiff::civil::date;

    fn row(hostile: &str) -> Row {
        Row {
            job: 1,
            group: hostile.to_owned(),
            state: State::Due,
            by: Some(date(2031, 3, 14)),
            reminder: None,
            km: None,
            in_plan: true,
            recheck_job: None,
            plan: hostile.to_owned(),
            vehicle: Some(hostile.to_owned()),
            uuid: hostile.to_owned(),
            closed: Stamp(0),
            how: one_line(hostile),
            days: None,
        }
    }

    #[test]
    fn hostile_text_stays_in_its_line_and_is_read_as_it_was_by_another_program() {
        let long = "ñ".repeat(10_240);
        let cases = [
            "a\r\nEND:VEVENT\r\nBEGIN:VALARM",
            "a\nATTENDEE:mailto:x",
            "a,b;c:d\\e\"f",
            "\\n\\,",
            "=HYPERLINK(\"x\")",
            "@SUM(1)",
            "pin\u{202e}gnp.exe\u{200b}\u{0}",
            "<script>alert(1)</script>",
            "\u{1b}]0;title\u{7}\u{9b}2J\u{2028}\u{2029}",
            &long,
        ];
        for hostile in cases {
            let written = text(&[row(hostile), Row { state: State::Done, ..row("done") }]);
            assert!(written.split("\r\n").all(|line| line.len() <= 75), "{hostile:?}");
            let acts = |c: char| {
                (c.is_control() && !"\r\n".contains(c)) || ('\u{202a}'..='\u{202e}').contains(&c)
            };
            assert!(!written.contains(acts), "{written:?}");
            assert!(!written.replace("\r\n", "").contains(['\r', '\n']), "{written:?}");
            let mut read = IcalParser::new(written.as_bytes());
            let calendar = read.next().unwrap().unwrap();
            assert!(read.next().is_none(), "{hostile:?}");
            let names: Vec<_> =
                calendar.events[0].properties.iter().map(|one| one.name.as_str()).collect();
            let known = ["DESCRIPTION", "DTSTAMP", "DTSTART", "SUMMARY", "UID"];
            assert_eq!((calendar.events.len(), names), (1, known.to_vec()), "{hostile:?}");
            assert!(calendar.events[0].alarms.is_empty() && calendar.alarms.is_empty());
        }
        let told = text(&[row(&long)]).replace("\r\n ", "");
        assert!(
            told.contains(&format!("SUMMARY:Pull again: {long}, {long}").replace(", ", "\\, "))
        );
    }
}
