//! The adapter's state: power, epoch, sequence, readings kept, and what is to be notified.

use clampbook_protocol::{
    Announcement, AnnouncementFlags, Battery, Button, ControlAnswer, ControlRequest, Cue, Duration,
    Epoch, Key, Motion, Press, Reading, ReadingFlags, Reason, Rotation, Sample, Sequence, SetPoint,
    State, Status, StatusFlags, Tick, Torque, Travel, Zero,
};

use crate::access::{Access, Newest, Outcome};
use crate::faults::Faults;
use crate::guide::{End, Guide, Refused};
use crate::store::{Record, Store};

/// How long pairing stays open after it was entered at the adapter, in milliseconds.
pub const PAIRING_MS: u64 = 60_000;

/// Readings that wait for their live notification, at most.
const OUTBOX: usize = 32;

/// Presses that wait to be notified, at most. What finds no place is not sent, and the counter tells.
const PRESSES: usize = 8;

/// Charge below which the battery counts as low, in percent.
const BATTERY_LOW: u8 = 15;

/// Whether the adapter runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Power {
    /// Without power: nothing is measured, memory is kept, the next start begins an epoch.
    Off,
    /// Asleep, which is normal: torque wakes it, the epoch goes on.
    Asleep,
    /// Measuring.
    Awake,
}

/// It has no power, so nothing was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoPower;

/// The host has asked it to stay awake, so it does not sleep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StaysAwake;

/// One application of torque, as the sensor saw it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seen {
    /// Peak, clockwise positive.
    pub peak: Torque,
    /// How far the drive turned while the torque stood above 10 % of the peak.
    pub rotation: Rotation,
    /// How long the torque stood above 10 % of the peak.
    pub duration: Duration,
    /// How far the head of the tool moved since the peak before, if that was followed.
    pub moved: Option<Moved>,
}

/// How far the head of the tool moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Moved {
    /// In the plane square to the drive.
    pub travel: Travel,
    /// One standard deviation of each axis, or of the distance, in steps of 0.1 mm.
    pub deviation: u16,
}

/// An adapter with room for `N` unreleased readings.
#[derive(Debug)]
pub struct Device<const N: usize> {
    power: Power,
    /// When the announced sleep begins.
    sleeps_at: Option<u64>,
    /// Until when a host wishes it awake.
    awake_until: u64,
    pairing_until: Option<u64>,
    booted_ms: u64,
    epoch: Epoch,
    newest: Option<Sequence>,
    store: Store<N>,
    /// Torque above which the sensor may have been hurt, in 0.01 N·m.
    overload: u32,
    zero: Zero,
    battery: Battery,
    faults: Faults,
    outbox: [Option<Reading>; OUTBOX],
    waiting: usize,
    /// Readings that are notified late, with the time of that.
    late: [Option<(u64, Reading)>; OUTBOX],
    /// It takes a set-point and cues, and its button is told of.
    has_hand: bool,
    guide: Guide,
    /// Presses of this epoch.
    pressed: u16,
    /// Presses that are not notified yet, the oldest first.
    presses: [Option<Button>; PRESSES],
}

impl<const N: usize> Device<N> {
    /// An adapter that starts at `now_ms` with the readings it had kept, in `epoch` or the first one after
    /// it that no kept reading has.
    ///
    /// `range_most` is the largest torque of its range, in 0.01 N·m; a fifth more is an overload.
    #[must_use]
    pub fn start(epoch: Epoch, kept: Store<N>, range_most: u32, now_ms: u64) -> Self {
        Self {
            power: Power::Awake,
            sleeps_at: None,
            awake_until: 0,
            pairing_until: None,
            booted_ms: now_ms,
            epoch: passing_over(epoch, &kept),
            newest: None,
            store: kept,
            overload: range_most.saturating_add(range_most / 5),
            zero: Zero::Good,
            battery: Battery::NOT_KNOWN,
            faults: Faults::default(),
            outbox: [None; OUTBOX],
            waiting: 0,
            late: [None; OUTBOX],
            has_hand: false,
            guide: Guide::new(range_most),
            pressed: 0,
            presses: [None; PRESSES],
        }
    }

    /// The same with what guides the hand: it takes a set-point and cues, and its button is told of.
    #[must_use]
    pub fn with_hand(self) -> Self {
        Self { has_hand: true, ..self }
    }

    /// Whether it runs.
    #[must_use]
    pub fn power(&self) -> Power {
        self.power
    }

    /// The epoch (boot).
    #[must_use]
    pub fn epoch(&self) -> Epoch {
        self.epoch
    }

    /// The readings not released.
    #[must_use]
    pub fn store(&self) -> &Store<N> {
        &self.store
    }

    /// Handles a record access request of a link.
    pub fn access(&mut self, octets: &[u8], access: &mut Access) -> Outcome {
        self.rouse();
        let newest = Newest { epoch: self.epoch, sequence: self.newest.map_or(0, Sequence::get) };
        access.request(octets, &mut self.store, newest)
    }

    /// The set-point in force, and what is shown of it.
    #[must_use]
    pub fn guide(&self) -> &Guide {
        &self.guide
    }

    /// The number of the set-point that ended since this was last asked, and why.
    pub fn take_ended(&mut self) -> Option<(u16, End)> {
        self.guide.take_ended()
    }

    /// A host writes a set-point over a link, which takes an announced sleep back.
    ///
    /// # Errors
    /// It is refused, and whatever was in force stays so.
    pub fn set_point(
        &mut self,
        octets: &[u8],
        link: u16,
        now_ms: u64,
    ) -> Result<SetPoint, Refused> {
        self.rouse();
        self.guide.write(octets, link, now_ms)
    }

    /// Takes a sample of the sensors, by which it guides.
    pub fn feel(&mut self, sample: Sample, at_ms: u64) {
        if self.power == Power::Awake {
            self.guide.feel(sample, at_ms);
        }
    }

    /// The button is pressed. One that only wakes it is neither counted nor told.
    ///
    /// # Errors
    /// Without power: nothing happens then.
    pub fn press(&mut self, press: Press, now_ms: u64) -> Result<Option<Button>, NoPower> {
        if self.power == Power::Off {
            return Err(NoPower);
        }
        let only_wakes = self.power == Power::Asleep;
        self.wake();
        if only_wakes || !self.has_hand {
            return Ok(None);
        }
        self.pressed = self.pressed.wrapping_add(1);
        let at = self.tick(now_ms);
        let button = Button { epoch: self.epoch, counter: self.pressed, at, press };
        if let Some(place) = self.presses.iter_mut().find(|place| place.is_none()) {
            *place = Some(button);
        }
        Ok(Some(button))
    }

    /// The next press to notify, taken out.
    pub fn next_press(&mut self) -> Option<Button> {
        let first = self.presses.first_mut()?.take();
        self.presses.rotate_left(1);
        first
    }

    /// True from an overload until the zero was taken anew; it outlives a boot.
    #[must_use]
    pub fn is_overloaded(&self) -> bool {
        self.zero == Zero::Needed
    }

    /// Remembers an overload from before the start.
    pub fn set_overloaded(&mut self) {
        self.zero = Zero::Needed;
    }

    /// The faults of delivery.
    pub fn faults_mut(&mut self) -> &mut Faults {
        &mut self.faults
    }

    /// Sets the battery's charge.
    pub fn set_battery(&mut self, battery: Battery) {
        self.battery = battery;
    }

    /// Time since the boot; wraps after 497 days.
    #[must_use]
    pub fn tick(&self, now_ms: u64) -> Tick {
        let ticks = now_ms.saturating_sub(self.booted_ms) / u64::from(Tick::MILLIS);
        Tick((ticks & u64::from(u32::MAX)) as u32)
    }

    /// Makes a reading of a pull that reached its peak at `peak_ms`. Torque wakes it: the reading then may
    /// not cover the whole pull, and says so.
    ///
    /// # Errors
    /// Without power: nothing is recorded then.
    pub fn pull(&mut self, seen: Seen, peak_ms: u64) -> Result<Reading, NoPower> {
        if self.power == Power::Off {
            return Err(NoPower);
        }
        let woken = self.power == Power::Asleep;
        self.wake();
        let unchecked = self.zero != Zero::Good;
        let overload =
            seen.peak.centinewton_metres().is_some_and(|peak| peak.unsigned_abs() > self.overload);
        if overload {
            self.zero = Zero::Needed;
        }
        let before = self.newest;
        let sequence = self.newest.map_or(Sequence::MIN, |newest| newest.saturating_add(1));
        let reading = Reading {
            key: Key { epoch: self.epoch, sequence },
            at: self.tick(peak_ms),
            peak: seen.peak,
            rotation: seen.rotation,
            duration: seen.duration,
            flags: ReadingFlags::NONE
                .with_if(overload, ReadingFlags::OVERLOAD)
                .with_if(unchecked, ReadingFlags::ZERO_UNCHECKED)
                .with_if(woken, ReadingFlags::INCOMPLETE),
        };
        // Asleep it follows nothing, and no motion leads from one epoch to another.
        let motion = seen.moved.zip(before).filter(|_| !woken).map(|(moved, from)| Motion {
            epoch: self.epoch,
            from,
            to: sequence,
            travel: moved.travel,
            deviation: moved.deviation,
        });
        self.store.push(Record { reading, motion });
        self.newest = Some(sequence);
        let delay_ms = u64::from(self.faults.next_delay_ms());
        for _ in 0..self.faults.next_copies() {
            if delay_ms > 0 {
                if let Some(place) = self.late.iter_mut().find(|place| place.is_none()) {
                    *place = Some((peak_ms + delay_ms, reading));
                }
            } else if let Some(place) = self.outbox.get_mut(self.waiting) {
                *place = Some(reading);
                self.waiting += 1;
            }
        }
        Ok(reading)
    }

    /// The next reading to notify live, taken out.
    pub fn next_live(&mut self, now_ms: u64) -> Option<Reading> {
        let is_due =
            |place: &&mut Option<(u64, Reading)>| place.is_some_and(|(at, _)| at <= now_ms);
        if let Some(place) = self.late.iter_mut().find(is_due) {
            return place.take().map(|(_, reading)| reading);
        }
        let first = self.outbox[..self.waiting].first_mut()?.take();
        self.outbox[..self.waiting].rotate_left(1);
        self.waiting -= 1;
        first
    }

    /// Live delivery is only for a host that listens: whatever waits is dropped. Readings stay in the store, and
    /// presses are gone.
    pub fn forget_live(&mut self) {
        self.presses = [None; PRESSES];
        self.outbox = [None; OUTBOX];
        self.waiting = 0;
        self.late = [None; OUTBOX];
    }

    /// The heartbeat.
    #[must_use]
    pub fn status(&self, now_ms: u64, under_torque: bool) -> Status {
        let ours = |reading: &&Reading| reading.key.epoch == self.epoch;
        Status {
            epoch: self.epoch,
            now: self.tick(now_ms),
            newest: self.newest,
            lowest_held: self.store.readings().find(ours).map(|reading| reading.key.sequence),
            held: self.store.len().try_into().unwrap_or(u16::MAX),
            battery: self.battery,
            state: if self.sleeps_at.is_some() {
                State::AsleepSoon
            } else if self.is_pairing(now_ms) {
                State::Pairing
            } else {
                State::Awake
            },
            zero: self.zero,
            flags: StatusFlags::NONE
                .with_if(self.zero == Zero::Needed, StatusFlags::OVERLOAD)
                .with_if(
                    self.store.readings().any(|reading| !ours(&reading)),
                    StatusFlags::OLDER_EPOCHS,
                )
                .with_if(self.store.has_lost(), StatusFlags::RECORDS_LOST)
                .with_if(self.store.is_full(), StatusFlags::MEMORY_FULL)
                .with_if(under_torque, StatusFlags::UNDER_TORQUE),
        }
    }

    /// What it says before a link exists.
    #[must_use]
    pub fn announcement(&self, now_ms: u64) -> Announcement {
        let low = self.battery.percent().is_some_and(|percent| percent < BATTERY_LOW);
        Announcement {
            flags: AnnouncementFlags::NONE
                .with_if(self.is_pairing(now_ms), AnnouncementFlags::PAIRING)
                .with_if(!self.store.is_empty(), AnnouncementFlags::RECORDS_HELD)
                .with_if(low, AnnouncementFlags::BATTERY_LOW),
        }
    }

    /// Does what a host asks. `is_free`: no torque stood on the drive within the last second.
    pub fn control(&mut self, octets: &[u8], now_ms: u64, is_free: bool) -> ControlAnswer<'static> {
        let request = match ControlRequest::parse(octets) {
            Ok(request) => request,
            Err(_) => {
                let request = octets.first().copied().unwrap_or(0);
                let is_cue = request == ControlRequest::Cue(Cue::Nothing).op();
                let reason = match is_cue && !self.has_hand {
                    true => Reason::OpNotSupported,
                    false => Reason::InvalidParameter,
                };
                return ControlAnswer::Refused { request, reason };
            }
        };
        self.rouse();
        let op = request.op();
        let refused = |reason| ControlAnswer::Refused { request: op, reason };
        match request {
            ControlRequest::Zero if !is_free => refused(Reason::NotNow),
            ControlRequest::Zero => {
                self.zero = Zero::Good;
                ControlAnswer::Zeroed { offset: Torque::ZERO }
            }
            ControlRequest::Identify { .. } => ControlAnswer::Done { request: op },
            ControlRequest::StayAwake { minutes } => {
                self.awake_until = now_ms.saturating_add(u64::from(minutes) * 60_000);
                ControlAnswer::Done { request: op }
            }
            ControlRequest::Cue(Cue::Other(_)) if self.has_hand => {
                refused(Reason::InvalidParameter)
            }
            ControlRequest::Cue(cue) if self.has_hand => {
                self.guide.begin_cue(cue, now_ms);
                ControlAnswer::Done { request: op }
            }
            ControlRequest::Cue(_) | ControlRequest::Unknown { .. } => {
                refused(Reason::OpNotSupported)
            }
        }
    }

    /// The link is gone, and with it what its host wished.
    pub fn link_lost(&mut self) {
        self.awake_until = 0;
        self.guide.end(End::Link);
        self.forget_live();
    }

    /// Announces that it sleeps from `at_ms` on, if it is awake.
    ///
    /// # Errors
    /// When a host wishes it awake.
    pub fn announce_sleep(&mut self, now_ms: u64, at_ms: u64) -> Result<(), StaysAwake> {
        if now_ms < self.awake_until {
            return Err(StaysAwake);
        }
        if self.power == Power::Awake {
            self.sleeps_at = Some(at_ms);
            self.pairing_until = None;
        }
        Ok(())
    }

    /// Takes an announced sleep back: somebody does something.
    pub fn rouse(&mut self) {
        self.sleeps_at = None;
    }

    /// Goes to sleep if its time has come, and stops guiding if its time is over.
    pub fn settle(&mut self, now_ms: u64) {
        if self.sleeps_at.is_some_and(|at| now_ms >= at) {
            self.sleeps_at = None;
            self.power = Power::Asleep;
            self.guide.end(End::Sleep);
        }
        self.guide.settle(now_ms);
    }

    /// Wakes, if it was asleep or about to sleep.
    pub fn wake(&mut self) {
        self.rouse();
        if self.power == Power::Asleep {
            self.power = Power::Awake;
        }
    }

    /// Loses power: what is not in lasting memory is gone.
    pub fn power_off(&mut self) {
        self.power = Power::Off;
        self.sleeps_at = None;
        self.awake_until = 0;
        self.pairing_until = None;
        self.faults = Faults::default();
        self.guide.end(End::Boot);
        self.forget_live();
    }

    /// Gets power back, if it was off: a new epoch begins.
    pub fn power_on(&mut self, now_ms: u64) {
        if self.power == Power::Off {
            self.power = Power::Awake;
            self.begin_epoch(now_ms);
        }
    }

    /// Begins an epoch, as a restart of the adapter does: ticks and sequence start again.
    pub fn begin_epoch(&mut self, now_ms: u64) {
        self.epoch = passing_over(after(self.epoch), &self.store);
        self.newest = None;
        self.booted_ms = now_ms;
        self.guide.end(End::Boot);
        self.pressed = 0;
        self.presses = [None; PRESSES];
    }

    /// Enters pairing mode for `for_ms`, at most [`PAIRING_MS`]; not unless it is awake.
    pub fn enter_pairing(&mut self, now_ms: u64, for_ms: u64) {
        if self.power == Power::Awake {
            self.pairing_until = Some(now_ms.saturating_add(for_ms.min(PAIRING_MS)));
        }
    }

    /// Leaves pairing mode.
    pub fn leave_pairing(&mut self) {
        self.pairing_until = None;
    }

    /// True while pairing is allowed.
    #[must_use]
    pub fn is_pairing(&self, now_ms: u64) -> bool {
        self.pairing_until.is_some_and(|until| now_ms < until)
    }
}

/// `epoch`, or the first one after it that no kept reading has.
fn passing_over<const N: usize>(mut epoch: Epoch, kept: &Store<N>) -> Epoch {
    while kept.readings().any(|reading| reading.key.epoch == epoch) {
        epoch = after(epoch);
    }
    epoch
}

/// The epoch after one: 1 after the last.
#[must_use]
pub fn after(epoch: Epoch) -> Epoch {
    epoch.checked_add(1).unwrap_or(Epoch::MIN)
}
