//! Tests of the logic without a radio.

use std::string::ToString;
use std::vec::Vec;

use clampbook_protocol::{
    Button, Cue, Duration, Epoch, Key, Press, Reading, ReadingFlags, RecordRequest, Rotation,
    Selection, SetPoint, State, StatusFlags, Torque, Travel, Window, Zero,
};

use crate::access::{Access, Outcome, Step};
use crate::device::{Device, Moved, NoPower, Power, Seen, StaysAwake};
use crate::guide::End;
use crate::store::Store;

const RANGE: u32 = 28_000;

fn device() -> Device<8> {
    Device::start(Epoch::MIN, Store::default(), RANGE, 1_000)
}

fn seen(newton_metres: i32) -> Seen {
    Seen {
        peak: Torque::from_centinewton_metres(newton_metres * 100),
        rotation: Rotation::NOT_KNOWN,
        duration: Duration::from_millis(900),
        moved: None,
    }
}

/// Makes one reading for each peak, a second apart from `from_ms` on.
fn pull(device: &mut Device<8>, from_ms: u64, peaks: &[i32]) -> Vec<Reading> {
    let times = (0..).map(|n| from_ms + n * 1_000);
    peaks.iter().zip(times).map(|(&peak, at)| device.pull(seen(peak), at).expect("power")).collect()
}

fn key(epoch: u16, sequence: u32) -> Key {
    Key::new(epoch, sequence).expect("not zero")
}

/// Everything that one request leads to, as text.
fn ask(
    device: &mut Device<8>,
    access: &mut Access,
    request: RecordRequest,
) -> Vec<std::string::String> {
    let mut said = Vec::new();
    match device.access(&request.emit(), access) {
        Outcome::Busy => said.push("busy".to_string()),
        Outcome::Answer(answer) => said.push(answer.to_string()),
        Outcome::Reporting => {
            while let Some(step) = access.next(device.store()) {
                said.push(match step {
                    Step::Notify(reading) => reading.key.to_string(),
                    Step::Answer(answer) => answer.to_string(),
                });
            }
        }
    }
    said
}

#[test]
fn readings_are_numbered_in_their_epoch_and_kept_until_released() {
    let mut device = device();
    pull(&mut device, 2_000, &[80, 165]);
    device.power_off();
    assert_eq!(device.pull(seen(90), 9_000), Err(NoPower));
    device.power_on(10_000);
    let third = pull(&mut device, 12_340, &[166]);
    assert_eq!((third[0].key, third[0].at.millis()), (key(2, 1), 2_340));
    let mut access = Access::default();
    let cases: [(RecordRequest, &[&str]); 9] = [
        (RecordRequest::Count(Selection::All), &["record count 3"]),
        (
            RecordRequest::Report(Selection::All),
            &["1/1", "1/2", "2/1", "record request 1 ended: success"],
        ),
        (RecordRequest::Report(Selection::First), &["1/1", "record request 1 ended: success"]),
        (RecordRequest::Report(Selection::Last), &["2/1", "record request 1 ended: success"]),
        (
            RecordRequest::Report(Selection::From(key(1, 2))),
            &["1/2", "record request 1 ended: success"],
        ),
        (RecordRequest::Release(key(1, 3)), &["record request 2 ended: invalid operand"]),
        (RecordRequest::Release(key(2, 2)), &["record request 2 ended: invalid operand"]),
        (RecordRequest::Release(key(1, 2)), &["record request 2 ended: success"]),
        (RecordRequest::Release(key(1, 2)), &["record request 2 ended: no records found"]),
    ];
    for (request, expected) in cases {
        assert_eq!(ask(&mut device, &mut access, request), expected, "{request}");
    }
    let kept: Vec<Key> = device.store().readings().map(|reading| reading.key).collect();
    assert_eq!(kept, [key(2, 1)]);
}

#[test]
fn a_report_can_be_aborted_and_keeps_other_procedures_out() {
    let mut device = device();
    pull(&mut device, 2_000, &[80, 81, 82]);
    let mut access = Access::default();
    let report = RecordRequest::Report(Selection::All);
    assert_eq!(device.access(&report.emit(), &mut access), Outcome::Reporting);
    assert!(
        matches!(access.next(device.store()), Some(Step::Notify(first)) if first.key == key(1, 1))
    );
    assert_eq!(device.access(&report.emit(), &mut access), Outcome::Busy);
    assert_eq!(device.access(&[9, 9], &mut access), Outcome::Busy);
    let abort = RecordRequest::Abort;
    assert_eq!(ask(&mut device, &mut access, abort), ["record request 3 ended: success"]);
    assert_eq!(access.next(device.store()), None);
    assert_eq!(
        ask(&mut device, &mut access, abort),
        ["record request 3 ended: abort unsuccessful"]
    );
}

#[test]
fn a_full_memory_overwrites_the_oldest_and_says_so_until_the_next_release() {
    let mut device = device();
    let mut access = Access::default();
    pull(&mut device, 2_000, &[80; 8]);
    assert_eq!(device.access(&[1, 1], &mut access), Outcome::Reporting);
    assert_eq!(device.status(2_000, false).flags, StatusFlags::MEMORY_FULL);
    pull(&mut device, 20_000, &[81]);
    let status = device.status(21_000, false);
    assert_eq!(status.flags, StatusFlags::MEMORY_FULL.with(StatusFlags::RECORDS_LOST));
    assert_eq!(status.lowest_held.map(|lowest| lowest.get()), Some(2));
    // The report under way selected what was held when it began: what was overwritten since is left out, and
    // nothing is sent twice.
    let mut reported = Vec::new();
    while let Some(Step::Notify(reading)) = access.next(device.store()) {
        reported.push(reading.key.sequence.get());
    }
    assert_eq!(reported, [2, 3, 4, 5, 6, 7, 8]);
    let release = RecordRequest::Release(key(1, 2));
    assert_eq!(ask(&mut device, &mut access, release), ["record request 2 ended: success"]);
    assert_eq!(device.status(22_000, false).flags, StatusFlags::NONE);
}

#[test]
fn an_epoch_that_kept_readings_carry_is_passed_over() {
    let mut first = device();
    pull(&mut first, 2_000, &[80]);
    let kept = first.store().clone();
    let mut device = Device::start(Epoch::MAX, kept, RANGE, 0);
    device.begin_epoch(5_000);
    assert_eq!(device.epoch().get(), 2);
    assert_eq!(device.status(6_000, false).flags, StatusFlags::OLDER_EPOCHS);
    assert_eq!(device.tick(6_000).millis(), 1_000);
}

#[test]
fn faults_change_what_is_notified_and_not_what_is_kept() {
    let mut device = device();
    device.faults_mut().skip(1);
    device.faults_mut().double(1);
    let mut made: Vec<Key> =
        pull(&mut device, 2_000, &[80, 81, 82]).iter().map(|r| r.key).collect();
    device.faults_mut().delay(2, 1_500);
    made.extend(pull(&mut device, 5_000, &[83, 84, 85]).iter().map(|r| r.key));
    let kept: Vec<Key> = device.store().readings().map(|reading| reading.key).collect();
    assert_eq!(made, kept);
    let mut live = Vec::new();
    for now_ms in [4_000, 6_499, 6_500, 7_499, 7_500] {
        while let Some(reading) = device.next_live(now_ms) {
            live.push((now_ms, reading.key.sequence.get()));
        }
    }
    assert_eq!(live, [(4_000, 2), (4_000, 2), (4_000, 3), (4_000, 6), (6_500, 4), (7_500, 5)]);
    device.faults_mut().delay(1, 1_000);
    pull(&mut device, 8_000, &[86]);
    device.forget_live();
    assert_eq!(device.next_live(20_000), None);
}

#[test]
fn sleep_is_announced_taken_back_by_a_pull_and_ended_by_one() {
    let mut device = device();
    device.announce_sleep(2_000, 12_000).expect("nobody wishes it awake");
    assert_eq!(device.status(2_000, false).state, State::AsleepSoon);
    pull(&mut device, 5_000, &[80]);
    device.settle(12_000);
    assert_eq!((device.power(), device.status(12_000, false).state), (Power::Awake, State::Awake));
    device.announce_sleep(20_000, 30_000).expect("nobody wishes it awake");
    device.settle(29_999);
    assert_eq!(device.power(), Power::Awake);
    device.settle(30_000);
    assert_eq!(device.power(), Power::Asleep);
    let woken = pull(&mut device, 40_000, &[81]);
    assert_eq!((woken[0].key, woken[0].flags), (key(1, 2), ReadingFlags::INCOMPLETE));
    assert_eq!(device.power(), Power::Awake);
    assert_eq!(device.control(&[3, 5], 50_000, true).to_string(), "control request 3 done");
    assert_eq!(device.announce_sleep(60_000, 70_000), Err(StaysAwake));
    device.link_lost();
    assert_eq!(device.announce_sleep(60_000, 70_000), Ok(()));
}

#[test]
fn pairing_is_open_for_a_minute_at_most_and_shut_by_sleep() {
    let mut device = device();
    assert!(!device.is_pairing(1_000));
    device.enter_pairing(2_000, u64::MAX);
    assert!(device.is_pairing(61_999));
    assert!(!device.is_pairing(62_000));
    device.enter_pairing(70_000, 60_000);
    assert_eq!(device.announcement(70_000).to_string(), "announcement version 1, flags pairing");
    device.announce_sleep(71_000, 81_000).expect("nobody wishes it awake");
    assert!(!device.is_pairing(71_000));
}

#[test]
fn an_overload_asks_for_a_zero_which_needs_a_free_drive() {
    let mut device = device();
    let made = pull(&mut device, 2_000, &[337, 80]);
    assert_eq!(made[0].flags, ReadingFlags::OVERLOAD);
    assert_eq!(made[1].flags, ReadingFlags::ZERO_UNCHECKED);
    device.begin_epoch(9_000);
    assert!(device.is_overloaded(), "an overload outlives a boot");
    assert_eq!(
        device.control(&[1], 9_000, false).to_string(),
        "control request 1 refused: not now"
    );
    assert_eq!(device.control(&[1], 9_000, true).to_string(), "zeroed, offset 0.00 N·m");
    assert_eq!(device.status(9_000, false).zero, Zero::Good);
    assert_eq!(
        device.control(&[2], 9_000, true).to_string(),
        "control request 2 refused: invalid parameter"
    );
    assert_eq!(
        device.control(&[4, 1], 9_000, true).to_string(),
        "control request 4 refused: op code not supported"
    );
}

#[test]
fn a_motion_leads_from_one_reading_of_an_epoch_to_the_next_and_goes_with_it() {
    let moved = Moved { travel: Travel::Vector { right: -40, up: 57 }, deviation: 85 };
    let moving = Seen { moved: Some(moved), ..seen(80) };
    let mut device = device();
    let to = |device: &Device<8>, epoch, sequence| {
        device.store().motion_to(key(epoch, sequence)).map(|motion| {
            assert_eq!((motion.travel, motion.deviation), (moved.travel, moved.deviation));
            (motion.from.get(), motion.to.get())
        })
    };
    for at in [2_000, 3_000, 4_000] {
        device.pull(moving, at).expect("power");
    }
    let found = [1, 2, 3].map(|sequence| to(&device, 1, sequence));
    assert_eq!(found, [None, Some((1, 2)), Some((2, 3))]);
    device.begin_epoch(5_000);
    device.pull(moving, 6_000).expect("power");
    device.pull(moving, 7_000).expect("power");
    assert_eq!([to(&device, 2, 1), to(&device, 2, 2)], [None, Some((1, 2))]);
    let mut access = Access::default();
    device.access(&RecordRequest::Release(key(1, 2)).emit(), &mut access);
    assert_eq!([to(&device, 1, 2), to(&device, 1, 3)], [None, Some((2, 3))]);
}

/// A set-point of 80 N·m for a minute.
fn set_point() -> SetPoint {
    let torque = |newton_metres: i32| Torque::from_centinewton_metres(newton_metres * 100);
    let window = Window::new(torque(80), torque(72), torque(88), Rotation::NOT_KNOWN);
    SetPoint { number: 5, window: Some(window.expect("a window")), seconds: 60 }
}

#[test]
fn cues_are_taken_by_who_has_them_and_only_those_of_the_table() {
    let cases = [
        (&[4, 1][..], "control request 4 done", Some(Cue::Reached)),
        (&[4, 5], "control request 4 done", Some(Cue::StepDone)),
        (&[4, 0], "control request 4 done", None),
        (&[4, 6], "control request 4 refused: invalid parameter", None),
        (&[4], "control request 4 refused: invalid parameter", None),
        (&[4, 1, 1], "control request 4 refused: invalid parameter", None),
    ];
    for (octets, answer, cue) in cases {
        let mut able = device().with_hand();
        assert_eq!(able.control(octets, 2_000, true).to_string(), answer, "{octets:?}");
        assert_eq!(able.guide().cue(), cue, "{octets:?}");
        let mut unable = device();
        assert_eq!(
            unable.control(octets, 2_000, true).to_string(),
            "control request 4 refused: op code not supported"
        );
        assert_eq!(unable.guide().cue(), None);
    }
}

#[test]
fn a_set_point_takes_an_announced_sleep_back_and_outlives_neither_sleep_nor_boot_nor_link() {
    let octets = set_point().emit();
    let mut device = device().with_hand();
    device.announce_sleep(2_000, 12_000).expect("nobody wishes it awake");
    device.set_point(&octets, 1, 3_000).expect("it is taken");
    device.settle(12_000);
    assert_eq!((device.power(), device.take_ended()), (Power::Awake, None));
    device.announce_sleep(13_000, 23_000).expect("nobody wishes it awake");
    device.settle(23_000);
    assert_eq!((device.power(), device.take_ended()), (Power::Asleep, Some((5, End::Sleep))));
    device.wake();
    device.set_point(&octets, 1, 30_000).expect("it is taken");
    device.begin_epoch(31_000);
    assert_eq!(device.take_ended(), Some((5, End::Boot)));
    device.set_point(&octets, 1, 32_000).expect("it is taken");
    device.link_lost();
    assert_eq!(device.take_ended(), Some((5, End::Link)));
    device.set_point(&octets, 1, 33_000).expect("it is taken");
    device.power_off();
    assert_eq!(device.take_ended(), Some((5, End::Boot)));
}

#[test]
fn guiding_changes_nothing_of_what_is_measured_and_numbered() {
    let mut alone = device();
    let mut guided = device().with_hand();
    guided.set_point(&set_point().emit(), 1, 1_500).expect("it is taken");
    guided.control(&[4, 3], 1_600, true);
    let peaks = [60, 90, -40];
    assert_eq!(pull(&mut guided, 2_000, &peaks), pull(&mut alone, 2_000, &peaks));
}

#[test]
fn presses_are_counted_in_their_epoch_and_not_kept_for_who_does_not_listen() {
    let mut device = device().with_hand();
    let told = |device: &mut Device<8>| {
        let presses = core::iter::from_fn(|| device.next_press());
        presses.map(|press| press.to_string()).collect::<Vec<_>>()
    };
    for (press, at) in [(Press::Short, 3_000), (Press::Double, 4_000)] {
        device.press(press, at).expect("power");
    }
    assert_eq!(
        told(&mut device),
        ["button epoch 1, press 1, at 2.00 s, short", "button epoch 1, press 2, at 3.00 s, double"]
    );
    // Nobody listens: it is counted, and gone.
    device.press(Press::Long, 5_000).expect("power");
    device.forget_live();
    device.press(Press::Long, 6_000).expect("power");
    assert_eq!(told(&mut device), ["button epoch 1, press 4, at 5.00 s, long"]);
    device.announce_sleep(7_000, 17_000).expect("nobody wishes it awake");
    device.press(Press::Short, 8_000).expect("power");
    device.settle(17_000);
    assert_eq!(device.power(), Power::Awake, "a press takes an announced sleep back");
    device.announce_sleep(20_000, 30_000).expect("nobody wishes it awake");
    device.settle(30_000);
    assert_eq!(device.press(Press::Short, 31_000), Ok(None), "it only wakes");
    device.begin_epoch(40_000);
    let first = Button {
        epoch: Epoch::new(2).expect("not 0"),
        counter: 1,
        at: device.tick(41_000),
        press: Press::Short,
    };
    assert_eq!(device.press(Press::Short, 41_000), Ok(Some(first)));
    assert_eq!(told(&mut device), ["button epoch 2, press 1, at 1.00 s, short"]);
    device.power_off();
    assert_eq!(device.press(Press::Short, 42_000), Err(NoPower));
}

#[test]
fn more_presses_than_wait_show_as_a_hole_in_the_counter_which_goes_on_from_0() {
    let mut device = device().with_hand();
    for _ in 0..65_534_u32 {
        device.press(Press::Short, 2_000).expect("power");
        device.next_press();
    }
    for _ in 0..10 {
        device.press(Press::Short, 3_000).expect("power");
    }
    let counters: Vec<u16> =
        core::iter::from_fn(|| device.next_press()).map(|press| press.counter).collect();
    assert_eq!(counters, [65_535, 0, 1, 2, 3, 4, 5, 6]);
    let next = device.press(Press::Short, 4_000).expect("power").expect("counted");
    assert_eq!(next.counter, 9);
}
