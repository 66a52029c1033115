//! Several wheels alike, one after the other: each in one go, or all to half first and, once the vehicle is down, to torque.

use clampbook::core::event::{
    AdapterInfo, Conclusion, Input, Motion, Moved, Reading, Reports, What,
};
use clampbook::core::plan::parse;
use clampbook::core::time::Stamp;
use clampbook::core::tracker::Tracker;
use clampbook::core::units::Torque;
use std::collections::BTreeMap;
use std::f64::consts::TAU;

const WHEELS: usize = 4;
const STAR: [u16; 5] = [1, 3, 5, 2, 4];
const RADIUS_MM: f64 = 57.0;
const SD_MM: f64 = 9.0;

/// One pull: on which wheel, which stud, and to what share of the target.
type Pull = (usize, u16, f64);

/// What became of a job: pulls that were taken for another stud, warnings, and what stays open.
#[derive(Debug, PartialEq)]
struct Told {
    mistaken: Vec<String>,
    warnings: Vec<String>,
    open: Vec<String>,
}

fn told(in_order: bool, passes: &str, pulls: &[Pull]) -> Told {
    let mut text = format!(
        "plan = \"Wheels\"\nsource = \"sheet\"\ntolerance = \"±10 %\"\nin-order = {in_order}\n"
    );
    for wheel in 0..WHEELS {
        let target = "target = \"120 N·m\"";
        text += &format!("[joints.wheel-{wheel}]\nring = 5\n{target}\n{passes}");
    }
    let mut tracker = Tracker::new(parse(&text).expect("a plan without faults").plan);
    let (mut last, mut warnings) = (BTreeMap::new(), Vec::new());
    for input in inputs(pulls) {
        for conclusion in tracker.step(input).conclusions {
            match conclusion {
                Conclusion::Verdict(verdict) => {
                    last.insert(verdict.seq, verdict.fastener.unwrap_or_default());
                }
                Conclusion::Warning(warning) => {
                    let code = serde_json::to_value(warning.code).unwrap();
                    let fastener = warning.fastener.unwrap_or_default();
                    warnings.push(format!("{} {fastener}", code.as_str().unwrap()));
                }
            }
        }
    }
    let names = pulls.iter().map(|(wheel, stud, _)| format!("wheel-{wheel}/{stud}"));
    let mistaken = last.into_values().zip(names).filter(|(told, name)| told != name);
    let mistaken = mistaken.map(|(told, name)| format!("{name} as {told}")).collect();
    Told { mistaken, warnings, open: tracker.summary().open }
}

fn inputs(pulls: &[Pull]) -> Vec<Input> {
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
    let lie = |(wheel, stud, _): Pull| {
        let angle = 1.1 * wheel as f64 + TAU * f64::from(stud - 1) / 5.0;
        (RADIUS_MM * angle.sin(), RADIUS_MM * angle.cos())
    };
    for (index, pull) in pulls.iter().copied().enumerate() {
        let seq = index as u64 + 1;
        let at = Stamp::from_seconds(10.0 * seq as f64);
        let before = index.checked_sub(1).map(|before| pulls[before]);
        if let Some(before) = before.filter(|before| before.0 == pull.0) {
            // An error without chance, of the size that the adapter states.
            let error = |salt: usize| SD_MM * ((index * 37 + salt * 11) as f64).sin();
            let (from, to) = (lie(before), lie(pull));
            let (right_mm, up_mm) = (to.0 - from.0 + error(1), to.1 - from.1 + error(2));
            let motion = Motion {
                adapter: "A".to_owned(),
                from_seq: seq - 1,
                to_seq: seq,
                moved: Moved::Axes { right_mm, up_mm },
                sd_mm: SD_MM,
            };
            inputs.push(Input { at, what: What::Motion(motion) });
        }
        let reading = Reading {
            adapter: "A".to_owned(),
            seq,
            peak: Torque::from_nm(pull.2 * (119.0 + (index % 3) as f64)),
            rotation_deg: None,
            duration_ms: None,
            description: None,
        };
        inputs.push(Input { at, what: What::Reading(reading) });
    }
    inputs.push(Input { at: Stamp::from_seconds(6000.0), what: What::End });
    inputs
}

/// A star on each wheel but for the studs in `out`.
fn round(share: f64, out: &[(usize, u16)]) -> Vec<Pull> {
    let all = (0..WHEELS).flat_map(|wheel| STAR.map(|stud| (wheel, stud)));
    let all = all.filter(|one| !out.contains(one));
    all.map(|(wheel, stud)| (wheel, stud, share)).collect()
}

const HALF: &str = "passes = [\"50 %\", \"final\"]\n";

#[test]
fn wheels_brought_to_half_one_after_the_other_and_to_torque_once_lowered_are_told_apart() {
    for in_order in [true, false] {
        let pulls = [round(0.5, &[]), round(1.0, &[])].concat();
        let nothing = Told { mistaken: vec![], warnings: vec![], open: vec![] };
        assert_eq!(told(in_order, HALF, &pulls), nothing, "in order: {in_order}");
    }
}

#[test]
fn one_left_out_on_any_lowered_wheel_is_named() {
    for wheel in 0..WHEELS {
        let pulls = [round(0.5, &[]), round(1.0, &[(wheel, 2)])].concat();
        let told = told(true, HALF, &pulls);
        let left = format!("wheel-{wheel}/2");
        assert_eq!((told.mistaken, told.open), (vec![], vec![left.clone()]));
        assert!(told.warnings.contains(&format!("skipped {left}")), "{:?}", told.warnings);
    }
}

#[test]
fn once_more_round_all_wheels_finds_the_one_that_was_left_out() {
    for wheel in 0..WHEELS {
        let pulls = [round(1.0, &[(wheel, 2)]), round(1.0, &[])].concat();
        let told = told(true, "", &pulls);
        assert_eq!((told.mistaken, told.open), (vec![], vec![]), "wheel {wheel}");
    }
}
