//! Guard bands, uncertainty and mix-ups of units against worked figures, and what must always hold.

use clampbook::core::decision::{
    COVERAGE, Conformity, Contribution, Limits, Rule, acceptance_zone, combined, decide, mix_ups,
    phi, rectangular, session_mix_up, test_uncertainty_ratio,
};
use clampbook::core::units::{Torque, TorqueUnit};
use proptest::prelude::*;

fn limits(low: f64, high: f64) -> Limits {
    Limits { low: Torque::from_nm(low), high: Some(Torque::from_nm(high)) }
}

/// Standard uncertainty of the worked example, a share of the reading.
const SHARE: f64 = 0.00872;

#[test]
fn the_uncertainty_of_the_worked_reading_comes_out_to_the_digit() {
    let reading = 91.0;
    let u = combined(&[
        Contribution::Expanded { expanded: 0.005 * reading, coverage: 2.0 },
        Contribution::HalfWidth(0.01 * reading),
        Contribution::Resolution(0.1),
        Contribution::HalfWidth(0.01 * reading),
        Contribution::HalfWidth(0.003 * reading),
    ]);
    assert_eq!(format!("{u:.3}"), "0.793");
    assert_eq!(format!("{:.3}", COVERAGE * u), "1.587");
    assert_eq!(format!("{:.2}", COVERAGE * u / reading * 100.0), "1.74");
    assert_eq!(format!("{:.2} {:.2}", rectangular(4.0), COVERAGE * rectangular(4.0)), "2.31 4.62");
}

#[test]
fn the_guard_band_of_the_worked_tolerance_comes_out_to_the_digit() {
    let zone = |low, high, share| {
        let (low, high) = acceptance_zone(limits(low, high), share).unwrap();
        format!("{:.2}–{:.2}", low.nm(), high.unwrap().nm())
    };
    assert_eq!(zone(90.0, 110.0, SHARE), "91.60–108.11");
    let plain = rectangular(0.04);
    assert_eq!(zone(90.0, 110.0, plain), "94.36–105.14");
    assert_eq!(zone(95.0, 105.0, plain), "99.60–100.36");
    assert_eq!(acceptance_zone(limits(96.0, 104.0), plain), None);
}

#[test]
fn readings_of_the_worked_example_are_told_in_four_states() {
    let told = |reading: f64| {
        let decision =
            decide(limits(90.0, 110.0), Torque::from_nm(reading), Some(SHARE), Rule::Simple);
        format!("{} {:.3}", decision.conformity, decision.probability.unwrap())
    };
    assert_eq!(told(91.0), "conditional pass 0.896");
    assert_eq!(told(91.6), "pass 0.977");
    assert_eq!(told(92.0), "pass 0.994");
    assert_eq!(told(90.0), "conditional pass 0.500");
    assert_eq!(told(89.0), "conditional fail 0.099");
    assert_eq!(told(88.0), "fail 0.005");
}

#[test]
fn at_the_limit_of_acceptance_the_risk_falls_with_the_guard_band() {
    for (r, risk) in [
        (0.0, "50.00"),
        (0.5, "15.87"),
        (0.83, "4.85"),
        (1.0, "2.28"),
        (1.25, "0.62"),
        (1.5, "0.13"),
    ] {
        assert_eq!(format!("{:.2}", phi(-COVERAGE * r) * 100.0), risk, "{r}");
    }
}

#[test]
fn the_normal_distribution_is_good_to_twelve_digits() {
    // Abramowitz and Stegun, table 26.1 and 26.2.
    for (z, expected) in [
        (0.0, 0.5),
        (1.0, 0.841_344_746_068_543),
        (2.0, 0.977_249_868_051_821),
        (3.5, 0.999_767_370_920_964),
        (-3.0, 0.001_349_898_031_630),
        (-6.0, 9.865_876_450_377e-10),
    ] {
        assert!((phi(z) / expected - 1.0).abs() < 1e-11, "{z}: {}", phi(z));
    }
    assert_eq!((phi(f64::NEG_INFINITY), phi(f64::INFINITY), phi(60.0)), (0.0, 1.0, 1.0));
}

#[test]
fn face_value_decides_unless_the_guard_band_is_asked_for() {
    let accepted = |reading: f64, share, rule| {
        decide(limits(90.0, 110.0), Torque::from_nm(reading), share, rule).accepted
    };
    assert!(accepted(90.0, Some(SHARE), Rule::Simple) && accepted(110.0, None, Rule::Simple));
    assert!(!accepted(89.999, Some(SHARE), Rule::Simple));
    assert!(
        !accepted(91.0, Some(SHARE), Rule::Guarded) && accepted(91.6, Some(SHARE), Rule::Guarded)
    );
    assert!(!accepted(100.0, None, Rule::Guarded), "nothing is known of the adapter");
    assert_eq!(Rule::default(), Rule::Simple);
}

#[test]
fn a_tolerance_can_be_too_narrow_for_an_adapter() {
    let ratio = |low, high, share| {
        format!("{:.2}", test_uncertainty_ratio(limits(low, high), share).unwrap())
    };
    assert_eq!(ratio(95.0, 105.0, rectangular(0.04)), "1.08");
    assert_eq!(ratio(90.0, 110.0, rectangular(0.04)), "2.17");
    assert_eq!(ratio(90.0, 110.0, rectangular(0.01)), "8.66");
    let least = Limits { low: Torque::from_nm(32.0), high: None };
    assert_eq!(test_uncertainty_ratio(least, 0.01), None);
}

#[test]
fn known_ratios_of_units_are_named_and_neighbours_are_named_together() {
    let named = |ratio| {
        let found = mix_ups(ratio);
        let one = |pair: &clampbook::core::decision::MixUp| {
            format!("{} taken for {}", pair.meant, pair.taken_for)
        };
        found.iter().map(one).collect::<Vec<_>>().join(", ")
    };
    assert_eq!(named(1.0), "");
    assert_eq!(named(1.1521), "kgf·cm taken for lbf·in");
    assert_eq!(named(1.3558), "N·m taken for lbf·ft");
    assert_eq!(named(0.7376), "lbf·ft taken for N·m");
    assert_eq!(named(8.85), "lbf·in taken for N·m");
    assert_eq!(named(10.0), "N·m taken for kgf·m, kgf·cm taken for N·m");
    assert_eq!(named(12.0), "lbf·in taken for lbf·ft");
    assert_eq!(named(0.072_33), "lbf·ft taken for kgf·cm");
    assert_eq!(named(100.0), "kgf·cm taken for kgf·m");
    for nothing in [1.25, 3.0, 0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(named(nothing), "", "{nothing}");
    }
}

#[test]
fn a_session_that_is_off_by_one_ratio_is_asked_about() {
    let found = session_mix_up(&[0.73, 0.74, 0.745, 0.735]).unwrap();
    assert_eq!(found.candidates.len(), 1);
    assert_eq!(found.candidates[0].meant, TorqueUnit::PoundForceFoot);
    assert_eq!(session_mix_up(&[0.73, 0.74, 0.745]), None, "three are too few");
    assert_eq!(session_mix_up(&[0.73, 0.74, 0.745, 0.80]), None, "not all alike");
    assert_eq!(session_mix_up(&[0.99, 1.0, 1.01, 1.0]), None, "as they should be");
}

fn any_rule() -> impl Strategy<Value = Rule> {
    prop::sample::select(vec![Rule::Simple, Rule::Guarded])
}

proptest! {
    /// Tightening a limit never turns a fail into a pass, nor makes any of the four states better.
    #[test]
    fn tightening_a_limit_never_turns_a_fail_into_a_pass(
        low in 1.0..500.0f64, width in 0.0..200.0f64, up in 0.0..1.0f64, down in 0.0..1.0f64,
        open in any::<bool>(), near in -0.2..1.2f64, share in prop::option::of(0.0..0.2f64), rule in any_rule(),
    ) {
        let high = low + width;
        let wide = Limits { low: Torque::from_nm(low), high: (!open).then(|| Torque::from_nm(high)) };
        let narrow_low = low + width * up;
        let narrow_high = high - (high - narrow_low) * down;
        let narrow = limits(narrow_low, narrow_high);
        let reading = Torque::from_nm(low + width * near);
        let (before, after) =
            (decide(wide, reading, share, rule), decide(narrow, reading, share, rule));
        prop_assert!(after.conformity <= before.conformity);
        prop_assert!(before.accepted || !after.accepted);
        if let (Some(before), Some(after)) = (before.probability, after.probability) {
            prop_assert!(after <= before + 1e-12);
        }
    }

    /// A less certain adapter never proves more.
    #[test]
    fn a_less_certain_adapter_never_proves_more(
        reading in 50.0..150.0f64, share in 0.0..0.1f64, more in 0.0..0.1f64,
    ) {
        let at = |share| decide(limits(90.0, 110.0), Torque::from_nm(reading), Some(share), Rule::Guarded);
        prop_assert!(at(share).accepted || !at(share + more).accepted);
        if at(share).conformity == Conformity::ConditionalFail {
            prop_assert_eq!(at(share + more).conformity, Conformity::ConditionalFail);
        }
    }
}
