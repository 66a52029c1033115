//! The conversation with an adapter that numbers its readings.

mod model;
mod ticks;

use clampbook::adapter::session::{
    Answer, Beat, Heard, Move, Order, Record, Session, Step, Wanted, When,
};
use clampbook::adapter::source::{Known, SourceEvent};
use clampbook::core::event::{AdapterInfo, Moved, ReadingKey, Reports};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;

const SERIAL: &str = "LK-0007";

fn info() -> AdapterInfo {
    AdapterInfo {
        overdue_since: None,
        certificate: None,
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

fn motion(epoch: u32, from: u32, to: u32) -> Heard {
    let moved = Moved::Axes { right_mm: 40.0, up_mm: -57.0 };
    Heard::Motion(Move { epoch, from, to, moved, sd_mm: 8.0 })
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
        Step::Event(SourceEvent::Motion { motion, .. }) => {
            format!("motion {}-{}", motion.from_seq, motion.to_seq)
        }
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

    /// A session whose adapter answers for its status, 6 s later for the last time, and not to an order.
    fn unanswered() -> Self {
        let mut script = Self::new(&Known::default());
        script
            .hears(Heard::Connected(info()), "adapter LK-0007, read status")
            .hears(Heard::Beat(beat(1, 0, 3)), "link Back, report from 1/1")
            .waits(6.0, "read status")
            .hears(Heard::Beat(beat(1, 600, 3)), "");
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

    /// Something that the session has no use for comes, such as samples.
    fn comes(&mut self) -> &mut Self {
        self.session.alive(Stamp::from_seconds(self.now));
        self
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
fn a_motion_is_told_once_and_after_the_reading_that_it_leads_to() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .hears(motion(1, 1, 2), "")
        .hears(record(1, 2), "reading 1/2, motion 1-2")
        .hears(motion(1, 1, 2), "")
        .hears(record(1, 3), "reading 1/3")
        .hears(motion(1, 2, 3), "motion 2-3")
        .hears(motion(1, 2, 3), "")
        // The fourth is missing: the fifth waits for it, and its motion with it.
        .hears(record(1, 5), "")
        .hears(motion(1, 4, 5), "")
        .hears(record(1, 4), "reading 1/4, reading 1/5, motion 4-5")
        .hears(motion(1, 3, 4), "motion 3-4");
}

#[test]
fn a_motion_of_an_earlier_boot_is_not_taken_for_one_of_this_boot() {
    let mut script = Script::linked();
    script
        .hears(record(1, 1), "reading 1/1")
        .hears(record(1, 2), "reading 1/2")
        .hears(Heard::Beat(beat(2, 0, 0)), "")
        .hears(record(2, 1), "reading 2/1")
        .hears(record(2, 2), "reading 2/2")
        .hears(motion(1, 1, 2), "")
        .hears(motion(2, 1, 2), "motion 1-2");
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
fn a_link_on_which_anything_comes_is_not_dead_for_want_of_a_status_until_its_transaction_has_failed()
 {
    let mut script = Script::linked();
    script.waits(6.0, "read status");
    for _ in 0..7 {
        script.waits(2.0, "").comes().waits(1.0, "read status");
    }
    script.waits(2.0, "").comes().waits(1.0, "tear down: Silent");
}

#[test]
fn an_order_is_waited_for_longer_while_something_comes() {
    let mut script = Script::unanswered();
    script.waits(3.0, "").comes().waits(2.9, "");
    script.waits(0.1, "read status, tear down: Unanswered");
}

#[test]
fn an_order_that_is_never_answered_ends_the_link() {
    Script::unanswered().waits(4.0, "tear down: Unanswered");
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
