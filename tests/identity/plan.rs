//! The plans of the jobs.

use clampbook::core::plan::{Plan, parse};

pub const PASSES: [&str; 5] = [
    "",
    "passes = [\"50 %\", \"final\"]",
    "passes = [\"by hand\", \"50 %\", \"final\"]",
    "passes = [\"by hand\", \"final\", \"check\"]",
    "",
];

pub struct PlanText {
    pub count: usize,
    pub members: u16,
    pub line: bool,
    pub turned_to_reach: bool,
    pub circle: Option<f64>,
    pub target_nm: f64,
    pub passes: &'static str,
}

pub fn plan(text: &PlanText) -> Plan {
    let shape = if text.line { "line" } else { "ring" };
    let mut written =
        "plan = \"Job\"\nsource = \"invented\"\ntolerance = \"±10 %\"\nin-order = true\n"
            .to_owned();
    for name in ["left", "right"].iter().take(text.count) {
        written += &format!(
            "[joints.{name}]\n{shape} = {}\ntarget = \"{} N·m\"\n{}\n",
            text.members, text.target_nm, text.passes
        );
        if text.turned_to_reach {
            written += "turned-to-reach = true\n";
        }
        if let Some(circle) = text.circle.filter(|_| !text.line) {
            written += &format!("pitch-circle = \"{circle} mm\"\n");
        }
    }
    parse(&written).unwrap_or_else(|faults| panic!("{faults:#?}\n{written}")).plan
}
