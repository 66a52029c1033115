//! What the commands, the player and the radio share. Everything runs on one thread.

use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use std::rc::Rc;
use std::time::Duration;

use clampbook_protocol::{Press, Reading, Rotation, Sample, Torque};
use clampbook_reference_adapter::device::{Device, NoPower, Power, Seen};
use clampbook_reference_adapter::trace::Tracer;
use serde_json::json;
use tokio::sync::{Mutex, Notify};
use tokio::time::Instant;

use super::answer;
use super::course::{Course, Recorded, Shape};
use super::flow::Flow;
use super::gate::Latch;
use super::keep::Keep;
use super::telling::Told;

/// Readings kept until released.
pub(crate) const CAPACITY: usize = 4_096;

/// Trace blocks that wait for the link, at most.
const BLOCKS: usize = 32;

/// Everything shared.
pub(crate) struct World {
    pub(crate) device: RefCell<Device<CAPACITY>>,
    /// Every reading made since this program started.
    pub(crate) log: RefCell<Vec<Reading>>,
    /// Told whenever the radio has something new to look at.
    pub(crate) changed: Notify,
    pub(crate) latch: Rc<Latch>,
    pub(crate) flow: Rc<Flow>,
    /// None in an adapter without a trace.
    pub(crate) tracer: Option<RefCell<Tracer<BLOCKS>>>,
    pub(crate) keep: Keep,
    began: Instant,
    /// By how much its clock was put forward.
    elapsed: Cell<Duration>,
    hidden_until: Cell<Option<Instant>>,
    /// Pulls whose torque may still have to be sent.
    pub(crate) courses: RefCell<VecDeque<Course>>,
    /// What was told of the guidance.
    pub(crate) told: Cell<Told>,
    hand: Mutex<()>,
}

impl World {
    /// A world around a device that has just started at time 0. `trace`: samples a second, and whether they
    /// carry rotation.
    pub(crate) fn new(
        device: Device<CAPACITY>,
        keep: Keep,
        began: Instant,
        trace: Option<(u16, bool)>,
    ) -> Self {
        Self {
            device: RefCell::new(device),
            log: RefCell::default(),
            changed: Notify::new(),
            latch: Rc::default(),
            flow: Rc::default(),
            tracer: trace.map(|(rate, rotates)| RefCell::new(Tracer::new(rate, rotates))),
            keep,
            began,
            elapsed: Cell::default(),
            hidden_until: Cell::new(None),
            courses: RefCell::default(),
            told: Cell::default(),
            hand: Mutex::new(()),
        }
    }

    /// Milliseconds since this program started, and by how much its clock was put forward.
    pub(crate) fn now_ms(&self) -> u64 {
        let since = self.began.elapsed() + self.elapsed.get();
        u64::try_from(since.as_millis()).unwrap_or(u64::MAX)
    }

    /// Puts its clock forward.
    pub(crate) fn elapse(&self, time: Duration) {
        self.elapsed.set(self.elapsed.get() + time);
    }

    /// Makes so many readings at once, while its clock goes on by a second for each.
    pub(crate) fn fill(&self, count: u16, pull: Seen) -> Result<(), NoPower> {
        for _ in 0..count {
            self.elapse(Duration::from_secs(1));
            let reading = self.device.borrow_mut().pull(pull, self.now_ms())?;
            self.log.borrow_mut().push(reading);
            self.keep.log(&reading);
        }
        Ok(())
    }

    /// Pulls, as it was recorded or else as the reading says, which takes as long as the pull takes, and makes
    /// the reading. One pull at a time.
    pub(crate) async fn pull(
        &self,
        pull: Seen,
        recorded: Option<Rc<Recorded>>,
    ) -> Result<Reading, NoPower> {
        let _one_hand = self.hand.lock().await;
        let shape = Shape::new(&pull, recorded);
        let (length_us, peak_us) = (shape.length_us(), shape.peak_us());
        if self.device.borrow().power() == Power::Off {
            return Err(NoPower);
        }
        let began_ms = self.now_ms();
        self.courses.borrow_mut().push_back(Course { began_us: began_ms * 1_000, shape });
        self.changed.notify_waiters();
        tokio::time::sleep(Duration::from_micros(length_us)).await;
        let peak_ms = began_ms + peak_us / 1_000;
        let reading = self.device.borrow_mut().pull(pull, peak_ms)?;
        self.log.borrow_mut().push(reading);
        self.keep.log(&reading);
        self.keep.device(&self.device.borrow());
        answer::event("reading", details(&reading));
        self.changed.notify_waiters();
        Ok(reading)
    }

    /// Presses the button; false if that only woke it.
    pub(crate) fn press(&self, press: Press) -> Result<bool, NoPower> {
        let pressed = self.device.borrow_mut().press(press, self.now_ms())?;
        if let Some(button) = &pressed {
            self.tell_press(button);
        }
        self.changed.notify_waiters();
        Ok(pressed.is_some())
    }

    /// Lets the adapter guide by what its sensors see at a time on this program's clock.
    pub(crate) fn feel(&self, at_ms: u64) {
        let sample = {
            let courses = self.courses.borrow();
            let running = courses.iter().find(|course| course.torque_at(at_ms * 1_000).is_some());
            running
                .map_or(Sample { torque: Torque::ZERO, rotation: Rotation::NOT_KNOWN }, |course| {
                    course.sample_at(at_ms * 1_000)
                })
        };
        self.device.borrow_mut().feel(sample, at_ms);
        self.tell_guidance();
    }

    /// Torque at a time on this program's clock.
    pub(crate) fn torque_at(&self, at_ms: u64) -> Torque {
        let courses = self.courses.borrow();
        let running = courses.iter().find_map(|course| course.torque_at(at_ms * 1_000));
        running.unwrap_or(Torque::ZERO)
    }

    /// True while the hand pulls.
    pub(crate) fn is_pulled_at(&self, at_ms: u64) -> bool {
        self.courses.borrow().iter().any(|course| course.is_pulled_at(at_ms * 1_000))
    }

    /// True when no torque stood on the drive within the last second.
    pub(crate) fn is_free(&self) -> bool {
        let since_us = self.now_ms().saturating_sub(1_000) * 1_000;
        self.courses.borrow().iter().all(|course| course.end_us() < since_us)
    }

    /// Forgets pulls that were over before a time.
    pub(crate) fn forget_before(&self, ms: u64) {
        self.courses.borrow_mut().retain(|course| course.end_us() >= ms * 1_000);
    }

    /// Cannot be reached over the air for a while.
    pub(crate) fn hide_for(&self, time: Duration) {
        self.hidden_until.set(Some(Instant::now() + time));
        self.changed.notify_waiters();
    }

    /// True while a host may find and keep it.
    pub(crate) fn is_reachable(&self) -> bool {
        let hidden = self.hidden_until.get().is_some_and(|until| Instant::now() < until);
        !hidden && self.device.borrow().power() == Power::Awake
    }

    /// Returns once a host may find it.
    pub(crate) async fn until_reachable(&self) {
        loop {
            let changed = self.changed.notified();
            if self.is_reachable() {
                return;
            }
            let hidden_until = self.hidden_until.get().filter(|&until| Instant::now() < until);
            match hidden_until {
                Some(until) => {
                    let _either = tokio::time::timeout_at(until, changed).await;
                }
                None => changed.await,
            }
        }
    }

    /// Returns once no host may keep it.
    pub(crate) async fn until_unreachable(&self) {
        loop {
            let changed = self.changed.notified();
            if !self.is_reachable() {
                return;
            }
            changed.await;
        }
    }

    /// Lets time do what it does: sleep begins, pairing mode ends.
    pub(crate) fn settle(&self) {
        self.device.borrow_mut().settle(self.now_ms());
        self.latch.open.set(self.device.borrow().is_pairing(self.now_ms()));
        self.tell_guidance();
    }

    /// Tells of pairing requests that the gate has turned away.
    pub(crate) fn tell_refused(&self) {
        let refused = self.latch.refused.take();
        if refused > 0 {
            answer::event("pairing-refused", json!({ "times": refused }));
        }
    }
}

/// A reading as answers, events and the log have it.
pub(crate) fn details(reading: &Reading) -> serde_json::Value {
    json!({
        "epoch": reading.key.epoch,
        "sequence": reading.key.sequence,
        "tick": reading.at.0,
        "peak_nm": reading.peak.centinewton_metres().map(|t| f64::from(t) / 100.0),
        "rotation_deg": reading.rotation.tenths().map(|r| f64::from(r) / 10.0),
        "duration_ms": reading.duration.millis(),
    })
}
