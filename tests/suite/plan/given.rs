//! A value that a plan left open, given while the work is under way.

use clampbook::core::event::GivenStep;
use clampbook::core::plan::{Expect, give, parse};

const PLAN: &str = r#"plan = "Corner"
tolerance = "±10 %"
source = "sheet"
[joints]
slide-pins = { target = "?", line = 2, passes = ["50 %", "final"] }
bar-link = { target = "?", sides = true }
damper-eye = "122 N·m"
"#;

fn told(before: &[&str], line: &str) -> String {
    let plan = parse(PLAN).unwrap().plan;
    match give(&plan, PLAN, before, line) {
        Ok(steps) => {
            let step = |step: &GivenStep| {
                let passes = step.passes.iter().map(|pass| match &pass.expect {
                    Expect::Window(window) => format!("{}..{:?}", window.low, window.high),
                    other => format!("{other:?}"),
                });
                format!("{}: {}", step.group, passes.collect::<Vec<_>>().join(", "))
            };
            steps.iter().map(step).collect::<Vec<_>>().join("; ")
        }
        Err(problems) => problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"),
    }
}

#[test]
fn a_value_fills_what_waits_for_it_and_changes_nothing_else() {
    let all = [
        told(&[], "slide-pins 26 N·m"),
        told(&["bar-link 46 N·m"], "slide-pins 26 N·m ±4 %"),
        told(&[], "bar-link: 46 N·m"),
        told(&[], "slide-pins none"),
        told(&[], "slide-pins ?"),
        told(&[], "slide-pins 3 x 26 N·m"),
        told(&[], "slide-pins 26"),
        told(&[], "damper-eye 130 N·m"),
        told(&[], "tolerance ±5 %"),
        told(&[], "bar-link -"),
        told(&[], "wheel 165 N·m"),
    ];
    insta::assert_snapshot!(all.join("\n"));
}
