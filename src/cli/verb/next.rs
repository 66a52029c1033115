//! `clampbook` alone: what to do next, in a few lines.

use crate::cli::access::{self, Access};
use crate::cli::args;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::verb::job::next_line;
use crate::cli::verb::recheck;
use crate::daemon::config::Config;
use crate::report::visible::visible;
use crate::web::{JobRow, JobState};
use std::fmt::Write as _;
use std::path::Path;

/// Names of open fasteners that are listed; more are counted.
const LISTED: usize = 6;

/// What there is to advise on.
#[derive(Debug, Default)]
struct Standing {
    adapters: usize,
    listening: bool,
    jobs: Vec<JobRow>,
    under_way: Option<JobState>,
    overdue: Vec<String>,
}

/// Runs the verb.
///
/// # Errors
/// Nobody reads it in a terminal: then it is the usage. Or the journal cannot be read.
pub fn run(journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    if !printer.is_watched() {
        printer.plain_error(args::command().render_help().to_string().trim_end());
        return Err(Failure::InputReported);
    }
    printer.raw(visible(&advice(&standing(journal)?)).as_bytes())?;
    Ok(Done::Fine)
}

fn standing(named: Option<&Path>) -> Result<Standing, Failure> {
    let journal = access::journal_path(named)?;
    let adapters = Config::load(&journal)
        .map_err(|error| Failure::input("the kept adapters cannot be used", &error))?
        .adapters
        .len();
    if !journal.exists() {
        return Ok(Standing { adapters, ..Standing::default() });
    }
    let access = Access::find(named)?;
    let jobs = access.jobs()?;
    let under_way = match jobs.iter().find(|row| row.is_under_way()) {
        Some(row) => Some(access.job(crate::core::event::JobId(row.job))?),
        None => None,
    };
    let overdue = recheck::overdue(&access);
    Ok(Standing { adapters, listening: access.has_daemon(), jobs, under_way, overdue })
}

fn advice(standing: &Standing) -> String {
    let mut text = String::new();
    let mut line = |words: String| {
        let _ = writeln!(text, "{words}");
    };
    match &standing.under_way {
        Some(state) => {
            let plan = state.job.plan.as_deref().unwrap_or("its plan is not understood");
            line(format!("Job {} is under way: {plan}.", state.job.job));
            line(next_line(state.snapshot.next.as_ref()));
            let open = &state.summary.open;
            if open.is_empty() {
                line("Nothing is open: clampbook job close".to_owned());
            } else {
                let more = match open.len().saturating_sub(LISTED) {
                    0 => String::new(),
                    more => format!(" and {more} more"),
                };
                let listed: Vec<&str> = open.iter().take(LISTED).map(String::as_str).collect();
                line(format!("open: {}{more}", listed.join(", ")));
            }
        }
        None => {
            let parked: Vec<&JobRow> = standing.jobs.iter().filter(|row| row.is_parked()).collect();
            for row in &parked {
                let plan = row.plan.as_deref().unwrap_or("its plan is not understood");
                line(format!(
                    "Job {} is parked: {plan}. Go on with it: clampbook job resume {}",
                    row.job, row.job
                ));
            }
            if parked.is_empty() {
                line("No job is under way.".to_owned());
            }
            standing.overdue.iter().for_each(|late| line(late.clone()));
            line(
                "Wheels only, no file:  clampbook job wheels --studs 5 --target \"120 N·m\""
                    .to_owned(),
            );
            line("Anything else:         clampbook plan new > corner.toml, then clampbook job start corner.toml".to_owned());
            if standing.jobs.is_empty() {
                line("See how it works:      clampbook demo --fast".to_owned());
            }
        }
    }
    match (standing.listening, standing.adapters) {
        (true, _) => {}
        (false, 0) => line(
            "No adapter is kept: clampbook adapter add; without any, type the values: clampbook typed"
                .to_owned(),
        ),
        (false, _) => {
            line("Nobody listens to your adapter: clampbook serve, in a second terminal".to_owned())
        }
    }
    line("All verbs: clampbook help more".to_owned());
    text
}

#[cfg(test)]
mod tests {
    use super::{Standing, advice};
    use crate::core::command::StartJob;
    use crate::core::tracker::Tracker;
    use crate::web::{JobRow, JobState};

    const PLAN: &str = "plan = \"Corner\"\n[joints]\nhub-nut = \"228 N·m\"\narm = \"90 N·m\"\n";

    fn row(job: u32, parked: bool) -> JobRow {
        JobRow {
            job,
            plan: Some("Corner".to_owned()),
            started: String::new(),
            closed: None,
            parked: parked.then(String::new),
            complete: None,
            readings: 0,
            warnings: 0,
            said_by: Vec::new(),
        }
    }

    fn under_way() -> JobState {
        let tracker = Tracker::new(StartJob::new(PLAN.to_owned(), [0; 16]).unwrap().plan);
        JobState {
            job: row(1, false),
            open_reason: None,
            summary: tracker.summary(),
            snapshot: tracker.snapshot(),
        }
    }

    #[track_caller]
    fn check(standing: &Standing, expected: &str) {
        assert_eq!(advice(standing), expected);
    }

    #[test]
    fn whoever_has_nothing_yet_is_shown_where_to_begin() {
        check(
            &Standing::default(),
            "No job is under way.\n\
             Wheels only, no file:  clampbook job wheels --studs 5 --target \"120 N·m\"\n\
             Anything else:         clampbook plan new > corner.toml, then clampbook job start corner.toml\n\
             See how it works:      clampbook demo --fast\n\
             No adapter is kept: clampbook adapter add; without any, type the values: clampbook typed\n\
             All verbs: clampbook help more\n",
        );
    }

    #[test]
    fn a_job_under_way_is_told_with_what_is_next_and_open() {
        let standing = Standing {
            adapters: 1,
            listening: true,
            jobs: vec![row(1, false)],
            under_way: Some(under_way()),
            overdue: Vec::new(),
        };
        check(
            &standing,
            "Job 1 is under way: Corner.\n\
             next: hub-nut/1, pass 1 of 1: 228 N·m (205.2–250.8 N·m)\n\
             open: hub-nut/1, arm/1\n\
             All verbs: clampbook help more\n",
        );
    }

    #[test]
    fn a_parked_job_is_offered_first() {
        let standing = Standing { adapters: 1, jobs: vec![row(3, true)], ..Standing::default() };
        check(
            &standing,
            "Job 3 is parked: Corner. Go on with it: clampbook job resume 3\n\
             Wheels only, no file:  clampbook job wheels --studs 5 --target \"120 N·m\"\n\
             Anything else:         clampbook plan new > corner.toml, then clampbook job start corner.toml\n\
             Nobody listens to your adapter: clampbook serve, in a second terminal\n\
             All verbs: clampbook help more\n",
        );
    }
}
