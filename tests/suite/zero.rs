//! A zero that jumps is told, and a resting hand is none.

use crate::story::plan;
use clampbook::core::event::{
    AdapterInfo, Conclusion, Described, Input, Mark, Origin, Reading, Reports, Say, What,
};
use clampbook::core::signal::{Block, Description, Found, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use proptest::prelude::*;

const JUMPED: &str = "its zero jumped";
const ONLY_BY: &str = "only because the zero of adapter large is off";
const MEMBERS: usize = 8;

/// What a plain pull looks like.
fn plain() -> Box<Description> {
    let range_max = Some(Torque::from_nm(280.0));
    let mut finder = PullFinder::new(Source { range_max, ..Source::default() });
    let shape = |s: f64| match s {
        s if s < 1.0 => 0.0,
        s if s < 2.0 => 120.0 * (s - 1.0),
        s if s < 2.1 => 120.0 * (2.1 - s) / 0.1,
        _ => 0.0,
    };
    let torque: Vec<f32> = (0..400).map(|index| shape(f64::from(index) / 100.0) as f32).collect();
    let mut found = None;
    let mut note = |one| {
        if let Found::Pull(pull) = one {
            found = Some(Box::new(pull));
        }
    };
    let block =
        Block { start: Stamp::default(), rate_hz: 100.0, torque: &torque, turned_deg: None };
    finder.feed(&block, &mut note);
    finder.finish(&mut note);
    found.expect("a pull")
}

/// A pull: on which of the row, how high, and what was nearest to nothing before it.
type Pulled = (usize, f64, Option<f64>);

/// What is told of these pulls on a row of eight at 120 N·m, each marked.
fn told(pulls: &[Pulled]) -> (Vec<String>, Tracker) {
    let mut tracker = Tracker::new(plan(
        "plan = 'Row'\nsource = 'invented'\ntolerance = '±10 %'\n[joints]\nrow = { line = 8, target = '120 N·m' }\n",
    ));
    let description = plain();
    let adapter = "large".to_owned();
    let range = Some((Torque::from_nm(40.0), Torque::from_nm(280.0)));
    let reports = Reports { peak: true, rotation: true, trace: true, ..Reports::default() };
    let info = AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: adapter.clone(),
        serial: "L-1".to_owned(),
        drive: None,
        range,
        accuracy_pct: Some(1.0),
        reports,
    };
    let mut inputs = vec![(0.0, What::Adapter(info))];
    for (index, (member, nm, rest)) in pulls.iter().enumerate() {
        let (at, seq) = (20.0 * (index + 1) as f64, index as u64 + 1);
        let say = Say::At { fastener: format!("row/{}", member + 1) };
        inputs.push((at - 9.0, What::Mark(Mark { say, origin: Origin::Recording })));
        let reading = Reading {
            adapter: adapter.clone(),
            seq,
            peak: Torque::from_nm(*nm),
            rotation_deg: Some(35.0),
            duration_ms: Some(1_000.0),
            description: None,
        };
        inputs.push((at, What::Reading(reading)));
        let rest = rest.map(Torque::from_nm);
        let adapter = adapter.clone();
        let described = Described { adapter, seq, description: description.clone(), rest };
        inputs.push((at, What::Described(described)));
    }
    let mut told = Vec::new();
    for (at, what) in inputs {
        for conclusion in tracker.step(Input { at: Stamp::from_seconds(at), what }).conclusions {
            if let Conclusion::Warning(warning) = conclusion {
                told.push(warning.text);
            }
        }
    }
    (told, tracker)
}

fn count(told: &[String], words: &str) -> usize {
    told.iter().filter(|text| text.contains(words)).count()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever rests on the tool, wherever it is let go of once on three ways nothing is said of its zero.
    #[test]
    fn a_hand_that_rests_now_and_then_is_no_jump(
        rests in proptest::collection::vec(-25.0..25.0f64, MEMBERS),
        let_go in 0..3usize,
    ) {
        let pulls = rests.iter().enumerate().map(|(member, rest)| {
            let rest = if member % 3 == let_go { 0.1 } else { *rest };
            (member, 121.0, Some(rest))
        });
        let (told, _) = told(&pulls.collect::<Vec<Pulled>>());
        prop_assert_eq!(count(&told, JUMPED), 0, "{:?}", told);
    }

    /// A ratchet that hangs on one fastener by the same torque between its swings is none either.
    #[test]
    fn a_ratchet_that_hangs_on_one_fastener_is_no_jump(hangs in 2.0..20.0f64) {
        let swings = [70.0, 80.0, 90.0, 100.0, 121.0].map(|nm| (2, nm, Some(hangs)));
        let (told, _) = told(&[[(1, 121.0, Some(0.0))].as_slice(), &swings].concat());
        prop_assert_eq!(count(&told, JUMPED), 0, "{:?}", told);
    }

    #[test]
    fn a_jump_is_told_once_with_what_lies_inside_only_by_it(
        size in prop_oneof![2.0..11.5f64, 12.5..15.0f64],
        down in any::<bool>(),
        noise in proptest::collection::vec(-0.1..0.1f64, MEMBERS),
    ) {
        let off = if down { -size } else { size };
        let pulls = noise.iter().enumerate().map(|(member, noise)| match member {
            0 => (0, 120.0, Some(*noise)),
            // What the adapter shows of 120 N·m, and of one that is outside without the jump.
            3 => (3, if down { 131.9 } else { 108.1 }, Some(off + noise)),
            _ => (member, 120.0 + off / 2.0, Some(off + noise)),
        });
        let (told, tracker) = told(&pulls.collect::<Vec<Pulled>>());
        prop_assert_eq!(count(&told, JUMPED), 1, "{:?}", told);
        let text = told.iter().find(|text| text.contains(JUMPED)).unwrap();
        // The first pull may have come after the jump, too: a knock comes between two pulls.
        let first = if size > 12.0 { "row/1, " } else { "" };
        let names = format!("Inside only by that: {first}row/4. Pull again.");
        prop_assert!(text.ends_with(&names), "{}", text);
        let open = tracker.summary().open;
        prop_assert!(open.contains(&"checked:large".to_owned()) && open.contains(&"row/4".to_owned()), "{:?}", open);
    }
}

#[test]
fn what_is_pulled_after_a_jump_counts_if_it_is_inside_without_it_and_again_once_the_zero_is_right()
{
    let before = [(0, 120.0, Some(0.0)), (1, 124.0, Some(6.0)), (2, 125.0, Some(6.1))];
    let after = [(3, 124.0, Some(5.9)), (4, 112.0, Some(6.0)), (5, 126.0, Some(6.0))];
    let put_right = [(4, 120.0, Some(0.1)), (6, 109.0, Some(0.0))];
    let (told, tracker) = told(&[before.as_slice(), &after, &put_right].concat());
    assert_eq!(count(&told, JUMPED), 1, "{told:?}");
    assert_eq!(count(&told, ONLY_BY), 1, "{told:?}");
    assert!(told.iter().any(|text| text.starts_with("row/5: 112.0 N·m is inside")), "{told:?}");
    assert_eq!(tracker.summary().open, ["row/8", "checked:large"]);
}

#[test]
fn where_too_little_of_the_trace_was_seen_nothing_is_said() {
    let pulls: Vec<Pulled> = (0..MEMBERS).map(|member| (member, 121.0, None)).collect();
    let (told, _) = told(&pulls);
    assert_eq!(count(&told, "zero"), 0, "{told:?}");
}
