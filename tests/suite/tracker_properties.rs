//! What holds of the tracker for any inputs at all.

use crate::story::{inputs, plan};
use clampbook::core::event::{
    AdapterInfo, Conclusion, Gap, Input, LinkChange, LinkState, Mark, Origin, Reading, Reports,
    Say, What,
};
use clampbook::core::plan::Plan;
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use proptest::prelude::*;

const CORNER: &str = "
    plan = 'Corner'
    source = 'invented'
    tolerance = '±10 %'
    [holds]
    low-enough = 'Down?'
    clean = { ask = 'Clean?', cure = 'pull-again' }
    [joints]
    nut = '228 N·m'
    link = 'none'
    [joints.wheel]
    ring = 5
    target = '120 N·m'
    passes = ['by hand', '60 N·m', { target = 'final', hold = 'clean' }]
    [joints.arm]
    target = '178 N·m'
    hold = 'low-enough'
    left-hand = true
    after = ['nut']
";

fn corner() -> Plan {
    plan(CORNER)
}

fn any_peak() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => 20.0..260.0f64,
        1 => -200.0..0.0f64,
        1 => prop_oneof![Just(f64::NAN), Just(f64::INFINITY), Just(0.0), Just(1e300), Just(-1e-300)],
    ]
}

fn any_name() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => (1..=5u8).prop_map(|member| format!("wheel/{member}")),
        1 => Just("arm".to_owned()),
        1 => Just("nut/1".to_owned()),
        1 => Just("link".to_owned()),
        1 => ".{0,12}",
    ]
}

fn any_say() -> impl Strategy<Value = Say> {
    prop_oneof![
        any_name().prop_map(|fastener| Say::At { fastener }),
        any_name().prop_map(|fastener| Say::Stated { fastener }),
        any_name().prop_map(|fastener| Say::Opened { fastener }),
        any_name().prop_map(|fastener| Say::Spoiled { fastener }),
        any_name().prop_map(|name| Say::AlsoOpened { name }),
        (any_name(), prop_oneof![Just("511 mm"), Just("9 N·m"), Just("tall")])
            .prop_map(|(of, value)| Say::Figure { of, value: value.to_owned() }),
        any_name().prop_map(|fastener| Say::Skip { fastener, reason: "no part".to_owned() }),
        prop_oneof![Just("low-enough"), Just("clean"), Just("nonsense"), Just("new:wheel")]
            .prop_map(|hold| Say::Confirm { hold: hold.to_owned(), because: None }),
        Just(Say::Retract),
    ]
}

fn any_what() -> impl Strategy<Value = What> {
    let adapter = prop_oneof![Just("small".to_owned()), Just("large".to_owned())];
    let reading = (adapter, 0..40u64, any_peak(), proptest::option::of(-30.0..400.0f64));
    prop_oneof![
        12 => reading.prop_map(|(adapter, seq, peak, rotation_deg)| What::Reading(Reading {
            adapter,
            seq,
            peak: Torque::from_nm(peak),
            rotation_deg,
            duration_ms: None,
            description: None,
        })),
        4 => any_say().prop_map(|say| What::Mark(Mark { say, origin: Origin::Recording })),
        1 => Just(What::Adapter(AdapterInfo {
            overdue_since: None,
            certificate: None,
            id: "large".to_owned(),
            serial: "L-1".to_owned(),
            drive: None,
            range: Some((Torque::from_nm(40.0), Torque::from_nm(280.0))),
            accuracy_pct: None,
            reports: Reports { rotation: true, ..Reports::default() },
        })),
        1 => (0..50u64, 0..50u64).prop_map(|(first, last)| What::Gap(Gap {
            adapter: "large".to_owned(),
            epoch: None,
            first,
            last,
        })),
        1 => Just(What::Link(LinkChange { adapter: "large".to_owned(), state: LinkState::Lost })),
        1 => Just(What::Tick),
        1 => Just(What::End),
    ]
}

fn any_inputs() -> impl Strategy<Value = Vec<Input>> {
    let at = prop_oneof![9 => 0..600_000_000i64, 1 => any::<i64>()];
    proptest::collection::vec((at, any_what()), 0..24).prop_map(|pairs| {
        pairs.into_iter().map(|(at, what)| Input { at: Stamp(at), what }).collect()
    })
}

fn told(inputs: &[Input]) -> (Tracker, Vec<Conclusion>) {
    let mut tracker = Tracker::new(corner());
    let conclusions =
        inputs.iter().flat_map(|input| tracker.step(input.clone()).conclusions).collect();
    (tracker, conclusions)
}

fn one_adapter(peaks: &[(f64, f64)]) -> Vec<Input> {
    let mut story = "0 adapter large 40 280 rotation\n".to_owned();
    for (peak, turn) in peaks {
        story.push_str(&format!("+8 pull {peak} turn {turn}\n"));
    }
    inputs(&story)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Any inputs, nonsense and time running backwards included: no panic, and the same effects again.
    #[test]
    fn the_same_inputs_give_the_same_effects(inputs in any_inputs()) {
        let (first, conclusions) = told(&inputs);
        let (again, same) = told(&inputs);
        prop_assert_eq!(format!("{conclusions:?}"), format!("{same:?}"));
        prop_assert_eq!(first.summary(), again.summary());
        prop_assert_eq!(first.snapshot().groups, again.snapshot().groups);
    }

    /// Every reading has exactly one verdict that is not a revision, and counts add up.
    #[test]
    fn a_reading_is_judged_once(inputs in any_inputs()) {
        let (tracker, conclusions) = told(&inputs);
        let mut first = std::collections::BTreeSet::new();
        for conclusion in &conclusions {
            if let Conclusion::Verdict(verdict) = conclusion {
                let key = (verdict.adapter.clone(), verdict.seq, verdict.at);
                prop_assert!((0.0..=1.0).contains(&verdict.confidence), "{:?}", verdict);
                prop_assert_eq!(verdict.revised, !first.insert(key));
            }
        }
        prop_assert_eq!(tracker.summary().verdicts, first.len() as u64);
        let warnings = conclusions.iter().filter(|one| matches!(one, Conclusion::Warning(_))).count();
        prop_assert_eq!(tracker.summary().warnings.values().sum::<u64>(), warnings as u64);
    }

    /// Ticks change nothing.
    #[test]
    fn time_alone_changes_nothing(inputs in any_inputs()) {
        let mut ticked = Vec::new();
        for input in &inputs {
            ticked.push(Input { at: input.at, what: What::Tick });
            ticked.push(input.clone());
        }
        prop_assert_eq!(told(&inputs).0.summary(), told(&ticked).0.summary());
    }

    /// Delivered twice, in any order, or late: the same end.
    #[test]
    fn the_order_of_delivery_does_not_matter(
        peaks in proptest::collection::vec((50.0..140.0f64, 1.0..60.0f64), 1..16),
        order in any::<proptest::sample::Index>(),
        shuffle in proptest::collection::vec(any::<u32>(), 16),
    ) {
        let straight = one_adapter(&peaks);
        let mut late: Vec<(u32, Input)> =
            straight[1..].iter().cloned().enumerate().map(|(i, one)| (shuffle[i], one)).collect();
        late.sort_by_key(|(key, _)| *key);
        let mut delivered = vec![straight[0].clone()];
        delivered.extend(late.iter().map(|(_, one)| one.clone()));
        delivered.push(delivered[1 + order.index(late.len())].clone());
        let (a, b) = (told(&straight).0, told(&delivered).0);
        prop_assert_eq!(a.summary().fasteners, b.summary().fasteners);
        prop_assert_eq!(a.summary().verdicts, b.summary().verdicts);
        prop_assert_eq!(a.snapshot().groups, b.snapshot().groups);
    }

    /// Nothing is shown that no pull reached, and nothing at all without something that tells which.
    #[test]
    fn nothing_is_shown_by_counting_alone(
        peaks in proptest::collection::vec(50.0..140.0f64, 0..16),
    ) {
        let mut story = "0 adapter large 40 280\n".to_owned();
        for peak in &peaks {
            story.push_str(&format!("+8 pull {peak}\n"));
        }
        let summary = told(&inputs(&story)).0.summary();
        let shown = clampbook::core::event::Ending::Shown;
        prop_assert!(summary.fasteners.values().all(|ending| *ending != shown), "{:?}", summary);
    }
}
