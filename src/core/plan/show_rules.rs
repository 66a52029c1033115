//! What a joint asks beside its torque, and what belongs to the job beside its joints, in plain words.

use crate::core::decision::Rule;
use crate::core::fixture::{Bar, Offset, Place, UniversalJoint};
use crate::core::joint::Seat;
use crate::core::plan::rules::{
    Access, Fixture, Kind, Locker, Prevailing, PrevailingMode, Recheck, RecheckMethod, Reuse,
    Rules, Turned,
};
use crate::core::plan::rules_read::{KINDS, SEATS};
use crate::core::plan::{By, Item, Plan};
use crate::core::units::Torque;
use std::fmt::Write as _;

/// One sentence a rule; none where the plan says nothing. `by-hand-only` is a note already.
pub(super) fn show_rules(rules: &Rules) -> Vec<String> {
    let mut lines = Vec::new();
    let word = |kind| KINDS.iter().find(|(_, other)| *other == kind).map_or("", |(word, _)| *word);
    if rules.kind != Kind::Clamp {
        lines.push(format!("Sort of joint: {}.", word(rules.kind)));
    }
    if rules.seat != Seat::Flat {
        let seat = SEATS.iter().find(|(_, seat)| *seat == rules.seat).map_or("", |(word, _)| *word);
        lines.push(format!("Seat: {seat}."));
    }
    lines.extend(rules.lubrication.map(|condition| format!("Threads: {condition}.")));
    lines.extend(rules.drive.as_ref().map(|drive| format!("Drive: {drive}.")));
    lines.extend(rules.turned.map(|turned| {
        match turned {
            Turned::Nut => "Turn the nut.",
            Turned::Head => "Turn the head.",
        }
        .to_owned()
    }));
    lines.extend(rules.hold_with.as_ref().map(|tool| format!("Hold the other side with: {tool}.")));
    match rules.access {
        Access::Fits => {}
        Access::TooLong => lines.push("Adapter and socket are too long for it.".to_owned()),
        Access::KeyInTheWay => lines.push("The key that holds it stands in the way.".to_owned()),
    }
    lines.extend(show_fixture(&rules.fixture));
    lines.extend(rules.castle.map(|pitch| {
        format!("Castle nut: on to the next slot, every {}°, never back.", pitch.degrees())
    }));
    lines.extend(rules.prevailing.map(show_prevailing));
    lines.extend(rules.locker.as_ref().map(show_locker));
    if !rules.single_use.is_empty() {
        lines.push(format!("Used once: {}.", rules.single_use.join(", ")));
    }
    if !rules.new_parts.is_empty() {
        lines.push(format!("New: {}.", rules.new_parts.join(", ")));
    }
    lines.extend(rules.secured_by.map(|by| format!("Once tight: {}", by.question())));
    lines.extend(rules.recheck.as_ref().map(show_recheck));
    if rules.acceptance == Rule::Guarded {
        lines.push(format!("Verdicts by {}.", Rule::Guarded.name()));
    }
    lines
}

fn show_fixture(fixture: &Fixture) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some(Offset { offset_mm, angle_degrees, lever_mm, place }) = fixture.offset {
        let lever = lever_mm.map_or(String::new(), |lever| format!(", lever {lever} mm"));
        let place = match place {
            Place::BehindAdapter => "between adapter and fastener",
            Place::BeforeAdapter => "before the adapter, so that nothing changes",
        };
        lines.push(format!("Crowfoot {offset_mm} mm at {angle_degrees}°{lever}, {place}."));
    }
    if let Some(UniversalJoint { angle_degrees }) = fixture.universal {
        lines.push(format!("Universal joint, bent by {angle_degrees}° at most."));
    }
    for bar @ Bar { length_mm, diameter_mm } in &fixture.bars {
        let twist = bar.twist_degrees(Torque::from_nm(100.0));
        lines.push(format!(
            "Extension {length_mm} mm, {diameter_mm} mm thick: winds up {twist:.1}° at 100 N·m, torque unchanged."
        ));
    }
    match fixture.effect() {
        Ok(effect) if effect.factor != 1.0 => lines.push(format!(
            "Torque at the fastener is the reading times {:.3}, if one hand pulls.",
            effect.factor
        )),
        Ok(_) => {}
        Err(error) => lines.push(format!("No reading proves anything there: {error}.")),
    }
    lines
}

fn show_prevailing(nut: Prevailing) -> String {
    let mode = match nut.mode {
        PrevailingMode::AsPublished => "the value has its grip in it",
        PrevailingMode::AddMeasured => "measure its grip and add it",
        PrevailingMode::AddIfAThird => "measure its grip; add it from a third of the value on",
    };
    let reuse = match nut.reuse {
        Reuse::Single => "used once",
        Reuse::Limited => "used again while it grips",
        Reuse::Unlimited => "may be used again",
    };
    format!("Prevailing-torque nut: {mode}; {reuse}.")
}

fn show_locker(locker: &Locker) -> String {
    let product = locker.product.as_ref().map_or(String::new(), |name| format!(" {name}"));
    let time = locker
        .working_minutes
        .map_or(String::new(), |minutes| format!(": last pull within {minutes} min"));
    format!("Thread locker{product}{time}.")
}

fn show_recheck(recheck: &Recheck) -> String {
    let method = match recheck.method {
        RecheckMethod::PullToTorque => "pulled to torque without slackening",
        RecheckMethod::BackOffAndPull => "slackened and pulled again",
        RecheckMethod::None => return "No recheck.".to_owned(),
    };
    match &recheck.when {
        Some(when) => format!("Checked again {when}: {method}."),
        None => format!("Checked again: {method}."),
    }
}

/// What belongs to the job beside its joints.
pub(super) fn show_around(text: &mut String, plan: &Plan) {
    let around = &plan.around;
    let mut list = |title: &str, lines: Vec<String>| {
        if lines.is_empty() {
            return;
        }
        let _ = writeln!(text, "\n{title}");
        for line in lines {
            let _ = writeln!(text, "   {line}");
        }
    };
    let found = around.as_found.iter().map(|fact| {
        let compared = fact.compared_at.map(|hold| plan.holds[hold].name.as_str());
        let within = fact.within_mm.map(|mm| format!("within {mm} mm"));
        let again = match (compared, within) {
            (Some(hold), Some(within)) => format!(" Compared at {hold}, {within}."),
            (Some(hold), None) => format!(" Compared at {hold}."),
            (None, Some(within)) => format!(" Compared {within}."),
            (None, None) => String::new(),
        };
        format!("{}: {}{again}", fact.name, fact.text)
    });
    list("To be noted before anything is opened:", found.collect());
    let items = |items: &[Item]| -> Vec<String> {
        items.iter().map(|item| format!("{}: {}", item.name, item.text)).collect()
    };
    list("Opened, too:", items(&around.opened));
    list("Put in, and out again:", items(&around.temporary));
    let closing = around.closing.iter().map(|item| match item.by {
        By::Us => format!("{}: {}", item.name, item.text),
        By::Others => format!("{}: {} By others, who may open joints again.", item.name, item.text),
    });
    list("Before the job is closed:", closing.collect());
}
