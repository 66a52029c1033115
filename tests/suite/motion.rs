//! Which stud the tool moved to: a ring pulled with an adapter that tells how it moved.

use clampbook::core::event::{
    AdapterInfo, Conclusion, Ending, Input, Motion, Moved, Reading, Reports, Summary, What,
};
use clampbook::core::plan::{Plan, parse};
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::f64::consts::TAU;

const RADIUS_MM: f64 = 57.0;
const SD_MM: f64 = 9.0;

/// One pull: on which wheel, which stud, and to what share of the target.
pub(super) type Pull = (usize, u16, f64);

/// How wheels were pulled, and how that was told.
#[derive(Debug, Clone)]
pub(super) struct Pulled<'a> {
    studs: u16,
    /// Of one wheel.
    order: &'a [u16],
    /// So many pulls, the first ones, are a pass to half the target.
    snug: usize,
    /// Where stud 1 lies, clockwise from the top, radians.
    lies: f64,
    /// Only how far, not which way.
    distance: bool,
    /// The motion comes after the reading that it leads to.
    late: bool,
}

pub(super) const STAR: Pulled<'_> =
    Pulled { studs: 5, order: &[1, 3, 5, 2, 4], snug: 0, lies: 0.7, distance: false, late: false };

/// What was concluded: the fasteners of the last verdicts by number, warnings, and how it ended.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Told {
    pub studs: Vec<String>,
    pub warnings: Vec<String>,
    /// The warnings that came before the job was over.
    before_end: Vec<String>,
    pub summary: Summary,
}

impl Pulled<'_> {
    fn pulls(&self) -> Vec<Pull> {
        let share = |index| if index < self.snug { 0.5 } else { 1.0 };
        self.order.iter().enumerate().map(|(index, stud)| (0, *stud, share(index))).collect()
    }
}

/// Every wheel stands as it happens to; nothing is told of the way from one to another.
pub(super) fn inputs(pulled: &Pulled<'_>, pulls: &[Pull]) -> Vec<Input> {
    let info = AdapterInfo {
        overdue_since: None,
        certificate: None,
        id: "A".to_owned(),
        serial: "LK-0007".to_owned(),
        drive: None,
        range: None,
        accuracy_pct: None,
        reports: Reports { peak: true, motion: true, ..Reports::default() },
    };
    let mut inputs = vec![Input { at: Stamp(0), what: What::Adapter(info) }];
    let lie = |wheel: usize, stud: u16| {
        let stands = pulled.lies + 1.1 * wheel as f64;
        let angle = stands + TAU * f64::from(stud - 1) / f64::from(pulled.studs);
        (RADIUS_MM * angle.sin(), RADIUS_MM * angle.cos())
    };
    for (index, (wheel, stud, share)) in pulls.iter().copied().enumerate() {
        let seq = index as u64 + 1;
        let at = Stamp::from_seconds(10.0 * seq as f64);
        // An error without chance, of the size that the adapter states.
        let error = |salt: usize| SD_MM * ((index * 37 + salt * 11) as f64).sin();
        let reading = Input {
            at,
            what: What::Reading(Reading {
                adapter: "A".to_owned(),
                seq,
                peak: Torque::from_nm(share * (119.0 + (index % 3) as f64)),
                rotation_deg: None,
                duration_ms: None,
                description: None,
            }),
        };
        let before = index.checked_sub(1).map(|before| pulls[before]);
        let motion = before.filter(|before| before.0 == wheel).map(|(_, before, _)| {
            let (from, to) = (lie(wheel, before), lie(wheel, stud));
            let (right_mm, up_mm) = (to.0 - from.0 + error(1), to.1 - from.1 + error(2));
            let moved = match pulled.distance {
                true => Moved::Distance { mm: right_mm.hypot(up_mm) },
                false => Moved::Axes { right_mm, up_mm },
            };
            let motion = Motion {
                adapter: "A".to_owned(),
                from_seq: seq - 1,
                to_seq: seq,
                moved,
                sd_mm: SD_MM,
            };
            Input { at, what: What::Motion(motion) }
        });
        match pulled.late {
            true => inputs.extend([Some(reading), motion].into_iter().flatten()),
            false => inputs.extend([motion, Some(reading)].into_iter().flatten()),
        }
    }
    inputs.push(Input { at: Stamp::from_seconds(600.0), what: What::End });
    inputs
}

fn plan(text: &str) -> Plan {
    parse(text).expect("a plan without faults").plan
}

fn told(pulled: &Pulled<'_>) -> Told {
    let text = format!(
        "plan = \"Wheel\"\nsource = \"sheet\"\ntolerance = \"±10 %\"\n[joints.wheel]\nring = {}\n\
         target = \"120 N·m\"\n{}",
        pulled.studs,
        if pulled.snug > 0 { "passes = [\"50 %\", \"final\"]\n" } else { "" },
    );
    concluded(&text, inputs(pulled, &pulled.pulls()))
}

/// Studs of a joint `wheel` by their number alone.
pub(super) fn concluded(text: &str, inputs: Vec<Input>) -> Told {
    let mut tracker = Tracker::new(plan(text));
    let mut studs = BTreeMap::new();
    let (mut warnings, mut before_end) = (Vec::new(), Vec::new());
    for input in inputs {
        if input.what == What::End {
            before_end = warnings.clone();
        }
        for conclusion in tracker.step(input).conclusions {
            match conclusion {
                Conclusion::Verdict(verdict) => {
                    let stud = verdict.fastener.unwrap_or_default();
                    studs.insert(verdict.seq, stud.replace("wheel/", ""));
                }
                Conclusion::Warning(warning) => {
                    let stud = warning.fastener.unwrap_or_default().replace("wheel/", "");
                    let code = serde_json::to_value(warning.code).unwrap();
                    let said = format!("{} {stud}", code.as_str().unwrap());
                    warnings.push(said.trim_end().to_owned());
                }
            }
        }
    }
    let studs = studs.into_values().collect();
    Told { studs, warnings, before_end, summary: tracker.summary() }
}

#[track_caller]
fn check(pulled: &Pulled<'_>, studs: &str, warnings: &[&str], open: &[&str]) {
    let told = told(pulled);
    assert_eq!(told.studs.join(" "), studs);
    assert_eq!(told.warnings, warnings);
    assert_eq!(told.summary.open, open);
}

#[test]
fn a_star_is_shown_stud_by_stud() {
    check(&STAR, "1 3 5 2 4", &[], &[]);
    assert!(told(&STAR).summary.fasteners.values().all(|ending| *ending == Ending::Shown));
}

#[test]
fn a_stud_pulled_twice_in_place_of_another_is_caught_although_the_count_is_right() {
    let pulled = Pulled { order: &[1, 3, 5, 2, 3], ..STAR };
    check(&pulled, "1 3 5 2 3", &["repeat 3", "skipped 4"], &["wheel/4"]);
}

#[test]
fn round_the_clock_is_no_star() {
    check(&Pulled { order: &[1, 2, 3, 4, 5], ..STAR }, "1 2 3 4 5", &["order 3"], &[]);
}

#[test]
fn distance_alone_shows_a_stud_left_out() {
    let pulled = Pulled { order: &[1, 3, 5, 2, 2], distance: true, ..STAR };
    check(&pulled, "1 3 5 2 2", &["repeat 2", "skipped"], &["wheel/4"]);
}

#[test]
fn a_round_over_all_but_the_last_is_told_from_one_that_begins_after_it() {
    let order = [1, 5, 3, 7, 2, 6, 4, 1, 5, 3, 7, 2, 6, 4];
    let pulled = Pulled { studs: 8, order: &order, distance: true, ..STAR };
    check(&pulled, "1 5 3 7 2 6 4 1 5 3 7 2 6 4", &["repeat 1", "skipped 8"], &["wheel/8"]);
}

#[test]
fn one_pulled_to_the_target_of_an_early_pass_again_is_a_repeat() {
    let pulled = Pulled { order: &[1, 3, 5, 5, 2, 4, 1, 3, 5, 2, 4], snug: 6, ..STAR };
    check(&pulled, "1 3 5 5 2 4 1 3 5 2 4", &["repeat 5"], &[]);
}

const STARS: [&[u16]; 5] = [
    &[1, 3, 2, 4],
    &[1, 3, 5, 2, 4],
    &[1, 4, 2, 5, 3, 6],
    &[1, 4, 7, 3, 6, 2, 5],
    &[1, 5, 3, 7, 2, 6, 4, 8],
];

/// Every star in which one but the first is left out of the last of two passes, and what follows.
fn forgotten(
    check: impl Fn(&[u16], u16) -> Vec<u16>,
) -> impl Iterator<Item = (&'static [u16], u16, Vec<u16>)> {
    STARS.into_iter().flat_map(|star| star[1..].iter().map(move |left| (star, *left))).map(
        move |(star, left)| {
            let others = star.iter().filter(|one| **one != left);
            let order = star.iter().chain(others).copied().chain(check(star, left)).collect();
            (star, left, order)
        },
    )
}

#[test]
fn one_left_out_that_a_check_round_comes_on_is_done() {
    for (star, left, order) in forgotten(|star, _| star.to_vec()) {
        let studs = star.len() as u16;
        let told = told(&Pulled { studs, order: &order, snug: star.len(), ..STAR });
        let right = order.iter().map(u16::to_string).eq(told.studs.iter().cloned());
        assert!(right && told.summary.open.is_empty(), "{star:?} but {left}: {told:?}");
    }
}

#[test]
fn one_left_out_that_a_check_round_goes_over_again_is_told_as_it_goes_on() {
    let over = |star: &[u16], left: u16| star.iter().copied().filter(|one| *one != left).collect();
    for (star, left, order) in forgotten(over) {
        let studs = star.len() as u16;
        let told = told(&Pulled { studs, order: &order, snug: star.len(), ..STAR });
        // The last of an order is gone over only once there is no more.
        let soon = star.last() != Some(&left);
        let skipped = format!("skipped {left}");
        assert_eq!(told.before_end.contains(&skipped), soon, "{star:?} but {left}: {told:?}");
        assert!(told.warnings.contains(&skipped));
        assert_eq!(told.summary.open, [format!("wheel/{left}")]);
    }
}

/// Every star in which one is pulled instead of another in both passes.
fn lapses() -> impl Iterator<Item = (u16, Vec<u16>)> {
    STARS.into_iter().flat_map(|star| {
        let pairs = (1..star.len()).flat_map(|left| (0..left).map(move |again| (left, again)));
        pairs.map(|(left, again)| {
            let mut pass = star.to_vec();
            pass[left] = star[again];
            (star.len() as u16, pass.repeat(2))
        })
    })
}

#[test]
fn who_pulls_one_instead_of_another_in_both_passes_hears_of_it() {
    for (studs, order) in lapses() {
        let told = told(&Pulled { studs, order: &order, snug: order.len() / 2, ..STAR });
        let right = order.iter().map(u16::to_string).eq(told.studs.iter().cloned());
        let heard = told.warnings.iter().any(|one| one.starts_with("skipped"));
        assert!(right && heard, "{order:?}: {told:?}");
    }
}

#[test]
fn by_distance_alone_a_lapse_in_both_passes_is_seldom_missed() {
    let mut missed = Vec::new();
    for (studs, order) in lapses() {
        let snug = order.len() / 2;
        let told = told(&Pulled { studs, order: &order, snug, distance: true, ..STAR });
        if !told.warnings.iter().any(|one| one.starts_with("skipped")) {
            missed.push(order[..snug].iter().map(u16::to_string).collect::<String>());
        }
    }
    let expected = [
        "13525", "141536", "142526", "142531", "1474625", "1473725", "1473615", "1473626",
        "15371648", "15373648", "15372641", "15372647",
    ];
    assert_eq!(missed, expected);
}

#[test]
fn where_the_part_is_turned_to_reach_motion_says_nothing() {
    let plan = "plan = \"Flange\"\nsource = \"sheet\"\n[joints.flange]\nring = 5\ntarget = \"120 N·m\"\n\
                turned-to-reach = true\n";
    let plan = self::plan(plan);
    let mut tracker = Tracker::new(plan);
    // Every bolt was turned to the same place.
    for mut input in inputs(&STAR, &STAR.pulls()) {
        if let What::Motion(motion) = &mut input.what {
            motion.moved = Moved::Axes { right_mm: 1.0, up_mm: -2.0 };
        }
        for conclusion in tracker.step(input).conclusions {
            assert!(matches!(conclusion, Conclusion::Verdict(_)), "{conclusion:?}");
        }
    }
    assert_eq!(tracker.summary().open, [""; 0]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn how_the_wheel_stands_and_when_the_motion_comes_change_nothing(
        turned in 0.0..TAU, late: bool, which in 0..3_usize,
    ) {
        let order = [&[1, 3, 5, 2, 4][..], &[1, 3, 5, 2, 3], &[1, 3, 5, 2, 2]][which];
        let upright = told(&Pulled { order, ..STAR });
        let turned = told(&Pulled { order, lies: turned, late, ..STAR });
        prop_assert_eq!(upright.studs, turned.studs);
        prop_assert_eq!(upright.summary.open, turned.summary.open);
    }
}
