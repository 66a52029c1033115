//! What is to be pulled again, as a calendar (RFC 5545): a day each.

use crate::cli::verb::recheck::{Row, State, words};
use crate::core::language::Language;
use crate::report::visible::one_line;
use chrono::{DateTime, NaiveDate};
use icalendar::{Calendar, Component, Event, EventLike, Property};

/// The calendar. What is done is left out; what has no date stands on the day to remember it by.
pub(super) fn text(rows: &[Row], language: Language) -> String {
    let mut calendar = Calendar::empty();
    let product = format!("-//Clampbook//Clampbook//{}", language.code().to_uppercase());
    for (name, value) in [("VERSION", "2.0"), ("PRODID", &product), ("CALSCALE", "GREGORIAN")] {
        calendar.append_property(Property::new(name, value));
    }
    calendar.name(&words::say(language, "calendar", &[]));
    for row in rows.iter().filter(|row| row.state != State::Done) {
        calendar.extend(event(row, language));
    }
    calendar.done().to_string()
}

fn event(row: &Row, language: Language) -> Option<Event> {
    let by = row.by.or(row.reminder)?;
    let (month, day) = (u32::try_from(by.month()).ok()?, u32::try_from(by.day()).ok()?);
    let day = NaiveDate::from_ymd_opt(by.year().into(), month, day)?;
    let about = one_line(row.vehicle.as_deref().unwrap_or(&row.plan));
    let group = one_line(&row.group);
    let title = if row.by.is_some() { "title" } else { "title-reminder" };
    let command = format!("clampbook job start --recheck {}", row.job);
    let start = words::say(language, "start", &[("command", &command)]);
    let made = DateTime::from_timestamp_micros(row.closed.0)?;
    let event = Event::new()
        .uid(&format!("{}-{group}@clampbook", one_line(&row.uuid)))
        .timestamp(made)
        // Without an end it is the whole of that day (RFC 5545, 3.6.1).
        .starts(day)
        .summary(&words::say(language, title, &[("group", &group), ("about", &about)]))
        .description(&format!(
            "{}. {} {start}",
            words::when(row, language),
            words::how(row, language)
        ))
        .done();
    Some(event)
}

#[cfg(test)]
mod tests {
    use super::text;
    use crate::cli::verb::recheck::{Row, State};
    use crate::core::language::Language;
    use crate::core::plan::RecheckMethod;
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
            is_wheel: true,
            method: RecheckMethod::PullToTorque,
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
            let rows = [row(hostile), Row { state: State::Done, ..row("done") }];
            let written = text(&rows, Language::English);
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
        let told = text(&[row(&long)], Language::English).replace("\r\n ", "");
        assert!(
            told.contains(&format!("SUMMARY:Pull again: {long}, {long}").replace(", ", "\\, "))
        );
    }

    #[test]
    fn a_reminder_is_told_in_the_language_of_whoever_reads_it() {
        let reminded =
            Row { by: None, reminder: Some(date(2031, 3, 14)), km: Some(80.5), ..row("wheel") };
        let told = Language::ALL.map(|language| {
            let text = text(std::slice::from_ref(&reminded), language).replace("\r\n ", "");
            let line =
                |name: &str| text.lines().find(|line| line.starts_with(name)).map(str::to_owned);
            [line("SUMMARY"), line("DESCRIPTION")].map(Option::unwrap)
        });
        let expected = [
            [
                "SUMMARY:Reminder to pull again: wheel\\, wheel",
                "DESCRIPTION:after 80.5 km\\; reminder 2031-03-14 (date by Clampbook\\, the distance counts). The wheel \
                 cold. Pull it to its final torque as it stands\\, never slacken it first. Start it: clampbook job start \
                 --recheck 1",
            ],
            [
                "SUMMARY:Erinnerung an die Nachkontrolle: wheel\\, wheel",
                "DESCRIPTION:nach 80\\,5 km\\; Erinnerung am 2031-03-14 (Tag von Clampbook\\, es zählt die Strecke). Das \
                 Rad kalt. So wie es ist auf das Enddrehmoment ziehen\\, nie vorher lösen. Beginnen mit: clampbook job \
                 start --recheck 1",
            ],
            [
                "SUMMARY:Recordatorio de reapriete: wheel\\, wheel",
                "DESCRIPTION:tras 80\\,5 km\\; recordatorio el 2031-03-14 (fecha de Clampbook\\, cuenta la distancia). La \
                 rueda en frío. Apretar tal como está hasta su par final\\, sin aflojar nunca antes. Para empezar: \
                 clampbook job start --recheck 1",
            ],
            [
                "SUMMARY:Rappel de resserrage de contrôle : wheel\\, wheel",
                "DESCRIPTION:après 80\\,5 km ; rappel le 2031-03-14 (date de Clampbook\\, c’est la distance qui compte). La \
                 roue froide. Serrer en l’état au couple final\\, ne jamais desserrer avant. Pour commencer : clampbook \
                 job start --recheck 1",
            ],
        ];
        let expected = expected.map(|lines| lines.map(|line| line.replace("km ;", "km \\;")));
        assert_eq!(told, expected);
    }
}
