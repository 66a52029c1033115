//! One entry of `[joints]`: a line, or a table where the joint needs more.

use crate::core::plan::fault::{Code, Complaint, Faults, short};
use crate::core::plan::figure::{Amount, Figure, Limits};
use crate::core::plan::holds::Holds;
use crate::core::plan::order::cross_order;
use crate::core::plan::passes::{self, Group};
use crate::core::plan::section::{Located, Section, Value, wrong_kind};
use crate::core::plan::tolerance::Tolerance;
use crate::core::plan::{Expect, Identity, Pattern, Step, rules_read, values};
use crate::core::units::split_number;
use toml::de::{DeTable, DeValue};

/// The most fasteners in one group.
const MOST_MEMBERS: u16 = 64;

/// The keys of a joint's table.
pub(super) const KEYS: [&str; 23] = [
    "title",
    "ring",
    "line",
    "pitch-circle",
    "target",
    "tolerance",
    "passes",
    "order",
    "hold",
    "after",
    "sides",
    "socket",
    "thread",
    "class",
    "condition",
    "life-critical",
    "identity",
    "turned-to-reach",
    "no-recheck",
    "left-hand",
    "by-hand-only",
    "notes",
    "source",
];

/// What a joint takes over from the top of the file.
pub(super) struct Common<'c> {
    pub(super) tolerance: Tolerance,
    pub(super) source: Option<&'c str>,
}

/// A joint whose `after` is still a list of names.
pub(super) struct Joint {
    pub(super) step: Step,
    pub(super) at: usize,
    pub(super) after: Vec<Located<String>>,
    pub(super) sides: bool,
    /// True if the common tolerance made one of its windows.
    pub(super) leans_on_tolerance: bool,
}

/// Reads one joint. Nothing, and at least one fault, if it makes no sense.
pub(super) fn read(
    name: &str,
    at: usize,
    value: &Value<'_>,
    common: &Common<'_>,
    holds: &mut Holds,
    faults: &mut Faults<'_>,
) -> Option<Joint> {
    let empty = DeTable::new();
    let (table, line) = match value.get_ref() {
        DeValue::Table(table) => (table, None),
        DeValue::Array(_) | DeValue::Boolean(_) | DeValue::Datetime(_) => {
            let remedy = format!("write it like `{} = \"228 N·m\"`", short(name));
            wrong_kind(value, name, "a torque or a table", &remedy, faults);
            return None;
        }
        DeValue::String(_) | DeValue::Integer(_) | DeValue::Float(_) => {
            (&empty, Some(values::figure(value, name, faults)))
        }
    };
    let section = Section::new(table, format!("the joint `{}`", short(name)));
    let all_known = section.check_keys(&[&KEYS[..], &rules_read::KEYS[..]].concat(), faults);
    let stated = line.or_else(|| {
        let value = section.get("target")?;
        Some(values::figure(value, "target", faults))
    });
    let unread = matches!(stated, Some(None));
    let target = stated.flatten();
    let target_fits = check_target(target.as_ref(), faults);
    let shape = shape(&section, all_known, faults);
    let members = shape.map(|shape| shape.members);
    let tolerance = values::tolerance(&section, faults);
    check_limits_once(target.as_ref(), tolerance.as_ref(), faults);
    let order = values::order(&section, members.filter(|members| *members > 1), faults);
    let mut rules = rules_read::read(&section, faults);
    // A pinned nut is not pulled again, whatever the file says.
    let no_recheck = section.flag("no-recheck", false, faults) | rules.castle.is_some();
    let named_holds = section.texts("hold", faults);
    let step_holds = holds.resolve(&named_holds, faults);
    let details = Details::read(&section, common, faults);
    rules.thread = details.size.as_deref().and_then(|text| text.parse().ok());
    rules.grade = details.class.as_deref().and_then(|text| text.parse().ok());
    rules.by_hand_only = details.by_hand_only;
    let after = section.texts("after", faults);
    let sides = section.flag("sides", false, faults);
    let pattern = shape.map_or(Pattern::Single, |shape| shape.pattern);
    let group = Group {
        name,
        at,
        members,
        ordered: order.is_some() || pattern == Pattern::Ring,
        order: order.map_or_else(
            || match pattern {
                Pattern::Ring => cross_order(members.unwrap_or(1)),
                Pattern::Single | Pattern::Line => (1..=members.unwrap_or(1)).collect(),
            },
            |order| order.value,
        ),
        tolerance: tolerance.as_ref().map_or(common.tolerance, |tolerance| tolerance.value),
        readable: target_fits && !unread && shape.is_some(),
        target,
        no_recheck,
    };
    let passes = passes::read(&group, section.get("passes"), holds, faults)?;
    let Shape { pattern, members, pitch_circle_mm } = shape?;
    if passes.list.iter().any(|pass| pass.expect == Expect::ToBeLookedUp) {
        faults.note(
            group.target.as_ref().map_or(at, |target| target.at),
            Complaint::new(
                Code::LookUp,
                format!("expected a torque for `{name}`, but found `?`"),
                "it will be asked for before this joint is pulled",
            ),
        );
    }
    Some(Joint {
        step: Step {
            group: name.to_owned(),
            title: details.title,
            pattern,
            members,
            pitch_circle_mm,
            passes: passes.list,
            holds: step_holds,
            after: Vec::new(),
            life_critical: details.life_critical,
            identity: details.identity,
            turned_to_reach: details.turned_to_reach,
            no_recheck: no_recheck || passes.angled,
            left_hand: details.left_hand,
            source: details.source,
            socket: details.socket,
            thread: details.thread,
            condition: details.condition,
            notes: details.notes,
            rules,
        },
        at,
        after,
        sides,
        leans_on_tolerance: tolerance.is_none() && passes.lean_on_tolerance,
    })
}

/// How many fasteners, and how they lie.
#[derive(Clone, Copy)]
struct Shape {
    pattern: Pattern,
    members: u16,
    pitch_circle_mm: Option<f64>,
}

/// `all_known`: no key of the section was unknown, so that a missing `ring` is not a misspelt one.
fn shape(section: &Section<'_, '_>, all_known: bool, faults: &mut Faults<'_>) -> Option<Shape> {
    let ring = section.get("ring").map(|_| section.count("ring", MOST_MEMBERS, faults));
    let line = section.get("line").map(|_| section.count("line", MOST_MEMBERS, faults));
    let pitch_circle = pitch_circle(section, faults);
    let fault = |at: usize, message: &str, remedy: &str, faults: &mut Faults<'_>| {
        faults.error(at, Complaint::new(Code::Pattern, message, remedy));
    };
    if let Some(pitch) = pitch_circle.as_ref()
        && ring.is_none()
    {
        let message =
            format!("expected `pitch-circle` only with `ring`, but found it in {}", section.what);
        fault(
            pitch.at,
            &message,
            "add `ring = ` and the number of fasteners, or remove it",
            faults,
        );
    }
    let (pattern, count) = match (ring, line) {
        (Some(_), Some(_)) => {
            let at = section.get("line").map_or(0, |line| line.span().start);
            fault(
                at,
                "expected `ring` or `line`, but found both",
                "keep the one that fits",
                faults,
            );
            return None;
        }
        (Some(ring), None) => (Pattern::Ring, ring?),
        (None, Some(line)) => (Pattern::Line, line?),
        (None, None) => {
            if let Some(order) = section.get("order").filter(|_| all_known) {
                let message = format!(
                    "expected `order` only with `ring` or `line`, but found it in {}",
                    section.what
                );
                fault(
                    order.span().start,
                    &message,
                    "add `ring = ` and the number of fasteners",
                    faults,
                );
            }
            return Some(Shape { pattern: Pattern::Single, members: 1, pitch_circle_mm: None });
        }
    };
    if pattern == Pattern::Ring && count.value < 2 {
        fault(
            count.at,
            "expected 2 or more in a ring, but found 1",
            "leave `ring` out for a single fastener",
            faults,
        );
        return None;
    }
    Some(Shape {
        pattern: if count.value == 1 { Pattern::Single } else { pattern },
        members: count.value,
        pitch_circle_mm: pitch_circle.map(|pitch| pitch.value),
    })
}

/// The pitch circle in millimetres, from text such as `130 mm` or `5.5 in`.
fn pitch_circle(section: &Section<'_, '_>, faults: &mut Faults<'_>) -> Option<Located<f64>> {
    let text = section.text("pitch-circle", faults)?;
    let (number, unit) = split_number(&text.value);
    let factor = match unit.to_lowercase().as_str() {
        "mm" => Some(1.0),
        "cm" => Some(10.0),
        "in" | "\"" | "″" => Some(25.4),
        _ => None,
    };
    let millimetres = crate::core::units::parse_number(number)
        .ok()
        .zip(factor)
        .map(|(number, factor)| number * factor);
    match millimetres {
        Some(value) if (5.0..=2000.0).contains(&value) => Some(Located { value, at: text.at }),
        _ => {
            faults.error(
                text.at,
                Complaint::new(
                    Code::Pattern,
                    format!(
                        "expected a diameter of 5 to 2000 mm for `pitch-circle`, but found `{}`",
                        short(&text.value)
                    ),
                    "write it like `130 mm` or `5.5 in`, or leave it out",
                ),
            );
            None
        }
    }
}

/// What does not bear on torque.
struct Details {
    title: Option<String>,
    life_critical: bool,
    identity: Identity,
    turned_to_reach: bool,
    left_hand: bool,
    source: Option<String>,
    socket: Option<String>,
    thread: Option<String>,
    /// The thread alone, and the class alone, as written.
    size: Option<String>,
    class: Option<String>,
    condition: Option<String>,
    by_hand_only: bool,
    notes: Vec<String>,
}

impl Details {
    fn read(section: &Section<'_, '_>, common: &Common<'_>, faults: &mut Faults<'_>) -> Self {
        let mut text = |key: &str| section.text(key, faults).map(|text| text.value);
        let (title, socket, condition) = (text("title"), text("socket"), text("condition"));
        let source = text("source").or_else(|| common.source.map(str::to_owned));
        let (size, class) = (text("thread"), text("class"));
        let thread = match (&size, &class) {
            (Some(thread), Some(class)) => Some(format!("{thread}, class {class}")),
            (None, Some(class)) => Some(format!("class {class}")),
            (thread, None) => thread.clone(),
        };
        let mut notes: Vec<String> = section
            .texts("notes", faults)
            .into_iter()
            .map(|note| note.value)
            .filter(|note| !note.is_empty())
            .collect();
        let by_hand_only = section.flag("by-hand-only", false, faults);
        if by_hand_only {
            notes.insert(0, "By hand only: no impact tool.".to_owned());
        }
        Self {
            title,
            life_critical: section.flag("life-critical", true, faults),
            identity: identity(section, faults),
            turned_to_reach: section.flag("turned-to-reach", false, faults),
            left_hand: section.flag("left-hand", false, faults),
            source,
            socket,
            thread,
            size,
            class,
            condition,
            by_hand_only,
            notes,
        }
    }
}

fn identity(section: &Section<'_, '_>, faults: &mut Faults<'_>) -> Identity {
    let Some(text) = section.text("identity", faults) else {
        return Identity::Counted;
    };
    match text.value.as_str() {
        "counted" => Identity::Counted,
        "shown" => Identity::Shown,
        other => {
            faults.error(
                text.at,
                Complaint::new(
                    Code::Kind,
                    format!("expected `counted` or `shown` for `identity`, but found `{}`", short(other)),
                    "`counted`: the right number of good pulls is enough; `shown`: each fastener must be shown",
                ),
            );
            Identity::Counted
        }
    }
}

fn check_target(target: Option<&Located<Figure>>, faults: &mut Faults<'_>) -> bool {
    let Some(Located {
        value:
            Figure::Check | Figure::Final | Figure::Share(_) | Figure::Angle(_) | Figure::BackOff(_),
        at,
    }) = target
    else {
        return true;
    };
    faults.error(
        *at,
        Complaint::new(
            Code::Figure,
            "expected a torque for the target, but found what only a pass can be",
            "write it like `228 N·m`",
        ),
    );
    false
}

fn check_limits_once(
    target: Option<&Located<Figure>>,
    tolerance: Option<&Located<Tolerance>>,
    faults: &mut Faults<'_>,
) {
    if let Some(Located { value: Figure::Amount(Amount { limits, .. }), .. }) = target
        && let Some(tolerance) = tolerance
        && *limits != Limits::Unsaid
    {
        faults.error(
            tolerance.at,
            Complaint::new(
                Code::Tolerance,
                "expected the limits once, but found them in the target and in `tolerance`",
                "keep one of the two",
            ),
        );
    }
}
