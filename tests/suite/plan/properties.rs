//! Whatever the text: no panic, and a plan that keeps its promises or faults with their places.

use super::samples;
use clampbook::core::plan::{
    AdapterSheet, Expect, Pattern, Plan, Setting, Severity, Turn, Window, diff, gather, parse,
    review, show,
};
use proptest::prelude::*;

/// What [`Plan`] promises of itself.
#[track_caller]
fn check_promises(plan: &Plan) {
    assert!(!plan.steps.is_empty() && plan.steps.len() <= 500);
    let mut names: Vec<&str> = plan.steps.iter().map(|step| step.group.as_str()).collect();
    names.sort_unstable();
    assert!(names.windows(2).all(|pair| pair[0] != pair[1]));
    for (index, step) in plan.steps.iter().enumerate() {
        assert!((1..=64).contains(&step.members) && !step.passes.is_empty());
        assert!((step.pattern == Pattern::Single) == (step.members == 1));
        assert!(step.after.iter().all(|after| after.0 < plan.steps.len() && after.0 != index));
        assert!(step.holds.iter().all(|&hold| hold < plan.holds.len()));
        for pass in &step.passes {
            let mut order = pass.order.clone();
            order.sort_unstable();
            assert_eq!(order, (1..=step.members).collect::<Vec<_>>());
            assert!(pass.holds.iter().all(|&hold| hold < plan.holds.len()));
            let turned = match pass.turn {
                Some(Turn::Angle { degrees }) => step.no_recheck && degrees > 0.0,
                Some(Turn::BackOff { .. }) => pass.expect == Expect::ByHand,
                None => true,
            };
            assert!(turned && !(pass.check && step.no_recheck), "{pass:?}");
            if let Expect::Window(Window { target, low, high, .. }) = &pass.expect {
                assert!(low.nm() > 0.0 && low <= target && target.nm() <= 5000.0);
                assert!(high.is_none_or(|high| *target <= high && low < &high));
            }
        }
    }
    let mut done = vec![false; plan.steps.len()];
    while let Some(next) = (0..done.len())
        .find(|&step| !done[step] && plan.steps[step].after.iter().all(|after| done[after.0]))
    {
        done[next] = true;
    }
    assert!(done.iter().all(|done| *done), "a circle");
    let json = serde_json::to_string(plan).expect("json");
    assert_eq!(&serde_json::from_str::<Plan>(&json).expect("json"), plan);
}

/// Reads a text that may be anything: no panic, promises kept, every place inside the text.
#[track_caller]
fn check_anything(text: &str) {
    let found = match parse(text) {
        Ok(file) => {
            check_promises(&file.plan);
            let _ = show(&file.plan);
            let _ = gather(&file.plan).to_string();
            assert_eq!(diff(&file.plan, &file.plan), []);
            assert_eq!(file.places.len(), file.plan.steps.len());
            let sheet = "adapter = \"a\"\nrange = \"12..60 N·m\"\ndeviation = \"±4 %\"\n";
            let sheets = [AdapterSheet::parse(sheet).expect("a sheet")];
            let doubts = review(&file, &Setting { adapters: &sheets, today: Some("2026-05-16") });
            file.faults.into_iter().chain(doubts).collect()
        }
        Err(faults) => {
            assert!(faults.iter().any(|fault| fault.severity == Severity::Error));
            faults
        }
    };
    let lines: Vec<&str> = text.split('\n').collect();
    for fault in found {
        let line = lines.get(fault.line - 1).expect("a line of the text");
        assert!(fault.column >= 1 && fault.column <= line.chars().count() + 1, "{fault}");
        assert!(!fault.to_string().chars().any(char::is_control), "{fault:?}");
        assert!(
            fault.message.contains("expected ") && fault.message.contains("but found "),
            "{fault}"
        );
        assert!(!fault.remedy.is_empty());
    }
}

#[test]
fn every_sample_keeps_the_promises_of_a_plan() {
    for (_, text) in samples("samples/plans").into_iter().chain(samples("samples/plans/broken")) {
        check_anything(&text);
    }
}

/// Pieces that plans are made of, and some that they are not.
const PIECES: [&str; 52] = [
    "\"",
    "\"\"\"",
    "'",
    "[",
    "]",
    "[[",
    "]]",
    "{",
    "}",
    "=",
    ",",
    ".",
    "#",
    "\n",
    "\r\n",
    "±",
    "%",
    "N·m",
    "lb",
    "?",
    "none",
    "final",
    "check",
    "by hand",
    "min ",
    "max ",
    "..",
    "-",
    "+",
    "0",
    "7",
    "1e999",
    "true",
    "ring",
    "line",
    "[joints]",
    "[holds]",
    "[joints.a]",
    "\u{202e}",
    "\u{0}",
    "45°",
    "back off",
    "thread = \"M12\"",
    "class = \"8.8\"",
    "castle-nut = true",
    "crowfoot = { offset = \"50 mm\" }",
    "kind = \"wheel\"",
    "seat = \"cone\"",
    "[put-in]",
    "[as-found]",
    "[closing]",
    "include = \"a\"",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// No text makes the parser panic.
    #[test]
    fn any_text_is_read_or_refused(text in "(?s).{0,200}") {
        check_anything(&text);
    }

    /// No heap of pieces makes the parser panic.
    #[test]
    fn any_heap_of_pieces_is_read_or_refused(pieces in prop::collection::vec(prop::sample::select(PIECES.to_vec()), 0..60)) {
        check_anything(&pieces.concat());
        check_anything(&format!("plan = \"p\"\n[joints]\na = \"{}\"\n", pieces.concat()));
    }

    /// A good plan with something cut out, put in or swapped is read or refused.
    #[test]
    fn any_mutation_of_a_good_plan_is_read_or_refused(
        pick in any::<prop::sample::Index>(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0..12usize, prop::sample::select(PIECES.to_vec())), 1..5),
    ) {
        let all = samples("samples/plans");
        let mut text: Vec<char> = pick.get(&all).1.chars().collect();
        for (at, cut, piece) in changes {
            let start = at.index(text.len() + 1);
            let end = (start + cut).min(text.len());
            text.splice(start..end, piece.chars());
        }
        check_anything(&text.into_iter().collect::<String>());
    }

    /// Lines in another order, twice or not at all are read or refused.
    #[test]
    fn any_shuffle_of_lines_is_read_or_refused(
        pick in any::<prop::sample::Index>(),
        lines in prop::collection::vec(any::<prop::sample::Index>(), 1..60),
    ) {
        let all = samples("samples/plans");
        let source: Vec<&str> = pick.get(&all).1.lines().collect();
        let text: Vec<&str> = lines.iter().map(|line| *line.get(&source)).collect();
        check_anything(&text.join("\n"));
    }
}
