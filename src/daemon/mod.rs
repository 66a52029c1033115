//! The shell around the core: listens to adapters, keeps the journal, answers callers.
//!
//! In reading order: [`run`] (builds, starts, stops), `event_loop` (one enum, one match), [`engine`]
//! (journal and job), `sources`, [`rendezvous`] (how callers find it), [`config`], [`clock`].
//!
//! Deliberately absent: rules (they are the core's) and printing (callers pass an observer).

pub mod board;
pub mod clock;
pub mod config;
mod drafts;
pub mod engine;
pub mod event_loop;
pub mod network;
mod readiness;
pub mod rendezvous;
mod roll;
pub mod sources;
pub mod speaker;
pub mod wake;

use crate::adapter::Clock;
use crate::daemon::board::Board;
use crate::daemon::engine::Engine;
use crate::daemon::event_loop::Ports;
use crate::daemon::rendezvous::{Rendezvous, RendezvousError};
use crate::daemon::sources::{Source, Sources};
use crate::daemon::speaker::Speaker;
use crate::daemon::wake::Outcome;
use crate::journal::JournalError;
use crate::web::{self, Doors, Identity, Sessions, Token};
use std::future::Future;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use thiserror::Error;
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot};
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
    pub door: Option<Door>,
    /// Who speaks; none if nobody does.
    pub speaker: Option<Speaker>,
    /// Hears every outcome as it happens; must not block.
    pub observer: Box<dyn FnMut(&Outcome) + Send>,
    /// Tells the present moment.
    pub clock: Clock,
    /// End by itself once no source has anything more to say.
    pub ends_with_sources: bool,
}

/// Where callers are answered.
pub struct Door {
    /// Where they call.
    pub listener: TcpListener,
    /// The screens that are let in.
    pub sessions: Arc<Sessions>,
    /// This machine's address, if callers from the network are answered.
    pub network: Option<IpAddr>,
    /// What links from there are encrypted with, if they are.
    pub identity: Option<Identity>,
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
    #[error("expected a free port, but found: {0}; name another with --port")]
    Listen(#[source] io::Error),
}

/// A listener: on the loopback interface only, or on every interface if callers from the network are to be
/// answered. Without a `port`, at the port `last` if that is free, so that pages find back; else anywhere.
///
/// # Errors
/// The port is taken.
pub async fn listen(
    port: Option<u16>,
    last: u16,
    on_network: bool,
) -> Result<TcpListener, DaemonError> {
    let ip = if on_network { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let bind = |port| TcpListener::bind(SocketAddr::from((ip, port)));
    if let Some(port) = port {
        return bind(port).await.map_err(DaemonError::Listen);
    }
    match bind(last).await {
        Ok(listener) => Ok(listener),
        Err(_) => bind(0).await.map_err(DaemonError::Listen),
    }
}

/// Runs until `shutdown` is done: then no new reading is taken, what has arrived is committed, the
/// sources end, and the engine is given back.
///
/// # Errors
/// Something that it is built from cannot be used; nothing was taken from any adapter then.
pub async fn run(parts: Parts, shutdown: impl Future<Output = ()>) -> Result<Engine, DaemonError> {
    let Parts { engine, sources, door, speaker, observer, clock, ends_with_sources } = parts;
    let journal = engine.journal().reader().path().to_owned();
    let known = sources::known(engine.journal().reader())?;
    let board = Arc::new(Board::new(engine.live(), Arc::clone(&clock)));
    let voice = speaker.map(|speaker| tokio::spawn(speaker.run(board.watcher())));
    let (commands_in, commands) = mpsc::channel(COMMANDS);
    let (stop_web, web_stopped) = oneshot::channel::<()>();
    let mut rendezvous = None;
    let mut web_task = None;
    if let Some(Door { listener, sessions, network, identity }) = door {
        let token = Token::random();
        let port = listener.local_addr().map_err(DaemonError::Listen)?.port();
        let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
        rendezvous = Some(Rendezvous::announce(&journal, address, &token)?);
        sessions.note_port(port);
        let parts = web::Parts {
            token,
            sessions,
            doors: Doors { port, network, encrypted: identity.is_some() },
            identity,
            commands: commands_in,
            live: board.watcher(),
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
        tracing::info!(
            "callers are answered on {address}; `clampbook page` lets a screen in to the live page"
        );
    }
    let Sources { ports, running, watched, trigger } =
        sources::start(sources, &clock, &known, &board);
    let ports = Ports {
        sources: ports,
        commands,
        board,
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
    if let Some(voice) = voice {
        voice.abort();
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
