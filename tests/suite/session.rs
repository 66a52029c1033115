//! The conversation with an adapter that numbers its readings.

use clampbook::adapter::session::{
    Answer, Beat, Heard, Order, Record, Runs, Session, Step, TickClock, Wanted, When,
};
use clampbook::adapter::source::{Known, SourceEvent};
use clampbook::core::event::{AdapterInfo, ReadingKey, Reports};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

const SERIAL: &str = "LK-0007";

fn info() -> AdapterInfo {
    AdapterInfo {
        id: SERIAL.to_owned(),
        serial: SERIAL.to_owned(),
        drive: None,
        range: Some((Torque::from_nm(40.0), Torque::from_nm(280.0))),
        accuracy_pct: Some(2.0),
        reports: Reports { peak: true, ..Reports::default() },
    }
}

fn key(epoch: u32, sequence: u32) -> ReadingKey {
    ReadingKey::Numbered { serial: SERIAL.to_owned(), epoch, sequence }
}

fn record(epoch: u32, sequence: u32) -> Heard {
    Heard::Record(Record {
        epoch,
        sequence,
        when: When::Tick(sequence * 100),
        peak: Torque::from_nm(f64::from(sequence)),
        rotation_deg: None,
        duration_ms: None,
        raw: None,
    })
}

fn beat(epoch: u32, tick: u32, newest: u32) -> Beat {
    Beat { asked: true, epoch, tick: Some(tick), newest, older_epochs: false, asleep_soon: false }
}

fn words(step: &Step) -> String {
    match step {
        Step::Order(Order::ReadStatus) => "read status".to_owned(),
        Step::Order(Order::Report(Wanted::All)) => "report all".to_owned(),
        Step::Order(Order::Report(Wanted::From { epoch, sequence })) => {
            format!("report from {epoch}/{sequence}")
        }
        Step::Order(Order::Report(Wanted::Range { epoch, first, last })) => {
            format!("report {epoch}/{first}-{last}")
        }
        Step::Order(Order::Release { epoch, up_to }) => format!("release {epoch}/{up_to}"),
        Step::TearDown(reason) => format!("tear down: {reason:?}"),
        Step::Event(SourceEvent::Adapter { info, .. }) => format!("adapter {}", info.id),
        Step::Event(SourceEvent::Reading { key, .. }) => match key {
            ReadingKey::Numbered { epoch, sequence, .. } => format!("reading {epoch}/{sequence}"),
            ReadingKey::Arrival { .. } | ReadingKey::Typed { .. } => {
                "unnumbered reading".to_owned()
            }
        },
        Step::Event(SourceEvent::Link { change, .. }) => format!("link {:?}", change.state),
        Step::Event(SourceEvent::Gap { gap, .. }) => {
            format!("gap {}/{}-{}", gap.epoch.unwrap_or(0), gap.first, gap.last)
        }
        Step::Event(SourceEvent::Trouble { trouble, .. }) => format!("trouble {:?}", trouble.class),
        Step::Event(other) => format!("{other:?}"),
    }
}

/// A session and the time.
struct Script {
    session: Session,
    now: f64,
}

impl Script {
    fn new(known: &Known) -> Self {
        Self { session: Session::new(SERIAL, SERIAL, known), now: 1000.0 }
    }

    /// A session that is linked to an adapter which has made and given nothing yet.
    fn linked() -> Self {
        let mut script = Self::new(&Known::default());
        script.at(1000.0).hears(Heard::Connected(info()), "adapter LK-0007, read status");
        script.hears(Heard::Beat(beat(1, 0, 0)), "link Back, report from 1/1");
        script.hears(Heard::Answer(Answer::NoneFound), "");
        script
    }

    fn at(&mut self, now: f64) -> &mut Self {
        self.now = now;
        self
    }

    #[track_caller]
    fn hears(&mut self, heard: Heard, expected: &str) -> &mut Self {
        let steps = self.session.heard(Stamp::from_seconds(self.now), heard);
        self.check(&steps, expected)
    }

    #[track_caller]
    fn stored(&mut self, epoch: u32, sequence: u32, expected: &str) -> &mut Self {
        let steps = self.session.stored(Stamp::from_seconds(self.now), &key(epoch, sequence));
        self.check(&steps, expected)
    }

    #[track_caller]
    fn waits(&mut self, seconds: f64, expected: &str) -> &mut Self {
        self.now += seconds;
        let steps = self.session.tick(Stamp::from_seconds(self.now));
        self.check(&steps, expected)
    }

    #[track_caller]
    fn check(&mut self, steps: &[Step], expected: &str) -> &mut Self {
        let found: Vec<String> = steps.iter().map(words).collect();
        assert_eq!(found.join(", "), expected);
        self
    }
}

#[test]
fn live_readings_are_told_once_and_released_once_committed() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .hears(record(1, 1), "")
        .hears(record(1, 2), "reading 1/2")
        .stored(1, 1, "release 1/1")
        .stored(1, 2, "")
        .hears(Heard::Answer(Answer::Done), "release 1/2")
        .hears(Heard::Answer(Answer::Done), "");
}

#[test]
fn what_is_missing_is_asked_for_within_a_second_and_told_in_order() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .hears(record(1, 4), "")
        .waits(0.2, "")
        .waits(0.1, "report 1/2-3")
        .hears(record(1, 2), "reading 1/2")
        .hears(record(1, 3), "reading 1/3, reading 1/4")
        .hears(Heard::Answer(Answer::Done), "");
}

#[test]
fn a_reading_waits_for_an_earlier_one_as_long_as_that_is_on_its_way() {
    let mut script = Script::linked();
    script
        .hears(record(1, 3), "")
        .waits(0.3, "report 1/1-2")
        .waits(2.5, "")
        .hears(record(1, 2), "")
        .waits(2.9, "")
        .waits(0.1, "reading 1/2, reading 1/3")
        .hears(record(1, 1), "reading 1/1")
        .hears(Heard::Answer(Answer::Done), "");
}

#[test]
fn a_reading_waits_a_second_for_an_earlier_one_that_nobody_sends() {
    let mut script = Script::linked();
    script
        .hears(record(1, 2), "")
        .waits(0.3, "report 1/1-1")
        .hears(Heard::Answer(Answer::Busy), "")
        .waits(0.7, "reading 1/2");
}

#[test]
fn only_what_the_adapter_says_it_does_not_have_is_a_gap() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .hears(record(1, 5), "")
        .waits(0.3, "report 1/2-4")
        .hears(record(1, 3), "")
        .hears(Heard::Answer(Answer::Done), "report 1/2-2")
        .hears(Heard::Answer(Answer::NoneFound), "gap 1/2-2, reading 1/3, report 1/4-4")
        .hears(Heard::Answer(Answer::NoneFound), "gap 1/4-4, reading 1/5");
}

#[test]
fn a_reading_that_was_given_up_is_still_told_when_it_comes() {
    let mut script = Script::linked();
    script
        .hears(record(1, 2), "")
        .waits(0.3, "report 1/1-1")
        // The very first is not missed by whoever joins late, but here nothing was made before.
        .hears(Heard::Answer(Answer::NoneFound), "reading 1/2")
        .hears(record(1, 1), "reading 1/1")
        .hears(record(1, 1), "");
}

#[test]
fn nothing_is_released_before_everything_up_to_it_is_committed() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .hears(record(1, 2), "reading 1/2")
        .hears(record(1, 3), "reading 1/3")
        .stored(1, 3, "")
        .stored(1, 2, "")
        .stored(1, 1, "release 1/3");
}

#[test]
fn every_new_link_fetches_from_the_first_reading_that_is_not_committed() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .stored(1, 1, "release 1/1")
        .hears(Heard::Answer(Answer::Done), "")
        .hears(record(1, 2), "reading 1/2")
        .hears(Heard::Disconnected, "link Lost")
        .at(1060.0)
        .hears(Heard::Connected(info()), "read status")
        .hears(Heard::Beat(beat(1, 6000, 4)), "link Back, report from 1/2")
        .hears(record(1, 2), "")
        .hears(record(1, 3), "reading 1/3")
        .hears(record(1, 4), "reading 1/4")
        .hears(Heard::Answer(Answer::Done), "release 1/1");
}

#[test]
fn after_a_restart_committed_readings_are_neither_told_nor_missed_again() {
    let known = Known { keys: vec![key(1, 1), key(1, 2), key(1, 4)], gaps: Vec::new() };
    let mut script = Script::new(&known);
    script
        .hears(Heard::Connected(info()), "adapter LK-0007, read status")
        .hears(Heard::Beat(beat(1, 6000, 5)), "link Back, report from 1/3")
        .hears(record(1, 3), "reading 1/3")
        .hears(record(1, 4), "")
        .hears(record(1, 5), "reading 1/5")
        .hears(Heard::Answer(Answer::Done), "release 1/2");
}

#[test]
fn a_new_epoch_starts_its_own_numbers_and_the_old_one_is_asked_for_its_rest() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .stored(1, 1, "release 1/1")
        .hears(Heard::Answer(Answer::Done), "")
        .hears(Heard::Disconnected, "link Lost")
        .at(1060.0)
        .hears(Heard::Connected(info()), "read status");
    let second = Beat { older_epochs: true, ..beat(2, 100, 1) };
    script
        .hears(Heard::Beat(second), "link Back, report all")
        .hears(record(1, 2), "reading 1/2")
        .hears(record(1, 3), "reading 1/3")
        .hears(record(2, 1), "")
        .hears(Heard::Answer(Answer::Done), "reading 2/1")
        .stored(2, 1, "release 2/1")
        .stored(1, 2, "")
        .hears(Heard::Answer(Answer::Done), "release 1/2");
}

#[test]
fn readings_wait_for_a_status_that_tells_the_time() {
    let mut script = Script::new(&Known::default());
    script
        .hears(Heard::Connected(info()), "adapter LK-0007, read status")
        .hears(record(1, 1), "link Back")
        .hears(Heard::Beat(Beat { asked: false, ..beat(1, 150, 1) }), "")
        .at(1000.04);
    let now = Stamp::from_seconds(1000.04);
    let steps = script.session.heard(now, Heard::Beat(beat(1, 150, 1)));
    let Some(Step::Event(SourceEvent::Reading { at, at_error_us, .. })) = steps.first() else {
        panic!("expected the reading, but found {steps:?}");
    };
    // The status was made at 1000.00 and said 1.50 s, the first word of it came at once.
    let error = f64::from(at_error_us.unwrap()) / 1e6;
    assert!((at.seconds() - 999.505).abs() <= error, "{at:?} ± {error}");
    assert!(error < 0.06, "± {error}");
}

#[test]
fn two_missed_statuses_in_a_row_end_the_link() {
    let mut script = Script::linked();
    script
        .waits(6.0, "read status")
        .hears(Heard::Beat(beat(1, 600, 0)), "")
        .waits(6.0, "read status")
        .waits(3.0, "read status")
        .waits(2.9, "")
        .waits(0.1, "tear down: Silent")
        .waits(60.0, "");
    assert_eq!(script.session.wake_at(), None);
    script.hears(Heard::Disconnected, "link Lost");
}

#[test]
fn an_order_that_is_never_answered_ends_the_link() {
    let mut script = Script::new(&Known::default());
    script
        .hears(Heard::Connected(info()), "adapter LK-0007, read status")
        .hears(Heard::Beat(beat(1, 0, 3)), "link Back, report from 1/1")
        .waits(6.0, "read status")
        .hears(Heard::Beat(beat(1, 600, 3)), "")
        .waits(4.0, "tear down: Unanswered");
}

#[test]
fn records_that_are_sent_but_never_arrive_end_the_link() {
    let mut script = Script::linked();
    script
        .hears(Heard::Beat(Beat { asked: false, ..beat(1, 100, 2) }), "")
        .waits(0.3, "report 1/1-2")
        .hears(Heard::Answer(Answer::Done), "")
        .waits(1.0, "report 1/1-2")
        .hears(Heard::Answer(Answer::Done), "")
        .waits(1.0, "report 1/1-2")
        .hears(Heard::Answer(Answer::Done), "tear down: NotFlowing");
}

#[test]
fn a_record_that_cannot_be_read_stays_in_the_adapter() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .hears(Heard::Unreadable { epoch: 1, sequence: 2 }, "")
        .hears(record(1, 3), "reading 1/3")
        .stored(1, 3, "")
        .stored(1, 1, "release 1/1")
        .hears(Heard::Answer(Answer::Done), "")
        .waits(2.0, "");
}

#[test]
fn a_number_given_twice_is_reported_and_stops_the_release_of_its_epoch() {
    let with_octets = |peak: u8| {
        let Heard::Record(record) = record(1, 1) else { panic!("expected a record") };
        Heard::Record(Record { raw: Some(vec![1, peak]), ..record })
    };
    let mut script = Script::linked();
    script
        .hears(with_octets(7), "reading 1/1")
        .hears(with_octets(7), "")
        .hears(with_octets(8), "trouble BadData")
        .hears(with_octets(8), "")
        .stored(1, 1, "")
        .hears(record(1, 2), "reading 1/2");
}

#[test]
fn numbers_that_go_backwards_after_a_link_are_reported() {
    let known = Known { keys: vec![key(1, 1), key(1, 2)], gaps: Vec::new() };
    let mut script = Script::new(&known);
    script
        .hears(Heard::Connected(info()), "adapter LK-0007, read status")
        .hears(Heard::Beat(beat(1, 10, 1)), "link Back, trouble BadData, report from 1/3")
        .hears(Heard::Answer(Answer::NoneFound), "");
}

#[test]
fn old_epochs_are_told_apart_even_where_their_numbers_have_wrapped() {
    let mut script = Script::new(&Known::default());
    let first = Beat { older_epochs: true, ..beat(1, 0, 0) };
    script
        .hears(Heard::Connected(info()), "adapter LK-0007, read status")
        .hears(Heard::Beat(first), "link Back, report all")
        .hears(record(65_535, 1), "read status")
        .hears(Heard::Beat(first), "reading 65535/1")
        .hears(record(65_535, 2), "reading 65535/2");
}

#[test]
fn going_to_sleep_is_no_loss() {
    let mut script = Script::linked();
    let sleepy = Beat { asleep_soon: true, asked: false, ..beat(1, 100, 0) };
    script
        .hears(Heard::Beat(sleepy), "")
        .hears(Heard::Disconnected, "link Asleep")
        .hears(Heard::Disconnected, "");
}

#[test]
fn a_busy_adapter_is_asked_again_and_one_that_refuses_is_left_alone() {
    let mut script = Script::new(&Known::default());
    script
        .hears(Heard::Connected(info()), "adapter LK-0007, read status")
        .hears(Heard::Beat(beat(1, 0, 0)), "link Back, report from 1/1")
        .hears(Heard::Answer(Answer::Busy), "")
        .waits(0.9, "")
        .waits(0.1, "report from 1/1")
        .hears(Heard::Answer(Answer::Refused("no".to_owned())), "trouble Unsupported")
        .waits(10.0, "read status");
}

#[test]
fn clocks_that_were_set_are_believed_anew() {
    let mut clock = TickClock::new(0, Some(Stamp(0)), Stamp(20_000));
    clock.observe(1000, Some(Stamp(10_000_000)), Stamp(10_030_000));
    let (at, error) = clock.time_of(1000);
    assert!((at.0 - 10_010_000).abs() <= i64::from(error), "{at:?} ± {error}");
    assert!(error < 60_000, "± {error}");
    // Our own clock was put forward by an hour.
    clock.observe(2000, Some(Stamp(3_620_000_000)), Stamp(3_620_010_000));
    let (at, error) = clock.time_of(2000);
    assert!((at.0 - 3_620_005_000).abs() <= i64::from(error), "{at:?} ± {error}");
}

proptest! {
    /// The stated error holds the true time, whatever the delays and the drift.
    #[test]
    fn the_stated_error_holds_the_true_time(
        boot in 0..1_000_000_000_000_i64,
        drift_millionths in -250..250_i64,
        observations in proptest::collection::vec(
            (1..60_000_000_i64, 0..200_000_i64, 0..200_000_i64, any::<bool>()), 1..20),
        back in 0..60_000_000_i64,
    ) {
        let tick_at = |at: i64| {
            let elapsed = at - boot;
            u32::try_from((elapsed + elapsed * drift_millionths / 1_000_000) / 10_000).unwrap()
        };
        let mut at = boot + 60_000_000;
        let mut clock: Option<TickClock> = None;
        for (pause, out, home, asked) in observations {
            at += pause;
            let asked = asked.then_some(Stamp(at - out));
            let received = Stamp(at + home);
            match &mut clock {
                None => clock = Some(TickClock::new(tick_at(at), asked, received)),
                Some(clock) => clock.observe(tick_at(at), asked, received),
            }
        }
        let truth = at - back;
        let (said, error) = clock.unwrap().time_of(tick_at(truth));
        // The adapter's own crystal bends the time since the boot; a tick is 10 ms wide.
        prop_assert!(
            (said.0 - truth).abs() <= i64::from(error) + 10_000,
            "said {} for {truth} ± {error}", said.0
        );
    }

    /// Runs hold exactly the numbers that were put in.
    #[test]
    fn runs_are_a_set(
        runs in proptest::collection::vec((1..60_u32, 0..9_u32), 0..12),
        within in (1..60_u32, 0..30_u32),
    ) {
        let mut set = BTreeSet::new();
        let mut found = Runs::default();
        for (first, length) in runs {
            if length == 0 {
                prop_assert_eq!(found.insert(first), set.insert(first));
            } else {
                found.insert_run(first..=first + length);
                set.extend(first..=first + length);
            }
        }
        for number in 0..80 {
            prop_assert_eq!(found.contains(number), set.contains(&number));
        }
        prop_assert_eq!(found.highest(), set.last().copied());
        let prefix = (1..).take_while(|number| set.contains(number)).last().unwrap_or(0);
        prop_assert_eq!(found.prefix(), prefix);
        let within = within.0..=within.0 + within.1;
        let missing: Vec<u32> = found.missing(within.clone()).into_iter().flatten().collect();
        let expected: Vec<u32> = within.filter(|number| !set.contains(number)).collect();
        prop_assert_eq!(missing, expected);
    }
}

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
