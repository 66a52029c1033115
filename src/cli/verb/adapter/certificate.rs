//! `adapter certificate`: what the laboratory wrote of an adapter, put on record.

use crate::cli::access::{make_journal, open_reader};
use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::core::certificate::{Certificate, EXAMPLE, Standing};
use crate::core::event::{Draft, Event};
use crate::core::time::Stamp;
use crate::daemon::clock;
use jiff::tz::TimeZone;
use std::path::Path;

/// What is asked.
pub(super) struct Wish<'a> {
    /// The file with what the certificate says.
    pub file: Option<&'a Path>,
    /// Show a certificate to be filled in.
    pub example: bool,
    /// One JSON object a line.
    pub json: bool,
}

/// Runs the verb.
///
/// # Errors
/// The certificate cannot be read or makes no sense, or the journal cannot be used.
pub(super) fn run(wish: &Wish<'_>, journal: &Path, printer: Printer) -> Result<Done, Failure> {
    if wish.example {
        printer.raw(EXAMPLE.as_bytes())?;
        return Ok(Done::Fine);
    }
    let Some(file) = wish.file else {
        return list(journal, wish.json, printer);
    };
    let text = files::certificate_text(file)?;
    let certificate = Certificate::parse(&text)
        .map_err(|error| Failure::Input(format!("{}: {error}", file.display())))?;
    let serial = certificate.serial.clone();
    let due = certificate.due;
    let event = Event::Certificate(Box::new(certificate));
    let draft = Draft { at: clock::now(), job: None, event, personal: Vec::new(), raw: None };
    make_journal(journal)?
        .append(vec![draft])
        .map_err(|error| Failure::failed("the certificate was not kept", &error))?;
    printer.line(format_args!("certificate of {serial} on record, due {due}"))?;
    Ok(Done::Fine)
}

fn list(journal: &Path, json: bool, printer: Printer) -> Result<Done, Failure> {
    let unreadable =
        |error: &dyn std::error::Error| Failure::failed("the journal cannot be read", error);
    let reader = open_reader(journal)?;
    let listed = reader.certificates_as_of(u64::MAX).map_err(|error| unreadable(&error))?;
    let today = today(clock::now());
    let mut none = true;
    for entry in listed.into_iter().flatten() {
        let Event::Certificate(certificate) = entry.event else { continue };
        none = false;
        if json {
            printer.json(&*certificate)?;
            continue;
        }
        let standing = today.map(|today| certificate.standing(today));
        let (tone, words) = match standing {
            Some(Standing::Overdue) => (Tone::Alarm, ", OVERDUE"),
            Some(Standing::Later) => (Tone::Alarm, ", dated in the future"),
            Some(Standing::Valid) | None => (Tone::Plain, ""),
        };
        let Certificate { serial, number, laboratory, date, due, .. } = &*certificate;
        printer.toned(
            tone,
            format_args!("{serial:<12} {date}, due {due}{words}  {number}, {laboratory}"),
        )?;
    }
    if none {
        printer.talk(
            "no certificate is on record; `clampbook adapter certificate --example` shows one",
        );
    }
    Ok(Done::Fine)
}

fn today(now: Stamp) -> Option<jiff::civil::Date> {
    let now = jiff::Timestamp::from_microsecond(now.0).ok()?;
    Some(now.to_zoned_datetime(TimeZone::system()).date())
}
