//! What a person is told: what is wrong, with the figures, and what to do about it.

use crate::core::plan::{Cure, NoFigure, Window, centre_order};
use crate::core::tracker::images::Alike;
use crate::core::tracker::member::Spoiled;
use crate::core::tracker::rules::access;
use crate::core::tracker::rules::words::remedy;
use crate::core::tracker::scene::Scene;
use crate::core::units::Torque;

pub(super) fn who(scene: &Scene, fastener: Option<usize>, otherwise: &str) -> String {
    fastener.map_or_else(|| otherwise.to_owned(), |fastener| scene.name(fastener))
}

pub(super) fn group(scene: &Scene, step: usize) -> &str {
    &scene.step(step).group
}

/// `21.0 N·m, but 23.4–28.6 N·m is asked`, in the plan's unit and with decimals enough to see why.
pub(super) fn against(window: &Window, nm: f64) -> String {
    let shown = window.compare(Torque::from_nm(nm));
    let unit = shown.unit;
    let asked = match &shown.high {
        Some(high) => format!("{}–{high} {unit}", shown.low),
        None => format!("at least {} {unit}", shown.low),
    };
    format!("{} {unit}, but {asked} is asked", shown.reading)
}

pub(super) fn low(scene: &Scene, fastener: usize, window: &Window, nm: f64) -> String {
    let name = scene.name(fastener);
    format!("{name} was left low: {}. Pull it again.", against(window, nm))
}

pub(super) fn low_somewhere(scene: &Scene, step: usize, window: &Window, nm: f64) -> String {
    format!(
        "One of {} was left low or left out, and which one is not known: the last low pull was {}. Go \
         round once more.",
        group(scene, step),
        against(window, nm)
    )
}

pub(super) fn high(
    scene: &Scene,
    fastener: Option<usize>,
    step: usize,
    window: &Window,
    nm: f64,
) -> String {
    let name = who(scene, fastener, &format!("a fastener of {}", group(scene, step)));
    format!(
        "Stop. {name} is over: {}. A later good pull does not clear it: {}.",
        against(window, nm),
        remedy(scene, step)
    )
}

pub(super) fn order(scene: &Scene, step: usize, pass: usize, pulled: &[u16]) -> String {
    let list = |members: &[u16]| members.iter().map(u16::to_string).collect::<Vec<_>>().join("-");
    let order = scene.order(step, pass);
    let written = list(order.written);
    let asked = match (order.alike, order.mirrored()) {
        (Alike::FromEitherEnd, mirrored) if mirrored != order.written => {
            let way = match is_from_centre(order.written) {
                true => "from the middle outwards",
                false => "as the plan says",
            };
            format!("{way} ({written}, or from the other end {})", list(&mirrored))
        }
        (Alike::FromEitherEnd, _) => format!("as the plan says ({written})"),
        _ => format!("crosswise (the plan says {written})"),
    };
    format!(
        "{} was pulled {}, which is not {asked}. Flat against its seat? If not sure: all back to snug, and again.",
        group(scene, step),
        list(pulled),
    )
}

fn is_from_centre(order: &[u16]) -> bool {
    u16::try_from(order.len()).is_ok_and(|n| centre_order(n) == order)
}

pub(super) fn pass_left_out(scene: &Scene, step: usize, first: usize, pass: usize) -> String {
    let asked = |pass: usize| {
        scene.window(step, pass).map_or_else(String::new, |window| window.target_text())
    };
    format!(
        "{} is pulled straight to {}: pass {} of {} ({}) was left out. Flat against its seat? If not sure: all back to \
         snug, and again.",
        group(scene, step),
        asked(pass),
        first + 1,
        scene.step(step).passes.len(),
        asked(first),
    )
}

pub(super) fn too_early(scene: &Scene, step: usize, first: usize) -> String {
    format!("{} comes before {}, and is not finished.", group(scene, first), group(scene, step))
}

/// Said where a name rests on the assumption that the plan's order was followed.
const BY_PLAN_ORDER: &str = " (going by the plan's order)";

pub(super) fn repeat(
    scene: &Scene,
    fastener: Option<usize>,
    waiting: &[usize],
    doubtful: bool,
) -> String {
    let what = match fastener {
        Some(fastener) => {
            format!("{} was already tight and was pulled again", scene.name(fastener))
        }
        None => "One that was already tight was pulled again".to_owned(),
    };
    let waiting: Vec<String> = waiting.iter().map(|one| scene.name(*one)).collect();
    let which = if doubtful { BY_PLAN_ORDER } else { "" };
    match waiting.is_empty() {
        true => format!("{what}. None of the group is waiting any more{which}."),
        false => format!("{what}. Still waiting: {}{which}.", waiting.join(", ")),
    }
}

pub(super) fn did_not_turn(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let name =
        who(scene, named, &format!("a fastener of {}", group(scene, scene.step_of(fastener))));
    if scene.step(scene.step_of(fastener)).back_off().is_some() {
        return format!(
            "Stop. {name} did not turn: it is still as tight as before. Back it off as the plan says, and pull \
             again."
        );
    }
    format!(
        "Stop. {name} reached torque without turning, and no earlier pull explains it: over-tight from \
         a gun, galled, or not seated. Slacken it, look, and pull again."
    )
}

pub(super) fn skipped(
    scene: &Scene,
    step: usize,
    pass: usize,
    fastener: Option<usize>,
    doubtful: bool,
    suspects: &[(usize, f64)],
) -> String {
    let which = if doubtful { BY_PLAN_ORDER } else { "" };
    let passes = scene.step(step).passes.len();
    let of = if passes > 1 { format!(" in pass {} of {passes}", pass + 1) } else { String::new() };
    match fastener {
        Some(fastener) => {
            format!("{} was left out{of}{which}. Go back to it.", scene.name(fastener))
        }
        None if suspects.is_empty() => format!(
            "One of {} was left out{of}; which one is not known. Go round once more.",
            group(scene, step)
        ),
        None => {
            let each = suspects.iter().map(|(fastener, sure)| {
                format!("{} ({:.0} %)", scene.name(*fastener), sure * 100.0)
            });
            let all: Vec<String> = each.collect();
            format!(
                "One of {} was left out{of}: {}. Go back to those.",
                group(scene, step),
                all.join(" or ")
            )
        }
    }
}

pub(super) fn never_done(scene: &Scene, fastener: usize, pass: usize) -> String {
    let asked = asked(scene, scene.step_of(fastener), pass);
    format!("{} was never brought to torque: {asked}.", scene.name(fastener))
}

pub(super) fn none_done(scene: &Scene, step: usize, pass: usize) -> String {
    let asked = asked(scene, step, pass);
    format!("None of {} was brought to torque: {asked}.", group(scene, step))
}

fn asked(scene: &Scene, step: usize, pass: usize) -> String {
    let within_reach = access::blocked(scene, step).is_none();
    match scene.window(step, pass).filter(|_| within_reach) {
        Some(window) => format!("{} is asked", window.target_text()),
        None => "do it without the adapter and say so".to_owned(),
    }
}

pub(super) fn loosened(scene: &Scene, fastener: Option<usize>) -> String {
    let name = who(scene, fastener, "A finished fastener");
    format!("{name} was turned back after it was finished. It counts as open: pull it again.")
}

pub(super) fn hold_open(scene: &Scene, fastener: usize, hold: usize) -> String {
    let asked = &scene.plan.holds[hold].text;
    let cure = match scene.plan.holds[hold].cure {
        Cure::Slacken => "This pull does not count: slacken, let it settle, confirm, pull again.",
        Cure::PullAgain => "This pull does not count: confirm, then pull again.",
    };
    let name = scene.name(fastener);
    format!("Stop. {name} was pulled before \"{asked}\" was confirmed. {cure}")
}

pub(super) fn without_value(scene: &Scene, named: Option<usize>, fastener: usize) -> String {
    let group = group(scene, scene.step_of(fastener));
    let name = who(scene, named, &format!("a fastener of {group}"));
    format!(
        "Stop. {name} was pulled and its value is still to be looked up: nothing tells whether it is enough. Give the \
         value (value {group} \"26 N·m\"): the pull is judged by it then."
    )
}

pub(super) fn redo_slack(scene: &Scene, fastener: usize, why: Spoiled) -> String {
    let name = scene.name(fastener);
    let Spoiled::Hold(hold) = why else {
        return format!(
            "{name} was pulled while its threads were not as its value asks, and pulling again does not cure it: \
             slacken it, see that they are so now, pull again. A single-use part is spent."
        );
    };
    let hold = &scene.plan.holds[hold].name;
    format!(
        "{name} was pulled before {hold} was confirmed, and pulling again does not cure it: slacken \
         it, let it settle, pull again. A single-use part is spent."
    )
}

pub(super) fn range(adapter: &str, (low, high): (f64, f64), nm: f64) -> String {
    format!(
        "{} is outside what adapter {adapter} measures ({low}–{high} N·m). It does not count: pull \
         with an adapter whose range covers it.",
        Torque::from_nm(nm)
    )
}

pub(super) fn unexpected(peak: Torque) -> String {
    format!("A pull of {peak} fits nothing that is open in the plan.")
}

pub(super) fn unknown_name(name: &str) -> String {
    format!("\"{name}\" is not in the plan; the mark was noted and changes nothing.")
}

pub(super) fn no_figure(fault: &NoFigure) -> String {
    format!("{fault}; the mark was noted and changes nothing.")
}

pub(super) fn not_also(name: &str) -> String {
    format!("\"{name}\" is no new name like \"hose-clip\"; the mark was noted and changes nothing.")
}

pub(super) fn link_lost(adapter: &str) -> String {
    format!(
        "The link to adapter {adapter} is lost. Pulls made now are only heard if it keeps them."
    )
}

pub(super) fn gap(adapter: &str, first: u64, last: u64) -> String {
    if first == last {
        format!("Reading {first} of adapter {adapter} is missing: check what it was for.")
    } else {
        format!(
            "Readings {first} to {last} of adapter {adapter} are missing: check what they were for."
        )
    }
}
