//! `plan new`: a plan to start from, with values typed or pasted and read back.

use crate::cli::access::Access;
use crate::cli::args::{PlanNew, SideName};
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::put;
use crate::cli::{ask, files};
use crate::core::event::{Event, JobId, PersonalField};
use crate::core::plan::{self, Made, SKELETONS, Severity, Side, Skeleton, TypedLine, Wishes};
use crate::journal::Reader;
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// There is nothing to start from, a value cannot be read, or the plan cannot be written.
pub fn run(new: &PlanNew, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    if new.list {
        let width = SKELETONS.iter().map(|skeleton| skeleton.name.len()).max().unwrap_or(0);
        for skeleton in SKELETONS {
            printer.line(format_args!("{:<width$}  {}", skeleton.name, skeleton.about()))?;
        }
        return Ok(Done::Fine);
    }
    let base = match (&new.like, new.from) {
        (Some(name), _) => {
            let skeleton =
                Skeleton::find(name).map_err(|error| Failure::Input(error.to_string()))?;
            skeleton.text.to_owned()
        }
        (None, Some(job)) => plan_of(JobId(job), journal)?,
        (None, None) => {
            write(new, plan::starter(), printer)?;
            printer.talk("put in your own joints and values, then: clampbook plan check FILE");
            return Ok(Done::Fine);
        }
    };
    let mut wishes = Wishes {
        side: new.mirror.map(|side| match side {
            SideName::Left => Side::Left,
            SideName::Right => Side::Right,
        }),
        vehicle: new.vehicle.clone(),
        source: new.source.clone(),
        tolerance: new.tolerance.clone(),
        without: new.without.clone(),
        values: Vec::new(),
    };
    let set =
        new.set.iter().map(|text| TypedLine { place: "--set".to_owned(), text: text.clone() });
    wishes.values.extend(set);
    if let Some(file) = &new.values {
        let typed = typed(file, &base, &wishes, printer)?;
        wishes.values.extend(typed);
    }
    let made = make(&base, &wishes, printer)?;
    confirm(new, &wishes, &made, printer)?;
    write(new, &made.text, printer)?;
    printer.talk("look through it once, then: clampbook job start FILE");
    Ok(Done::Fine)
}

/// The lines of the file, or what is typed now.
fn typed(
    file: &Path,
    base: &str,
    wishes: &Wishes,
    printer: Printer,
) -> Result<Vec<TypedLine>, Failure> {
    if file != Path::new("-") {
        let text = files::values_text(file)?;
        return Ok(plan::typed_lines(&file.display().to_string(), &text));
    }
    if !ask::is_person() {
        return Ok(plan::typed_lines("standard input", &ask::list()?));
    }
    // What is wrong with the rest of the wishes is said before anybody types.
    let made = make(base, wishes, printer)?;
    printer.talk(plan::read_back(&made.file.plan).trim_end());
    printer.talk(
        "one joint and its value a line, like `hub-nut 228 N·m`; a line with only a dot ends",
    );
    let mut wishes = wishes.clone();
    let given = wishes.values.len();
    for round in 1_u32.. {
        let before = wishes.values.len();
        let lines = plan::typed_lines(&format!("typed {round}"), &ask::list()?);
        wishes.values.extend(lines);
        let Err(problems) = plan::make(base, &wishes) else { break };
        for problem in &problems {
            printer.plain_error(problem);
        }
        let sound = |line: &TypedLine| problems.iter().all(|problem| problem.place != line.place);
        if wishes.values[before..].iter().all(sound) {
            return Err(Failure::InputReported);
        }
        wishes.values.retain(sound);
        printer.talk("the other lines are kept; type these again, then a line with only a dot");
    }
    Ok(wishes.values.split_off(given))
}

fn make(base: &str, wishes: &Wishes, printer: Printer) -> Result<Made, Failure> {
    plan::make(base, wishes).map_err(|problems| {
        for problem in problems {
            printer.plain_error(problem);
        }
        Failure::InputReported
    })
}

/// Reads the values back. A person says whether that is what was meant; a script has said so already.
fn confirm(new: &PlanNew, wishes: &Wishes, made: &Made, printer: Printer) -> Result<(), Failure> {
    for remark in &made.remarks {
        printer.warning(remark);
    }
    for fault in made.file.faults.iter().filter(|fault| fault.severity == Severity::Warning) {
        printer.warning(format_args!("{}; {}", fault.message, fault.remedy));
    }
    let read_back = plan::read_back(&made.file.plan);
    let asked = !new.yes && ask::is_person() && !wishes.values.is_empty();
    if !asked {
        if !wishes.values.is_empty() || new.from.is_some() {
            printer.talk(read_back.trim_end());
        }
        return Ok(());
    }
    if ask::agrees(&format!("{read_back}Is every value as your source says?"), printer)? {
        Ok(())
    } else {
        Err(Failure::Failed(
            "nothing was written, because the values were not confirmed; correct them and run it again"
                .to_owned(),
        ))
    }
}

fn write(new: &PlanNew, text: &str, printer: Printer) -> Result<(), Failure> {
    match &new.out {
        None => Ok(printer.raw(text.as_bytes())?),
        Some(path) => {
            put::put_new(path, text, new.force)?;
            Ok(printer.line(path.display())?)
        }
    }
}

/// The text of the plan that a job was started from.
fn plan_of(job: JobId, journal: Option<&Path>) -> Result<String, Failure> {
    let access = Access::find(journal)?;
    access.check_readable()?;
    let unreadable =
        |error: &dyn std::error::Error| Failure::failed("the journal cannot be used", error);
    let reader = Reader::open(access.journal()).map_err(|error| unreadable(&error))?;
    for entry in reader.entries_of_job(job).map_err(|error| unreadable(&error))? {
        let entry = entry.map_err(|error| unreadable(&error))?;
        if !matches!(entry.event, Event::JobStarted { .. }) {
            continue;
        }
        let text = entry.personal.into_iter().find(|(field, _)| *field == PersonalField::PlanText);
        return match text {
            Some((_, Some(text))) => Ok(text),
            Some((_, None)) => Err(Failure::Input(format!(
                "expected the plan of job {}, but found that its text was erased; start from a skeleton or from the plan file",
                job.0
            ))),
            None => Err(Failure::Input(format!(
                "expected the plan of job {}, but found that it was kept without its text; start from a skeleton or from the plan file",
                job.0
            ))),
        };
    }
    Err(Failure::Input(format!(
        "expected a job of the journal, but found no job {}; `clampbook job list` names them",
        job.0
    )))
}
