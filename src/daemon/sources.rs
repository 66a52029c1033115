//! Starting the sources that a daemon listens to.

use crate::adapter::ble::Ble;
use crate::adapter::recording::Unusable;
use crate::adapter::simulated::Simulated;
use crate::adapter::{
    Clock, Guidance, Known, Shutdown, ShutdownTrigger, SourceEvent, SourceIo, SourceSpec,
};
use crate::core::event::{Event, Gap};
use crate::daemon::board::Board;
use crate::daemon::event_loop::Port;
use crate::journal::{JournalError, Reader};
use std::collections::HashMap;
use std::sync::Arc;
use tokio::sync::{mpsc, watch};
use tokio::task::{AbortHandle, JoinHandle};

/// What a source may have said before it is sorted.
const EVENTS: usize = 16;
/// What may wait for the disk before a source has to wait, and its torque with it: more than anybody pulls while
/// nothing can be kept, even if each pull says several things.
const KEPT: usize = 512;
/// Acknowledgements that may wait for a source.
const STORED: usize = 256;
/// Requests that may wait for an adapter.
const ERRANDS: usize = 4;
/// Entries read from the journal at once.
const BATCH: u32 = 1_000;

/// Sources that run.
pub struct Sources {
    /// Where they talk and listen.
    pub ports: Vec<Port>,
    /// The tasks that they run in.
    pub running: Vec<AbortHandle>,
    /// Ends once each of them has, and says so if one broke down.
    pub watched: Vec<JoinHandle<()>>,
    /// Ends them all.
    pub trigger: ShutdownTrigger,
}

/// A source that can be started.
pub enum Source {
    /// A recording, played.
    Simulated(Simulated),
    /// A real adapter.
    Ble(Ble),
}

impl Source {
    /// Makes a source ready, as far as that can be done before it is started.
    ///
    /// # Errors
    /// Its recording cannot be used.
    pub fn prepare(spec: &SourceSpec) -> Result<Self, Unusable> {
        match spec {
            SourceSpec::Simulated(spec) => Simulated::load(spec).map(Self::Simulated),
            SourceSpec::Ble(spec) => Ok(Self::Ble(Ble::new(spec.clone()))),
        }
    }

    async fn run(self, io: SourceIo) {
        match self {
            Self::Simulated(simulated) => simulated.run(io).await,
            Self::Ble(ble) => ble.run(io).await,
        }
    }
}

/// Starts the sources; each is told what is kept already. Torque goes to the board at once, everything else to
/// the loop, which may have to wait for the disk.
#[must_use]
pub fn start(prepared: Vec<Source>, clock: &Clock, known: &Known, board: &Arc<Board>) -> Sources {
    let (trigger, shutdown) = ShutdownTrigger::new();
    let mut sources =
        Sources { ports: Vec::new(), running: Vec::new(), watched: Vec::new(), trigger };
    for source in prepared {
        let (events_in, said) = mpsc::channel(EVENTS);
        let (kept_in, events) = mpsc::channel(KEPT);
        tokio::spawn(sort(said, kept_in, Arc::clone(board)));
        let (stored, stored_out) = mpsc::channel(STORED);
        let (errands, errands_out) = mpsc::channel(ERRANDS);
        let (guidance, guidance_out) = watch::channel(Guidance::default());
        // What is only played takes no requests.
        let errands = matches!(source, Source::Ble(_)).then_some(errands);
        let io = SourceIo {
            events: events_in,
            stored: stored_out,
            errands: errands_out,
            guidance: guidance_out,
            shutdown: Shutdown::clone(&shutdown),
            clock: Arc::clone(clock),
            known: known.clone(),
        };
        sources.ports.push(Port { events, stored, errands, guidance });
        let task = tokio::spawn(source.run(io));
        sources.running.push(task.abort_handle());
        sources.watched.push(tokio::spawn(async move {
            if let Err(error) = task.await
                && error.is_panic()
            {
                tracing::error!("an adapter's source broke down, start again to hear it: {error}");
            }
        }));
    }
    sources
}

/// Takes torque out of what a source says; ends with the source, or with whoever listens.
async fn sort(
    mut said: mpsc::Receiver<SourceEvent>,
    kept: mpsc::Sender<SourceEvent>,
    board: Arc<Board>,
) {
    while let Some(event) = said.recv().await {
        if let SourceEvent::Live { at, adapter, torque } = &event {
            board.feel(*at, adapter, *torque);
        } else if kept.send(event).await.is_err() {
            return;
        }
    }
}

/// Every reading that is kept, and every gap.
///
/// # Errors
/// The journal cannot be read.
pub fn known(reader: &Reader) -> Result<Known, JournalError> {
    let mut known = Known::default();
    let mut serials = HashMap::new();
    let mut after = 0;
    loop {
        let batch = reader.entries_after(after, BATCH)?;
        let complete = batch.len() < BATCH as usize;
        for listed in batch {
            // What this program does not understand it did not write, and it is neither of the two.
            let entry = match listed {
                Ok(entry) => entry,
                Err(error) => {
                    after = error.number();
                    continue;
                }
            };
            after = entry.number;
            match entry.event {
                Event::Reading { key, .. } => known.keys.push(key),
                Event::Adapter(info) => drop(serials.insert(info.id, info.serial)),
                Event::Gap(gap) => {
                    let serial = serials.get(&gap.adapter).cloned();
                    let adapter = serial.unwrap_or_else(|| gap.adapter.clone());
                    known.gaps.push(Gap { adapter, ..gap });
                }
                Event::JobStarted { .. }
                | Event::Claimed { .. }
                | Event::Described { .. }
                | Event::Motion(_)
                | Event::Mark(_)
                | Event::Given(_)
                | Event::Link(_)
                | Event::Verdict(_)
                | Event::Warning(_)
                | Event::JobParked { .. }
                | Event::JobResumed
                | Event::Erased { .. }
                | Event::Corrected { .. }
                | Event::Certificate(_)
                | Event::Photo(_)
                | Event::RecheckOf { .. }
                | Event::RecheckDue { .. }
                | Event::JobClosed { .. } => {}
            }
        }
        if complete {
            return Ok(known);
        }
    }
}
