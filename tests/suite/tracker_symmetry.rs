//! A job is believed the same, whichever way round the ring it was done and whatever was done between.

use crate::story::{inputs, plan};
use clampbook::core::event::{Conclusion, Ending};
use clampbook::core::tracker::Tracker;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// How far two probabilities may lie apart: shares of habit name a first member and a way round,
const CLOSE: f64 = 0.03;
/// and whoever leaves a ring half done was called away, which says something of how far it is.
const CLOSE_IN_TURNS: f64 = 0.1;

const RINGS: &str = "
    plan = 'Two rings'
    source = 'invented'
    tolerance = '±10 %'
    [joints.flange]
    ring = 5
    target = '120 N·m'
    [joints.cover]
    ring = 5
    target = '70 N·m'
";

/// What is believed of a job.
#[derive(Debug, Clone, PartialEq)]
struct Belief {
    /// By the time of the pull: the fastener, and how sure.
    pulls: Vec<(String, f64)>,
    /// By fastener: how it ends, and how surely it is done.
    ends: BTreeMap<String, (Ending, f64)>,
}

fn belief(story: &str) -> Belief {
    let mut tracker = Tracker::new(plan(RINGS));
    let mut pulls = BTreeMap::new();
    for input in inputs(story) {
        for conclusion in tracker.step(input).conclusions {
            if let Conclusion::Verdict(verdict) = conclusion {
                let fastener = verdict.fastener.unwrap_or_default();
                pulls.insert(verdict.at, (fastener, verdict.confidence));
            }
        }
    }
    let groups = tracker.snapshot().groups;
    let members = groups.into_iter().flat_map(|group| group.members);
    Belief {
        pulls: pulls.into_values().collect(),
        ends: members.map(|one| (one.name, (one.ending, one.probability))).collect(),
    }
}

#[track_caller]
fn assert_alike(one: &Belief, other: &Belief, within: f64) {
    let close = |a: f64, b: f64| (a - b).abs() <= within;
    assert_eq!(one.pulls.len(), other.pulls.len());
    for (one, other) in one.pulls.iter().zip(&other.pulls) {
        assert!(one.0 == other.0 && close(one.1, other.1), "{one:?} is not {other:?}");
    }
    assert!(one.ends.keys().eq(other.ends.keys()));
    for ((name, one), other) in one.ends.iter().zip(other.ends.values()) {
        // Near the level that shows, a little decides between shown and counted.
        let open = (one.0 == Ending::Open, other.0 == Ending::Open);
        assert!(open.0 == open.1 && close(one.1, other.1), "{name}: {one:?} is not {other:?}");
    }
}

/// Pulls of one ring: member, torque, degrees turned.
type Pulls = Vec<(u16, f64, f64)>;

/// The ring done crosswise, or with one pulled again, or with one left out and another pulled again.
fn any_pulls(target_nm: f64) -> impl Strategy<Value = Pulls> {
    (0..3_usize, 1..5_usize, proptest::collection::vec(-1.0..1.0f64, 6)).prop_map(
        move |(fault, place, off)| {
            let mut order = vec![1, 3, 5, 2, 4];
            match fault {
                1 => order.insert(place, order[place - 1]),
                2 => order[place] = order[place - 1],
                _ => {}
            }
            let mut tight = [false; 6];
            let pull = |(index, member): (usize, &u16)| {
                let again = std::mem::replace(&mut tight[usize::from(*member)], true);
                let turned = if again { 1.5 } else { 36.0 + 3.0 * off[index] };
                (*member, target_nm * (1.0 + 0.01 * off[index]), turned)
            };
            order.iter().enumerate().map(pull).collect()
        },
    )
}

fn told(group: &str, (member, nm, turned): (u16, f64, f64), name: impl Fn(u16) -> u16) -> String {
    format!("+5 at {group}/{}\n+4 pull {nm:.2} turn {turned:.1}\n", name(member))
}

const BEGIN: &str = "0 adapter large 40 280 rotation\n";
const END: &str = "+60 end\n";

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Every member under the name that another rotation or reflection gives it: the same belief under
    /// those names.
    #[test]
    fn a_job_turned_or_mirrored_is_believed_the_same(
        pulls in any_pulls(120.0), turn in 0..5_u16, mirrored: bool,
    ) {
        let name = |member: u16| {
            let place = if mirrored { 5 - member } else { member - 1 };
            (place + turn) % 5 + 1
        };
        let story = |name: &dyn Fn(u16) -> u16| {
            let lines: String = pulls.iter().map(|pull| told("flange", *pull, name)).collect();
            format!("{BEGIN}{lines}{END}")
        };
        let renamed = |fastener: &String| match fastener.split_once('/') {
            Some(("flange", member)) => format!("flange/{}", name(member.parse().unwrap())),
            _ => fastener.clone(),
        };
        let upright = belief(&story(&|member| member));
        let expected = Belief {
            pulls: upright.pulls.iter().map(|(one, sure)| (renamed(one), *sure)).collect(),
            ends: upright.ends.iter().map(|(one, end)| (renamed(one), *end)).collect(),
        };
        assert_alike(&expected, &belief(&story(&name)), CLOSE);
    }

    /// Two rings one after the other, or in turns in any way: the same belief of each.
    #[test]
    fn rings_done_in_turns_are_believed_as_those_done_one_after_the_other(
        flange in any_pulls(120.0), cover in any_pulls(70.0), turns in any::<u16>(),
    ) {
        let (mut flange, mut cover) = (flange.into_iter(), cover.into_iter());
        let mut mixed: Vec<(&str, (u16, f64, f64))> = Vec::new();
        for turn in 0.. {
            let first = (turns >> (turn % 16)) & 1 == 0;
            let next = match first {
                true => flange.next().map(|one| ("flange", one)),
                false => cover.next().map(|one| ("cover", one)),
            };
            mixed.extend(next);
            if flange.len() + cover.len() == 0 {
                break;
            }
        }
        let mut apart = mixed.clone();
        apart.sort_by_key(|(group, _)| *group == "cover");
        let story = |pulls: &[(&str, (u16, f64, f64))]| {
            let lines: String =
                pulls.iter().map(|(group, pull)| told(group, *pull, |member| member)).collect();
            format!("{BEGIN}{lines}{END}")
        };
        let sorted = |mut one: Belief| {
            // Of one group the order of pulls stays; groups are put one after the other.
            one.pulls.sort_by_key(|(fastener, _)| fastener.starts_with("cover"));
            one
        };
        let (apart, mixed) = (belief(&story(&apart)), belief(&story(&mixed)));
        assert_alike(&sorted(apart), &sorted(mixed), CLOSE_IN_TURNS);
    }
}

/// Where something tells which was which, next to nothing is let go; where nothing does, it is told how much was.
#[test]
fn what_is_let_go_is_told_and_is_next_to_nothing_where_marks_tell() {
    let pulls: Pulls = [1, 3, 5, 2, 4].map(|member| (member, 120.0, 36.0)).to_vec();
    let marked: String = pulls.iter().map(|pull| told("flange", *pull, |member| member)).collect();
    let bare: String = (0..24).map(|pull| format!("+9 pull {}\n", 118 + pull % 4)).collect();
    let twelve = RINGS.replace("ring = 5", "ring = 12");
    let dropped = |text: &str, story: String| {
        let mut tracker = Tracker::new(plan(text));
        for input in inputs(&format!("{BEGIN}{story}")) {
            tracker.step(input);
        }
        tracker.dropped()
    };
    let (some, none) = (dropped(&twelve, bare), dropped(RINGS, marked));
    assert!(none < 1e-3, "{none}");
    assert!(some > none && some < 1.0, "{some}");
}
