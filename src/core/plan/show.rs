//! A plan in plain words: what will be asked, step by step.

use crate::core::plan::order::join;
use crate::core::plan::show_rules::{show_around, show_rules};
use crate::core::plan::{Cure, Expect, Identity, Pass, Pattern, Plan, Step, Turn};
use std::fmt::Write as _;

/// What will be asked, for the person who does the work. Limits are rounded inward.
#[must_use]
pub fn show(plan: &Plan) -> String {
    let mut text = format!("{}\n", plan.name);
    let fasteners: u32 = plan.steps.iter().map(|step| u32::from(step.members)).sum();
    let order = if plan.in_order {
        "in the order listed"
    } else if plan.steps.iter().all(|step| step.after.is_empty()) {
        "in any order"
    } else {
        "in any order, but for what \"after\" says"
    };
    let _ = writeln!(
        text,
        "{}, {}: {order}.",
        count(plan.steps.len(), "joint"),
        count(usize::try_from(fasteners).unwrap_or(usize::MAX), "fastener"),
    );
    for (index, step) in plan.steps.iter().enumerate() {
        let _ = write!(text, "\n{}. ", index + 1);
        show_step(&mut text, plan, step);
    }
    if !plan.holds.is_empty() {
        text.push_str("\nTo be confirmed where it says so:\n");
    }
    for hold in &plan.holds {
        let cure = match hold.cure {
            Cure::Slacken => "slacken, let it settle, pull again",
            Cure::PullAgain => "pull again",
        };
        let _ = writeln!(text, "   {}: {} Pulled too early: {cure}.", hold.name, hold.text);
    }
    show_around(&mut text, plan);
    text
}

fn show_step(text: &mut String, plan: &Plan, step: &Step) {
    let name = match &step.title {
        Some(title) => format!("{title} ({})", step.group),
        None => step.group.clone(),
    };
    let mut facts = vec![match step.pattern {
        Pattern::Single => "one fastener".to_owned(),
        Pattern::Line => format!("{} fasteners", step.members),
        Pattern::Ring => format!("ring of {}", step.members),
    }];
    facts.extend(step.pitch_circle_mm.map(|mm| format!("pitch circle {mm} mm")));
    facts.extend(step.thread.clone());
    facts.extend(step.socket.as_ref().map(|socket| format!("socket {socket}")));
    facts.extend(step.condition.clone());
    let _ = writeln!(text, "{name}: {}", facts.join(", "));
    let mut line = |words: &str| {
        let _ = writeln!(text, "   {words}");
    };
    if !step.after.is_empty() {
        let names: Vec<&str> =
            step.after.iter().map(|&after| plan.step(after).group.as_str()).collect();
        line(&format!("After: {}", names.join(", ")));
    }
    for &hold in &step.holds {
        line(&format!("First: {}", plan.holds[hold].text));
    }
    if step.left_hand {
        line("Left-hand thread: tightens counter-clockwise.");
    }
    if step.turned_to_reach {
        line("Turn the part so that each fastener comes to the hand.");
    }
    for (index, pass) in step.passes.iter().enumerate() {
        let number =
            if step.passes.len() > 1 { format!("Pass {}: ", index + 1) } else { String::new() };
        line(&format!("{number}{}", show_pass(plan, step, pass)));
    }
    if step.identity == Identity::Shown {
        line("Each fastener must be shown: the right number of good pulls is not enough.");
    }
    if !step.life_critical {
        line(
            "Its failure could not cost a life: after too much torque it is not asked whether it was looked at.",
        );
    }
    if step.no_recheck {
        line("Do not pull again once done.");
    }
    for rule in show_rules(&step.rules) {
        line(&rule);
    }
    for note in &step.notes {
        line(&format!("Note: {note}"));
    }
    if let Some(source) = &step.source {
        line(&format!("Values from: {source}"));
    }
}

/// One pass in words.
pub(super) fn show_pass(plan: &Plan, step: &Step, pass: &Pass) -> String {
    let mut words = match (&pass.turn, &pass.expect) {
        (Some(Turn::Angle { degrees }), Expect::Window(window)) => {
            format!("{degrees}° further, ending in {window}")
        }
        (Some(Turn::Angle { degrees }), _) => format!("{degrees}° further: say when it is done"),
        (Some(turn @ Turn::BackOff { .. }), _) => format!("{turn}, no reading"),
        (None, Expect::Window(window)) if pass.check => {
            format!("check round at {}, {window}", window.target_text())
        }
        (None, Expect::Window(window)) if window.high.is_none() => window.to_string(),
        (None, Expect::Window(window)) => format!("{}, {window}", window.target_text()),
        (None, Expect::ByHand) => "by hand, no reading".to_owned(),
        (None, Expect::NoFigure) => "no figure published: say when it is done".to_owned(),
        (None, Expect::ToBeLookedUp) => "torque still to be looked up".to_owned(),
    };
    let generic = ["by hand", "check round", "no figure published", "to be looked up"];
    let plain = generic.contains(&pass.name.as_str())
        || pass.turn.is_some_and(|turn| turn.to_string() == pass.name)
        || matches!(&pass.expect, Expect::Window(window) if window.stated.to_string() == pass.name);
    if !plain {
        words = format!("{}: {words}", pass.name);
    }
    if step.members > 1 {
        let _ = if pass.ordered {
            write!(words, "; order {}", join(&pass.order))
        } else {
            write!(words, "; in any order")
        };
    }
    for &hold in &pass.holds {
        let _ = write!(words, "; first: {}", plan.holds[hold].text);
    }
    words
}

fn count(n: usize, noun: &str) -> String {
    let plural = if n == 1 { "" } else { "s" };
    format!("{n} {noun}{plural}")
}
