//! Several wheels alike, one after the other: each in one go, or all to half first and, once the vehicle is down, to torque.

use super::motion::{Pull, STAR, concluded, inputs};

const WHEELS: usize = 4;
const ORDER: [u16; 5] = [1, 3, 5, 2, 4];

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
    let told = concluded(&text, inputs(&STAR, pulls));
    let names = pulls.iter().map(|(wheel, stud, _)| format!("wheel-{wheel}/{stud}"));
    let mistaken = told.studs.into_iter().zip(names).filter(|(told, name)| told != name);
    let mistaken = mistaken.map(|(told, name)| format!("{name} as {told}")).collect();
    Told { mistaken, warnings: told.warnings, open: told.summary.open }
}

/// A star on each wheel but for the studs in `out`.
fn round(share: f64, out: &[(usize, u16)]) -> Vec<Pull> {
    let all = (0..WHEELS).flat_map(|wheel| ORDER.map(|stud| (wheel, stud)));
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
