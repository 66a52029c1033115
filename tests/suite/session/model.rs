//! Whatever happens on the way, nothing is lost and nothing told twice.

use super::{SERIAL, beat, info, key, record};
use clampbook::adapter::session::{Answer, Beat, Heard, Order, Session, Step, Wanted};
use clampbook::adapter::source::{Known, SourceEvent};
use clampbook::core::event::ReadingKey;
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

/// What can happen in the world of one adapter.
#[derive(Debug, Clone)]
enum Happening {
    /// A pull is made; its notification meets this fate, if there is a link.
    Pull(Fate),
    /// Time passes, milliseconds.
    Wait(i64),
    /// The link drops and comes back after so many milliseconds.
    Drop(i64),
    /// The adapter starts anew; its memory survives or not.
    Reboot { forgets: bool },
    /// The adapter loses its oldest record.
    Overwrite,
    /// The daemon is killed and started again.
    Restart,
}

/// What becomes of a message to the host.
#[derive(Debug, Clone, Copy)]
enum Fate {
    Arrives,
    Twice,
    Late(i64),
    Never,
}

/// An adapter that keeps its readings until they are released, written apart from the program's own.
struct Model {
    now: i64,
    booted: i64,
    epoch: u32,
    newest: u32,
    memory: BTreeSet<(u32, u32)>,
    made: BTreeSet<(u32, u32)>,
    erased: BTreeSet<(u32, u32)>,
    session: Session,
    linked: bool,
    link_back_at: i64,
    /// Messages under way: when they arrive, in order of sending.
    under_way: BTreeMap<(i64, u64), Heard>,
    sent: u64,
    fates: Vec<Fate>,
    told: Vec<(u32, u32)>,
    gaps: BTreeSet<(u32, u32)>,
    committed: BTreeSet<(u32, u32)>,
    /// Readings told but not committed yet, with the time of their commit.
    uncommitted: Vec<(i64, (u32, u32))>,
}

impl Model {
    fn new(fates: Vec<Fate>) -> Self {
        Self {
            now: 1_000_000_000,
            booted: 0,
            epoch: 1,
            newest: 0,
            memory: BTreeSet::new(),
            made: BTreeSet::new(),
            erased: BTreeSet::new(),
            session: Session::new(SERIAL, SERIAL, &Known::default()),
            linked: false,
            link_back_at: 1_000_000_000,
            under_way: BTreeMap::new(),
            sent: 0,
            fates,
            told: Vec::new(),
            gaps: BTreeSet::new(),
            committed: BTreeSet::new(),
            uncommitted: Vec::new(),
        }
    }

    fn send(&mut self, fate: Fate, heard: &Heard) {
        let deliver = |model: &mut Self, delay: i64| {
            model.sent += 1;
            model.under_way.insert((model.now + delay, model.sent), heard.clone());
        };
        match fate {
            Fate::Arrives => deliver(self, 5_000),
            Fate::Twice => {
                deliver(self, 5_000);
                deliver(self, 7_000);
            }
            Fate::Late(delay) => deliver(self, delay),
            Fate::Never => {}
        }
    }

    fn record_of(&self, (epoch, sequence): (u32, u32)) -> Heard {
        record(epoch, sequence)
    }

    fn obey(&mut self, order: Order) {
        if !self.linked {
            return;
        }
        match order {
            Order::ReadStatus => {
                let older_epochs = self.memory.iter().any(|(epoch, _)| *epoch != self.epoch);
                let tick = u32::try_from((self.now - self.booted) / 10_000).unwrap();
                let beat = Beat { older_epochs, ..beat(self.epoch, tick, self.newest) };
                self.send(Fate::Arrives, &Heard::Beat(beat));
            }
            Order::Report(wanted) => {
                let records: Vec<(u32, u32)> = self
                    .memory
                    .iter()
                    .copied()
                    .filter(|(epoch, sequence)| match wanted {
                        Wanted::All => true,
                        Wanted::From { epoch: wanted, sequence: least } => {
                            *epoch == wanted && *sequence >= least
                        }
                        Wanted::Range { epoch: wanted, first, last } => {
                            *epoch == wanted && (first..=last).contains(sequence)
                        }
                    })
                    .collect();
                let answer = if records.is_empty() { Answer::NoneFound } else { Answer::Done };
                for key in records {
                    let fate = self.fates.pop().unwrap_or(Fate::Arrives);
                    let heard = self.record_of(key);
                    self.send(fate, &heard);
                }
                self.send(Fate::Arrives, &Heard::Answer(answer));
            }
            Order::Release { epoch, up_to } => {
                let forgotten: Vec<(u32, u32)> = self
                    .memory
                    .iter()
                    .copied()
                    .filter(|(held, sequence)| *held == epoch && *sequence <= up_to)
                    .collect();
                for key in forgotten {
                    assert!(self.committed.contains(&key), "released {key:?} uncommitted");
                    self.memory.remove(&key);
                }
                self.send(Fate::Arrives, &Heard::Answer(Answer::Done));
            }
        }
    }

    fn take(&mut self, steps: Vec<Step>) {
        for step in steps {
            match step {
                Step::Order(order) => self.obey(order),
                Step::TearDown(_) => self.drop_link(500_000),
                Step::Event(SourceEvent::Reading { key, reading, .. }) => {
                    let ReadingKey::Numbered { epoch, sequence, .. } = key else {
                        panic!("expected a numbered reading");
                    };
                    assert_eq!(reading.peak, Torque::from_nm(f64::from(sequence)));
                    self.told.push((epoch, sequence));
                    self.uncommitted.push((self.now + 40_000, (epoch, sequence)));
                }
                Step::Event(SourceEvent::Gap { gap, .. }) => {
                    for number in gap.first..=gap.last {
                        let key = (gap.epoch.unwrap(), u32::try_from(number).unwrap());
                        assert!(self.gaps.insert(key), "gap {key:?} told twice");
                    }
                }
                Step::Event(_) => {}
            }
        }
    }

    fn drop_link(&mut self, pause: i64) {
        if self.linked {
            self.linked = false;
            self.under_way.clear();
            let steps = self.session.heard(Stamp(self.now), Heard::Disconnected);
            self.take(steps);
        }
        self.link_back_at = self.now + pause;
    }

    fn run_until(&mut self, end: i64) {
        loop {
            let arrival = self.under_way.keys().next().map(|(at, _)| *at);
            let commit = self.uncommitted.iter().map(|(at, _)| *at).min();
            let wake = self.session.wake_at().map(|at| at.0);
            let link = (!self.linked).then_some(self.link_back_at);
            let next = [arrival, commit, wake, link].into_iter().flatten().min();
            let Some(next) = next.filter(|next| *next <= end) else { break };
            self.now = self.now.max(next);
            let now = Stamp(self.now);
            if link.is_some_and(|at| at <= self.now) {
                self.linked = true;
                let steps = self.session.heard(now, Heard::Connected(info()));
                self.take(steps);
            } else if arrival.is_some_and(|at| at <= self.now) {
                let (_, heard) = self.under_way.pop_first().unwrap();
                let steps = self.session.heard(now, heard);
                self.take(steps);
            } else if commit.is_some_and(|at| at <= self.now) {
                let index = self.uncommitted.iter().position(|(at, _)| *at <= self.now).unwrap();
                let (_, (epoch, sequence)) = self.uncommitted.remove(index);
                self.committed.insert((epoch, sequence));
                let steps = self.session.stored(now, &key(epoch, sequence));
                self.take(steps);
            } else {
                let before = self.session.wake_at();
                let steps = self.session.tick(now);
                let idle = steps.is_empty() && self.session.wake_at() == before;
                self.take(steps);
                assert!(!idle, "woken at {now:?} for nothing");
            }
        }
        self.now = self.now.max(end);
    }

    fn happen(&mut self, happening: &Happening) {
        match happening {
            Happening::Pull(fate) => {
                self.newest += 1;
                let key = (self.epoch, self.newest);
                self.made.insert(key);
                self.memory.insert(key);
                if self.linked {
                    let heard = self.record_of(key);
                    self.send(*fate, &heard);
                }
                self.run_until(self.now + 1_000);
            }
            Happening::Wait(millis) => self.run_until(self.now + millis * 1_000),
            Happening::Drop(millis) => self.drop_link(millis * 1_000),
            Happening::Reboot { forgets } => {
                self.drop_link(800_000);
                if *forgets {
                    self.erased.extend(std::mem::take(&mut self.memory));
                }
                self.epoch += 1;
                self.newest = 0;
                self.booted = self.now;
            }
            Happening::Overwrite => {
                if let Some(key) = self.memory.pop_first() {
                    self.erased.insert(key);
                }
            }
            Happening::Restart => {
                self.drop_link(300_000);
                // What was told but not committed dies with the process, and is told again.
                let told: BTreeSet<(u32, u32)> =
                    self.uncommitted.drain(..).map(|(_, key)| key).collect();
                self.told.retain(|key| !told.contains(key));
                let keys = self.committed.iter().map(|(epoch, sequence)| key(*epoch, *sequence));
                let gaps = self.gaps.iter().map(|(epoch, sequence)| clampbook::core::event::Gap {
                    adapter: SERIAL.to_owned(),
                    epoch: Some(*epoch),
                    first: u64::from(*sequence),
                    last: u64::from(*sequence),
                });
                let known = Known { keys: keys.collect(), gaps: gaps.collect() };
                self.session = Session::new(SERIAL, SERIAL, &known);
            }
        }
    }
}

fn fates() -> impl Strategy<Value = Fate> {
    prop_oneof![
        4 => Just(Fate::Arrives),
        1 => Just(Fate::Twice),
        2 => (1_000..900_000_i64).prop_map(Fate::Late),
        2 => Just(Fate::Never),
    ]
}

fn happenings() -> impl Strategy<Value = Happening> {
    prop_oneof![
        10 => fates().prop_map(Happening::Pull),
        4 => (1..4_000_i64).prop_map(Happening::Wait),
        2 => (1..9_000_i64).prop_map(Happening::Drop),
        1 => any::<bool>().prop_map(|forgets| Happening::Reboot { forgets }),
        1 => Just(Happening::Overwrite),
        1 => Just(Happening::Restart),
    ]
}

/// Plays a story, and checks the promises of a session at its end.
fn check_story(happenings: &[Happening], fetch_fates: Vec<Fate>) -> Result<(), TestCaseError> {
    let mut model = Model::new(fetch_fates);
    for happening in happenings {
        model.happen(happening);
    }
    model.fates.clear();
    model.run_until(model.now + 120_000_000);
    let told: BTreeSet<(u32, u32)> = model.told.iter().copied().collect();
    prop_assert_eq!(told.len(), model.told.len(), "told twice: {:?}", model.told);
    let kept: BTreeSet<(u32, u32)> = model.made.difference(&model.erased).copied().collect();
    prop_assert!(told.is_superset(&kept), "lost: {:?}", kept.difference(&told));
    prop_assert!(model.made.is_superset(&told), "invented: {:?}", told);
    prop_assert!(model.erased.is_superset(&model.gaps), "false gap: {:?}", model.gaps);
    prop_assert!(model.memory.is_empty(), "never released: {:?}", model.memory);
    // Numbers erased before anything above them in their epoch was known cannot be missed.
    let mut highest: BTreeMap<u32, u32> = BTreeMap::new();
    for (epoch, sequence) in &told {
        let highest = highest.entry(*epoch).or_default();
        *highest = (*highest).max(*sequence);
    }
    let lowest: BTreeMap<u32, u32> =
        told.iter().rev().map(|(epoch, sequence)| (*epoch, *sequence)).collect();
    for (epoch, sequence) in model.erased.difference(&told) {
        let between = highest.get(epoch).is_some_and(|highest| sequence < highest)
            && lowest.get(epoch).is_some_and(|lowest| sequence > lowest);
        if between {
            prop_assert!(model.gaps.contains(&(*epoch, *sequence)), "hidden: {epoch}/{sequence}");
        }
    }
    Ok(())
}

#[test]
fn a_reading_that_overtakes_the_answer_about_the_status_is_no_second_use_of_a_number() {
    let late = Happening::Pull(Fate::Late(1_000));
    let arrives = Happening::Pull(Fate::Arrives);
    check_story(&[arrives.clone(), late, arrives], Vec::new()).unwrap();
}

#[test]
fn what_is_lost_after_the_first_reading_is_missed_though_that_one_comes_last() {
    let pull = Happening::Pull;
    let story = [
        Happening::Wait(5),
        pull(Fate::Late(312_001)),
        pull(Fate::Never),
        Happening::Overwrite,
        pull(Fate::Arrives),
        Happening::Overwrite,
        pull(Fate::Arrives),
    ];
    check_story(&story, Vec::new()).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    /// Whatever happens to the deliveries, every reading that the adapter keeps is told exactly
    /// once, nothing else is, and only what the adapter itself lost is a gap.
    #[test]
    fn exactly_the_adapters_readings_are_told(
        happenings in proptest::collection::vec(happenings(), 1..40),
        fetch_fates in proptest::collection::vec(fates(), 0..20),
    ) {
        check_story(&happenings, fetch_fates)?;
    }
}
