//! The shell around the core: listens to adapters, keeps the journal, answers callers.
//!
//! In reading order: [`run`] (builds, starts, stops), `event_loop` (one enum, one match), [`engine`]
//! (journal and job), `sources`, [`rendezvous`] (how callers find it), [`config`], [`clock`].
//!
//! Deliberately absent: rules (they are the core's) and printing (callers pass an observer).

pub mod clock;
pub mod config;
mod drafts;
pub mod engine;
pub mod event_loop;
mod readiness;
pub mod rendezvous;
mod roll;
pub mod sources;
pub mod wake;

use crate::adapter::Clock;
use crate::daemon::engine::Engine;
use crate::daemon::event_loop::Ports;
use crate::daemon::rendezvous::{Rendezvous, RendezvousError};
use crate::daemon::sources::{Source, Sources};
use crate::daemon::wake::Outcome;
use crate::journal::JournalError;
use crate::web::{self, Token};
use std::future::Future;
use std::io;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use thiserror::Error;
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::time::timeout;

/// Commands that may wait for the engine.
const COMMANDS: usize = 16;
/// How long a caller may read nothing before it is left: longer than a busy machine makes a page wait.
const PATIENCE: Duration = Duration::from_secs(60);
/// How long callers under way may take to hear their answer when the daemon stops.
const LAST_ANSWERS: Duration = Duration::from_secs(2);

/// What a daemon is built from.
pub struct Parts {
    /// The journal, open for writing, and the job under way.
    pub engine: Engine,
    /// The adapters to listen to.
    pub sources: Vec<Source>,
    /// Where callers are answered; none if nobody may call.
    pub listener: Option<TcpListener>,
    /// Hears every outcome as it happens; must not block.
    pub observer: Box<dyn FnMut(&Outcome) + Send>,
    /// Tells the present moment.
    pub clock: Clock,
    /// End by itself once no source has anything more to say.
    pub ends_with_sources: bool,
}

/// Why a daemon could not run.
#[derive(Debug, Error)]
pub enum DaemonError {
    /// The journal cannot be read.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// Callers cannot be told where it is.
    #[error(transparent)]
    Rendezvous(#[from] RendezvousError),
    /// It cannot listen.
    #[error("expected a port on the loopback interface, but found: {0}; name another with --port")]
    Listen(#[source] io::Error),
}

/// A listener on the loopback interface only; port 0 is any free one.
///
/// # Errors
/// The port is taken.
pub async fn listen(port: u16) -> Result<TcpListener, DaemonError> {
    let address = SocketAddr::from(([127, 0, 0, 1], port));
    TcpListener::bind(address).await.map_err(DaemonError::Listen)
}

/// Runs until `shutdown` is done: then no new reading is taken, what has arrived is committed, the
/// sources end, and the engine is given back.
///
/// # Errors
/// Something that it is built from cannot be used; nothing was taken from any adapter then.
pub async fn run(parts: Parts, shutdown: impl Future<Output = ()>) -> Result<Engine, DaemonError> {
    let Parts { engine, sources, listener, observer, clock, ends_with_sources } = parts;
    let journal = engine.journal().reader().path().to_owned();
    let known = sources::known(engine.journal().reader())?;
    let (live, live_out) = watch::channel(Arc::new(engine.live()));
    let (commands_in, commands) = mpsc::channel(COMMANDS);
    let (stop_web, web_stopped) = oneshot::channel::<()>();
    let mut rendezvous = None;
    let mut web_task = None;
    if let Some(listener) = listener {
        let token = Token::random();
        let address = listener.local_addr().map_err(DaemonError::Listen)?;
        rendezvous = Some(Rendezvous::announce(&journal, address, &token)?);
        let parts = web::Parts {
            token,
            commands: commands_in,
            live: live_out,
            journal,
            now: Arc::clone(&clock),
            patience: PATIENCE,
        };
        let stop = async {
            // A dropped sender is a stop too.
            let _ = web_stopped.await;
        };
        web_task = Some(tokio::spawn(async move {
            if let Err(error) = web::serve(parts, listener, stop).await {
                tracing::error!("callers are not answered any more: {error}");
            }
        }));
        tracing::info!("callers are answered on {address}");
    }
    let Sources { ports, running, watched, trigger } = sources::start(sources, &clock, &known);
    let ports = Ports {
        sources: ports,
        commands,
        live,
        observer,
        end_sources: Box::new(move || trigger.shut_down()),
        clock,
        ends_with_sources,
    };
    let engine = event_loop::run(engine, ports, shutdown).await;
    drop(rendezvous);
    drop(stop_web);
    if let Some(task) = web_task
        && timeout(LAST_ANSWERS, task).await.is_err()
    {
        tracing::debug!("a caller was still listening and was left");
    }
    for source in running {
        source.abort();
    }
    for watch in watched {
        // It only watches, and cannot break down itself.
        let _ = watch.await;
    }
    Ok(engine)
}
