//! `demo`: a whole job on simulated adapters, through exactly the code that real readings go through.

use crate::adapter::SourceSpec;
use crate::adapter::recording::{Item, Recording};
use crate::adapter::spec::{Faults, Pace, SimulatedSpec};
use crate::cli::access::{self, failure};
use crate::cli::account;
use crate::cli::args::Demo;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::cli::progress::Progress;
use crate::cli::put;
use crate::core::command::{Command, Done as Answered, Refusal};
use crate::core::event::{Conclusion, Summary};
use crate::core::language::Language;
use crate::core::time::Stamp;
use crate::daemon::engine::Engine;
use crate::daemon::sources::Source;
use crate::daemon::wake::{Outcome, Wake};
use crate::daemon::{self, Parts, clock};
use crate::report::{Extent, html, json};
use crate::web::{self, StartRequest};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

const PLAN: &str = include_str!("../../../samples/plans/first-corner.toml");
const RECORDING: &str = include_str!("../../../samples/recordings/second-evening.ndjson");

const JOURNAL: &str = "journal.sqlite";
const RECORDING_FILE: &str = "recording.ndjson";
const REPORT_HTML: &str = "report.html";
const REPORT_JSON: &str = "report.json";
/// About how long the demo takes if it is watched, seconds.
const WATCHED_S: f64 = 90.0;

/// Runs the verb.
///
/// # Errors
/// The folder cannot be used, or something in it cannot be written.
pub fn run(args: &Demo, printer: Printer) -> Result<Done, Failure> {
    make_room(&args.out)?;
    let file = |name: &str| args.out.join(name);
    write(&file(RECORDING_FILE), RECORDING)?;
    let recording = Recording::read(RECORDING.as_bytes());
    let length = recording.convert().inputs.last().map_or(0.0, |input| input.at.seconds());
    let times = (length / WATCHED_S).clamp(1.0, 10_000.0);
    let (pace, before) = match args.fast {
        true => (Pace::Fast, length),
        false => (Pace::Times(times), length - length / times),
    };
    let spec = SourceSpec::Simulated(SimulatedSpec {
        file: file(RECORDING_FILE),
        pace,
        seed: args.seed,
        faults: faults(args.seed),
    });
    let source = Source::prepare(&spec)
        .map_err(|error| Failure::failed("the demo's recording cannot be played", &error))?;
    let mut engine = access::open_engine(&file(JOURNAL))?;
    let start = web::start_job(StartRequest { plan: PLAN.to_owned(), vin: None, plate: None })
        .map_err(failure)?;
    let name = start.plan.name.clone();
    // The simulated adapters say what happens as if it ended when the demo ends.
    let started = clock::now() + -before;
    let job = match ask(&mut engine, started, Command::Start(Box::new(start)), |_| ()) {
        Ok(Answered::Started { job }) => job,
        Ok(_) => {
            return Err(Failure::Failed("the demo's job did not start".to_owned()));
        }
        Err(refusal) => return Err(Failure::failed("the demo's job did not start", &refusal)),
    };
    printer.line(format_args!("{name}, on two simulated adapters"))?;
    for line in &recording.lines {
        if let Item::Adapter { info, .. } = &line.item {
            let drive = info.drive.as_deref().unwrap_or("unknown drive");
            printer.line(format_args!("          adapter {} ({drive})", info.serial))?;
        }
    }
    let heard = recording.lines.iter().filter(|line| counts(&line.item)).count();
    let progress = Progress::bar(printer, heard as u64);
    let engine = play(engine, source, move |outcome| {
        progress.aside(|| tell(printer, started, outcome));
        progress.step(is_progress(outcome));
    })?;
    let summary = close(engine, printer, started)?;
    let report = web::report(&file(JOURNAL), job, clock::now()).map_err(failure)?;
    write(&file(REPORT_HTML), &html::render(&report, Extent::Full, Language::English))?;
    write(&file(REPORT_JSON), &json::render(&report))?;
    printer.line("")?;
    account::summary(printer, &summary)?;
    printer.line("")?;
    for name in [JOURNAL, REPORT_HTML, REPORT_JSON] {
        printer.line(file(name).display())?;
    }
    Ok(if summary.complete { Done::Fine } else { Done::LeftOpen })
}

/// What the progress counts of a recording: pulls and what the operator says.
fn counts(item: &Item) -> bool {
    matches!(item, Item::Reading { .. } | Item::Mark { .. })
}

/// The same as it is heard, each once.
fn is_progress(outcome: &Outcome) -> bool {
    match outcome {
        Outcome::Marked(..) => true,
        Outcome::Concluded(Conclusion::Verdict(verdict)) => !verdict.revised,
        _ => false,
    }
}

/// What goes wrong on the radio: readings come twice, late, or have to be fetched; with every other
/// seed links are lost, too. None is lost for good.
fn faults(seed: u64) -> Faults {
    Faults { drop: seed.is_multiple_of(2), double: true, delay: true, skip: true, gap: false }
}

/// Lets the simulated adapters and their operator speak until they have nothing more to say.
fn play(
    engine: Engine,
    source: Source,
    observer: impl FnMut(&Outcome) + Send + 'static,
) -> Result<Engine, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::failed("the runtime cannot start", &error))?;
    runtime
        .block_on(async {
            let parts = Parts {
                engine,
                sources: vec![source],
                door: None,
                speaker: None,
                observer: Box::new(observer),
                clock: clock::reader(),
                ends_with_sources: true,
            };
            let interrupted = async {
                if tokio::signal::ctrl_c().await.is_err() {
                    std::future::pending::<()>().await;
                }
            };
            daemon::run(parts, interrupted).await
        })
        .map_err(|error| Failure::failed("the demo cannot run", &error))
}

/// Closes the job as a person would: first without a reason, which names what is open.
fn close(mut engine: Engine, printer: Printer, started: Stamp) -> Result<Summary, Failure> {
    let mut open_reason = None;
    loop {
        let command = Command::Close { open_reason: open_reason.clone() };
        match ask(&mut engine, clock::now(), command, |outcome| tell(printer, started, outcome)) {
            Ok(Answered::Closed { summary, .. }) => return Ok(summary),
            Err(Refusal::StillOpen { open }) if open_reason.is_none() => {
                // Told as the rest of the account; the files are written all the same.
                let _ = printer.toned(
                    Tone::Alarm,
                    format_args!("The job cannot be closed as done: {} open.", open.join(", ")),
                );
                open_reason = Some("end of the demo".to_owned());
            }
            Ok(_) => {
                return Err(Failure::Failed("the demo's job did not close".to_owned()));
            }
            Err(refusal) => return Err(Failure::failed("the demo's job did not close", &refusal)),
        }
    }
}

fn ask(
    engine: &mut Engine,
    at: Stamp,
    command: Command,
    mut tell: impl FnMut(&Outcome),
) -> Result<Answered, Refusal> {
    let mut answered = None;
    for outcome in engine.handle(Wake::Asked(at, command, None)) {
        tell(&outcome);
        if let Outcome::Answer(answer) = outcome {
            answered = Some(answer);
        }
    }
    answered.expect("every command is answered; this is a bug")
}

/// A line for whatever a person standing beside would notice.
fn tell(printer: Printer, started: Stamp, outcome: &Outcome) {
    // That nobody reads the account must not keep the files from being written.
    let _ = match outcome {
        Outcome::Concluded(conclusion) => {
            let at = match conclusion {
                Conclusion::Verdict(verdict) => verdict.at,
                Conclusion::Warning(warning) => warning.at,
            };
            account::conclusion(printer, &account::elapsed(at - started), conclusion)
        }
        Outcome::Marked(at, say) => printer.line(format_args!(
            "{:>8}  {}",
            account::elapsed(*at - started),
            account::said_line(say)
        )),
        Outcome::NotKept(trouble) | Outcome::Refused(trouble) | Outcome::Trouble(trouble) => {
            printer.warning(trouble);
            Ok(())
        }
        Outcome::Kept
        | Outcome::Again(_)
        | Outcome::Loose(_)
        | Outcome::Help(..)
        | Outcome::NothingAsked(_)
        | Outcome::Cue(..)
        | Outcome::Answer(_)
        | Outcome::WakeAt(_) => Ok(()),
    };
}

/// Makes the folder, or clears away what an earlier demo left in it. Anything else is left alone.
fn make_room(folder: &Path) -> Result<(), Failure> {
    let unusable = |error: &io::Error| {
        Failure::Failed(format!(
            "expected a folder that can be written to at {}, but found: {error}; name another one with --out",
            folder.display()
        ))
    };
    fs::create_dir_all(folder).map_err(|error| unusable(&error))?;
    let mut ours: Vec<PathBuf> = Vec::new();
    for entry in fs::read_dir(folder).map_err(|error| unusable(&error))? {
        let entry = entry.map_err(|error| unusable(&error))?;
        let name = entry.file_name();
        let name = name.to_string_lossy();
        let known = [RECORDING_FILE, REPORT_HTML, REPORT_JSON].contains(&&*name)
            || name.strip_prefix(JOURNAL).is_some_and(|rest| {
                rest.is_empty() || rest.starts_with('-') || rest.starts_with('.')
            });
        if !known {
            return Err(Failure::Input(format!(
                "expected {} to be empty or left by an earlier demo, but found {name} in it; name another folder with --out",
                folder.display()
            )));
        }
        ours.push(entry.path());
    }
    for path in ours {
        fs::remove_file(&path).map_err(|error| unusable(&error))?;
    }
    Ok(())
}

fn write(file: &Path, text: &str) -> Result<(), Failure> {
    put::put(file, text.as_bytes())
}
