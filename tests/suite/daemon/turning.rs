//! The event loop: sources, disk and callers.

use super::{adapter, engine, kinds, pull, say, start};
use crate::journal::disk::SmallDisk;
use crate::rig::Rig;
use clampbook::adapter::{Guidance, SourceEvent, Stored};
use clampbook::core::command::{Command, Done, Refusal};
use clampbook::core::event::{LinkChange, LinkState, ReadingKey, Say};
use clampbook::core::guide::Cue;
use clampbook::core::live::Live;
use clampbook::core::press::Press;
use clampbook::core::time::Stamp;
use clampbook::daemon::board::Board;
use clampbook::daemon::clock;
use clampbook::daemon::engine::Engine;
use clampbook::daemon::event_loop::{self, Port, Ports};
use clampbook::daemon::wake::{Heard, Wake};
use clampbook::journal::Reader;
use clampbook::web::Asked;
use std::fs;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{mpsc, oneshot, watch};
use tokio::task::JoinHandle;
use tokio::time::timeout;

/// The loop with one source and one caller, both played by the test.
struct Loop {
    source: mpsc::Sender<SourceEvent>,
    stored: mpsc::Receiver<Stored>,
    guidance: watch::Receiver<Guidance>,
    commands: mpsc::Sender<Asked>,
    live: watch::Receiver<Arc<Live>>,
    stop: oneshot::Sender<()>,
    ended: oneshot::Receiver<()>,
    running: JoinHandle<Engine>,
}

fn turn(engine: Engine) -> Loop {
    let (source, events) = mpsc::channel(1);
    let (stored_in, stored) = mpsc::channel(8);
    let (guidance_in, guidance) = watch::channel(Guidance::default());
    let (commands_in, commands) = mpsc::channel(8);
    let board = Arc::new(Board::new(Live::default(), clock::reader()));
    let live = board.watcher();
    let (stop, stopped) = oneshot::channel();
    let (end, ended) = oneshot::channel();
    let ports = Ports {
        sources: vec![Port { events, stored: stored_in, errands: None, guidance: guidance_in }],
        commands,
        board,
        observer: Box::new(|_| ()),
        end_sources: Box::new(move || end.send(()).unwrap()),
        clock: clock::reader(),
        ends_with_sources: false,
    };
    let running = tokio::spawn(event_loop::run(engine, ports, async move {
        let _ = stopped.await;
    }));
    Loop { source, stored, guidance, commands: commands_in, live, stop, ended, running }
}

fn said(seq: u32, seconds: f64, nm: f64) -> SourceEvent {
    let Wake::Heard(_, Heard::Reading(heard)) = pull(seq, seconds, nm) else { unreachable!() };
    SourceEvent::Reading {
        key: heard.key,
        at: heard.at,
        at_error_us: heard.at_error_us,
        reading: heard.reading,
        raw: heard.raw,
    }
}

impl Loop {
    async fn ask(&self, wake: Wake) -> Result<Done, Refusal> {
        let Wake::Asked(_, command, ..) = wake else { unreachable!() };
        let (answer, answered) = oneshot::channel();
        self.commands.send(Asked { command, by: None, answer }).await.unwrap();
        answered.await.unwrap()
    }
}

#[tokio::test]
async fn nothing_is_acknowledged_before_it_is_on_the_disk() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut turning = turn(engine(&path));
    turning.ask(start()).await.unwrap();
    for seq in 1..=20 {
        turning.source.send(said(seq, f64::from(seq) * 10.0, 122.0)).await.unwrap();
        let Stored { key } = turning.stored.recv().await.unwrap();
        assert!(Reader::open(&path).unwrap().find(&key).unwrap().is_some(), "{key:?}");
    }
}

#[tokio::test]
async fn a_full_disk_holds_readings_back_and_loses_none() {
    let Some(disk) = SmallDisk::mount("400k") else { return };
    let mut turning = turn(engine(&disk.path()));
    turning.ask(start()).await.unwrap();
    disk.fill();
    turning.source.send(said(1, 10.0, 122.0)).await.unwrap();
    turning.live.wait_for(|live| live.trouble.is_some()).await.unwrap();
    let trouble = turning.live.borrow().trouble.clone().unwrap();
    assert!(trouble.contains("disk full"), "{trouble}");
    turning.source.send(said(2, 20.0, 178.0)).await.unwrap();
    let third = said(3, 30.0, 50.0);
    let pushed = timeout(Duration::from_millis(1500), turning.source.send(third.clone())).await;
    assert!(pushed.is_err(), "a source has to wait while nothing can be kept");
    assert!(turning.stored.try_recv().is_err());
    let refused = turning.ask(say(25.0, Say::Retract)).await.unwrap_err();
    assert!(matches!(refused, Refusal::NotKept(_)), "{refused}");
    fs::remove_file(disk.filler()).unwrap();
    turning.source.send(third).await.unwrap();
    for sequence in 1..=3 {
        let Stored { key } = turning.stored.recv().await.unwrap();
        assert_eq!(key, ReadingKey::Numbered { serial: "LK-1".into(), epoch: 1, sequence });
    }
    turning.live.wait_for(|live| live.trouble.is_none()).await.unwrap();
    let readings = kinds(&disk.path(), 1).into_iter().filter(|kind| kind == "reading").count();
    assert_eq!(readings, 3);
    drop(turning.source);
    turning.stop.send(()).unwrap();
    drop(turning.running.await.unwrap());
}

#[tokio::test]
async fn a_stop_takes_in_what_sources_still_have_to_say() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut turning = turn(engine(&path));
    turning.ask(start()).await.unwrap();
    turning.stop.send(()).unwrap();
    turning.ended.await.unwrap();
    turning.source.send(said(1, 10.0, 122.0)).await.unwrap();
    turning.source.send(said(2, 20.0, 178.0)).await.unwrap();
    drop(turning.source);
    drop(turning.running.await.unwrap());
    assert_eq!(turning.stored.recv().await.iter().count(), 1);
    let kinds = kinds(&path, 1);
    assert_eq!(kinds.iter().filter(|kind| *kind == "reading").count(), 2, "{kinds:?}");
}

#[tokio::test]
async fn the_adapter_is_told_how_to_guide_after_the_reading_that_led_to_it_is_kept() {
    let rig = Rig::new();
    let path = rig.path("journal.sqlite");
    let mut turning = turn(engine(&path));
    let Wake::Heard(at, Heard::Adapter(info)) = adapter() else { unreachable!() };
    turning.source.send(SourceEvent::Adapter { at, info }).await.unwrap();
    let change = LinkChange { adapter: "LK-1".into(), state: LinkState::Back };
    turning.source.send(SourceEvent::Link { at, change }).await.unwrap();
    turning.ask(start()).await.unwrap();
    let target = |guidance: &Guidance| guidance.aim.map(|aim| aim.target.nm());
    let mut guidance = turning.guidance.clone();
    guidance.wait_for(|guidance| target(guidance) == Some(122.0)).await.unwrap();
    // The clock of the loop is the real one, and a pull of long ago gets no cue.
    let now = (clock::reader())();
    let mut pull = said(1, 10.0, 122.0);
    if let SourceEvent::Reading { at, .. } = &mut pull {
        *at = now;
    }
    turning.source.send(pull).await.unwrap();
    let Stored { key } = turning.stored.recv().await.unwrap();
    assert!(Reader::open(&path).unwrap().find(&key).unwrap().is_some());
    let told = guidance.wait_for(|guidance| target(guidance) == Some(178.0)).await.unwrap().cue;
    assert!(told.is_none_or(|told| told == (1, Cue::StepDone)), "{told:?}");
    guidance.wait_for(|guidance| guidance.cue == Some((1, Cue::StepDone))).await.unwrap();
    turning.ask(Wake::Asked(now, Command::Park, None)).await.unwrap();
    guidance.wait_for(|guidance| guidance.aim.is_none()).await.unwrap();
}

#[tokio::test]
async fn a_long_press_of_the_adapters_button_says_again_what_was_said_last() {
    let rig = Rig::new();
    let mut turning = turn(engine(&rig.path("journal.sqlite")));
    turning.ask(start()).await.unwrap();
    let said = turning.live.wait_for(|live| !live.prompts.is_empty()).await.unwrap();
    let before = said.prompts.last().unwrap().clone();
    drop(said);
    let press =
        SourceEvent::Press { at: Stamp(1_000_000), adapter: "LK-1".to_owned(), press: Press::Long };
    turning.source.send(press).await.unwrap();
    let again = turning.live.wait_for(|live| {
        live.prompts.last().is_some_and(|prompt| prompt.number == before.number + 1)
    });
    assert_eq!(again.await.unwrap().prompts.last().unwrap().words, before.words);
}
