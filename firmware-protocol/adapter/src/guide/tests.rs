use std::vec::Vec;

use clampbook_protocol::{Cue, Rotation, Sample, SetPoint, Torque, Versioned, Window};
use proptest::collection::vec;
use proptest::prelude::*;

use super::{CUE_MS, End, Guide, Refused, Shown};

const RANGE: u32 = 28_000;
const LINK: u16 = 0x40;

fn torque(newton_metres: i32) -> Torque {
    Torque::from_centinewton_metres(newton_metres * 100)
}

fn set_point(number: u16, [target, low, high]: [i32; 3], turn: Option<i32>) -> SetPoint {
    let turn = turn.map_or(Rotation::NOT_KNOWN, Rotation::from_tenths);
    let window = Window::new(torque(target), torque(low), torque(high), turn).expect("a window");
    SetPoint { number, window: Some(window), seconds: 60 }
}

fn guide(set_point: SetPoint) -> Guide {
    let mut guide = Guide::new(RANGE);
    guide.write(&set_point.emit(), LINK, 0).expect("it is taken");
    guide
}

/// What is shown of a pull whose torques, in N·m, and rotations, in 0.1°, are 50 ms apart: each change once.
fn shown(guide: &mut Guide, from_ms: u64, samples: &[(i32, Option<i32>)]) -> Vec<(i32, Shown)> {
    let mut changes: Vec<(i32, Shown)> = Vec::new();
    for (at_ms, &(newton_metres, turned)) in (from_ms..).step_by(50).zip(samples) {
        let rotation = turned.map_or(Rotation::NOT_KNOWN, Rotation::from_tenths);
        let before = guide.shown();
        guide.feel(Sample { torque: torque(newton_metres), rotation }, at_ms);
        if guide.shown() != before {
            changes.push((newton_metres, guide.shown()));
        }
    }
    changes
}

fn plain(torques: &[i32]) -> Vec<(i32, Option<i32>)> {
    torques.iter().map(|&newton_metres| (newton_metres, None)).collect()
}

#[test]
fn near_reached_and_over_are_shown_as_the_torque_rises_and_end_with_the_pull() {
    use Shown::{Near, Nothing, Over, Reached};
    let rise = [0, 20, 55, 56, 71, 72, 88, 89, 40, 0, 0, 0, 30, 60, 0, 0, 0];
    let cases = [
        (
            set_point(1, [80, 72, 88], None),
            1,
            &[(56, Near), (72, Reached), (89, Over), (0, Nothing), (60, Near), (0, Nothing)][..],
        ),
        (
            set_point(1, [-80, -72, -88], None),
            -1,
            &[(-56, Near), (-72, Reached), (-89, Over), (0, Nothing), (-60, Near), (0, Nothing)],
        ),
        // Torque in the other direction is not guided.
        (set_point(1, [80, 72, 88], None), -1, &[]),
    ];
    for (set_point, sign, expected) in cases {
        let torques: Vec<i32> = rise.iter().map(|torque| torque * sign).collect();
        assert_eq!(shown(&mut guide(set_point), 0, &plain(&torques)), expected, "{set_point}");
    }
}

#[test]
fn without_a_low_limit_the_target_counts_and_without_a_high_one_nothing_is_over() {
    let open = Window::new(torque(80), Torque::NOT_KNOWN, Torque::NOT_KNOWN, Rotation::NOT_KNOWN);
    let set_point = SetPoint { number: 1, window: Some(open.expect("a window")), seconds: 60 };
    let found = shown(&mut guide(set_point), 0, &plain(&[10, 79, 80, 279]));
    assert_eq!(found, [(79, Shown::Near), (80, Shown::Reached)]);
}

#[test]
fn a_rotation_counts_from_the_target_on_and_takes_the_place_of_the_low_limit() {
    let samples =
        [(10, 0), (40, 50), (50, 100), (52, 400), (53, 549), (54, 550), (61, 560), (71, 570)];
    let samples = samples.map(|(torque, turned)| (torque, Some(turned)));
    let mut clockwise = guide(set_point(1, [50, 45, 70], Some(450)));
    let expected = [(40, Shown::Near), (54, Shown::Reached), (71, Shown::Over)];
    assert_eq!(shown(&mut clockwise, 0, &samples), expected);
    let turned_back = samples.map(|(torque, turned)| (-torque, turned.map(|turned| -turned)));
    let mut anticlockwise = guide(set_point(1, [-50, -45, -70], Some(-450)));
    let expected = expected.map(|(torque, shown)| (-torque, shown));
    assert_eq!(shown(&mut anticlockwise, 0, &turned_back), expected);
    // An adapter that does not tell rotation cannot say that it is reached.
    let blind = plain(&[10, 40, 60, 69]);
    let found = shown(&mut guide(set_point(1, [50, 45, 70], Some(450))), 0, &blind);
    assert_eq!(found, [(40, Shown::Near)]);
}

#[test]
fn a_refused_set_point_leaves_the_old_one_in_force() {
    let good = set_point(7, [80, 72, 88], None);
    let octets = good.emit();
    let with = |place: usize, octet: u8| {
        let mut octets = octets.to_vec();
        octets[place] = octet;
        octets
    };
    let longer: Vec<u8> = octets.iter().copied().chain([0]).collect();
    let beyond = set_point(9, [281, 0, 300], None).emit().to_vec();
    let cases = [
        ("too short", octets[..19].to_vec(), LINK, Refused::Length, 0x0D),
        ("of this version and too long", longer, LINK, Refused::Length, 0x0D),
        ("empty", Vec::new(), LINK, Refused::Length, 0x0D),
        ("of another version", with(19, 0x20), LINK, Refused::Version, 0x80),
        ("with a flag", with(18, 1), LINK, Refused::Value, 0x81),
        ("for no time", with(16, 0), LINK, Refused::Value, 0x81),
        ("with its low limit above the target", with(7, 0xF0), LINK, Refused::Value, 0x81),
        ("beyond the range", beyond, LINK, Refused::Value, 0x81),
        ("of a second link", octets.to_vec(), LINK + 1, Refused::Busy, 0xFE),
        ("of a second link, and short", octets[..4].to_vec(), LINK + 1, Refused::Length, 0x0D),
        ("of a second link, and wrong", with(18, 1), LINK + 1, Refused::Busy, 0xFE),
    ];
    for (what, octets, link, refused, code) in cases {
        let mut guide = guide(good);
        assert_eq!(guide.write(&octets, link, 1_000), Err(refused), "{what}");
        assert_eq!(refused.att_error(), code, "{what}");
        let seconds = 59;
        assert_eq!(guide.read(1_000), SetPoint { seconds, ..good }, "{what}");
        assert_eq!(guide.take_ended(), None, "{what}");
    }
}

#[test]
fn guidance_ends_with_its_time_its_host_its_link_sleep_and_boot() {
    let nothing = SetPoint { number: 0, window: None, seconds: 0 };
    let good = set_point(7, [80, 72, 88], None);
    let mut timed = guide(good);
    assert_eq!(timed.read(59_001).seconds, 1);
    timed.settle(59_999);
    assert_eq!(timed.take_ended(), None);
    assert_eq!(timed.read(60_000), nothing);
    timed.settle(60_000);
    assert_eq!(timed.take_ended(), Some((7, End::Time)));
    // Nothing is left that a second link would be in the way of.
    assert_eq!(timed.write(&good.emit(), LINK + 1, 61_000), Ok(good));
    let mut withdrawn = guide(good);
    let withdrawal = SetPoint { number: 8, window: None, seconds: 0 };
    assert_eq!(withdrawn.write(&withdrawal.emit(), LINK, 1_000), Ok(withdrawal));
    assert_eq!((withdrawn.read(1_000), withdrawn.take_ended()), (nothing, Some((7, End::Host))));
    for why in [End::Link, End::Sleep, End::Boot] {
        let mut guide = guide(good);
        shown(&mut guide, 0, &plain(&[10, 60, 75]));
        guide.end(why);
        assert_eq!((guide.shown(), guide.read(1_000)), (Shown::Nothing, nothing));
        assert_eq!(guide.take_ended(), Some((7, why)));
        assert_eq!(shown(&mut guide, 1_000, &plain(&[80, 90])), []);
    }
}

#[test]
fn a_renewal_in_a_pull_changes_nothing_that_is_shown_and_another_window_begins_anew() {
    let mut guide = guide(set_point(7, [80, 72, 88], None));
    shown(&mut guide, 0, &plain(&[10, 75]));
    guide.write(&set_point(7, [80, 72, 88], None).emit(), LINK, 50_000).expect("it is taken");
    assert_eq!((guide.shown(), guide.read(50_000).seconds), (Shown::Reached, 60));
    guide.write(&set_point(8, [165, 150, 180], None).emit(), LINK, 50_100).expect("it is taken");
    assert_eq!(guide.shown(), Shown::Nothing);
    assert_eq!(shown(&mut guide, 50_200, &plain(&[76, 116])), [(116, Shown::Near)]);
}

#[test]
fn a_cue_lasts_until_the_next_pull_the_next_cue_or_five_seconds() {
    let mut guide = Guide::new(RANGE);
    guide.begin_cue(Cue::Low, 1_000);
    guide.settle(1_000 + CUE_MS - 1);
    assert_eq!(guide.cue(), Some(Cue::Low));
    guide.settle(1_000 + CUE_MS);
    assert_eq!(guide.cue(), None);
    guide.begin_cue(Cue::Reached, 10_000);
    guide.begin_cue(Cue::Over, 10_500);
    assert_eq!(guide.cue(), Some(Cue::Over));
    // Less than the beginning of a pull ends nothing.
    shown(&mut guide, 11_000, &plain(&[2, 5]));
    assert_eq!(guide.cue(), Some(Cue::Over));
    shown(&mut guide, 11_500, &plain(&[20]));
    assert_eq!(guide.cue(), None);
    guide.begin_cue(Cue::Over, 11_600);
    shown(&mut guide, 11_700, &plain(&[40, 0, 0, 0, 0]));
    assert_eq!(guide.cue(), Some(Cue::Over), "one that begins in a pull outlasts it");
    guide.begin_cue(Cue::Nothing, 12_000);
    assert_eq!(guide.cue(), None);
}

proptest! {
    /// Whatever is written, what is read is the last set-point that was taken, as long as it lasts; and no sample
    /// breaks it.
    #[test]
    fn any_octets_are_taken_or_refused_whole(
        writes in vec((vec(any::<u8>(), 0..24), any::<bool>(), 0..3_u16), 0..12),
        samples in vec((any::<i32>(), any::<i16>()), 0..20),
    ) {
        let mut guide = Guide::new(u32::MAX);
        let mut taken = SetPoint { number: 0, window: None, seconds: 0 };
        for (mut octets, known, link) in writes {
            if known && octets.len() >= 20 {
                octets.truncate(20);
                octets[18..].copy_from_slice(&[0, 0x10]);
            }
            if let Ok(set_point) = guide.write(&octets, link, 1_000) {
                let none = SetPoint { number: 0, window: None, seconds: 0 };
                taken = if set_point.window.is_some() { set_point } else { none };
            }
            prop_assert_eq!(guide.read(1_000), taken);
            let read = guide.read(1_000).emit();
            prop_assert!(matches!(SetPoint::parse(&read), Ok(Versioned::Known(_))));
        }
        for (at_ms, (torque, turned)) in (1_000..).step_by(7).zip(samples) {
            let torque = Torque::from_centinewton_metres(torque);
            let rotation = Rotation::from_tenths(turned.into());
            guide.feel(Sample { torque, rotation }, at_ms);
        }
    }
}
