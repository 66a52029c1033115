//! What is built from values is read back as the same values.

use clampbook_protocol::{
    Announcement, AnnouncementFlags, Battery, Button, Calibration, CalibrationFlags, Capability,
    ControlAnswer, ControlRequest, Cue, Date, Drive, Duration, Epoch, Features, Key, Levels,
    Motion, Octets, Press, Reading, ReadingFlags, Reason, RecordRequest, RecordResponse,
    ResponseCode, Rotation, Selection, Sequence, SetPoint, State, Status, StatusFlags, Tick,
    Torque, Travel, Versioned, Window, Zero,
};
use proptest::option;
use proptest::prelude::*;

fn epoch() -> impl Strategy<Value = Epoch> {
    any::<Epoch>()
}

fn sequence() -> impl Strategy<Value = Sequence> {
    any::<Sequence>()
}

fn key() -> impl Strategy<Value = Key> {
    (epoch(), sequence()).prop_map(|(epoch, sequence)| Key { epoch, sequence })
}

fn torque() -> impl Strategy<Value = Torque> {
    any::<i32>().prop_map(Torque::from_centinewton_metres)
}

fn rotation() -> impl Strategy<Value = Rotation> {
    prop_oneof![Just(Rotation::NOT_KNOWN), any::<i32>().prop_map(Rotation::from_tenths)]
}

fn duration() -> impl Strategy<Value = Duration> {
    prop_oneof![Just(Duration::NOT_KNOWN), any::<u32>().prop_map(Duration::from_millis)]
}

fn tick() -> impl Strategy<Value = Tick> {
    any::<u32>().prop_map(Tick)
}

fn reading() -> impl Strategy<Value = Reading> {
    let flags = (0_u16..0x1000).prop_map(ReadingFlags::from_bits);
    (key(), tick(), torque(), rotation(), duration(), flags).prop_map(
        |(key, at, peak, rotation, duration, flags)| Reading {
            key,
            at,
            peak,
            rotation,
            duration,
            flags,
        },
    )
}

fn status() -> impl Strategy<Value = Status> {
    let battery =
        prop_oneof![Just(Battery::NOT_KNOWN), any::<u8>().prop_map(Battery::from_percent)];
    let state = prop_oneof![
        Just(State::Awake),
        Just(State::AsleepSoon),
        Just(State::Pairing),
        (3_u8..16).prop_map(State::Other)
    ];
    let zero = prop_oneof![
        Just(Zero::Unchecked),
        Just(Zero::Good),
        Just(Zero::Needed),
        Just(Zero::InProgress),
        (4_u8..16).prop_map(Zero::Other)
    ];
    let sequences = (any::<u32>(), any::<u32>()).prop_map(|(one, other)| {
        let number = |value| Sequence::new(value);
        (number(one.max(other)), number(one.min(other)))
    });
    let flags = (0_u16..0x1000).prop_map(StatusFlags::from_bits);
    (epoch(), tick(), sequences, any::<u16>(), battery, state, zero, flags).prop_map(
        |(epoch, now, (newest, lowest_held), held, battery, state, zero, flags)| Status {
            epoch,
            now,
            newest,
            lowest_held,
            held,
            battery,
            state,
            zero,
            flags,
        },
    )
}

fn capability() -> impl Strategy<Value = Capability> {
    (
        any::<u8>(),
        any::<(u8, u8, u16)>(),
        any::<(u32, u32)>(),
        option::of(0_u16..0xFFFF),
        any::<(u16, u16)>(),
    )
        .prop_map(
            |(minor, (levels, drive, features), (one, other), accuracy, (capacity, trace_rate))| {
                Capability {
                    minor,
                    levels: Levels::from_bits(levels),
                    drive: Drive(drive),
                    features: Features::from_bits(features),
                    range_least: one.min(other),
                    range_most: one.max(other),
                    accuracy,
                    capacity,
                    trace_rate,
                }
            },
        )
}

fn calibration() -> impl Strategy<Value = Calibration> {
    let date = || {
        (1500_u16..10_100, 0_u8..14, 0_u8..33)
            .prop_map(|(year, month, day)| Date::new(year, month, day).unwrap_or(Date::NOT_KNOWN))
    };
    let flags = (0_u16..0x1000).prop_map(CalibrationFlags::from_bits);
    (date(), date(), any::<u32>(), any::<u16>(), flags).prop_map(
        |(done, due, pulls, overloads, flags)| Calibration { done, due, pulls, overloads, flags },
    )
}

fn selection() -> impl Strategy<Value = Selection> {
    prop_oneof![
        Just(Selection::All),
        Just(Selection::First),
        Just(Selection::Last),
        key().prop_map(Selection::UpTo),
        key().prop_map(Selection::From),
        (epoch(), sequence(), sequence()).prop_map(|(epoch, one, other)| Selection::Range {
            epoch,
            first: one.min(other),
            last: one.max(other),
        })
    ]
}

fn record_request() -> impl Strategy<Value = RecordRequest> {
    prop_oneof![
        selection().prop_map(RecordRequest::Report),
        selection().prop_map(RecordRequest::Count),
        key().prop_map(RecordRequest::Release),
        Just(RecordRequest::Abort)
    ]
}

fn control_request() -> impl Strategy<Value = ControlRequest<'static>> {
    let cue = prop_oneof![
        Just(Cue::Nothing),
        Just(Cue::Reached),
        Just(Cue::Low),
        Just(Cue::Over),
        Just(Cue::Look),
        Just(Cue::StepDone),
        (6_u8..).prop_map(Cue::Other)
    ];
    prop_oneof![
        Just(ControlRequest::Zero),
        any::<u8>().prop_map(|seconds| ControlRequest::Identify { seconds }),
        any::<u8>().prop_map(|minutes| ControlRequest::StayAwake { minutes }),
        cue.prop_map(ControlRequest::Cue)
    ]
}

fn control_answer() -> impl Strategy<Value = ControlAnswer<'static>> {
    prop_oneof![
        torque().prop_map(|offset| ControlAnswer::Zeroed { offset }),
        (2_u8..).prop_map(|request| ControlAnswer::Done { request }),
        (any::<u8>(), any::<u8>()).prop_map(|(request, raw)| {
            let reason = Reason::from_raw(raw).unwrap_or(Reason::Failed);
            ControlAnswer::Refused { request, reason }
        })
    ]
}

fn set_point() -> impl Strategy<Value = SetPoint> {
    let size = || option::of(0_i32..i32::MAX);
    (
        any::<u16>(),
        any::<bool>(),
        (size(), 1_i32..i32::MAX - 1, size()),
        option::of(0_i32..40_000),
        1_u16..,
    )
        .prop_map(|(number, clockwise, (low, target, high), rotation, seconds)| {
            let signed = |size: Option<i32>| {
                size.map_or(Torque::NOT_KNOWN, |size| {
                    Torque::from_centinewton_metres(if clockwise { size } else { -size })
                })
            };
            let window = Window::new(
                signed(Some(target)),
                signed(low.map(|low| low.min(target))),
                signed(high.map(|high| high.max(target))),
                rotation.map_or(Rotation::NOT_KNOWN, |turn| {
                    Rotation::from_tenths(if clockwise { turn } else { -turn })
                }),
            );
            SetPoint { number, window: Some(window.expect("limits around the target")), seconds }
        })
}

fn button() -> impl Strategy<Value = Button> {
    let press = prop_oneof![
        Just(Press::Short),
        Just(Press::Long),
        Just(Press::Double),
        (4_u8..16).prop_map(Press::Other)
    ];
    (epoch(), any::<u16>(), tick(), press).prop_map(|(epoch, counter, at, press)| Button {
        epoch,
        counter,
        at,
        press,
    })
}

fn motion() -> impl Strategy<Value = Motion> {
    let travel = prop_oneof![
        any::<(i16, i16)>().prop_map(|(right, up)| Travel::Vector { right, up }),
        any::<u16>().prop_map(|distance| Travel::Distance { distance })
    ];
    (epoch(), 1_u32..u32::MAX, 1_u32.., travel, any::<u16>()).prop_map(
        |(epoch, from, further, travel, deviation)| Motion {
            epoch,
            from: Sequence::new(from).expect("from 1"),
            to: Sequence::new(from.saturating_add(further)).expect("from 1"),
            travel,
            deviation,
        },
    )
}

fn check<T: PartialEq + core::fmt::Debug>(
    octets: &Octets,
    parsed: impl Fn(&[u8]) -> Option<T>,
    message: &T,
) -> Result<(), TestCaseError> {
    prop_assert!(octets.len() <= 20);
    let read = parsed(octets);
    prop_assert_eq!(read.as_ref(), Some(message));
    Ok(())
}

macro_rules! versioned_messages {
    ($($name:ident: $message:ident from $values:expr;)*) => {
        proptest! {$(
            #[test]
            fn $name(message in $values) {
                let read = |octets: &[u8]| $message::parse(octets).ok().and_then(Versioned::known);
                check(&message.emit(), read, &message)?;
            }
        )*}
    };
}

versioned_messages! {
    a_reading_reads_back: Reading from reading();
    a_status_reads_back: Status from status();
    a_capability_reads_back: Capability from capability();
    a_calibration_reads_back: Calibration from calibration();
    a_set_point_reads_back: SetPoint from set_point();
    a_button_reads_back: Button from button();
    a_motion_reads_back: Motion from motion();
    an_announcement_reads_back: Announcement from any::<u8>().prop_map(|bits| Announcement {
        flags: AnnouncementFlags::from_bits(bits),
    });
}

proptest! {
    #[test]
    fn a_torque_reads_back(message in torque()) {
        check(&message.emit(), |octets| Torque::parse(octets).ok(), &message)?;
    }

    #[test]
    fn a_record_request_reads_back(message in record_request()) {
        check(&message.emit(), |octets| RecordRequest::parse(octets).ok(), &message)?;
    }

    #[test]
    fn a_record_response_reads_back(count in any::<u16>(), request in any::<u8>(), raw in any::<u8>()) {
        let ended = RecordResponse::Ended { request, code: ResponseCode::from_raw(raw) };
        for message in [RecordResponse::Count(count), ended] {
            let octets = message.emit();
            prop_assert_eq!(RecordResponse::parse(&octets), Ok(message));
        }
    }

    #[test]
    fn a_control_request_reads_back(message in control_request()) {
        let octets = message.emit();
        prop_assert_eq!(ControlRequest::parse(&octets), Ok(message));
    }

    #[test]
    fn a_control_answer_reads_back(message in control_answer()) {
        let octets = message.emit();
        prop_assert_eq!(ControlAnswer::parse(&octets), Ok(message));
    }
}

#[test]
fn the_octets_of_a_torque_descriptor_are_fit_for_torque_and_others_are_not() {
    use clampbook_protocol::PresentationFormat;
    let torque = PresentationFormat::TORQUE;
    assert_eq!(torque.emit().as_ref(), [0x10, 0xFE, 0x41, 0x27, 1, 0, 0]);
    assert_eq!(torque.check_torque(), Ok(()));
    let pounds = PresentationFormat { unit: 0x27B8, ..torque };
    assert_eq!(
        pounds.check_torque().map_err(|error| error.to_string()),
        Err("presentation format: expected the unit 10049 (0x2741, newton metre), but found 10168"
            .to_owned())
    );
}
