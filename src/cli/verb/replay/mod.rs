//! `replay`: a recording through the same rules as live readings, without adapter or journal.

mod explained;
mod plots;

use crate::adapter::recording::Recording;
use crate::cli::account;
use crate::cli::args::Replay;
use crate::cli::contract::Line;
use crate::cli::files;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::core::event::Conclusion;
use crate::core::plan::Plan;
use crate::core::recheck;
use crate::core::tracker::Tracker;

/// Runs the verb.
///
/// # Errors
/// The plan or the recording cannot be used.
pub fn run(args: &Replay, printer: Printer) -> Result<Done, Failure> {
    let plan = files::plan(&args.plan, printer)?.plan;
    let plan = if args.recheck { recheck_of(&plan)? } else { plan };
    let recording = Recording::load(&args.recording)
        .map_err(|error| Failure::input("the recording cannot be used", &error))?;
    let converted = recording.convert();
    let mut problems = recording.problems;
    problems.extend(converted.problems);
    problems.sort_by_key(|problem| problem.line);
    for problem in &problems {
        printer.warning(format_args!("{}: {problem}", args.recording.display()));
    }
    let mut tracker = Tracker::new(plan);
    let mut standing = plots::Standing::new();
    for input in converted.inputs {
        for conclusion in tracker.step(input).conclusions {
            if let Conclusion::Verdict(verdict) = &conclusion {
                standing.insert((verdict.adapter.clone(), verdict.seq), verdict.clone());
            }
            if args.json {
                printer.json(&Line::from(&conclusion))?;
            } else {
                let at = match &conclusion {
                    Conclusion::Verdict(verdict) => verdict.at,
                    Conclusion::Warning(warning) => warning.at,
                };
                account::conclusion(printer, &account::elapsed(at.seconds()), &conclusion)?;
            }
        }
    }
    if let Some(folder) = &args.plot {
        plots::write(folder, tracker.plan(), &standing, &converted.shown, printer)?;
    }
    for seq in &args.explain {
        explained::show(&tracker, *seq, args.json, printer)?;
    }
    let summary = tracker.summary();
    if args.json {
        printer.json(&Line::from(&summary))?;
    } else {
        account::summary(printer, &summary)?;
    }
    Ok(if summary.complete { Done::Fine } else { Done::LeftOpen })
}

fn recheck_of(plan: &Plan) -> Result<Plan, Failure> {
    recheck::plan(plan).ok_or_else(|| {
        Failure::Input(
            "expected a plan that asks for a recheck, but found none; write `recheck = \"80 km\"` into it, or leave out \
             --recheck"
                .to_owned(),
        )
    })
}
