//! `serve`: the daemon in the foreground.

use crate::adapter::SourceSpec;
use crate::cli::access;
use crate::cli::account;
use crate::cli::args::Serve;
use crate::cli::logs;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::qr;
use crate::cli::verb::job::next_line;
use crate::core::event::Conclusion;
use crate::core::time::Stamp;
use crate::daemon::config::{Config, Kept};
use crate::daemon::sources::Source;
use crate::daemon::speaker::{Player, Speaker, Voice};
use crate::daemon::wake::Outcome;
use crate::daemon::{self, Door, Parts, clock, network};
use crate::web::{self, Identity, Sessions};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::net::IpAddr;
use std::path::Path;
use std::sync::Arc;

/// Runs the verb.
///
/// # Errors
/// An adapter is not understood, the journal cannot be used, or the daemon cannot listen.
pub fn run(args: &Serve, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let journal = access::journal_path(journal)?;
    let sources = sources(args, &journal)?;
    let speaker = speaker(args)?;
    logs::start(printer);
    let mut engine = access::open_engine(&journal)?;
    if args.no_traces {
        engine.forget_traces();
    }
    tracing::info!("journal: {}", journal.display());
    if sources.is_empty() {
        tracing::warn!(
            "no adapter is listened to; add one with `clampbook adapter add`, or name it with --adapter"
        );
    }
    if let Some(job) = engine.live().job {
        tracing::info!("job {} is taken up again", job.0);
    }
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|error| Failure::failed("the runtime cannot start", &error))?;
    let served = runtime.block_on(async {
        let shutdown =
            stop_signal().map_err(|error| Failure::failed("signals cannot be heard", &error))?;
        let door = open_door(args, &journal, printer).await?;
        let parts = Parts {
            engine,
            sources,
            door: Some(door),
            speaker,
            observer: Box::new(move |outcome| tell(printer, outcome)),
            clock: clock::reader(),
            ends_with_sources: false,
        };
        daemon::run(parts, shutdown).await.map_err(|error| Failure::failed("cannot serve", &error))
    });
    // A source that hangs in a system call must not keep the process.
    runtime.shutdown_background();
    drop(served?);
    tracing::info!("stopped; everything heard is in the journal");
    Ok(Done::Fine)
}

/// Listens for callers. With `--lan` it is said how a phone is let in.
async fn open_door(args: &Serve, journal: &Path, printer: Printer) -> Result<Door, Failure> {
    let sessions = Arc::new(Sessions::of(journal));
    let network = if args.lan {
        let own = network::own_address();
        Some(own.ok_or_else(|| {
            Failure::Failed(
                "expected a network with --lan, but this machine is on none; join one, or leave --lan out"
                    .to_owned(),
            )
        })?)
    } else {
        None
    };
    let identity = match network {
        Some(address) => identity(args, journal, address)?,
        None => None,
    };
    let listener = daemon::listen(args.port, sessions.port(), args.lan)
        .await
        .map_err(|error| Failure::failed("cannot serve", &error))?;
    if let Some(address) = network {
        let port = listener
            .local_addr()
            .map_err(|error| Failure::failed("the listener has no address", &error))?
            .port();
        let key = sessions.new_key(clock::now());
        let link = web::link(&format!("{address}:{port}"), &key, identity.is_some());
        let to_compare = identity.as_ref().and_then(Identity::to_compare);
        qr::show_link(printer, &link, to_compare);
    }
    Ok(Door { listener, sessions, network, identity })
}

/// What links from the network are encrypted with, if that is asked for.
fn identity(args: &Serve, journal: &Path, address: IpAddr) -> Result<Option<Identity>, Failure> {
    let found = match (&args.tls_certificate, &args.tls_key) {
        (Some(certificate), Some(key)) => Identity::read(certificate, key),
        _ if args.tls => Identity::own(journal, address, clock::now()),
        _ => return Ok(None),
    };
    found.map(Some).map_err(|error| Failure::input("links cannot be encrypted", &error))
}

fn speaker(args: &Serve) -> Result<Option<Speaker>, Failure> {
    let found = match &args.speak_with {
        Some(command) => Voice::with(command),
        None if args.speak => Voice::find(args.language, args.speak_volume),
        None => return Ok(None),
    };
    let voice = found.map_err(|error| Failure::input("nobody can speak", &error))?;
    let player = Player::find(args.speak_volume);
    Ok(Some(Speaker { voice, player, language: args.language, talk: args.speak_what }))
}

fn sources(args: &Serve, journal: &Path) -> Result<Vec<Source>, Failure> {
    let kept = Config::load(journal)
        .map_err(|error| Failure::input("the kept adapters cannot be used", &error))?;
    let written = if args.adapters.is_empty() { &kept.adapters } else { &args.adapters };
    let mut specs = Vec::new();
    for text in written {
        let spec = SourceSpec::parse(text)
            .map_err(|error| Failure::input("an adapter is not understood", &error))?;
        // Of an adapter that was added more is known than what is written here.
        specs.push(match spec {
            SourceSpec::Ble(ble) => {
                SourceSpec::Ble(kept.find(&ble.adapter).map_or(ble, Kept::spec))
            }
            spec => spec,
        });
    }
    if args.adapters.is_empty() {
        specs.extend(kept.added.iter().map(|kept| SourceSpec::Ble(kept.spec())));
    }
    let prepare = |mut spec: SourceSpec| {
        if let SourceSpec::Ble(ble) = &mut spec
            && args.controller.is_some()
        {
            ble.controller.clone_from(&args.controller);
        }
        Source::prepare(&spec)
            .map_err(|error| Failure::input("an adapter cannot be simulated", &error))
    };
    specs.into_iter().map(prepare).collect()
}

/// A line for whatever the operator should hear of. That nobody reads it must not stop the work.
fn tell(printer: Printer, outcome: &Outcome) {
    match outcome {
        Outcome::Concluded(conclusion) => {
            let at = match conclusion {
                Conclusion::Verdict(verdict) => verdict.at,
                Conclusion::Warning(warning) => warning.at,
            };
            let _ = account::conclusion(printer, &time_of_day(at), conclusion);
        }
        Outcome::Marked(at, say) => {
            let line = format!("{:>8}  {}", time_of_day(*at), account::said_line(say));
            let _ = printer.line(line);
        }
        Outcome::Help(at, next) => {
            let line = format!("{:>8}  {}", time_of_day(*at), next_line(next.as_ref()));
            let _ = printer.line(line);
        }
        Outcome::NothingAsked(at) => {
            let said = "nothing is asked just now: the button has confirmed nothing";
            let _ = printer.line(format!("{:>8}  {said}", time_of_day(*at)));
        }
        Outcome::Loose(reading) => {
            tracing::info!(
                "kept without a job: {:.1} N·m from {}",
                reading.peak.nm(),
                reading.adapter
            );
        }
        Outcome::NotKept(trouble) => tracing::error!("not kept, will be tried again: {trouble}"),
        Outcome::Refused(reason) => tracing::error!("cannot be kept: {reason}"),
        Outcome::Trouble(trouble) => tracing::warn!("{trouble}"),
        Outcome::Again(key) => tracing::debug!("came again: {key:?}"),
        Outcome::Kept | Outcome::Answer(_) | Outcome::Cue(..) | Outcome::WakeAt(_) => {}
    }
}

fn time_of_day(at: Stamp) -> String {
    match Timestamp::from_microsecond(at.0) {
        Ok(moment) => moment.to_zoned_datetime(TimeZone::system()).strftime("%H:%M:%S").to_string(),
        Err(_) => String::new(),
    }
}

/// Done at the first SIGINT or SIGTERM.
#[cfg(unix)]
fn stop_signal() -> std::io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut terminate = signal(SignalKind::terminate())?;
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
        tracing::info!("stopping");
    })
}

/// Done at the first Ctrl-C.
#[cfg(not(unix))]
fn stop_signal() -> std::io::Result<impl Future<Output = ()>> {
    Ok(async {
        // Without a way to hear Ctrl-C the system ends the process, which loses nothing committed.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    })
}
