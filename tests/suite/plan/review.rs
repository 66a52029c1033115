//! Checks before the first pull, with the messages as the operator reads them.

use super::{good, sample};
use clampbook::core::plan::{AdapterSheet, Code, Fault, Setting, Severity, explain, review};
use insta::assert_snapshot;
use std::collections::BTreeSet;
use std::path::PathBuf;

fn sheet(name: &str) -> AdapterSheet {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("samples/adapters").join(name);
    let text = std::fs::read_to_string(path).unwrap();
    AdapterSheet::parse(&text).unwrap_or_else(|faults| panic!("{name}: {faults:?}"))
}

fn sheets() -> Vec<AdapterSheet> {
    vec![sheet("small.toml"), sheet("large.toml")]
}

/// What is said of a plan of one joint, with both sample adapters at hand.
fn doubts(lines: &str) -> Vec<Fault> {
    let top = "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n";
    let file = good(&format!("{top}[joints.j]\n{lines}\n"));
    let sheets = sheets();
    review(&file, &Setting { adapters: &sheets, today: Some("2026-05-16") })
}

/// One joint a case.
const CASES: [(&str, &str); 35] = [
    ("usual", "target = \"110 N·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\""),
    (
        "foot pounds for newton metres go unseen",
        "target = \"110 lbf·ft\"\nthread = \"M12×1.5\"\nclass = \"10.9\"",
    ),
    ("kilogram-force metres", "target = \"110 kgf·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\""),
    ("inch pounds", "target = \"110 lbf·in\"\nthread = \"M12×1.5\"\nclass = \"10.9\""),
    ("far too small", "target = \"5 N·m\"\nthread = \"M16×2\"\nclass = \"12.9\""),
    ("small", "target = \"14 N·m\"\nthread = \"M10×1.5\"\nclass = \"12.9\""),
    (
        "small, but a plug",
        "target = \"14 N·m\"\nthread = \"M10×1.5\"\nclass = \"12.9\"\nkind = \"plug\"",
    ),
    ("somewhat small", "target = \"24 N·m\"\nthread = \"M12×1.5\"\nclass = \"8.8\""),
    ("somewhat small, class not stated", "target = \"24 N·m\"\nthread = \"M12×1.5\""),
    ("may yield", "target = \"170 N·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\""),
    (
        "the same on a cone",
        "target = \"170 N·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\"\nseat = \"cone\"",
    ),
    ("may yield, class not stated", "target = \"130 N·m\"\nthread = \"M12×1.5\""),
    ("yields", "target = \"220 N·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\""),
    ("yields at every friction", "target = \"270 N·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\""),
    (
        "yields at every friction of 8.8, class not stated",
        "target = \"270 N·m\"\nthread = \"M12×1.5\"",
    ),
    (
        "meant to yield",
        "target = \"270 N·m\"\nthread = \"M12×1.5\"\nclass = \"10.9\"\nkind = \"torque-to-yield\"",
    ),
    ("a thread that nobody knows", "target = \"50 N·m\"\nthread = \"1/2 BSW\""),
    ("below every adapter", "target = \"8.5 N·m\""),
    ("above every adapter", "target = \"300 N·m\""),
    ("outside the certificate", "target = \"260 N·m\""),
    ("left-hand, calibrated clockwise", "target = \"190 N·m\"\nleft-hand = true"),
    ("left-hand, calibrated both ways", "target = \"30 N·m\"\nleft-hand = true"),
    ("too narrow for the large adapter", "target = \"92 N·m ±5 %\""),
    ("narrow, and the small adapter can", "target = \"52 N·m ±5 %\""),
    ("guarded, with room", "target = \"102 N·m\"\nacceptance = \"guarded\""),
    ("guarded, without room", "target = \"102 N·m ±4 %\"\nacceptance = \"guarded\""),
    (
        "castle nut with a tolerance",
        "target = \"36 N·m\"\ncastle-nut = true\nnew-parts = [\"pin\"]",
    ),
    ("castle nut without a new pin", "target = \"min 32 N·m max 44 N·m\"\ncastle-nut = true"),
    ("turned by an angle, no new bolt", "target = \"52 N·m\"\npasses = [\"final\", \"90°\"]"),
    (
        "check round on thread locker",
        "target = \"54 N·m\"\npasses = [\"final\", \"check\"]\nthread-locker = true",
    ),
    ("adapter and socket are too long", "target = \"46 N·m\"\naccess = \"too-long\""),
    ("the key is in the way", "target = \"46 N·m\"\naccess = \"key-in-the-way\""),
    (
        "a crowfoot that adds a quarter",
        "target = \"16 N·m\"\ncrowfoot = { offset = \"60 mm\", angle = \"0°\", lever = \"250 mm\" }",
    ),
    (
        "a crowfoot that is not square",
        "target = \"22 N·m ±15 %\"\ncrowfoot = { offset = \"20 mm\", angle = \"60°\", lever = \"350 mm\" }",
    ),
    ("a wheel without a recheck", "ring = 5\ntarget = \"120 N·m\"\nkind = \"wheel\""),
];

/// A plan a case, for what is not about one joint. The day is after that on which the large adapter is due.
const PLANS: [(&str, &str); 4] = [
    ("no source", "plan = \"p\"\ntolerance = \"±10 %\"\n[joints]\na = \"200 N·m\"\n"),
    (
        "left and right",
        "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n[joints]\nleft-arm = \"80 N·m\"\nright-arm = \"88 N·m\"\n",
    ),
    (
        "a recheck without a distance or a time",
        "plan = \"p\"\nsource = \"s\"\n[joints]\na = { target = \"200 N·m ±10 %\", recheck = \"when it rattles\" }\n",
    ),
    ("a day later", "plan = \"p\"\nsource = \"s\"\n[joints]\na = \"200 N·m ±10 %\"\n"),
];

#[test]
fn every_check_speaks_where_it_should_and_is_silent_elsewhere() {
    let mut told = String::new();
    let mut codes = BTreeSet::new();
    let mut tell = |title: &str, faults: Vec<Fault>| {
        told += &format!("{title}\n");
        for fault in faults {
            told += &format!("   {fault} [{}]\n", fault.code);
            codes.insert(fault.code.name());
        }
    };
    for (title, lines) in CASES {
        tell(title, doubts(lines));
    }
    for (title, text) in PLANS {
        let (file, sheets) = (good(text), sheets());
        let found = review(&file, &Setting { adapters: &sheets, today: Some("2026-07-01") });
        tell(title, file.faults.into_iter().chain(found).collect());
    }
    let silent: Vec<&str> = checks().filter(|name| !codes.contains(name)).collect();
    assert_eq!(silent, Vec::<&str>::new(), "checks without a case");
    assert_snapshot!(told);
}

/// The names of all checks before the first pull.
fn checks() -> impl Iterator<Item = &'static str> {
    Code::ALL.iter().skip_while(|code| **code != Code::NoSource).map(|code| code.name())
}

#[test]
fn a_plan_full_of_doubts_gets_every_one_of_them() {
    let file = good(&sample("doubtful/every-doubt.toml"));
    let sheets = sheets();
    let found = review(&file, &Setting { adapters: &sheets, today: Some("2026-11-28") });
    let codes: BTreeSet<&str> =
        found.iter().chain(&file.faults).map(|fault| fault.code.name()).collect();
    for check in checks() {
        assert!(codes.contains(check), "nothing in the sample is in doubt by {check}");
    }
    let lines: Vec<String> =
        found.iter().map(|fault| format!("{fault} [{}]\n", fault.code)).collect();
    assert_snapshot!(lines.concat());
}

#[test]
fn a_plan_without_the_facts_is_left_in_peace() {
    for name in [
        "first-corner.toml",
        "five-stud.toml",
        "one-wheel.toml",
        "two-adapters.toml",
        "arm-pivot.toml",
    ] {
        let found = review(&good(&sample(name)), &Setting::default());
        assert!(found.iter().all(|fault| fault.code == Code::NoRecheck), "{name}: {found:?}");
    }
}

#[test]
fn the_samples_that_show_rules_raise_no_doubt() {
    for name in [
        "castle-and-bearing.toml",
        "angle-tightened.toml",
        "locked-threads.toml",
        "first-to-last.toml",
    ] {
        let found = review(&good(&sample(name)), &Setting::default());
        assert_eq!(found, [], "{name}");
    }
    let found = review(&good(&sample("held-and-reached.toml")), &Setting::default());
    let codes: Vec<&str> = found.iter().map(|fault| fault.code.name()).collect();
    assert_eq!(codes, ["fixture", "fixture"], "{found:?}");
}

#[test]
fn a_calibration_is_due_the_day_after() {
    let due = |today| {
        let sheets = sheets();
        let setting = Setting { adapters: &sheets, today };
        let found = review(
            &good("plan = \"p\"\nsource = \"s\"\n[joints]\na = \"50 N·m ±10 %\"\n"),
            &setting,
        );
        found.iter().map(Fault::to_string).collect::<Vec<_>>()
    };
    assert_eq!(due(Some("2026-06-30")), Vec::<String>::new());
    assert_eq!(due(None), Vec::<String>::new());
    assert_eq!(
        due(Some("2026-07-01")),
        [
            "1:1: warning: expected a calibration of `large` that is in force, but found it due on 2026-06-30; have it calibrated; until then its readings are indications"
        ]
    );
}

#[test]
fn both_sides_of_a_joint_are_compared() {
    let told = |left: &str, right: &str| {
        let top = "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n";
        let text = format!("{top}[joints.left-arm]\n{left}\n[joints.right-arm]\n{right}\n");
        let found = review(&good(&text), &Setting::default());
        found.iter().map(|fault| format!("{fault} [{}]", fault.code)).collect::<Vec<_>>()
    };
    assert_eq!(told("target = \"80 N·m\"", "target = \"80 N·m\""), Vec::<String>::new());
    assert_eq!(
        told("target = \"80 N·m\"", "target = \"80 N·m\"\nleft-hand = true"),
        Vec::<String>::new()
    );
    assert_eq!(
        told("target = \"80 N·m\"", "target = \"88 N·m\""),
        [
            "6:9: warning: expected like values for `left-arm` and `right-arm`, but found 80 N·m in 72.0–88.0 N·m and 88 N·m in 79.2–96.8 N·m; correct one of them, if the source does not say so [sides-differ]"
        ]
    );
    assert_eq!(
        told("target = \"80 N·m\"", "target = \"108 N·m\""),
        [
            "6:9: warning: expected like values for `left-arm` and `right-arm`, but found 80 N·m and 108 N·m, as far apart as N·m and lbf·ft; look at the units in the source [unit-mix-up]"
        ]
    );
    assert_eq!(
        told("line = 2\ntarget = \"80 N·m\"", "line = 3\ntarget = \"80 N·m\""),
        [
            "7:9: warning: expected like fasteners for `left-arm` and `right-arm`, but found 2 and 3; correct one of them, if the source does not say so [sides-differ]"
        ]
    );
}

#[test]
fn every_code_has_a_meaning_and_is_found_by_its_name() {
    let mut names = BTreeSet::new();
    for code in Code::ALL {
        assert!(names.insert(code.name()), "{code} twice");
        assert_eq!(serde_json::to_value(code).unwrap(), code.name());
        assert_eq!(explain(code.name()), Ok(code));
        assert!(code.meaning().len() > 40 && code.meaning().ends_with('.'), "{code}");
    }
    assert_eq!(
        explain("high-for-tread").unwrap_err().to_string(),
        "expected the code of a fault, but found `high-for-tread`; did you mean `high-for-thread`?"
    );
}

#[test]
fn an_adapters_sheet_says_what_is_wrong_with_it() {
    let told = |text: &str| {
        let faults = AdapterSheet::parse(text).unwrap_err();
        faults.iter().map(|fault| format!("{fault}\n")).collect::<String>()
    };
    assert_eq!(
        told("adapter = \"a\"\nrange = \"40 N·m\"\nuncertainty = \"1\"\ndirections = \"clockwize\"\ndue = \"soon\"\nresolution = \"0.1\"\n"),
        "\
2:9: error: expected both ends for `range`, but found `40 N·m`; write it like `40..280 N·m`
3:15: error: expected per cent of the reading for `uncertainty`, but found `1`; write it like `±1 %`
4:14: error: expected one of a few words for `directions`, but found `clockwize`; did you mean `clockwise`?
5:7: error: expected a day for `due`, but found `soon`; write it like `2027-03-01`
6:14: error: expected a unit after `0.1`, but found none; write it like `0.1 N·m`, or use lbf·ft, lbf·in, ozf·in, kgf·m or kgf·cm
"
    );
    assert_eq!(
        told("serial = \"1\"\n"),
        "\
1:1: error: expected what the adapter is called, but found none; write `adapter = \"large\"`
1:1: error: expected the adapter's range, but found none; write `range = \"40..280 N·m\"`
"
    );
}

#[test]
fn what_only_papers_say_becomes_an_uncertainty() {
    let share = |name, nm: f64| {
        let torque = clampbook::core::units::Torque::from_nm(nm);
        format!("{:.2}", sheet(name).relative_uncertainty(torque).unwrap() * 100.0)
    };
    // ±4 % alone is 2.31 %; a certificate's 0.8 % (k = 2) with ±1 % is 0.70 %.
    assert_eq!([share("large.toml", 200.0), share("small.toml", 40.0)], ["2.31", "0.70"]);
    let bare = AdapterSheet::parse("adapter = \"a\"\nrange = \"40..280 N·m\"\n").unwrap();
    assert_eq!(bare.relative_uncertainty(clampbook::core::units::Torque::from_nm(100.0)), None);
}

#[test]
fn an_error_of_a_check_is_only_given_where_the_bolt_yields_whatever_it_is() {
    for (_, lines) in CASES {
        let found = doubts(lines);
        let errors: Vec<&Fault> =
            found.iter().filter(|fault| fault.severity == Severity::Error).collect();
        assert!(
            errors.iter().all(|fault| [Code::HighForThread, Code::UnitMixUp].contains(&fault.code)),
            "{errors:?}"
        );
    }
}
