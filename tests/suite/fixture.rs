//! Crowfoot, universal joint and extension against worked figures.

use clampbook::core::fixture::{Bar, Effect, Offset, Place, UniversalJoint, wind_up_degrees};
use clampbook::core::units::Torque;

/// Lever, offset, angle; torque at the fastener over torque read; what to read for 100 N·m.
const CROWFOOT: [(f64, f64, f64, &str, &str); 8] = [
    (400.0, 50.0, 0.0, "1.125", "88.89"),
    (400.0, 50.0, 45.0, "1.088", "91.88"),
    (400.0, 50.0, 90.0, "1.000", "100.00"),
    (400.0, 50.0, 135.0, "0.912", "109.70"),
    (400.0, 50.0, 180.0, "0.875", "114.29"),
    (250.0, 60.0, 0.0, "1.240", "80.65"),
    (250.0, 60.0, 80.0, "1.042", "96.00"),
    (250.0, 60.0, 100.0, "0.958", "104.35"),
];

#[test]
fn the_table_of_crowfoots_comes_out_to_the_digit() {
    for (lever, offset, angle, factor, reading) in CROWFOOT {
        let found = Offset::one_hand_factor(offset, angle, lever);
        assert_eq!(format!("{found:.3}"), factor, "{lever} {offset} {angle}");
        let effect = Effect { factor: found, uncertainty: 0.0 };
        assert_eq!(format!("{:.2}", effect.reading_for(100.0)), reading);
    }
}

fn offset(offset_mm: f64, angle_degrees: f64, lever_mm: Option<f64>) -> Offset {
    Offset { offset_mm, angle_degrees, lever_mm, place: Place::BehindAdapter }
}

/// Factor and standard uncertainty in words, or why there is none.
fn told(offset: Offset) -> String {
    match offset.effect() {
        Ok(Effect { factor, uncertainty }) => {
            format!("{factor:.3} ± {:.1} %", uncertainty * 100.0)
        }
        Err(error) => error.to_string(),
    }
}

#[test]
fn what_stands_before_the_adapter_needs_no_correction_whatever_its_shape() {
    let before = Offset { place: Place::BeforeAdapter, ..offset(900.0, 0.0, None) };
    assert_eq!(before.effect(), Ok(Effect::NONE));
}

#[test]
fn a_square_offset_needs_no_correction_and_is_less_certain() {
    // Ten degrees off square are 60/250 · sin 10° = 4.2 %.
    assert_eq!(told(offset(60.0, 90.0, Some(250.0))), "1.000 ± 2.4 %");
    assert_eq!(told(offset(60.0, -90.0, Some(250.0))), "1.000 ± 2.4 %");
    assert_eq!(told(offset(60.0, 90.0, None)), "1.000 ± 2.4 %");
}

#[test]
fn an_offset_that_is_not_square_is_corrected_and_the_correction_counts_as_uncertain() {
    assert_eq!(told(offset(50.0, 45.0, Some(400.0))), "1.088 ± 5.2 %");
    assert_eq!(told(offset(40.0, 120.0, Some(400.0))), "0.950 ± 3.1 %");
}

#[test]
fn beyond_its_bounds_an_offset_is_refused() {
    assert_eq!(
        told(offset(60.0, 0.0, Some(250.0))),
        "expected a correction of at most 10 %, but found 24.0 %"
    );
    assert_eq!(
        told(offset(50.0, 180.0, Some(400.0))),
        "expected a correction of at most 10 %, but found -12.5 %"
    );
    assert_eq!(
        told(offset(50.0, 45.0, None)),
        "expected the lever of an offset at 45°, but found none"
    );
    for (length, lever) in
        [(0.0, 300.0), (250.0, 300.0), (50.0, 20.0), (f64::NAN, 300.0), (50.0, f64::INFINITY)]
    {
        assert!(
            told(offset(length, 90.0, Some(lever)))
                .starts_with("expected an offset of 5 to 200 mm"),
            "{length} {lever}"
        );
    }
}

#[test]
fn a_universal_joint_swings_between_cosine_and_its_inverse() {
    for (angle, least, most) in [
        (5.0, "-0.4", "+0.4"),
        (10.0, "-1.5", "+1.5"),
        (15.0, "-3.4", "+3.5"),
        (20.0, "-6.0", "+6.4"),
        (30.0, "-13.4", "+15.5"),
    ] {
        let (low, high) = UniversalJoint { angle_degrees: angle }.swing();
        let per_cent = |ratio: f64| format!("{:+.1}", (ratio - 1.0) * 100.0);
        assert_eq!((per_cent(low).as_str(), per_cent(high).as_str()), (least, most), "{angle}");
    }
}

#[test]
fn a_universal_joint_bent_beyond_fifteen_degrees_proves_nothing() {
    let effect = |angle_degrees| UniversalJoint { angle_degrees }.effect();
    assert_eq!(effect(0.0), Ok(Effect::NONE));
    let bent = effect(15.0).unwrap();
    assert!((bent.factor, format!("{:.4}", bent.uncertainty)) == (1.0, "0.0231".to_owned()));
    assert_eq!(
        effect(16.0).unwrap_err().to_string(),
        "expected a universal joint bent by at most 15°, but found 16°"
    );
    assert!(effect(f64::NAN).is_err());
}

#[test]
fn bars_wind_up_by_the_degrees_of_the_table() {
    for (diameter, length, torque, printed) in [
        (12.7, 250.0, 110.0, "7.8"),
        (12.7, 125.0, 110.0, "3.9"),
        (9.5, 150.0, 50.0, "6.8"),
        (19.05, 200.0, 300.0, "3.4"),
    ] {
        let bar = Bar { length_mm: length, diameter_mm: diameter };
        assert_eq!(format!("{:.1}", bar.twist_degrees(Torque::from_nm(torque))), printed);
    }
    let bar = Bar { length_mm: 250.0, diameter_mm: 12.7 };
    assert_eq!(format!("{:.3}", bar.twist_degrees(Torque::from_nm(1.0))), "0.071");
    let both = wind_up_degrees(&[bar, bar], Torque::from_nm(55.0));
    assert!((both - bar.twist_degrees(Torque::from_nm(110.0))).abs() < 1e-12);
}
