//! How the adapter guides the hand: what its next pull should reach, which adapter that concerns, what is written to it
//! when, and what the hand answers.

use crate::story::{inputs, plan};
use clampbook::adapter::guiding::{Guiding, Refused, Wish};
use clampbook::adapter::presses::{Counted, Presses};
use clampbook::adapter::translate;
use clampbook::core::event::{Conclusion, Say, What};
use clampbook::core::guide::{Aim, Cue, Hand, aim, chosen, cue};
use clampbook::core::plan::Plan;
use clampbook::core::press::{Meaning, Press, meaning};
use clampbook::core::snapshot::Next;
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;

const CORNER: &str = "
    plan = 'Corner'
    source = 'invented'
    tolerance = '±10 %'
    in-order = true
    [holds]
    chocked = 'Chocked, tyre just touching?'
    [joints.wheel]
    ring = 5
    target = '120 N·m'
    passes = ['60 N·m', 'final']
    [joints.hub-nut]
    target = '200 N·m'
    left-hand = true
    passes = ['by hand', { target = 'final', hold = 'chocked' }]
    [joints.pin]
    target = 'none'
";

/// A story, and after each of its inputs that changed it what the next pull should reach.
fn aims(plan: Plan, story: &str) -> Vec<String> {
    let mut tracker = Tracker::new(plan);
    let aim_now = |tracker: &Tracker| {
        aim(tracker.plan(), tracker.snapshot().next.as_ref(), tracker.asked_alike())
    };
    let mut told = vec![text(aim_now(&tracker))];
    for input in inputs(story) {
        tracker.step(input);
        let now = text(aim_now(&tracker));
        if told.last() != Some(&now) {
            told.push(now);
        }
    }
    told
}

fn text(aim: Option<Aim>) -> String {
    aim.map_or_else(
        || "nothing".to_owned(),
        |aim| {
            let high = aim.high.map_or_else(|| "no limit".to_owned(), |high| high.nm().to_string());
            format!("{} from {} to {high}", aim.target.nm(), aim.low.nm())
        },
    )
}

#[test]
fn the_set_point_goes_with_the_job_and_is_none_while_something_else_is_asked() {
    let story = "0 adapter large 40 280 rotation
        5 pull 60 turn 41
        +9 pull 61 turn 38
        +9 pull 59.5 turn 44
        +9 pull 62 turn 36
        +9 pull 60.4 turn 40
        +9 pull 120 turn 41
        +9 pull 121 turn 38
        +9 pull 119.5 turn 44
        +9 pull 122 turn 36
        +9 pull 120.4 turn 40
        +9 confirm chocked
        +9 pull -150 turn -40
        +9 pull -201 turn -20
        +9 stated pin/1";
    assert_eq!(
        aims(plan(CORNER), story),
        ["60 from 45 to 75", "120 from 108 to 132", "nothing", "-200 from -180 to -220", "nothing",]
    );
}

#[test]
fn whoever_cannot_tell_that_a_round_is_whole_is_guided_again_once_the_next_one_has_begun() {
    let story = "0 adapter large 40 280
        5 pull 60
        +9 pull 61
        +9 pull 59.5
        +9 pull 62
        +9 pull 60.4
        +9 pull 120";
    // Five good peaks on five nuts may be four nuts and one pulled twice.
    let expected = ["60 from 45 to 75", "nothing", "120 from 108 to 132"];
    assert_eq!(aims(plan(CORNER), story), expected);
}

#[test]
fn without_an_upper_limit_there_is_none_to_pass_and_a_value_to_be_looked_up_guides_nobody() {
    let castle = "
        plan = 'Castle nut'
        source = 'invented'
        [joints]
        ball-joint = '≥ 49 N·m'
        link = '?'
    ";
    let story = "0 adapter large 40 280
        5 pull 50";
    assert_eq!(aims(plan(castle), story), ["49 from 49 to no limit", "nothing"]);
}

#[test]
fn a_window_that_is_not_sure_enough_guides_nobody() {
    let plan = plan(CORNER);
    let next = |pass| Next::Pull {
        fastener: "wheel/1".to_owned(),
        pass,
        passes: 2,
        target: String::new(),
    };
    let cases = [
        (next(1), 1.0, "60 from 45 to 75"),
        (next(2), 0.8, "120 from 108 to 132"),
        (next(2), 0.79, "nothing"),
        (next(3), 1.0, "nothing"),
        (next(0), 1.0, "nothing"),
        (Next::LookUp { group: "wheel".to_owned() }, 1.0, "nothing"),
        (Next::State { fastener: "pin/1".to_owned() }, 1.0, "nothing"),
    ];
    for (next, alike, expected) in cases {
        assert_eq!(text(aim(&plan, Some(&next), alike)), expected, "{next:?} {alike}");
    }
    assert_eq!(aim(&plan, None, 1.0), None);
}

fn nm(value: f64) -> Torque {
    Torque::from_nm(value)
}

fn window(target: f64, low: f64, high: f64) -> Aim {
    Aim { target: nm(target), low: nm(low), high: Some(nm(high)), turn_deg: None }
}

#[test]
fn of_several_adapters_the_one_that_fits_and_was_pulled_with_last_guides() {
    let hand = |adapter, least, most, pulled: Option<i64>| Hand {
        adapter,
        range: Some((nm(least), nm(most))),
        is_linked: true,
        pulled: pulled.map(Stamp),
    };
    let small = hand("small", 5.0, 60.0, None);
    let middle = hand("middle", 20.0, 120.0, None);
    let large = hand("large", 40.0, 280.0, None);
    let away = |hand: Hand<'static>| Hand { is_linked: false, ..hand };
    let cases: [(&[Hand<'_>], f64, Option<&str>); 9] = [
        (&[small, large], 26.0, Some("small")),
        (&[small, large], 178.0, Some("large")),
        (&[small, large], -178.0, Some("large")),
        (&[small, large], 300.0, None),
        (&[large, middle], 90.0, Some("middle")),
        (&[Hand { pulled: Some(Stamp(5)), ..large }, middle], 90.0, Some("large")),
        (
            &[
                Hand { pulled: Some(Stamp(5)), ..large },
                Hand { pulled: Some(Stamp(9)), ..middle },
                Hand { pulled: Some(Stamp(12)), ..small },
            ],
            90.0,
            Some("middle"),
        ),
        (&[away(Hand { pulled: Some(Stamp(5)), ..large }), middle], 90.0, Some("middle")),
        (&[], 90.0, None),
    ];
    for (hands, target, expected) in cases {
        let found = chosen(hands, &window(target, target * 0.9, target * 1.1));
        assert_eq!(found, expected, "{target} of {hands:?}");
    }
    let unknown = Hand { range: None, ..hand("unknown", 0.0, 0.0, None) };
    assert_eq!(chosen(&[unknown], &window(900.0, 800.0, 950.0)), Some("unknown"));
}

/// The cue of each pull of a story.
fn cues(plan: Plan, story: &str) -> Vec<Option<Cue>> {
    let mut tracker = Tracker::new(plan);
    let mut told = Vec::new();
    for input in inputs(story) {
        let before = tracker.snapshot();
        let key = match &input.what {
            What::Reading(reading) => Some((reading.adapter.clone(), reading.seq)),
            _ => None,
        };
        let conclusions = tracker.step(input).conclusions;
        if let Some((adapter, seq)) = key {
            let conclusions: Vec<&Conclusion> = conclusions.iter().collect();
            told.push(cue(&conclusions, (&adapter, seq), &before, &tracker.snapshot()));
        }
    }
    told
}

#[test]
fn a_pull_leads_to_one_cue_the_most_urgent() {
    let two = "
        plan = 'Two'
        source = 'invented'
        tolerance = '±10 %'
        in-order = true
        [joints]
        arm = '90 N·m'
        [joints.bracket]
        line = 2
        target = '120 N·m'
    ";
    let story = "0 adapter large 40 280
        5 pull 60
        +6 pull 91
        +20 pull 121
        +20 pull 122";
    assert_eq!(
        cues(plan(two), story),
        [Some(Cue::Low), Some(Cue::StepDone), Some(Cue::Reached), Some(Cue::StepDone),]
    );
    // Before the hold of the hub nut, which is to be confirmed first.
    let early = "0 adapter large 40 280
        5 pull -200";
    assert_eq!(cues(plan(CORNER), early), [Some(Cue::Look)]);
    let over = "0 adapter large 40 280
        5 pull 104
        +20 pull -60";
    assert_eq!(cues(plan(two), over), [Some(Cue::Over), None]);
}

#[test]
fn short_confirms_what_is_asked_double_takes_back_and_long_asks_what_is_next() {
    let confirm = Next::Confirm { hold: "chocked".to_owned(), text: "Chocked?".to_owned() };
    let said = |say| Meaning::Said(say);
    let yes = said(Say::Confirm { hold: "chocked".to_owned(), because: None });
    let state = Next::State { fastener: "pin/1".to_owned() };
    let cases = [
        (Press::Short, Some(&confirm), yes),
        (Press::Short, Some(&state), Meaning::NothingAsked),
        (Press::Short, None, Meaning::NothingAsked),
        (Press::Double, Some(&confirm), said(Say::Retract)),
        (Press::Double, None, said(Say::Retract)),
        (Press::Long, Some(&confirm), Meaning::Help),
        (Press::Long, None, Meaning::Help),
    ];
    for (press, next, expected) in cases {
        assert_eq!(meaning(press, next), expected, "{press:?} {next:?}");
    }
}

#[test]
fn a_press_that_was_not_heard_is_noticed_and_one_that_comes_twice_is_one() {
    let new = |missed| Counted::New { missed };
    let cases = [
        // What was before the first one is not known.
        ((3, 7), new(0)),
        ((3, 8), new(0)),
        ((3, 8), Counted::Again),
        ((3, 6), Counted::Again),
        ((3, 11), new(2)),
        ((4, 1), new(0)),
        ((5, 3), new(2)),
        ((5, 32_000), new(31_996)),
        ((5, 64_000), new(31_999)),
        ((5, 65_535), new(1_534)),
        ((5, 0), new(0)),
        ((5, 2), new(1)),
    ];
    let mut presses = Presses::default();
    for ((epoch, counter), expected) in cases {
        assert_eq!(presses.count(epoch, counter), expected, "{epoch} {counter}");
    }
}

fn at(seconds: f64) -> Stamp {
    Stamp::from_seconds(1_000.0 + seconds)
}

fn guides(number: u16, aim: Aim) -> Option<Wish> {
    Some(Wish::Guide { number, aim, seconds: 60 })
}

/// An adapter that guides by this aim, written as number 1 at 0 s and read back.
fn guiding(aim: Aim) -> Guiding {
    let mut guiding = Guiding::new("LK-0007", Some(nm(280.0)));
    guiding.aim_at(Some(aim));
    assert_eq!(guiding.next(at(0.0)), guides(1, aim));
    assert_eq!(guiding.written(at(0.0), Ok(())), None);
    assert!(!guiding.guides());
    assert_eq!(guiding.next(at(0.1)), Some(Wish::ReadBack));
    assert_eq!(guiding.read(at(0.2), Some(true)), None);
    assert!(guiding.guides());
    guiding
}

#[test]
fn a_set_point_is_written_once_read_back_and_renewed_before_its_time_is_over() {
    let first = window(80.0, 72.0, 88.0);
    let mut guiding = guiding(first);
    assert_eq!(guiding.given(), Some((1, first)));
    assert_eq!((guiding.next(at(29.9)), guiding.due()), (None, Some(at(30.0))));
    assert_eq!(guiding.next(at(30.0)), guides(1, first));
    assert_eq!((guiding.next(at(30.1)), guiding.due()), (None, None), "one at a time");
    assert_eq!(guiding.written(at(30.2), Ok(())), None);
    assert_eq!((guiding.next(at(30.3)), guiding.due()), (None, Some(at(60.2))));
    // The same is asked again.
    guiding.aim_at(Some(first));
    assert_eq!(guiding.next(at(31.0)), None);
    guiding.aim_at(None);
    assert_eq!(guiding.next(at(32.0)), Some(Wish::Withdraw { number: 2 }));
    assert_eq!(guiding.written(at(32.1), Ok(())), None);
    assert_eq!((guiding.next(at(99.0)), guiding.due(), guiding.guides()), (None, None, false));
}

#[test]
fn the_newest_wish_counts_however_many_came_while_one_was_written() {
    let [first, second, third] =
        [80.0, 120.0, 165.0].map(|target| window(target, target * 0.9, target * 1.1));
    let mut guiding = Guiding::new("LK-0007", None);
    guiding.aim_at(Some(first));
    assert_eq!(guiding.next(at(0.0)), guides(1, first));
    guiding.aim_at(Some(second));
    guiding.aim_at(Some(third));
    assert_eq!(guiding.next(at(0.1)), None);
    guiding.written(at(0.2), Ok(()));
    assert_eq!(guiding.next(at(0.3)), guides(2, third));
    guiding.written(at(0.4), Ok(()));
    assert_eq!(guiding.next(at(0.5)), Some(Wish::ReadBack));
}

#[test]
fn what_is_shown_is_not_changed_in_a_pull_but_what_is_asked_no_more_is_withdrawn_at_once() {
    let (first, second) = (window(80.0, 72.0, 88.0), window(165.0, 150.0, 180.0));
    let mut guiding = guiding(first);
    for torque in [1.0, 5.5, 5.6, 60.0] {
        guiding.felt(nm(torque));
    }
    guiding.aim_at(Some(second));
    assert_eq!(guiding.next(at(1.0)), None);
    guiding.felt(nm(-40.0));
    assert_eq!(guiding.next(at(2.0)), None, "a pull in the other direction is one, too");
    guiding.felt(nm(0.3));
    assert_eq!(guiding.next(at(3.0)), guides(2, second));
    guiding.written(at(3.1), Ok(()));
    guiding.felt(nm(60.0));
    guiding.aim_at(None);
    assert_eq!(guiding.next(at(4.0)), Some(Wish::Withdraw { number: 3 }));
    // Without torque the status tells.
    let mut silent = Guiding::new("LK-0007", Some(nm(280.0)));
    silent.status(true);
    silent.aim_at(Some(first));
    assert_eq!(silent.next(at(5.0)), None);
    silent.status(false);
    assert_eq!(silent.next(at(6.0)), guides(1, first));
}

#[test]
fn a_refusal_is_told_once_what_stays_in_force_is_withdrawn_and_nobody_insists() {
    let (first, second) = (window(80.0, 72.0, 88.0), window(300.0, 270.0, 330.0));
    let mut guiding = guiding(first);
    guiding.aim_at(Some(second));
    assert_eq!(guiding.next(at(1.0)), guides(2, second));
    let refused = || Err(Refused::For("invalid value".to_owned()));
    let told = guiding.written(at(1.1), refused()).map(|trouble| trouble.to_string());
    assert_eq!(
        told.as_deref(),
        Some(
            "adapter LK-0007: did not take the set-point 300.0 N·m (invalid value): it does not \
             guide; go by the screen; its readings are taken as ever"
        )
    );
    assert_eq!(guiding.next(at(1.2)), Some(Wish::Withdraw { number: 3 }));
    guiding.written(at(1.3), Ok(()));
    assert_eq!((guiding.next(at(100.0)), guiding.due(), guiding.guides()), (None, None, false));
    let third = window(310.0, 280.0, 340.0);
    guiding.aim_at(Some(third));
    assert_eq!(guiding.next(at(101.0)), guides(4, third));
    assert_eq!(guiding.written(at(101.1), refused()), None, "told before");
    guiding.aim_at(Some(first));
    assert_eq!(guiding.next(at(102.0)), guides(5, first));
    guiding.written(at(102.1), Ok(()));
    assert_eq!(guiding.next(at(102.2)), Some(Wish::ReadBack));
    guiding.read(at(102.3), Some(true));
    guiding.aim_at(Some(window(320.0, 290.0, 350.0)));
    guiding.next(at(103.0));
    assert!(guiding.written(at(103.1), refused()).is_some(), "it has guided in between");
}

#[test]
fn what_is_read_back_otherwise_is_withdrawn_and_told() {
    let first = window(80.0, 72.0, 88.0);
    let mut guiding = Guiding::new("LK-0007", None);
    guiding.aim_at(Some(first));
    guiding.next(at(0.0));
    guiding.written(at(0.1), Ok(()));
    guiding.next(at(0.2));
    let told = guiding.read(at(0.3), Some(false)).map(|trouble| trouble.to_string());
    assert_eq!(
        told.as_deref(),
        Some(
            "adapter LK-0007: shows another set-point than it was given: it is not guided by; go \
             by the screen; its readings are taken as ever"
        )
    );
    assert_eq!(guiding.next(at(0.4)), Some(Wish::Withdraw { number: 2 }));
    guiding.written(at(0.5), Ok(()));
    assert_eq!(guiding.next(at(60.0)), None);
}

#[test]
fn another_hosts_guidance_and_failures_in_passing_are_waited_for() {
    let first = window(80.0, 72.0, 88.0);
    for (outcome, told) in [(Refused::Busy, true), (Refused::Passing, false)] {
        let mut guiding = Guiding::new("LK-0007", None);
        guiding.aim_at(Some(first));
        guiding.next(at(0.0));
        assert_eq!(guiding.written(at(0.0), Err(outcome.clone())).is_some(), told);
        assert_eq!((guiding.next(at(4.9)), guiding.due()), (None, Some(at(5.0))));
        assert_eq!(guiding.next(at(5.0)), guides(2, first));
        assert_eq!(guiding.written(at(5.0), Err(outcome)), None, "once");
        guiding.next(at(10.0));
        guiding.written(at(10.0), Ok(()));
        assert_eq!(guiding.next(at(10.1)), Some(Wish::ReadBack));
        assert_eq!(guiding.read(at(10.2), None), None);
        assert_eq!(guiding.next(at(15.2)), Some(Wish::ReadBack), "it could not be read");
    }
}

#[test]
fn over_is_cued_once_a_pull_at_the_torque_that_passes_the_limit_and_waits_for_nothing() {
    let mut guiding = guiding(window(-80.0, -72.0, -88.0));
    for (torque, expected) in [
        (-70.0, None),
        (-88.0, None),
        (-88.2, Some(Cue::Over)),
        (-95.0, None),
        (0.0, None),
        (200.0, None),
        (0.0, None),
        (-90.0, Some(Cue::Over)),
    ] {
        guiding.felt(nm(torque));
        assert_eq!(guiding.take_cue(false), expected, "{torque}");
    }
    guiding.felt(nm(0.0));
    // The reading of that pull, and the verdict on it, say nothing new.
    guiding.peaked(nm(-95.0));
    guiding.want_cue(Cue::Over);
    assert_eq!(guiding.take_cue(true), None);
    // An adapter that tells no torque is heard of when the pull has ended.
    let mut silent = Guiding::new("LK-0007", None);
    silent.aim_at(Some(window(80.0, 72.0, 88.0)));
    for _ in 0..2 {
        silent.peaked(nm(90.0));
        assert_eq!(silent.take_cue(false), Some(Cue::Over));
        silent.want_cue(Cue::Over);
        assert_eq!(silent.take_cue(true), None);
    }
}

#[test]
fn other_cues_wait_for_their_turn_and_are_dropped_once_the_next_pull_has_begun() {
    let mut guiding = guiding(window(80.0, 72.0, 88.0));
    guiding.want_cue(Cue::Low);
    guiding.want_cue(Cue::Reached);
    assert_eq!(guiding.take_cue(false), None);
    assert_eq!(guiding.take_cue(true), Some(Cue::Reached));
    assert_eq!(guiding.take_cue(true), None);
    guiding.want_cue(Cue::Reached);
    guiding.felt(nm(50.0));
    assert_eq!(guiding.take_cue(true), None);
    guiding.want_cue(Cue::StepDone);
    assert_eq!(guiding.take_cue(true), None);
    // Its own reading has come before the last of its torque.
    guiding.peaked(nm(80.5));
    guiding.want_cue(Cue::Reached);
    guiding.felt(nm(31.0));
    guiding.felt(nm(0.0));
    assert_eq!(guiding.take_cue(true), Some(Cue::Reached));
    guiding.felt(nm(40.0));
    guiding.want_cue(Cue::Reached);
    assert_eq!(guiding.take_cue(true), None);
}

fn hex(octets: &[u8]) -> String {
    octets.iter().map(|octet| format!("{octet:02x}")).collect()
}

#[test]
fn an_aim_is_written_as_the_specification_has_it_with_its_limits_rounded_inward() {
    let none = "ffffff7f";
    let cases = [
        (window(165.0, 148.5, 181.5), "0700 74400000 023a0000 e6460000 ff7f 3c00 0010".to_owned()),
        // 66.4 lbf·ft and the like: never less than the low limit, never more than the high one.
        (
            window(100.004, 90.0001, 110.0099),
            "0700 10270000 29230000 f82a0000 ff7f 3c00 0010".to_owned(),
        ),
        (window(-80.0, -72.0, -88.0), "0700 c0e0ffff e0e3ffff a0ddffff ff7f 3c00 0010".to_owned()),
        (
            Aim { high: None, ..window(49.0, 49.0, 0.0) },
            format!("0700 24130000 24130000 {none} ff7f 3c00 0010"),
        ),
        (
            Aim { turn_deg: Some(90.0), ..window(50.0, 45.0, 70.0) },
            "0700 88130000 94110000 581b0000 8403 3c00 0010".to_owned(),
        ),
    ];
    for (aim, expected) in cases {
        let octets = translate::set_point(7, Some(&aim), 60).unwrap();
        assert_eq!(hex(&octets), expected.replace(' ', ""), "{aim:?}");
        assert!(translate::is_in_force(&octets, 7, &aim));
        assert!(!translate::is_in_force(&octets, 8, &aim));
        assert!(!translate::is_in_force(&octets, 7, &window(1.0, 1.0, 1.0)));
    }
    let nothing = translate::set_point(8, None, 60).unwrap();
    assert_eq!(hex(&nothing), format!("0800{none}{none}{none}ff7f00000010"));
    assert!(!translate::is_in_force(&nothing, 8, &window(80.0, 72.0, 88.0)));
    for odd in [0.0, 1e9, f64::NAN] {
        assert_eq!(translate::set_point(7, Some(&window(odd, odd, odd)), 60), None, "{odd}");
    }
}

#[test]
fn presses_and_cues_are_read_and_written_as_the_specification_has_them() {
    let pressed = |octets: &[u8]| translate::pressed(octets);
    let short = [3, 0, 7, 0, 0x39, 0x30, 0, 0, 0x11];
    let told = pressed(&short).unwrap();
    assert_eq!((told.epoch, told.counter, told.tick), (3, 7, 12_345));
    let ways: Vec<_> = [0x11, 0x12, 0x13, 0x14]
        .map(|way| pressed(&[&short[..8], &[way]].concat()).unwrap().press)
        .into();
    assert_eq!(ways, [Ok(Press::Short), Ok(Press::Long), Ok(Press::Double), Err(4)]);
    let another_layout = [&short[..8], &[0x21]].concat();
    for broken in [&short[..8], &[0; 9][..], &another_layout[..]] {
        assert!(pressed(broken).is_err(), "{broken:?}");
    }
    for (cue, octet) in
        [(Cue::Reached, 1), (Cue::Low, 2), (Cue::Over, 3), (Cue::Look, 4), (Cue::StepDone, 5)]
    {
        assert_eq!(translate::cue(cue), [4, octet]);
    }
    for (answer, expected) in [
        (&[0x80, 4, 1][..], Some(Ok(()))),
        (&[0x80, 4, 2], Some(Err("op code not supported".to_owned()))),
        (&[0x80, 2, 1], None),
        (&[0x80, 4], None),
    ] {
        assert_eq!(translate::cue_answer(answer), expected, "{answer:?}");
    }
}
