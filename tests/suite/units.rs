//! Torque from text, to text, and between units.

use clampbook::core::plan::{Expect, Window, parse};
use clampbook::core::units::{
    Round, StatedTorque, Torque, TorqueUnit, UnitError, decimals, format_torque, format_value,
};
use proptest::prelude::*;

#[track_caller]
fn stated(text: &str) -> StatedTorque {
    text.parse().unwrap_or_else(|error: UnitError| panic!("{text}: {error}"))
}

/// The window of a plan's only joint.
#[track_caller]
fn window(figure: &str) -> Window {
    let text = format!("plan = \"p\"\nsource = \"s\"\n[joints]\na = \"{figure}\"\n");
    let file = parse(&text).unwrap_or_else(|faults| panic!("{figure}: {faults:?}"));
    match &file.plan.steps[0].passes[0].expect {
        Expect::Window(window) => window.clone(),
        other => panic!("{figure}: {other:?}"),
    }
}

#[test]
fn units_convert_to_twelve_digits() {
    let close = |found: f64, expected: f64| (found / expected - 1.0).abs() < 5e-13;
    let to_nm = [
        ("80 lbf·ft", 108.465_435_866_512),
        ("250 lbf·in", 28.246_207_256_904_2),
        ("9.0 kgf·m", 88.259_85),
        ("1 kgf·cm", 0.098_066_5),
        ("1 ozf·in", 0.007_061_551_814_226_04),
        ("1 lbf·ft", 1.355_817_948_331_400_4),
        ("1 lbf·in", 0.112_984_829_027_616_7),
        ("1 kgf·m", 9.806_65),
        ("110 N·m", 110.0),
    ];
    for (text, nm) in to_nm {
        assert!(close(stated(text).torque().nm(), nm), "{text}: {}", stated(text).torque().nm());
    }
    let per_nm = [
        (TorqueUnit::NewtonMetre, 1.0),
        (TorqueUnit::PoundForceFoot, 0.737_562_149_277_265_4),
        (TorqueUnit::PoundForceInch, 8.850_745_791_327_184),
        (TorqueUnit::KilogramForceMetre, 0.101_971_621_297_792_8),
        (TorqueUnit::KilogramForceCentimetre, 10.197_162_129_779_28),
        (TorqueUnit::OunceForceInch, 141.611_932_661_234_9),
    ];
    for (unit, factor) in per_nm {
        assert!(close(1.0 / unit.newton_metres(), factor), "{unit}");
    }
    let printed = [
        (TorqueUnit::PoundForceFoot, "81.1318364"),
        (TorqueUnit::PoundForceInch, "973.582037"),
        (TorqueUnit::KilogramForceMetre, "11.2168783"),
        (TorqueUnit::KilogramForceCentimetre, "1121.68783"),
        (TorqueUnit::OunceForceInch, "15577.3126"),
    ];
    for (unit, text) in printed {
        let places = text.len() - text.find('.').unwrap_or(0) - 1;
        assert_eq!(format_value(Torque::from_nm(110.0), unit, places, Round::Nearest), text);
    }
}

#[test]
fn a_hundred_and_ten_newton_metres_in_every_unit() {
    let torque = Torque::from_nm(110.0);
    let shown: Vec<String> =
        TorqueUnit::ALL.iter().map(|unit| format_torque(torque, *unit)).collect();
    assert_eq!(
        shown,
        [
            "110.0 N·m",
            "81.1 lbf·ft (110.0 N·m)",
            "973.6 lbf·in (110.0 N·m)",
            "11.2 kgf·m (110.0 N·m)",
            "1121.7 kgf·cm (110.0 N·m)",
            "15577.3 ozf·in (110.0 N·m)",
        ]
    );
}

#[test]
fn workshop_spellings_are_read_and_printed_in_one_form() {
    let spellings = [
        ("228 N·m", "228 N·m"),
        ("228Nm", "228 N·m"),
        ("  228 nm ", "228 N·m"),
        ("228 N.m", "228 N·m"),
        ("228 N-m", "228 N·m"),
        ("228 N m", "228 N·m"),
        ("228 N⋅m", "228 N·m"),
        ("228 newton metres", "228 N·m"),
        ("102,5 N·m", "102.5 N·m"),
        ("0,125 N·m", "0.125 N·m"),
        ("75 lbf·ft", "75 lbf·ft"),
        ("75 ft-lb", "75 lbf·ft"),
        ("75 ft·lbs", "75 lbf·ft"),
        ("75 lb-ft", "75 lbf·ft"),
        ("75 FT LBS", "75 lbf·ft"),
        ("75 foot-pounds", "75 lbf·ft"),
        ("88 in-lb", "88 lbf·in"),
        ("88 lb-in", "88 lbf·in"),
        ("88 inch pounds", "88 lbf·in"),
        ("9 kgf·m", "9 kgf·m"),
        ("9 kg-m", "9 kgf·m"),
        ("9kgm", "9 kgf·m"),
        ("90 kg-cm", "90 kgf·cm"),
        ("160 oz-in", "160 ozf·in"),
        ("160 inch ounces", "160 ozf·in"),
    ];
    for (text, canonical) in spellings {
        assert_eq!(stated(text).to_string(), canonical, "{text}");
    }
}

#[test]
fn what_could_change_the_torque_is_refused_with_a_remedy() {
    let refused = [
        (
            "110 mN",
            "expected a torque unit, but found `mN`, which reads as millinewton; write `N·m`",
        ),
        (
            "110 m·N",
            "expected a torque unit, but found `m·N`, which reads as millinewton; write `N·m`",
        ),
        ("110 J", "expected a torque unit, but found `J`, which measures energy; write `N·m`"),
        (
            "75 lb",
            "expected a torque unit, but found `lb`, which may mean foot or inch; write `lbf·ft` or `lbf·in`",
        ),
        (
            "75 lbs",
            "expected a torque unit, but found `lbs`, which may mean foot or inch; write `lbf·ft` or `lbf·in`",
        ),
        (
            "9 kg",
            "expected a torque unit, but found `kg`, which has no length; write `kgf·m` or `kgf·cm`",
        ),
        (
            "9 kN·m",
            "expected a torque unit, but found `kN·m`; use N·m, lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm",
        ),
        (
            "75 lb/ft",
            "expected a torque unit, but found `lb/ft`; use N·m, lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm",
        ),
        (
            "75",
            "expected a unit after `75`, but found none; write it like `75 N·m`, or use lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm",
        ),
        ("N·m", "expected a number and a unit, but found `N·m`; write it like `228 N·m`"),
        ("", "expected a number and a unit, but found ``; write it like `228 N·m`"),
        (
            "1,000 N·m",
            "expected a plain number, but found `1,000`, which reads two ways; write `1000` or `1.000`",
        ),
        ("1.2.3 N·m", "expected a plain number, but found `1.2.3`; write it like `102.5`"),
        (
            "-5 N·m",
            "expected more than zero, but found `-5`; a torque is stated without a sign, whichever way the thread turns",
        ),
        (
            "0 N·m",
            "expected more than zero, but found `0`; a torque is stated without a sign, whichever way the thread turns",
        ),
    ];
    for (text, message) in refused {
        let error = text.parse::<StatedTorque>().expect_err(text);
        assert_eq!(error.to_string(), message, "{text}");
    }
}

#[test]
fn limits_are_rounded_inward() {
    let shown = [
        ("100 N·m ±10 %", "90.0–110.0 N·m"),
        ("165 N·m ±10 %", "148.5–181.5 N·m"),
        ("178 N·m ±6 %", "167.4–188.6 N·m"),
        ("8.5 N·m ±10 %", "7.65–9.35 N·m"),
        ("75 ft-lb ±10 %", "67.5–82.5 lbf·ft (91.6–111.8 N·m)"),
        ("min 32 N·m", "at least 32.0 N·m"),
        ("min 32 N·m max 44 N·m", "32.0–44.0 N·m"),
        ("20.01..20.04 N·m", "20.01–20.04 N·m"),
    ];
    for (figure, text) in shown {
        assert_eq!(window(figure).to_string(), text, "{figure}");
    }
    assert_eq!(window("100 N·m ±10 %").limits_in(TorqueUnit::PoundForceFoot), "66.4–81.1 lbf·ft");
}

#[test]
fn a_window_in_another_unit_than_the_adapters_has_the_target_the_author_wrote() {
    let window = window("75 ft-lb +5/-0 ft-lb");
    assert_eq!(window.target_text(), "75 lbf·ft (101.7 N·m)");
    assert_eq!(window.to_string(), "75.0–80.0 lbf·ft (101.7–108.4 N·m)");
}

#[test]
fn rounding_never_hides_why_a_reading_failed() {
    let text = |nm: f64| {
        let shown = window("100 N·m ±10 %").compare(Torque::from_nm(nm));
        format!("{} / {}", shown.reading, shown.high.unwrap_or_default())
    };
    assert_eq!(text(108.3), "108.3 / 110.0");
    assert_eq!(text(110.04), "110.04 / 110.00");
    assert_eq!(text(110.004), "110.004 / 110.000");
    assert_eq!(text(110.0), "110.0 / 110.0");
}

fn any_unit() -> impl Strategy<Value = TorqueUnit> {
    prop::sample::select(TorqueUnit::ALL.to_vec())
}

proptest! {
    /// A displayed window is never wider than the real one, in whatever unit.
    #[test]
    fn a_displayed_limit_lies_inside(nm in 0.01..6000.0f64, unit in any_unit(), more in 0..4usize) {
        let torque = Torque::from_nm(nm);
        let places = decimals(nm / unit.newton_metres()) + more;
        let back = |round| {
            format_value(torque, unit, places, round).parse::<f64>().expect("a number")
                * unit.newton_metres()
        };
        let step = 10f64.powi(-(places as i32)) * unit.newton_metres() * 1.000_001;
        prop_assert!(back(Round::Up) >= nm && back(Round::Up) < nm + step);
        prop_assert!(back(Round::Down) <= nm && back(Round::Down) > nm - step);
        prop_assert!((back(Round::Nearest) - nm).abs() <= step / 2.0 + 1e-9);
    }

    /// Display never widens a window, in whatever unit it is shown.
    #[test]
    fn a_displayed_window_is_never_wider_than_the_real_one(
        target in 0.02..4000.0f64, per_cent in 0.1..30.0f64, unit in any_unit(), shown in any_unit(),
    ) {
        let text = format!("{target:.3} {unit} ±{per_cent:.2} %");
        prop_assume!((0.02..4000.0).contains(&stated(&format!("{target:.3} {unit}")).torque().nm()));
        let window = window(&text);
        let limits = window.limits_in(shown);
        let numbers = limits.strip_suffix(&format!(" {shown}")).and_then(|text| text.split_once('–'));
        let (low, high) = numbers.expect("two limits");
        let back = |text: &str| text.parse::<f64>().expect("a number") * shown.newton_metres();
        prop_assert!(back(low) >= window.low.nm(), "{limits}");
        prop_assert!(back(high) <= window.high.expect("an upper limit").nm(), "{limits}");
    }

    /// A tighter tolerance never lets a reading in that a wider one keeps out.
    #[test]
    fn a_tighter_tolerance_never_lets_more_in(
        target in 1.0..500.0f64, wide in 1.0..30.0f64, share in 0.05..1.0f64, near in -1.5..1.5f64, unit in any_unit(),
    ) {
        prop_assume!((0.02..4000.0).contains(&(target * unit.newton_metres())));
        let of = |per_cent: f64| window(&format!("{target:.2} {unit} ±{per_cent:.2} %"));
        let reading = Torque::from_nm(target * unit.newton_metres() * (1.0 + near * wide / 100.0));
        prop_assert!(of(wide).contains(reading) || !of(wide * share).contains(reading));
    }

    /// The texts of a reading and its limits show the same result as the unrounded values.
    #[test]
    fn a_comparison_shows_the_real_result(
        target in 1.0..500.0f64, per_cent in 1.0..30.0f64, offset in -1e-3..1e-3f64, unit in any_unit(),
        upper in any::<bool>(),
    ) {
        prop_assume!((0.02..4000.0).contains(&(target * unit.newton_metres())));
        let window = window(&format!("{target:.2} {unit} ±{per_cent:.1} %"));
        let limit = if upper { window.high.expect("an upper limit") } else { window.low };
        let reading = Torque::from_nm(limit.nm() * (1.0 + offset));
        let shown = window.compare(reading);
        let number = |text: &str| text.parse::<f64>().expect("a number");
        let high = number(shown.high.as_deref().expect("an upper limit"));
        let inside = (number(&shown.low)..=high).contains(&number(&shown.reading));
        prop_assert_eq!(inside, window.contains(reading), "{:?}", shown);
    }

    /// What is printed is read again as the same torque.
    #[test]
    fn a_stated_torque_survives_text_and_json(value in 0.01..5000.0f64, unit in any_unit()) {
        let torque = StatedTorque { value, unit };
        prop_assert_eq!(&stated(&torque.to_string()), &torque);
        let json = serde_json::to_string(&torque).expect("json");
        prop_assert_eq!(&serde_json::from_str::<StatedTorque>(&json).expect("json"), &torque);
    }

    /// No text makes the reader of torques panic.
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC*") {
        let _ = text.parse::<StatedTorque>();
    }

    /// A figure and its unit, whatever surrounds them, are never read as another torque.
    #[test]
    fn spaces_and_case_change_nothing(value in 1..5000u32, upper in any::<bool>(), gap in "[ \t]{0,3}") {
        for unit in TorqueUnit::ALL.map(TorqueUnit::symbol) {
            let plain = format!("{value} {unit}");
            let unit = if upper { unit.to_uppercase() } else { unit.to_owned() };
            prop_assert_eq!(stated(&format!("{gap}{value}{gap}{unit}{gap}")), stated(&plain));
        }
    }
}
