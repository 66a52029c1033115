//! `doctor`: looks through everything that must work, and says what to do about what does not.

use crate::adapter::ble::{self, Bond, Survey};
use crate::adapter::{Cause, Side};
use crate::cli::access;
use crate::cli::args::Doctor;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::cli::remote::Remote;
use crate::core::live::Live;
use crate::core::time::Stamp;
use crate::daemon::clock;
use crate::daemon::config::{Config, Kept};
use crate::journal::{Journal, JournalError, Reader};
use jiff::Timestamp;
use serde::Serialize;
use std::path::Path;

/// Before this the program did not exist: 2026-01-01T00:00:00Z, seconds since the Unix epoch.
const BEGINNING_S: f64 = 1_767_225_600.0;
/// No computer that is used for work shows a time so late: 2100-01-01T00:00:00Z.
const END_S: f64 = 4_102_444_800.0;

/// How one thing was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
enum State {
    /// As it should be.
    Ok,
    /// Worth knowing, not wrong.
    Note,
    /// Wrong.
    Fault,
}

/// One thing that was looked at.
#[derive(Debug, Serialize)]
struct Check {
    check: &'static str,
    state: State,
    found: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    next_step: String,
}

#[derive(Serialize)]
struct Report<'a> {
    well: bool,
    checks: &'a [Check],
}

impl Check {
    fn new(check: &'static str, state: State, found: impl Into<String>) -> Self {
        Self { check, state, found: found.into(), next_step: String::new() }
    }

    fn fault(check: &'static str, found: impl Into<String>, next_step: impl Into<String>) -> Self {
        Self { next_step: next_step.into(), ..Self::new(check, State::Fault, found) }
    }

    fn cause(check: &'static str, cause: &Cause, adapter: Option<&str>) -> Self {
        let trouble = cause.trouble(adapter);
        let about = trouble.adapter.map_or_else(String::new, |adapter| format!("{adapter} "));
        Self::fault(check, format!("{about}{}", trouble.message), trouble.next_step)
    }
}

/// Runs the verb.
///
/// # Errors
/// Something is wrong, or the report cannot be written.
pub fn run(args: &Doctor, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let path = access::journal_path(journal)?;
    let now = clock::now();
    let daemon = Remote::find(&path);
    let mut checks = vec![version()];
    checks.extend(clock_checks(now, &path));
    checks.extend(journal_checks(&path, daemon.is_some()));
    let (config, config_check) = kept(&path);
    checks.push(config_check);
    checks.extend(bluetooth_checks(&config.added)?);
    if let Some(daemon) = &daemon {
        checks.extend(daemon_checks(&daemon.get("/v1/state")?));
    }
    let faults = checks.iter().filter(|check| check.state == State::Fault).count();
    if args.json {
        printer.json(&Report { well: faults == 0, checks: &checks })?;
    } else {
        for check in &checks {
            let (mark, tone) = match check.state {
                State::Ok => ("ok", Tone::Good),
                State::Note => ("note", Tone::Plain),
                State::Fault => ("FAULT", Tone::Alarm),
            };
            printer.toned(tone, format_args!("{mark:<5}  {:<10}  {}", check.check, check.found))?;
            if !check.next_step.is_empty() {
                printer.line(format_args!("{:<5}  {:<10}  -> {}", "", "", check.next_step))?;
            }
        }
    }
    match faults {
        0 => Ok(Done::Fine),
        1 => Err(Failure::Failed("expected everything to work, but found 1 fault".to_owned())),
        n => Err(Failure::Failed(format!("expected everything to work, but found {n} faults"))),
    }
}

fn version() -> Check {
    let system = std::env::consts::OS;
    let machine = std::env::consts::ARCH;
    let found = format!("clampbook {} on {system} {machine}", env!("CARGO_PKG_VERSION"));
    Check::new("version", State::Ok, found)
}

fn clock_checks(now: Stamp, journal: &Path) -> Vec<Check> {
    let set = "set the computer's clock, or let it be set over the network";
    let shown = Timestamp::from_microsecond(now.0)
        .map_or_else(|_| "a time out of range".to_owned(), |moment| format!("{moment:.0}"));
    if !(BEGINNING_S..END_S).contains(&now.seconds()) {
        return vec![Check::fault(
            "clock",
            format!("expected the present, but found {shown}"),
            set,
        )];
    }
    let last = Reader::open(journal).ok().and_then(|reader| {
        let length = reader.head().ok()?.length;
        reader.entry(length).ok()??.ok().map(|entry| entry.at)
    });
    if let Some(last) = last
        && last > now
    {
        let ahead = last.seconds_since(now);
        let found = format!("it shows {shown}, {ahead:.0} s before the journal's newest entry");
        return vec![Check::fault("clock", found, set)];
    }
    vec![Check::new("clock", State::Ok, shown)]
}

fn journal_checks(path: &Path, daemon: bool) -> Vec<Check> {
    let place = path.display();
    let reader = match Reader::open(path) {
        Ok(reader) => reader,
        Err(JournalError::Missing { .. }) => {
            let found = format!("none yet at {place}; it is made when it is first needed");
            return vec![Check::new("journal", State::Note, found)];
        }
        Err(error) => {
            let text = error.to_string();
            let next = "name another with --journal, or bring the file back from a copy";
            return vec![Check::fault("journal", text, next)];
        }
    };
    let mut checks = Vec::new();
    checks.push(match reader.verify_chain() {
        Ok(walk) => match walk.fault {
            None => {
                let found = format!("{place}, {} entries, chain sound", walk.sound.length);
                Check::new("journal", State::Ok, found)
            }
            Some(fault) => Check::fault(
                "journal",
                format!("{place}: {fault}; sound up to entry {}", walk.sound.length),
                "keep the file as it is, copy it, and go on with a copy from before that",
            ),
        },
        Err(error) => Check::fault("journal", error.to_string(), "look at the disk"),
    });
    drop(reader);
    checks.push(match Journal::open_writer(path) {
        Ok(_) => Check::new("writable", State::Ok, "entries can be added"),
        Err(JournalError::Locked { .. }) if daemon => {
            Check::new("writable", State::Ok, "`clampbook serve` writes to it")
        }
        Err(error) => {
            let next = "make room, or look at the owner of the file and its folder";
            Check::fault("writable", error.to_string(), next)
        }
    });
    checks
}

fn kept(journal: &Path) -> (Config, Check) {
    match Config::load(journal) {
        Ok(config) => {
            let count = config.added.len() + config.adapters.len();
            let check = match count {
                0 => Check {
                    next_step: "add one with `clampbook adapter add`".to_owned(),
                    ..Check::new("adapters", State::Note, "none is kept")
                },
                count => Check::new("adapters", State::Ok, format!("{count} kept")),
            };
            (config, check)
        }
        Err(error) => {
            let check = Check::fault("adapters", error.to_string(), "correct or remove that file");
            (Config::default(), check)
        }
    }
}

fn bluetooth_checks(added: &[Kept]) -> Result<Vec<Check>, Failure> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::failed("the runtime cannot start", &error))?;
    let (survey, version) = runtime.block_on(async { (ble::survey().await, ble::version().await) });
    // A call of the system that hangs must not keep the process.
    runtime.shutdown_background();
    let survey = match survey {
        Ok(survey) => survey,
        Err(error) => return Ok(vec![Check::cause("bluetooth", &error.cause, None)]),
    };
    let version = version.map_or_else(String::new, |version| format!(", version {version}"));
    let mut checks =
        vec![Check::new("bluetooth", State::Ok, format!("the service answers{version}"))];
    checks.extend(radio_checks(&survey));
    checks.extend(added.iter().map(|kept| bond_check(&survey, kept)));
    Ok(checks)
}

fn radio_checks(survey: &Survey) -> Vec<Check> {
    if survey.radios.is_empty() {
        let cause = Cause::NoController { wanted: None, found: Vec::new() };
        return vec![Check::cause("controller", &cause, None)];
    }
    let one_is_on = survey.radios.iter().any(|radio| radio.powered);
    let check = |radio: &ble::Radio| {
        let power = if radio.powered { "on" } else { "off" };
        let found = format!("{} {} is {power}", radio.name, radio.address);
        match (radio.powered, one_is_on) {
            (true, _) => Check::new("controller", State::Ok, found),
            (false, true) => Check::new("controller", State::Note, found),
            (false, false) => {
                let cause = Cause::ControllerOff { controller: radio.name.clone() };
                Check::cause("controller", &cause, None)
            }
        }
    };
    survey.radios.iter().map(check).collect()
}

fn bond_check(survey: &Survey, kept: &Kept) -> Check {
    let name = match kept.name == kept.serial {
        true => kept.serial.clone(),
        false => format!("{} ({})", kept.name, kept.serial),
    };
    let device = survey.devices.iter().find(|device| {
        kept.address.as_ref().is_some_and(|own| own.eq_ignore_ascii_case(&device.address))
            && kept
                .controller
                .as_ref()
                .is_none_or(|own| own.eq_ignore_ascii_case(&device.controller))
    });
    let linked = match device {
        Some(device) if device.connected => "linked",
        _ => "not linked, as when it sleeps",
    };
    match (kept.bonded, device.map(|device| device.bond)) {
        (false, _) => Check::new("adapter", State::Ok, format!("{name} needs no bond, {linked}")),
        (true, Some(Bond::Bonded)) => {
            Check::new("adapter", State::Ok, format!("{name} is paired, {linked}"))
        }
        (true, Some(Bond::NotTold)) => {
            Check::new("adapter", State::Note, format!("{name}: this system tells of no bonds"))
        }
        (true, None) if survey.devices.is_empty() && !cfg!(target_os = "linux") => {
            Check::new("adapter", State::Note, format!("{name}: this system tells of no bonds"))
        }
        (true, Some(Bond::None) | None) => {
            Check::cause("adapter", &Cause::BondLost(Side::Computer), Some(&kept.name))
        }
    }
}

fn daemon_checks(live: &Live) -> Vec<Check> {
    let job = live.job.map_or_else(|| "no job".to_owned(), |job| format!("job {}", job.0));
    let mut checks = vec![Check::new("serve", State::Ok, format!("runs, {job} under way"))];
    for link in &live.links {
        let id = link.serial.as_ref().unwrap_or(&link.wanted);
        checks.push(match &link.trouble {
            Some(trouble) => Check::new("link", State::Note, trouble.clone()),
            None => Check::new("link", State::Ok, format!("{id}: nothing ails it")),
        });
    }
    if let Some(trouble) = &live.trouble {
        checks.push(Check::fault("serve", trouble.clone(), "make room on the disk"));
    }
    checks
}
