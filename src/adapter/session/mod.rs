//! The conversation with one adapter that numbers its readings: no I/O, no clock.
//!
//! A [`Session`] is told what was [`Heard`] and what is committed, and says which [`Step`]s to take.
//! It outlives links: one adapter has one session from the first link to the last.
//!
//! Guarantees, for any order, repetition or loss of deliveries: every reading that the adapter has
//! and that arrives is told once; one that is missing is asked for within a second, and again after
//! every link; it is called a gap only when the adapter itself says that it has it no more; the
//! adapter is told to forget only what is committed, or gone, with everything before it.
//!
//! Deliberately absent: octets, and any opinion on what a reading means.

mod epoch;
mod link;
mod motions;
mod records;
mod runs;
mod ticks;
mod troubles;
mod words;

pub use runs::Runs;
pub use ticks::TickClock;
pub use words::{Answer, Beat, Heard, Move, Order, Reason, Record, Step, Wanted, When};

use crate::adapter::source::{Known, SourceEvent};
use crate::core::event::{AdapterInfo, LinkChange, LinkState, Motion, Reading, ReadingKey};
use crate::core::time::Stamp;
use epoch::Epoch;
use link::Link;
use motions::Motions;
use std::collections::{BTreeMap, BTreeSet};

/// The conversation with one adapter.
#[derive(Debug, Clone)]
pub struct Session {
    id: String,
    serial: String,
    info: Option<AdapterInfo>,
    epochs: BTreeMap<u32, Epoch>,
    clocks: BTreeMap<u32, TickClock>,
    /// The adapter's current epoch, once it was told.
    current: Option<u32>,
    /// Epochs before the current one.
    older: BTreeSet<u32>,
    /// Readings whose time cannot be told yet.
    untimed: Vec<Record>,
    motions: Motions,
    /// Readings of this adapter were stored before this session: whatever it numbers is ours.
    acquainted: bool,
    link: Option<Link>,
    steps: Vec<Step>,
}

impl Session {
    /// A session with the adapter of this serial number, called `id` in events. What is `known` of
    /// other adapters is passed over.
    #[must_use]
    pub fn new(id: &str, serial: &str, known: &Known) -> Self {
        let mut session = Self {
            id: id.to_owned(),
            serial: serial.to_owned(),
            info: None,
            epochs: BTreeMap::new(),
            clocks: BTreeMap::new(),
            current: None,
            older: BTreeSet::new(),
            untimed: Vec::new(),
            motions: Motions::default(),
            acquainted: false,
            link: None,
            steps: Vec::new(),
        };
        for key in &known.keys {
            if let Some((epoch, sequence)) = session.own(key) {
                session.acquainted = true;
                session.epoch(epoch).committed(sequence);
            }
        }
        for gap in known.gaps.iter().filter(|gap| gap.adapter == id) {
            let numbers = (u32::try_from(gap.first), u32::try_from(gap.last));
            if let (Some(epoch), (Ok(first), Ok(last))) = (gap.epoch, numbers) {
                session.epoch(epoch).known_gone(first..=last);
            }
        }
        for epoch in session.epochs.values_mut() {
            epoch.resumed();
        }
        session
    }

    /// Takes in that the adapter sent something, whatever it was.
    pub fn alive(&mut self, now: Stamp) {
        if let Some(link) = &mut self.link {
            link.alive(now);
        }
    }

    /// Takes in what was heard.
    pub fn heard(&mut self, now: Stamp, heard: Heard) -> Vec<Step> {
        self.alive(now);
        match heard {
            Heard::Connected(info) => self.connected(now, info),
            Heard::Record(record) => self.record(now, record),
            Heard::Unreadable { epoch, sequence } => {
                self.flowing(now);
                // Settled but never committed: it is not asked for again, and the adapter keeps it.
                self.epoch(epoch).arrived(sequence);
                self.progress(now, 1);
            }
            Heard::Motion(motion) => self.motion(now, motion),
            Heard::Garbled => self.progress(now, 1),
            Heard::Beat(beat) => self.beat(now, beat),
            Heard::Answer(answer) => self.answer(now, answer),
            Heard::Disconnected => self.disconnected(now),
        }
        self.advance(now)
    }

    /// Takes in that a reading is committed.
    pub fn stored(&mut self, now: Stamp, key: &ReadingKey) -> Vec<Step> {
        if let Some((epoch, sequence)) = self.own(key) {
            self.epoch(epoch).committed(sequence);
        }
        self.advance(now)
    }

    /// Takes in that time has passed.
    pub fn tick(&mut self, now: Stamp) -> Vec<Step> {
        self.advance(now)
    }

    /// When [`Session::tick`] is due, if nothing else happens.
    #[must_use]
    pub fn wake_at(&self) -> Option<Stamp> {
        let told = self.epochs.values().filter_map(Epoch::told_at).min();
        let fetched = self.link.as_ref().and_then(Link::fetching_until);
        let told = told.map(|at| fetched.map_or(at, |fetched| at.max(fetched)));
        let link = self.link.as_ref().and_then(Link::wake_at);
        told.into_iter().chain(link).min()
    }

    /// Whether it has not been heard before. Only a reading can have been: it has a number.
    #[must_use]
    pub fn is_news(&self, heard: &Heard) -> bool {
        let (Heard::Record(Record { epoch, sequence, .. }) | Heard::Unreadable { epoch, sequence }) =
            heard
        else {
            return true;
        };
        !self.epochs.get(epoch).is_some_and(|epoch| epoch.has_arrived(*sequence))
    }

    /// Everything that the adapter is known to have made is told, or known to be gone.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.untimed.is_empty() && self.epochs.values().all(Epoch::is_settled)
    }

    fn own(&self, key: &ReadingKey) -> Option<(u32, u32)> {
        match key {
            ReadingKey::Numbered { serial, epoch, sequence } if *serial == self.serial => {
                Some((*epoch, *sequence))
            }
            ReadingKey::Numbered { .. } | ReadingKey::Arrival { .. } | ReadingKey::Typed { .. } => {
                None
            }
        }
    }

    fn epoch(&mut self, number: u32) -> &mut Epoch {
        let joined_late = !self.acquainted;
        self.epochs.entry(number).or_insert_with(|| Epoch::new(joined_late))
    }

    fn tell(&mut self, event: SourceEvent) {
        self.steps.push(Step::Event(event));
    }

    fn tell_link(&mut self, at: Stamp, state: LinkState) {
        let change = LinkChange { adapter: self.id.clone(), state };
        self.tell(SourceEvent::Link { at, change });
    }

    fn connected(&mut self, now: Stamp, info: AdapterInfo) {
        let info = AdapterInfo { id: self.id.clone(), ..info };
        if self.info.as_ref() != Some(&info) {
            self.info = Some(info.clone());
            self.tell(SourceEvent::Adapter { at: now, info });
        }
        for epoch in self.epochs.values_mut() {
            epoch.hope_again();
        }
        self.link = Some(Link::new(now));
    }

    fn disconnected(&mut self, now: Stamp) {
        if let Some(link) = self.link.take()
            && link.flowing
        {
            let state = if link.asleep_soon { LinkState::Asleep } else { LinkState::Lost };
            self.tell_link(now, state);
        }
    }

    /// Data has arrived: only now the link counts as up.
    fn flowing(&mut self, now: Stamp) {
        if let Some(link) = &mut self.link
            && !std::mem::replace(&mut link.flowing, true)
        {
            self.tell_link(now, LinkState::Back);
        }
    }

    fn progress(&mut self, now: Stamp, garbled: u64) {
        if let Some(procedure) = self.link.as_mut().and_then(|link| link.procedure.as_mut()) {
            procedure.progress_at = now;
            procedure.garbled += garbled;
        }
    }

    fn record(&mut self, now: Stamp, record: Record) {
        self.flowing(now);
        self.progress(now, 0);
        if !self.epoch(record.epoch).agrees(record.sequence, record.raw.as_deref()) {
            self.numbered_twice(now, record.epoch, record.sequence, record.raw.as_deref());
            return;
        }
        if !self.epoch(record.epoch).arrived(record.sequence) {
            return;
        }
        if let Some(run) = self.epoch(record.epoch).missed_after(record.sequence) {
            self.tell_gap(now, record.epoch, &run);
        }
        let timed = match record.when {
            When::At(_) => true,
            When::Tick(_) => {
                let epoch = &record.epoch;
                self.current == Some(*epoch) || self.older.contains(epoch)
            }
        };
        if timed {
            self.hold(now, record);
        } else {
            self.untimed.push(record);
            if let Some(link) = &mut self.link {
                link.want_status();
            }
        }
    }

    /// A motion is told after the later of its readings, once.
    fn motion(&mut self, now: Stamp, motion: Move) {
        self.flowing(now);
        self.progress(now, 0);
        let (epoch, to) = (motion.epoch, motion.to);
        let waits = !self.epoch(epoch).was_told(to)
            || self.untimed.iter().any(|record| (record.epoch, record.sequence) == (epoch, to));
        if let Some(motion) = self.motions.heard(motion, waits) {
            self.tell_motion(now, motion);
        }
    }

    fn tell_motion(&mut self, at: Stamp, motion: Move) {
        let motion = Motion {
            adapter: self.id.clone(),
            from_seq: u64::from(motion.from),
            to_seq: u64::from(motion.to),
            moved: motion.moved,
            sd_mm: motion.sd_mm,
        };
        self.tell(SourceEvent::Motion { at, motion });
    }

    fn hold(&mut self, now: Stamp, record: Record) {
        let (at, at_error_us) = self.time_of(&record, now);
        let event = SourceEvent::Reading {
            key: ReadingKey::Numbered {
                serial: self.serial.clone(),
                epoch: record.epoch,
                sequence: record.sequence,
            },
            at,
            at_error_us,
            reading: Reading {
                adapter: self.id.clone(),
                seq: u64::from(record.sequence),
                peak: record.peak,
                rotation_deg: record.rotation_deg,
                duration_ms: record.duration_ms,
                description: None,
            },
            raw: record.raw,
        };
        self.epoch(record.epoch).hold(record.sequence, now, event);
    }

    /// The moment of a tick of the adapter's current boot, and how far that can be off in
    /// microseconds; none before a status has told the time.
    #[must_use]
    pub fn moment_of(&self, tick: u32) -> Option<(Stamp, u32)> {
        self.moment_in(self.current?, tick)
    }

    /// The same of a boot that is named; none unless a status of it has told the time.
    #[must_use]
    pub fn moment_in(&self, epoch: u32, tick: u32) -> Option<(Stamp, u32)> {
        Some(self.clocks.get(&epoch)?.time_of(tick))
    }

    fn time_of(&self, record: &Record, now: Stamp) -> (Stamp, Option<u32>) {
        let tick = match record.when {
            When::At(at) => return (at, Some(0)),
            When::Tick(tick) => tick,
        };
        if let Some(clock) = self.clocks.get(&record.epoch) {
            let (at, error) = clock.time_of(tick);
            return (at, Some(error));
        }
        // Nobody listened in that epoch. It ended before the current one began; no more is known.
        let current = self.current.and_then(|current| self.clocks.get(&current));
        (current.map_or(now, TickClock::latest_start), None)
    }

    fn beat(&mut self, now: Stamp, beat: Beat) {
        self.flowing(now);
        let mut asked = None;
        let mut first_answer = false;
        if let Some(link) = &mut self.link {
            first_answer = beat.asked && !link.heard_status;
            asked = link.beat(now, &beat);
        }
        if let Some(tick) = beat.tick {
            let is_late = match self.clocks.get_mut(&beat.epoch) {
                Some(clock) => clock.observe(tick, asked, now),
                None => {
                    self.clocks.insert(beat.epoch, TickClock::new(tick, asked, now));
                    false
                }
            };
            if let Some(link) = self.link.as_mut().filter(|_| is_late) {
                link.want_status();
            }
        }
        self.epoch(beat.epoch).heard_of(beat.newest);
        if self.current != Some(beat.epoch) && !beat.asked {
            // Readings wait for an answer, which bounds the adapter's time on both sides.
            if let Some(link) = &mut self.link {
                link.want_status();
            }
            return;
        }
        self.current = Some(beat.epoch);
        self.older = self.epochs.keys().copied().filter(|epoch| *epoch != beat.epoch).collect();
        if first_answer {
            // The adapter may have been told without our hearing the answer, or not at all.
            self.epoch(beat.epoch).tell_again();
            if self.epoch(beat.epoch).contradicts(beat.newest) {
                self.numbered_twice(now, beat.epoch, beat.newest, None);
            }
        }
        let mut older = self.epochs.iter().filter(|(number, _)| **number != beat.epoch);
        if beat.older_epochs && older.all(|(_, epoch)| epoch.is_finished()) {
            // More is held than ever arrived: the end of an old epoch, which no number told of.
            if let Some(link) = &mut self.link {
                link.fetched = false;
            }
        }
        for record in std::mem::take(&mut self.untimed) {
            self.hold(now, record);
        }
    }

    /// The adapter gave a number twice: nothing of the epoch is released, and the operator told.
    fn numbered_twice(&mut self, now: Stamp, epoch: u32, sequence: u32, octets: Option<&[u8]>) {
        if self.epoch(epoch).break_off() {
            let trouble = troubles::numbered_twice(&self.id, epoch, sequence, octets);
            self.tell(SourceEvent::Trouble { at: now, trouble });
        }
    }

    fn advance(&mut self, now: Stamp) -> Vec<Step> {
        let fetching = self.link.as_ref().and_then(Link::fetching_until);
        let fetching = fetching.is_some_and(|until| now < until);
        // Readings of an earlier boot come first.
        let older = self.link.as_ref().is_some_and(|link| fetching && link.older_epochs);
        let mut told = Vec::new();
        for (number, epoch) in &mut self.epochs {
            if older && self.current == Some(*number) {
                continue;
            }
            while let Some((sequence, event)) = epoch.next_told(now, fetching) {
                told.push((*number, sequence, event));
            }
        }
        for (epoch, sequence, event) in told {
            self.tell(event);
            if let Some(motion) = self.motions.told(epoch, sequence) {
                self.tell_motion(now, motion);
            }
        }
        if let Some(mut link) = self.link.take() {
            link.advance(now, self);
            self.link = Some(link);
        }
        std::mem::take(&mut self.steps)
    }
}
