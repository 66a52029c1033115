//! What is to be pulled again, as a calendar (RFC 5545): a day each.

use crate::cli::verb::recheck::{Row, State, when};
use crate::report::visible::one_line;
use chrono::{DateTime, NaiveDate};
use icalendar::{Calendar, Component, Event, EventLike, Property};

/// The calendar. What has no date, or is done, is left out.
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

fn event(row: &Row) -> Option<Event> {
    let by = row.by?;
    let (month, day) = (u32::try_from(by.month()).ok()?, u32::try_from(by.day()).ok()?);
    let day = NaiveDate::from_ymd_opt(by.year().into(), month, day)?;
    let about = one_line(row.vehicle.as_deref().unwrap_or(&row.plan));
    let group = one_line(&row.group);
    let made = DateTime::from_timestamp_micros(row.closed.0)?;
    let event = Event::new()
        .uid(&format!("{}-{group}@clampbook", row.uuid))
        .timestamp(made)
        // Without an end it is the whole of that day (RFC 5545, 3.6.1).
        .starts(day)
        .summary(&format!("Pull again: {group}, {about}"))
        .description(&format!(
            "{}. {} Start it: clampbook job start --recheck {}",
            when(row),
            row.how,
            row.job
        ))
        .done();
    Some(event)
}
