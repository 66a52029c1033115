//! Talking with an adapter that numbers and keeps its readings (L1 and above).

use super::control::Control;
use super::deadline::{self, within};
use super::drain::{Arrival, Drain};
use super::fault::{LinkClass, LinkError, is_busy, is_unbonded};
use super::hand::{self, Hand};
use super::link::{Link, write};
use super::rival::Rival;
use super::table::Own;
use super::{End, Flow};
use crate::adapter::port::{Port, Told};
use crate::adapter::presses::{self, Counted};
use crate::adapter::session::{Answer, Heard, Order, Reason, Session, Step};
use crate::adapter::source::SourceEvent;
use crate::adapter::stretch::Stretch;
use crate::adapter::traces::{self, Described, Traces};
use crate::adapter::translate;
use crate::adapter::trouble::{Cause, Trouble, TroubleClass};
use crate::core::event::{AdapterInfo, ReadingKey};
use crate::core::time::Stamp;
use btleplug::api::Peripheral as _;
use clampbook_protocol::{State, Status, StatusFlags};
use std::collections::VecDeque;
use std::pin::Pin;
use std::time::Duration;

/// A pull whose reading comes later than this after its peak, seconds, did not end just now.
const JUST_NOW_S: f64 = 5.0;

/// How an order ended.
enum Done {
    Status(Result<Vec<u8>, LinkError>),
    Written(Result<(), btleplug::Error>),
    Controlled(Result<(), LinkError>),
    Late,
}

type Doing = Pin<Box<dyn Future<Output = Done> + Send>>;

/// What an adapter says first.
pub(super) struct Greeted {
    info: AdapterInfo,
    /// Samples a second of its trace.
    trace_hz: Option<f64>,
    /// What it has for the hand.
    hand: translate::Hand,
}

/// Reads what the adapter is, and turns its notifications on. The first of these calls needs an
/// encrypted link; the system pairs at this point if it may.
pub(super) async fn begin(link: &Link, own: &Own) -> Result<Greeted, LinkError> {
    let call = link.peripheral.read(&own.capability);
    let capability = match tokio::time::timeout(deadline::CALL, call).await {
        Ok(Ok(capability)) => capability,
        Ok(Err(error)) if !is_unbonded(&error) => {
            return Err(LinkError::stack("read the capability", &error));
        }
        // Without a bond and somebody who agrees to one, the system answers so, or not at all.
        Ok(Err(_)) | Err(_) => {
            return Err(Cause::NotPaired.into());
        }
    };
    let info = translate::adapter_info(&link.serial, &capability)?;
    let trace_hz = translate::trace_rate(&capability);
    let hand = translate::hand(&capability);
    if let Some(control) = &own.control {
        // Without it, everything but requests of the operator still works.
        let _ = link.subscribe("answers to requests", control).await;
    }
    if let Some(motion) = own.motion.as_ref().filter(|_| info.reports.motion) {
        // Only evidence of which fastener it was: without it, everything else still works.
        let _ = link.subscribe("motion", motion).await;
    }
    if let Some(button) = own.button.as_ref().filter(|_| hand.button) {
        // A help for the hand: without it, everything else still works.
        let _ = link.subscribe("the button", button).await;
    }
    link.subscribe("answers", &own.access).await?;
    link.subscribe("readings", &own.reading).await?;
    if let (Some(trace), Some(_)) = (&own.trace, trace_hz) {
        // Only for the shape of a pull: without it, everything else still works.
        let _ = link.subscribe("the trace", trace).await;
    }
    link.subscribe("the status", &own.status).await?;
    Ok(Greeted { info, trace_hz, hand })
}

/// Talks until the link ends.
pub(super) async fn hold(
    port: &mut Port,
    session: &mut Session,
    flow: &mut Flow,
    link: &Link,
    own: &Own,
    drain: &mut Drain,
    greeted: Greeted,
) -> Result<(), End> {
    let Greeted { info, trace_hz, hand } = greeted;
    let hand = Hand::new(link, own, hand, &info, port.guidance());
    let mut talk = Talk {
        rival: Rival::new(flow.is_first_subscription()),
        control: Control::new(&link.serial, own.control.as_ref()),
        hand,
        port,
        flow,
        link,
        own,
        orders: VecDeque::new(),
        doing: None,
        status: None,
        traces: trace_hz.map(|rate_hz| (Stretch::new(rate_hz), Traces::new(traces::source(&info)))),
    };
    talk.flow.health.mtu = Some(link.peripheral.mtu());
    let steps = session.heard(talk.port.now(), Heard::Connected(info));
    let outcome = match talk.perform(steps).await {
        Ok(()) => talk.run(session, drain).await,
        Err(end) => Err(end),
    };
    talk.control.broke_off();
    talk.flow.health.guides = false;
    let steps = session.heard(talk.port.now(), Heard::Disconnected);
    talk.orders.clear();
    let last = talk.traces.as_mut().map_or_else(Vec::new, |(_, traces)| traces.ended());
    let told = async {
        talk.describe(last).await?;
        talk.complain().await?;
        talk.perform(steps).await
    };
    let told = told.await;
    match told {
        Ok(()) => outcome,
        Err(End::Closed) => Err(End::Closed),
        Err(End::Failed(_)) => outcome,
    }
}

struct Talk<'a> {
    port: &'a mut Port,
    flow: &'a mut Flow,
    link: &'a Link,
    own: &'a Own,
    orders: VecDeque<Order>,
    doing: Option<Doing>,
    status: Option<Status>,
    control: Control,
    hand: Hand,
    rival: Rival,
    /// Its trace, if it sends one.
    traces: Option<(Stretch, Traces<(ReadingKey, u64)>)>,
}

impl Talk<'_> {
    async fn run(&mut self, session: &mut Session, drain: &mut Drain) -> Result<(), End> {
        loop {
            if self.doing.is_none() {
                self.doing = self.control.begin(self.port.now()).map(|octets| self.ask(octets));
            }
            if self.doing.is_none() {
                self.doing = self.orders.pop_front().and_then(|order| self.start(order));
            }
            let hand_due = self.lend_hand();
            let wakes = [session.wake_at(), self.control.due(), hand_due];
            let wake_at = wakes.into_iter().flatten().min();
            let pause = wake_at.map(|at| at.seconds_since(self.port.now()).max(0.0));
            let shut_down = self.port.shut_down();
            let steps = tokio::select! {
                biased;
                () = shut_down => return Err(End::Closed),
                arrival = drain.next() => self.arrived(session, arrival).await?,
                done = done(&mut self.doing) => {
                    self.doing = None;
                    self.done(session, done).await?
                }
                done = self.hand.done() => {
                    self.lent(done).await?;
                    Vec::new()
                }
                told = self.port.told() => match told {
                    Told::Stored(stored) => {
                        self.flow.stored(&stored.key);
                        session.stored(self.port.now(), &stored.key)
                    }
                    Told::Errand(errand) => {
                        self.control.take(errand);
                        Vec::new()
                    }
                    Told::Guidance(guidance) => {
                        self.hand.guide(guidance);
                        Vec::new()
                    }
                },
                () = sleep(pause) => {
                    self.control.tick(self.port.now());
                    session.tick(self.port.now())
                }
            };
            if drain.was_behind() {
                self.trouble(self.backlog()).await?;
            }
            self.perform(steps).await?;
            self.flow.health.guides = self.hand.guides();
            self.flow.show(self.port);
        }
    }

    async fn arrived(&mut self, session: &mut Session, arrival: Arrival) -> Result<Vec<Step>, End> {
        let Arrival::Value { uuid, octets, at } = arrival else {
            return Err(End::Failed(LinkError::passing("the link is down")));
        };
        self.flow.arrived(at);
        session.alive(at);
        if self.own.control.as_ref().is_some_and(|control| control.uuid == uuid) {
            self.control.answered(&octets);
            return Ok(Vec::new());
        }
        if uuid == self.own.reading.uuid {
            if self.rival.suspects(at, &octets) {
                self.flow.health.rival = true;
                self.trouble(Cause::Rival.trouble(Some(&self.link.serial))).await?;
            }
            let (heard, trouble) = translate::reading(&self.link.serial, &octets);
            if let Some(trouble) = trouble
                && session.is_news(&heard)
            {
                self.trouble(trouble).await?;
            }
            return Ok(session.heard(at, heard));
        }
        if uuid == self.own.access.uuid {
            let answer = translate::answer(&octets);
            return Ok(
                answer.map_or_else(Vec::new, |answer| session.heard(at, Heard::Answer(answer)))
            );
        }
        if uuid == self.own.status.uuid {
            return self.status(session, at, &octets, false).await;
        }
        if self.own.trace.as_ref().is_some_and(|trace| trace.uuid == uuid) {
            if let (Some((stretch, _)), Some(block)) = (&mut self.traces, translate::trace(&octets))
            {
                stretch.queue(block);
            }
            self.sampled(session).await?;
            return Ok(Vec::new());
        }
        if self.own.button.as_ref().is_some_and(|button| button.uuid == uuid) {
            self.pressed(session, at, &octets).await?;
            return Ok(Vec::new());
        }
        if self.own.motion.as_ref().is_some_and(|motion| motion.uuid == uuid) {
            return Ok(match translate::motion(&octets) {
                Some(motion) => session.heard(at, Heard::Motion(motion)),
                None => Vec::new(),
            });
        }
        if self.link.table.torque.as_ref().is_some_and(|torque| torque.uuid == uuid)
            && let Some(torque) = translate::live_torque(&octets)
        {
            self.hand.felt(torque);
            let adapter = self.link.serial.clone();
            self.port.show(SourceEvent::Live { at, adapter, torque });
        }
        Ok(Vec::new())
    }

    /// Tells of a press of the button, and of presses before it that were not heard.
    async fn pressed(&mut self, session: &Session, at: Stamp, octets: &[u8]) -> Result<(), End> {
        let pressed = match translate::pressed(octets) {
            Ok(pressed) => pressed,
            Err(reason) => {
                return self.trouble(presses::unreadable(&self.link.serial, &reason)).await;
            }
        };
        let Counted::New { missed } = self.flow.presses.count(pressed.epoch, pressed.counter)
        else {
            return Ok(());
        };
        if missed > 0 {
            self.trouble(presses::missed(&self.link.serial, missed)).await?;
        }
        match pressed.press {
            Ok(press) => {
                let told = session.moment_in(pressed.epoch, pressed.tick);
                let at = told.map_or(at, |(told, _)| told.min(at));
                let adapter = self.link.serial.clone();
                Ok(self.port.tell(SourceEvent::Press { at, adapter, press }).await?)
            }
            Err(way) => self.trouble(presses::unknown(&self.link.serial, way)).await,
        }
    }

    /// Begins what is wanted for the hand, once everything else is under way; gives when more is due.
    fn lend_hand(&mut self) -> Option<Stamp> {
        let is_awake = self.status.as_ref().is_some_and(|status| status.state != State::AsleepSoon);
        if !self.hand.is_free() || !is_awake {
            return None;
        }
        let now = self.port.now();
        let idle = self.doing.is_none() && self.orders.is_empty();
        if self.control.is_free()
            && let Some(cue) = self.hand.take_cue(idle)
        {
            let octets = self.control.begin_cue(now, cue);
            self.hand.ask(octets);
            return None;
        }
        if idle {
            self.hand.begin(now);
        }
        self.hand.due().filter(|_| idle && self.hand.is_free())
    }

    /// Takes in how something for the hand ended.
    async fn lent(&mut self, done: hand::Done) -> Result<(), End> {
        let now = self.port.now();
        let trouble = match done {
            hand::Done::Written(outcome) => self.hand.written(now, outcome),
            hand::Done::Read(octets) => self.hand.read(now, octets.as_deref()),
            hand::Done::Cued(Ok(())) => None,
            hand::Done::Cued(Err(error)) => {
                self.control.cue_ended(&error.to_string());
                None
            }
        };
        match trouble {
            Some(trouble) => self.trouble(trouble).await,
            None => Ok(()),
        }
    }

    /// Reads the samples that came, once a status has told when they were taken.
    async fn sampled(&mut self, session: &Session) -> Result<(), End> {
        let moment_of = |tick| session.moment_of(tick).map(|(at, _)| at);
        while let Some((stretch, traces)) = &mut self.traces
            && let Some((trace, last)) = stretch.next(moment_of)
        {
            let mut shown = traces.block(trace);
            self.flow.health.trace_blocks_lost = stretch.lost();
            if last {
                shown.extend(traces.ended());
            }
            self.describe(shown).await?;
            self.complain().await?;
        }
        Ok(())
    }

    /// Tells of nonsense in the trace, once a kind in this run of the program.
    async fn complain(&mut self) -> Result<(), End> {
        let found = self.traces.as_mut().map_or_else(Vec::new, |(_, traces)| traces.nonsense());
        for what in found {
            if self.flow.nonsense.is_news(&what) {
                self.trouble(traces::trouble(&self.link.serial, &what)).await?;
            }
        }
        Ok(())
    }

    async fn describe(&mut self, shown: Vec<Described<(ReadingKey, u64)>>) -> Result<(), End> {
        for one in shown {
            self.port.tell(one.event(&self.link.serial)).await?;
        }
        Ok(())
    }

    async fn status(
        &mut self,
        session: &mut Session,
        at: Stamp,
        octets: &[u8],
        asked: bool,
    ) -> Result<Vec<Step>, End> {
        match translate::status(octets, asked) {
            Ok((beat, status)) => {
                for trouble in translate::news(&self.link.serial, self.status.as_ref(), &status) {
                    self.trouble(trouble).await?;
                }
                self.flow.health.battery_pct = status.battery.percent();
                self.hand.status(status.flags.has(StatusFlags::UNDER_TORQUE));
                self.status = Some(status);
                let steps = session.heard(at, Heard::Beat(beat));
                self.sampled(session).await?;
                Ok(steps)
            }
            Err(trouble) => {
                self.trouble(Trouble { adapter: Some(self.link.serial.clone()), ..trouble })
                    .await?;
                Ok(Vec::new())
            }
        }
    }

    async fn done(&mut self, session: &mut Session, done: Done) -> Result<Vec<Step>, End> {
        let now = self.port.now();
        match done {
            Done::Status(Ok(octets)) => self.status(session, now, &octets, true).await,
            Done::Status(Err(error)) if error.class == LinkClass::NeedsPairing => {
                Err(End::Failed(error))
            }
            // What is asked is not there any more, as when a controller is unplugged: nobody tells that.
            Done::Status(Err(error))
                if !matches!(error.class, LinkClass::Retryable | LinkClass::Unsupported) =>
            {
                Err(End::Failed(LinkError::passing("the link is down")))
            }
            // The session notices a status that does not come.
            Done::Status(Err(_)) | Done::Written(Ok(())) | Done::Controlled(Ok(())) => {
                Ok(Vec::new())
            }
            Done::Controlled(Err(error)) => {
                self.control.failed(&error);
                Ok(Vec::new())
            }
            Done::Written(Err(error)) if is_busy(&error) => {
                Ok(session.heard(now, Heard::Answer(Answer::Busy)))
            }
            Done::Written(Err(error)) => {
                Err(End::Failed(LinkError::stack("write to the adapter", &error)))
            }
            Done::Late => Err(End::Failed(LinkError::passing(
                "the adapter does not take what is written to it",
            ))),
        }
    }

    /// Begins to write a request of the operator.
    fn ask(&self, octets: Vec<u8>) -> Doing {
        let peripheral = self.link.peripheral.clone();
        let control = self.own.control.clone();
        Box::pin(async move {
            let Some(control) = control else { return Done::Controlled(Ok(())) };
            let call = write(&peripheral, &control, &octets);
            Done::Controlled(within(deadline::CALL, "ask the adapter", call).await)
        })
    }

    /// Begins to carry out an order.
    fn start(&self, order: Order) -> Option<Doing> {
        let peripheral = self.link.peripheral.clone();
        let Some(octets) = translate::order(order) else {
            let status = self.own.status.clone();
            return Some(Box::pin(async move {
                let call = peripheral.read(&status);
                Done::Status(within(deadline::STATUS, "read the status", call).await)
            }));
        };
        let access = self.own.access.clone();
        Some(Box::pin(async move {
            let call = write(&peripheral, &access, &octets);
            match tokio::time::timeout(deadline::TRANSACTION, call).await {
                Ok(outcome) => Done::Written(outcome),
                Err(_) => Done::Late,
            }
        }))
    }

    async fn perform(&mut self, steps: Vec<Step>) -> Result<(), End> {
        for step in steps {
            match step {
                // Asked again before it was begun: once is enough.
                Step::Order(Order::ReadStatus) if self.orders.contains(&Order::ReadStatus) => {}
                Step::Order(order) => self.orders.push_back(order),
                Step::Event(event) => {
                    self.flow.notice(&event);
                    if let SourceEvent::Reading { at, reading, .. } = &event
                        && self.port.now().seconds_since(*at) < JUST_NOW_S
                    {
                        self.hand.peaked(reading.peak);
                    }
                    let shown = self.shown(&event);
                    self.port.tell(event).await?;
                    self.describe(shown).await?;
                }
                Step::TearDown(reason) => {
                    return Err(End::Failed(match reason {
                        Reason::Silent => LinkError::passing("the adapter's status does not come"),
                        Reason::Unanswered => LinkError::passing("the adapter does not answer"),
                        Reason::NotFlowing => Cause::NotFlowing.into(),
                    }));
                }
            }
        }
        Ok(())
    }

    /// What the trace shows of a reading that is about to be told.
    fn shown(&mut self, event: &SourceEvent) -> Vec<Described<(ReadingKey, u64)>> {
        match (event, &mut self.traces) {
            (
                SourceEvent::Reading { key, at, at_error_us: Some(error_us), reading, .. },
                Some((_, traces)),
            ) => {
                let error_s = f64::from(*error_us) / 1e6;
                traces.reading((key.clone(), reading.seq), *at, error_s, reading.peak)
            }
            _ => Vec::new(),
        }
    }

    async fn trouble(&mut self, trouble: Trouble) -> Result<(), End> {
        let at = self.port.now();
        Ok(self.port.tell(SourceEvent::Trouble { at, trouble }).await?)
    }

    fn backlog(&self) -> Trouble {
        Trouble {
            class: TroubleClass::Backlog,
            adapter: Some(self.link.serial.clone()),
            message: "readings arrive faster than they are stored; none is dropped".to_owned(),
            next_step: "look at the disk if this goes on".to_owned(),
        }
    }
}

async fn done(doing: &mut Option<Doing>) -> Done {
    match doing {
        Some(doing) => doing.await,
        None => std::future::pending().await,
    }
}

async fn sleep(pause: Option<f64>) {
    match pause {
        Some(seconds) => {
            // No longer than a day, so that no odd time can overflow the timer.
            tokio::time::sleep(Duration::from_secs_f64(seconds.min(86_400.0))).await;
        }
        None => std::future::pending().await,
    }
}
