//! Plain cases, drawn by hand.

use clampbook::core::signal::{
    Block, Description, Found, GiveKind, Nonsense, PullFinder, Source, Tightening, Tightenings,
};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;

const RATE_HZ: f64 = 200.0;

/// A curve in straight lines: seconds it lasts, torque and turn at its end.
#[derive(Clone, Copy)]
pub(super) struct Line(pub f64, pub f64, pub f64);

pub(super) const REST: Line = Line(1.5, 0.0, 0.0);

fn samples(lines: &[Line]) -> (Vec<f32>, Vec<f64>) {
    let (mut torque, mut turned) = (Vec::new(), Vec::new());
    let (mut nm, mut deg) = (0.0, 0.0);
    for Line(seconds, end_nm, turns) in lines {
        let count = (seconds * RATE_HZ) as usize;
        for index in 1..=count {
            let share = index as f64 / count as f64;
            // A little noise, the same every time: an adapter without any does not exist.
            let noise = ((torque.len() * 7_919) % 11) as f64 * 0.02 - 0.1;
            torque.push((nm + (end_nm - nm) * share + noise) as f32);
            turned.push(deg + turns * share);
        }
        nm = *end_nm;
        deg += turns;
    }
    (torque, turned)
}

fn found(lines: &[Line]) -> Vec<Found> {
    let (torque, turned) = samples(lines);
    told(&torque, Some(&turned))
}

fn told(torque: &[f32], turned_deg: Option<&[f64]>) -> Vec<Found> {
    let mut finder = PullFinder::new(Source {
        range_max: Some(Torque::from_nm(280.0)),
        accuracy_pct: Some(1.0),
        wind_up_deg_per_nm: None,
    });
    let mut all = Vec::new();
    let block = Block { start: Stamp(0), rate_hz: RATE_HZ, torque, turned_deg };
    finder.feed(&block, &mut |one| all.push(one));
    finder.finish(&mut |one| all.push(one));
    all
}

pub(super) fn pulls(lines: &[Line]) -> Vec<Description> {
    only_pulls(found(lines))
}

fn only_pulls(all: Vec<Found>) -> Vec<Description> {
    let pulls = all.into_iter().filter_map(|one| match one {
        Found::Pull(pull) => Some(pull),
        _ => None,
    });
    pulls.collect()
}

/// Peaks, rounded to one newton metre.
fn check(lines: &[Line], peaks: &[f64]) {
    let found: Vec<f64> = pulls(lines).iter().map(|pull| pull.peak.torque.nm().round()).collect();
    assert_eq!(found, peaks);
}

#[test]
fn a_swing_its_return_and_the_next_swing_are_two_pulls() {
    let back = Line(0.4, -0.8, 0.0);
    check(
        &[
            REST,
            Line(0.6, 90.0, 60.0),
            Line(0.15, 0.0, 0.0),
            back,
            Line(0.6, 165.0, 40.0),
            Line(0.15, 0.0, 0.0),
            REST,
        ],
        &[90.0, 165.0],
    );
}

#[test]
fn a_hand_on_the_handle_a_bump_and_a_dropped_tool_are_no_pull() {
    let hand = [Line(0.3, 6.0, 0.0), Line(2.0, 6.0, 0.0), Line(0.3, 0.0, 0.0)];
    let bump = [Line(0.015, 30.0, 0.0), Line(0.015, 0.0, 0.0)];
    let ring = [
        Line(0.005, 80.0, 0.0),
        Line(0.01, -60.0, 0.0),
        Line(0.01, 40.0, 0.0),
        Line(0.005, 0.0, 0.0),
    ];
    let lines = [&[REST][..], &hand, &[REST], &bump, &[REST], &ring, &[REST]].concat();
    check(&lines, &[]);
    let knocks = found(&lines).iter().filter(|one| matches!(one, Found::Knock { .. })).count();
    assert!(knocks >= 3, "{knocks} knocks were told");
}

#[test]
fn a_socket_that_slips_and_catches_again_is_one_pull_with_a_slip() {
    let lines = [
        REST,
        Line(0.5, 110.0, 30.0),
        Line(0.01, 15.0, 8.0),
        Line(0.05, 20.0, 0.0),
        Line(0.4, 150.0, 15.0),
        Line(0.15, 0.0, 0.0),
        REST,
    ];
    let all = pulls(&lines);
    let [pull] = all.as_slice() else { panic!("one pull, but found {all:?}") };
    assert!(pull.flags.slip > 0.5, "{:?}", pull.flags);
}

#[test]
fn a_stopped_thread_that_breaks_away_shows_a_give_before_its_peak() {
    let lines = [
        REST,
        Line(0.2, 120.0, 2.0),
        Line(0.04, 108.0, 2.0),
        Line(0.4, 165.0, 20.0),
        Line(0.15, 0.0, -2.5),
        REST,
    ];
    let all = pulls(&lines);
    let give = all[0].give.unwrap();
    assert_eq!(give.kind, GiveKind::BreakAway);
    assert!((give.torque.nm() - 120.0).abs() < 2.0, "{give:?}");
    assert!((give.share - 0.1).abs() < 0.02, "{give:?}");
}

#[test]
fn a_fastener_that_turns_is_fresh_and_one_that_only_winds_up_is_tight() {
    let fresh = [REST, Line(0.8, 165.0, 57.0), Line(0.15, 0.0, -2.0), REST];
    let tight = [REST, Line(0.25, 165.0, 2.0), Line(0.15, 0.0, -2.0), REST];
    let all = pulls(&[fresh, tight].concat());
    let [fresh, tight] = all.as_slice() else { panic!("two pulls, but found {all:?}") };
    assert!((fresh.turned.unwrap().deg - 49.5).abs() < 1.5, "{:?}", fresh.turned);
    assert!(tight.turned.unwrap().deg.abs() < 0.5, "{:?}", tight.turned);
    assert!(fresh.act.fresh > 0.9, "{:?}", fresh.act);
    assert!(tight.act.already_tight > 0.9, "{:?}", tight.act);
    assert!(tight.act.ln_tight_over_fresh > 2.0 && fresh.act.ln_tight_over_fresh < -2.0);
}

#[test]
fn by_torque_alone_a_second_round_at_the_pace_of_the_hand_is_of_tight_fasteners() {
    let first = [REST, Line(0.15, 20.0, 9.0), Line(0.6, 150.0, 40.0), Line(0.15, 0.0, -2.0)];
    let again = [REST, Line(0.2, 150.0, 2.0), Line(0.15, 0.0, -2.0)];
    let moved_on = [REST, REST, REST];
    let round = |pull: &[Line]| [pull, &moved_on].concat().repeat(5);
    let (torque, _) = samples(&[round(&first), round(&again), vec![REST]].concat());
    let all = only_pulls(told(&torque, None));
    assert_eq!(all.len(), 10);
    let (first, again) = all.split_at(5);
    for pull in first {
        assert!(pull.act.fresh > 0.7, "{:?}", pull.act);
    }
    for pull in &again[1..] {
        assert!(pull.act.already_tight > pull.act.fresh, "{:?}", pull.act);
    }
}

#[test]
fn what_is_said_of_a_pull_sums_to_one_and_the_interval_holds_the_peak() {
    let lines = [
        REST,
        Line(0.6, -90.0, -20.0),
        Line(0.2, 0.0, 0.0),
        REST,
        Line(0.6, 120.0, 30.0),
        Line(0.2, 0.0, 0.0),
        REST,
    ];
    for pull in pulls(&lines) {
        let act = pull.act;
        let sum = act.fresh + act.already_tight + act.loosening + act.trial;
        assert!((sum - 1.0).abs() < 1e-12, "{act:?}");
        assert_eq!(act.loosening > 0.5, pull.peak.torque.nm() < 0.0);
        let (low, peak, high) =
            (pull.peak.low.nm().abs(), pull.peak.torque.nm().abs(), pull.peak.high.nm().abs());
        assert!(low < peak && peak < high && high - low < 0.05 * peak, "{:?}", pull.peak);
    }
}

#[test]
fn the_zero_follows_only_while_nothing_is_loaded_and_every_one_is_told() {
    let mut lines = vec![REST];
    // A resting hand of 2 N·m must not become the zero.
    lines.extend([Line(0.3, 2.0, 0.0), Line(0.2, 2.4, 0.0), Line(0.2, 1.6, 0.0)].repeat(4));
    lines.extend([Line(0.3, 0.0, 0.0), REST]);
    let zeros: Vec<f64> = found(&lines)
        .iter()
        .filter_map(|one| match one {
            Found::Zero { zero, .. } => Some(zero.nm()),
            _ => None,
        })
        .collect();
    assert!(zeros.len() >= 3, "{zeros:?}");
    assert!(zeros.iter().all(|nm| nm.abs() < 0.1), "{zeros:?}");
}

#[test]
fn a_few_missing_samples_are_bridged_and_many_end_the_pull() {
    let (mut torque, _) = samples(&[REST, Line(0.6, 120.0, 0.0), Line(0.3, 0.0, 0.0), REST]);
    let peaks = |torque: &[f32]| {
        let mut finder = PullFinder::new(Source::default());
        let (mut peaks, mut spoiled) = (Vec::new(), 0);
        let block = Block { start: Stamp(0), rate_hz: RATE_HZ, torque, turned_deg: None };
        let mut note = |one| match one {
            Found::Pull(pull) => peaks.push((pull.peak.torque.nm().round(), pull.seen.missing)),
            Found::Nonsense { what: Nonsense::Samples { count }, .. } => spoiled += count,
            _ => {}
        };
        finder.feed(&block, &mut note);
        finder.finish(&mut note);
        (peaks, spoiled)
    };
    torque[340..350].fill(f32::NAN);
    assert_eq!(peaks(&torque), (vec![(120.0, 10)], 10));
    torque[340..420].fill(f32::NAN);
    let (found, spoiled) = peaks(&torque);
    assert_eq!((found.len(), spoiled), (2, 80), "{found:?}");
}

#[test]
fn a_clock_that_restarts_is_followed_after_a_second_of_blocks() {
    let (torque, _) = samples(&[REST, Line(0.6, 120.0, 0.0), Line(0.3, 0.0, 0.0), REST]);
    let mut finder = PullFinder::new(Source::default());
    let (mut peaks, mut backwards) = (0, 0);
    let mut note = |one| match one {
        Found::Pull(_) => peaks += 1,
        Found::Nonsense { what: Nonsense::Backwards { .. }, .. } => backwards += 1,
        _ => {}
    };
    for begins in [500.0, 3.0] {
        for (index, part) in torque.chunks(20).enumerate() {
            let start = Stamp::from_seconds(begins + index as f64 * 0.1);
            let block = Block { start, rate_hz: RATE_HZ, torque: part, turned_deg: None };
            finder.feed(&block, &mut note);
        }
    }
    finder.finish(&mut note);
    assert_eq!((peaks, backwards), (2, 11));
}

#[test]
fn pulls_that_time_cannot_separate_are_said_to_be_so() {
    let pull = |nm: f64| [Line(0.6, nm, 20.0), Line(0.2, 0.0, 0.0)];
    let pause = |seconds: f64| [Line(seconds, 0.0, 0.0)];
    let lines = [
        &pause(1.0)[..],
        &pull(90.0),
        &pause(0.5),
        &pull(165.0),
        &pause(9.0),
        &pull(165.0),
        &pause(90.0),
        &pull(160.0),
    ]
    .concat();
    let mut tightenings = Tightenings::default();
    let mut groups: Vec<Tightening> =
        pulls(&lines).iter().filter_map(|pull| tightenings.push(pull)).collect();
    groups.extend(tightenings.finish());
    let told: Vec<(u32, bool)> = groups.iter().map(|one| (one.pulls, one.separable())).collect();
    assert_eq!(told, [(2, false), (1, true), (1, true)]);
}
