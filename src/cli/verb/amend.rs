//! `job correct`, `job erase`: what was said wrong, and what is no longer to be kept.

use crate::cli::access::{journal_path, open_journal};
use crate::cli::args::{CorrectArgs, EraseArgs, TextName};
use crate::cli::ask;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::core::event::{Draft, Entry, Event, JobId, PersonalField};
use crate::core::plan::{Vehicle, parse};
use crate::daemon::clock;
use crate::journal::{Journal, JournalError};
use std::path::Path;

/// Keeps what is right beside what was said. Nothing that was written is changed.
///
/// # Errors
/// There is no such job or entry, or the journal cannot be used.
pub fn correct(
    args: &CorrectArgs,
    journal: Option<&Path>,
    printer: Printer,
) -> Result<Done, Failure> {
    let mut journal = open_journal(&journal_path(journal)?)?;
    let job = JobId(args.job);
    let start = start_of(&journal, job)?.number;
    let entry = args.entry.unwrap_or(start);
    let kept = journal.reader().entry(entry).map_err(|error| unusable(&error))?;
    if kept.and_then(Result::ok).and_then(|entry| entry.job) != Some(job) {
        return Err(Failure::Input(format!(
            "expected an entry of job {}, but found that {entry} is none; the JSON report names them",
            args.job
        )));
    }
    let texts = [
        (PersonalField::Vehicle, start, &args.vehicle),
        (PersonalField::Vin, start, &args.vin),
        (PersonalField::Plate, start, &args.plate),
        (PersonalField::Operator, start, &args.operator),
        (PersonalField::Note, entry, &args.note),
    ];
    let drafts: Vec<Draft> = texts
        .into_iter()
        .filter_map(|(field, entry, text)| {
            Some(Draft {
                at: clock::now(),
                job: Some(job),
                event: Event::Corrected { entry, field },
                personal: vec![(field, text.clone()?)],
                raw: None,
            })
        })
        .collect();
    let count = drafts.len();
    journal.append(drafts).map_err(|error| Failure::failed("nothing was corrected", &error))?;
    let plural = if count == 1 { "" } else { "s" };
    printer.line(format_args!("{count} correction{plural} kept in job {}", args.job))?;
    printer.talk("what was said before stays on record, and the report shows both");
    Ok(Done::Fine)
}

/// Erases texts about a person or their vehicle. The chain stays whole.
///
/// # Errors
/// There is no such job, it was not agreed to, or the journal cannot be used.
pub fn erase(args: &EraseArgs, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let mut journal = open_journal(&journal_path(journal)?)?;
    let job = JobId(args.job);
    let start = start_of(&journal, job)?;
    let all = [
        TextName::Vehicle,
        TextName::Vin,
        TextName::Plate,
        TextName::Operator,
        TextName::Notes,
        TextName::Plan,
        TextName::Traces,
        TextName::Photos,
    ];
    let mut names = if args.only.is_empty() { all.to_vec() } else { args.only.clone() };
    if !names.contains(&TextName::Plan) && plan_says(&start, &names) {
        printer.talk("the plan's text says it, too, and goes with it");
        names.push(TextName::Plan);
    }
    let words: Vec<&str> = names.iter().map(|name| name.word()).collect();
    let words = words.join(", ");
    if !args.yes {
        if !ask::is_person() {
            return Err(Failure::Input(format!(
                "expected --yes, because nobody can be asked; it would erase for good: {words} of job {}",
                args.job
            )));
        }
        let question = format!("Erase for good: {words} of job {}?", args.job);
        if !ask::agrees(&question, printer)? {
            return Err(Failure::Input("nothing was erased".to_owned()));
        }
    }
    let fields: Vec<PersonalField> = names.iter().map(|name| field(*name)).collect();
    let erased = journal
        .erase(clock::now(), Some(job), &fields)
        .map_err(|error| Failure::failed("nothing was erased", &error))?;
    let plural = if erased.texts == 1 { "" } else { "s" };
    printer.line(format_args!("{} text{plural} of job {} erased", erased.texts, args.job))?;
    if !erased.wiped {
        printer.warning(
            "somebody reads the journal just now: the old octets go from the disk when the last reader has closed it",
        );
    }
    printer.talk(
        "copies, exports and reports made before still have them; erase or redact those as well",
    );
    Ok(Done::Fine)
}

fn field(name: TextName) -> PersonalField {
    match name {
        TextName::Vehicle => PersonalField::Vehicle,
        TextName::Vin => PersonalField::Vin,
        TextName::Plate => PersonalField::Plate,
        TextName::Operator => PersonalField::Operator,
        TextName::Notes => PersonalField::Note,
        TextName::Plan => PersonalField::PlanText,
        TextName::Traces => PersonalField::Trace,
        TextName::Photos => PersonalField::Photo,
    }
}

/// True if the plan's text, as it was kept when the job began, says one of these of the vehicle, or cannot be read any
/// more and may say it.
fn plan_says(start: &Entry, names: &[TextName]) -> bool {
    let mut texts = start.personal.iter().filter(|(field, _)| *field == PersonalField::PlanText);
    let Some(text) = texts.find_map(|(_, text)| text.as_deref()) else { return false };
    let says = parse(text).map(|file| file.vehicle);
    let is_said =
        |of: fn(&Vehicle) -> &Option<String>| says.as_ref().map_or(true, |one| of(one).is_some());
    names.iter().any(|name| match name {
        TextName::Vehicle => is_said(|one| &one.text),
        TextName::Vin => is_said(|one| &one.vin),
        TextName::Plate => is_said(|one| &one.plate),
        _ => false,
    })
}

/// The entry that a job begins with.
fn start_of(journal: &Journal, job: JobId) -> Result<Entry, Failure> {
    match journal.reader().started(job).map_err(|error| unusable(&error))? {
        Some(Ok(entry)) => Ok(entry),
        Some(Err(error)) => Err(Failure::failed("the job cannot be understood", &error)),
        None => Err(Failure::Input(format!(
            "expected a job of the journal, but found no job {}; see `clampbook job list`",
            job.0
        ))),
    }
}

fn unusable(error: &JournalError) -> Failure {
    Failure::failed("the journal cannot be used", error)
}
