//! One loop: what comes in is put to the engine, what the engine wants is done.
//!
//! Guarantees: while a reading cannot be kept, no further reading is taken from any adapter, and the
//! same one is tried again; commands are answered all the while; nothing is acknowledged before it is
//! on the disk.
//!
//! Deliberately absent: decisions. Those are the engine's.

use crate::adapter::{Clock, Errand, Guidance, SourceEvent, Stored, TroubleClass};
use crate::core::command::{Command, Done, Refusal};
use crate::core::guide::Cue;
use crate::core::time::Stamp;
use crate::daemon::board::Board;
use crate::daemon::engine::Engine;
use crate::daemon::readiness::Readiness;
use crate::daemon::roll::Roll;
use crate::daemon::wake::{Heard, HeardDescription, HeardReading, Outcome, Wake};
use crate::web::Asked;
use futures::StreamExt;
use futures::stream::{SelectAll, select_all};
use std::future::Future;
use std::pin::{Pin, pin};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::time::{Sleep, sleep, timeout};
use tokio_stream::wrappers::ReceiverStream;

/// How long a reading that could not be kept waits before it is tried again.
const RETRY: Duration = Duration::from_secs(1);
/// How long sources may take to say their last words.
const DRAIN: Duration = Duration::from_secs(5);

/// Where a source talks and listens.
#[derive(Debug)]
pub struct Port {
    /// What it says.
    pub events: mpsc::Receiver<SourceEvent>,
    /// Where it is told what is committed.
    pub stored: mpsc::Sender<Stored>,
    /// Where it is asked for something; none if it cannot be.
    pub errands: Option<mpsc::Sender<Errand>>,
    /// Where it is told how to guide the hand. It never makes this loop wait.
    pub guidance: watch::Sender<Guidance>,
}

/// What the loop is joined to.
pub struct Ports {
    /// The sources.
    pub sources: Vec<Port>,
    /// Commands from outside.
    pub commands: mpsc::Receiver<Asked>,
    /// Where everything stands, for whoever watches.
    pub board: Arc<Board>,
    /// Hears every outcome as it happens; must not block.
    pub observer: Box<dyn FnMut(&Outcome) + Send>,
    /// Asks the sources to end.
    pub end_sources: Box<dyn FnOnce() + Send>,
    /// Tells the present moment.
    pub clock: Clock,
    /// End by itself once no source has anything more to say.
    pub ends_with_sources: bool,
}

/// What wakes the loop.
enum Turn {
    Said(usize, SourceEvent),
    SourcesEnded,
    Asked(Asked),
    TryAgain,
    Tick,
    Stop,
}

/// Turns until `shutdown` is done (or the sources have ended, if so wished), then takes in what the
/// sources still have to say, and gives the engine back.
pub async fn run(engine: Engine, ports: Ports, shutdown: impl Future<Output = ()>) -> Engine {
    let Ports { sources, mut commands, board, observer, end_sources, clock, ends_with_sources } =
        ports;
    let Merged { mut said, stored, errands, guidance } = merge(sources);
    let mut turner = Turner {
        engine: Some(engine),
        board,
        observer,
        stored,
        roll: Roll::new(errands, guidance),
        readiness: Readiness::default(),
        clock,
        waiting: None,
        tick: None,
        to_guide: true,
        cue: None,
    };
    let mut shutdown = pin!(shutdown);
    let mut sources_talk = true;
    loop {
        let takes = turner.waiting.is_none();
        let turn = tokio::select! {
            biased;
            () = &mut shutdown => Turn::Stop,
            Some(asked) = commands.recv() => Turn::Asked(asked),
            () = until(turner.waiting.as_mut().map(|waiting| &mut waiting.again)) => Turn::TryAgain,
            () = until(turner.tick.as_mut()) => Turn::Tick,
            next = said.next(), if takes && sources_talk => match next {
                Some((source, event)) => Turn::Said(source, event),
                None => Turn::SourcesEnded,
            },
        };
        match turn {
            Turn::Said(source, event) => turner.hear(source, event).await,
            Turn::Asked(Asked { command: Command::Adapter { adapter, ask }, answer, .. }) => {
                turner.roll.send(&adapter, Errand { ask, answer });
            }
            Turn::Asked(Asked { command: Command::Repeat, answer, .. }) => {
                let said = turner.board.repeat().ok_or(Refusal::NothingSaid);
                give(answer, Some(said.map(|words| Done::Repeated { words })));
            }
            Turn::Asked(Asked { command, by, answer }) => {
                let is_work = matches!(
                    command,
                    Command::Start(_) | Command::Recheck { .. } | Command::Mark(_)
                );
                let wake = Wake::Asked((turner.clock)(), command, by);
                let given = turner.wake(wake).await;
                if is_work && matches!(given.answer, Some(Ok(_))) {
                    turner.readiness.work_goes_on(&turner.board.live());
                }
                give(answer, given.answer);
            }
            Turn::TryAgain => turner.try_again().await,
            Turn::Tick => {
                turner.tick = None;
                let wake = Wake::Tick((turner.clock)());
                turner.wake(wake).await;
            }
            Turn::SourcesEnded if ends_with_sources => break,
            Turn::SourcesEnded => sources_talk = false,
            Turn::Stop => break,
        }
        turner.guide();
    }
    end_sources();
    let drained = timeout(DRAIN, turner.drain(&mut said)).await;
    if drained.is_err() {
        tracing::warn!(
            "an adapter's source did not end in time; what it still holds stays with it"
        );
    }
    turner.engine.take().expect("the engine is back after every turn; this is a bug")
}

/// Something heard that could not be kept yet.
struct Waiting {
    source: usize,
    event: SourceEvent,
    again: Pin<Box<Sleep>>,
}

#[derive(Default)]
struct Given {
    answer: Option<Result<Done, Refusal>>,
    kept: bool,
    refused: bool,
}

struct Turner {
    /// Away only while it works on another thread.
    engine: Option<Engine>,
    board: Arc<Board>,
    observer: Box<dyn FnMut(&Outcome) + Send>,
    stored: Vec<mpsc::Sender<Stored>>,
    roll: Roll,
    readiness: Readiness,
    clock: Clock,
    waiting: Option<Waiting>,
    tick: Option<Pin<Box<Sleep>>>,
    /// The engine has worked since the adapters were told how to guide.
    to_guide: bool,
    /// The newest cue that no adapter was told of yet.
    cue: Option<(String, Cue)>,
}

impl Turner {
    async fn hear(&mut self, source: usize, event: SourceEvent) {
        if let SourceEvent::Live { at, adapter, torque } = &event {
            self.board.feel(*at, adapter, *torque);
            return;
        }
        self.roll.note(source, &event);
        let Some((at, heard)) = heard((self.clock)(), &event) else {
            if matches!(event, SourceEvent::Health(_)) {
                self.publish();
            }
            return;
        };
        if let Heard::Link(change) = &heard {
            self.readiness.link(change);
        }
        let key = match &heard {
            Heard::Reading(reading) => Some(reading.key.clone()),
            Heard::Adapter(_)
            | Heard::Described(_)
            | Heard::Motion(_)
            | Heard::Link(_)
            | Heard::Gap(_)
            | Heard::Press(_)
            | Heard::Mark(_) => None,
        };
        let given = self.wake(Wake::Heard(at, heard)).await;
        if given.kept {
            if let Some(key) = key {
                // A source that has ended needs no telling.
                let _ = self.stored[source].send(Stored { key }).await;
            }
        } else if !given.refused {
            self.waiting = Some(Waiting { source, event, again: Box::pin(sleep(RETRY)) });
        }
    }

    async fn try_again(&mut self) {
        if let Some(Waiting { source, event, .. }) = self.waiting.take() {
            self.hear(source, event).await;
        }
    }

    async fn drain(&mut self, said: &mut SelectAll<Said>) {
        self.try_again().await;
        while self.waiting.is_none() {
            match said.next().await {
                Some((source, event)) => self.hear(source, event).await,
                None => return,
            }
        }
        tracing::error!("the last readings could not be kept; the adapters still hold them");
    }

    /// Puts one thing to the engine, on a thread that may wait for the disk.
    async fn wake(&mut self, wake: Wake) -> Given {
        let mut engine =
            self.engine.take().expect("the engine is back after every turn; this is a bug");
        let worked = tokio::task::spawn_blocking(move || {
            let outcomes = engine.handle(wake);
            (engine, outcomes)
        });
        let (engine, outcomes) = match worked.await {
            Ok(done) => done,
            Err(error) => std::panic::resume_unwind(error.into_panic()),
        };
        self.engine = Some(engine);
        let mut given = Given::default();
        for outcome in outcomes {
            (self.observer)(&outcome);
            match outcome {
                Outcome::Kept => given.kept = true,
                Outcome::Refused(_) => given.refused = true,
                Outcome::Answer(answer) => given.answer = Some(answer),
                Outcome::WakeAt(at) => self.tick = Some(self.sleep_until(at)),
                Outcome::Cue(serial, cue) => self.cue = Some((serial, cue)),
                // Said, and so written on every screen; that nothing was said yet is no trouble.
                Outcome::Help(..) => drop(self.board.repeat()),
                Outcome::NotKept(_)
                | Outcome::Again(_)
                | Outcome::Loose(_)
                | Outcome::Marked(..)
                | Outcome::NothingAsked(_)
                | Outcome::Concluded(_)
                | Outcome::Trouble(_) => {}
            }
        }
        self.to_guide = true;
        self.publish();
        given
    }

    /// Tells the adapters how to guide the hand from now on, after whatever led to that was acknowledged.
    fn guide(&mut self) {
        if !std::mem::take(&mut self.to_guide) {
            return;
        }
        self.roll.guide(self.engine.as_ref().and_then(Engine::guided));
        if let Some((serial, cue)) = self.cue.take() {
            self.roll.cue(&serial, cue);
        }
    }

    fn publish(&self) {
        if let Some(engine) = &self.engine {
            let mut live = engine.live();
            self.roll.complete(&mut live);
            self.board.publish(live);
        }
    }

    fn sleep_until(&self, at: Stamp) -> Pin<Box<Sleep>> {
        let seconds = at.seconds_since((self.clock)()).clamp(0.0, 86_400.0);
        Box::pin(sleep(Duration::from_secs_f64(seconds)))
    }
}

type Said = Pin<Box<dyn futures::Stream<Item = (usize, SourceEvent)> + Send>>;

struct Merged {
    said: SelectAll<Said>,
    stored: Vec<mpsc::Sender<Stored>>,
    errands: Vec<Option<mpsc::Sender<Errand>>>,
    guidance: Vec<watch::Sender<Guidance>>,
}

fn merge(sources: Vec<Port>) -> Merged {
    let mut streams: Vec<Said> = Vec::new();
    let mut stored = Vec::new();
    let mut errands = Vec::new();
    let mut guidance = Vec::new();
    for (index, port) in sources.into_iter().enumerate() {
        let stream = ReceiverStream::new(port.events).map(move |event| (index, event));
        streams.push(Box::pin(stream));
        stored.push(port.stored);
        errands.push(port.errands);
        guidance.push(port.guidance);
    }
    Merged { said: select_all(streams), stored, errands, guidance }
}

/// What the engine is told of an event, and the time that goes with it; none if it needs no keeping.
fn heard(now: Stamp, event: &SourceEvent) -> Option<(Stamp, Heard)> {
    match event.clone() {
        SourceEvent::Adapter { at, info } => Some((at, Heard::Adapter(info))),
        SourceEvent::Reading { key, at, at_error_us, reading, raw } => {
            let reading = HeardReading { key, at, at_error_us, reading, raw };
            Some((now, Heard::Reading(reading)))
        }
        SourceEvent::Described { key, at, described, trace } => {
            let description = HeardDescription { key, at, described, trace };
            Some((now, Heard::Described(description)))
        }
        SourceEvent::Motion { at, motion } => Some((at, Heard::Motion(motion))),
        SourceEvent::Press { at, press, .. } => Some((at, Heard::Press(press))),
        SourceEvent::Mark { at, mark } => Some((at, Heard::Mark(mark))),
        SourceEvent::Link { at, change } => Some((at, Heard::Link(change))),
        SourceEvent::Gap { at, gap } => Some((at, Heard::Gap(gap))),
        SourceEvent::Trouble { trouble, .. } => {
            match trouble.class {
                TroubleClass::Note => tracing::info!("{trouble}"),
                _ => tracing::warn!("{trouble}"),
            }
            None
        }
        SourceEvent::Live { .. } | SourceEvent::Health(_) | SourceEvent::Ended => None,
    }
}

async fn until(moment: Option<&mut Pin<Box<Sleep>>>) {
    match moment {
        Some(moment) => moment.as_mut().await,
        None => std::future::pending().await,
    }
}

fn give(answer: oneshot::Sender<Result<Done, Refusal>>, given: Option<Result<Done, Refusal>>) {
    if let Some(given) = given {
        // A caller that has gone does not matter: what was done is in the journal.
        let _ = answer.send(given);
    }
}
