//! The command line: what was typed becomes a verb, a verb becomes output and an exit status.
//!
//! Guarantees: standard output is data, standard error is talk; one printer; one exit status for one
//! kind of end (0 fine, 1 failed, 2 bad usage or input, 3 something is left open).

mod access;
mod account;
mod args;
mod ask;
mod contract;
mod files;
mod keys;
mod logs;
mod outcome;
mod printer;
mod progress;
mod put;
mod qr;
mod remote;
mod verb;

use crate::cli::args::{Args, Verb};
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use clap::FromArgMatches;
use std::ffi::OsString;
use std::process::ExitCode;

/// Does what was typed.
pub fn main(typed: impl IntoIterator<Item = OsString>) -> ExitCode {
    let parsed = args::command()
        .try_get_matches_from(typed)
        .and_then(|matches| Args::from_arg_matches(&matches));
    let args = match parsed {
        Ok(args) => args,
        Err(error) => {
            // If nobody reads the usage any more, the status still tells.
            let _ = Printer::new(false).usage(&error);
            return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
        }
    };
    let printer = Printer::new(args.quiet);
    let result = run(&args, printer);
    if let Err(failure) = &result
        && let Some(message) = failure.message()
    {
        printer.error(message);
    }
    outcome::exit_code(&result)
}

fn run(args: &Args, printer: Printer) -> Result<Done, Failure> {
    let journal = args.journal.as_deref();
    let Some(verb) = &args.verb else {
        return verb::next::run(journal, printer);
    };
    match verb {
        Verb::Serve(serve) => verb::serve::run(serve, journal, printer),
        Verb::Page(page) => verb::page::run(page, journal, printer),
        Verb::Adapter(adapter) => verb::adapter::run(adapter, journal, printer),
        Verb::Plan(plan) => verb::plan::run(plan, journal, printer),
        Verb::Job(job) => verb::job::run(job, journal, printer),
        Verb::Typed(typed) => verb::typed::run(typed, journal, printer),
        Verb::Record(record) => verb::record::run(record, journal, printer),
        Verb::Replay(replay) => verb::replay::run(replay, printer),
        Verb::Report(report) => verb::report::run(report, journal, printer),
        Verb::Audit(audit) => verb::audit::run(audit, journal, printer),
        Verb::Backup(backup) => verb::backup::run(backup, journal, printer),
        Verb::Export(export) => verb::export::run(export, journal, printer),
        Verb::Import(import) => verb::import::run(import, journal, printer),
        Verb::Recheck(recheck) => verb::recheck::run(recheck, journal, printer),
        Verb::Doctor(doctor) => verb::doctor::run(doctor, journal, printer),
        Verb::Demo(demo) => verb::demo::run(demo, printer),
        Verb::Help { words } => verb::help::run(words, printer),
        Verb::Completions { shell } => verb::help::completions(*shell, printer),
        Verb::Man { dir } => verb::help::manual(dir, printer),
    }
}
