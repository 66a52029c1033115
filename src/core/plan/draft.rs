//! One pass of a joint as written: a figure, or a table.

use crate::core::plan::fault::{Code, Complaint, Faults};
use crate::core::plan::figure::Figure;
use crate::core::plan::holds::Holds;
use crate::core::plan::passes::{Group, passes_fault};
use crate::core::plan::section::{self, Located, Section, Value, wrong_kind};
use crate::core::plan::tolerance::Tolerance;
use crate::core::plan::values;
use toml::de::DeValue;

/// The most passes a joint may have.
const MOST_PASSES: usize = 20;

/// The keys of a pass's table.
pub(super) const PASS_KEYS: [&str; 8] =
    ["target", "tolerance", "hold", "order", "name", "angle", "back-off", "monitor"];

/// A pass as written.
pub(super) struct Draft {
    pub(super) at: usize,
    pub(super) figure: Figure,
    pub(super) tolerance: Option<Tolerance>,
    pub(super) name: Option<String>,
    pub(super) holds: Vec<usize>,
    pub(super) order: Option<Vec<u16>>,
    /// The torque that a turn by angle must end in.
    pub(super) monitor: Option<Located<Figure>>,
}

impl Draft {
    /// With nothing but its figure.
    pub(super) fn plain(at: usize, figure: Figure) -> Self {
        Self {
            at,
            figure,
            tolerance: None,
            name: None,
            holds: Vec::new(),
            order: None,
            monitor: None,
        }
    }

    /// True if it goes back, to adjust a bearing.
    pub(super) fn is_back_off(&self) -> bool {
        matches!(self.figure, Figure::BackOff(_))
    }
}

/// Reads the list of passes. Nothing, and at least one fault, if one of them makes no sense.
pub(super) fn read(
    group: &Group<'_>,
    value: &Value<'_>,
    holds: &mut Holds,
    faults: &mut Faults<'_>,
) -> Option<Vec<Draft>> {
    let DeValue::Array(items) = value.get_ref() else {
        wrong_kind(
            value,
            "passes",
            "a list",
            "write it like `[\"by hand\", \"80 N·m\", \"final\"]`",
            faults,
        );
        return None;
    };
    if items.is_empty() || items.len() > MOST_PASSES {
        faults.error(
            value.span().start,
            Complaint::new(
                Code::Passes,
                format!("expected 1 to {MOST_PASSES} passes, but found {}", items.len()),
                "leave `passes` out for a single pass at the target",
            ),
        );
        return None;
    }
    let drafts: Vec<Option<Draft>> =
        items.iter().map(|item| one(group, item, holds, faults)).collect();
    drafts.into_iter().collect()
}

fn one(
    group: &Group<'_>,
    value: &Value<'_>,
    holds: &mut Holds,
    faults: &mut Faults<'_>,
) -> Option<Draft> {
    let at = value.span().start;
    let DeValue::Table(table) = value.get_ref() else {
        let figure = values::figure(value, "passes", faults)?;
        return Some(Draft::plain(at, figure.value));
    };
    let section = Section::new(table, format!("a pass of `{}`", group.name));
    section.check_keys(&PASS_KEYS, faults);
    let named = section.texts("hold", faults);
    let held = holds.resolve(&named, faults);
    let tolerance = values::tolerance(&section, faults);
    let order = values::order(&section, group.members, faults);
    let name = section.text("name", faults).map(|name| name.value);
    let monitor = section.get("monitor").map(|value| values::figure(value, "monitor", faults));
    let turned = ["angle", "back-off"].iter().find(|key| section.get(key).is_some());
    if let (Some(turned), Some(target)) = (turned, section.get("target")) {
        faults.error(
            target.span().start,
            passes_fault(
                format!("expected `target` or `{turned}` in a pass, but found both"),
                "make two passes of it: first the torque, then the turn",
            ),
        );
        return None;
    }
    if let Some(turned) = turned {
        let figure = turned_figure(&section, turned, faults)?;
        let monitor = match monitor {
            Some(monitor) => Some(monitor?),
            None => None,
        };
        let order = order.map(|order| order.value);
        let tolerance = tolerance.map(|tolerance| tolerance.value);
        return Some(Draft { at, figure, tolerance, name, holds: held, order, monitor });
    }
    if monitor.is_some() {
        faults.error(
            at,
            passes_fault(
                "expected `monitor` only beside `angle`, but found it in another pass".to_owned(),
                "a pass at a torque has its limits in `target` or `tolerance`",
            ),
        );
    }
    let Some(target) = section.get("target") else {
        faults.error(
            at,
            Complaint::new(
                Code::Missing,
                format!("expected a `target` in a pass of `{}`, but found none", group.name),
                "write it like `{ target = \"final\", hold = \"ride-height\" }`",
            ),
        );
        return None;
    };
    Some(Draft {
        at,
        figure: values::figure(target, "target", faults)?.value,
        tolerance: tolerance.map(|tolerance| tolerance.value),
        name,
        holds: held,
        order: order.map(|order| order.value),
        monitor: None,
    })
}

/// The figure under `angle` or `back-off`.
fn turned_figure(section: &Section<'_, '_>, key: &str, faults: &mut Faults<'_>) -> Option<Figure> {
    let value = section.get(key)?;
    if key == "back-off" && value.get_ref().as_bool() == Some(true) {
        return Some(Figure::BackOff(None));
    }
    let text = section::text(value, key, faults)?;
    let whole = if key == "angle" { text.value } else { format!("back off {}", text.value) };
    match Figure::parse(&whole) {
        Ok(figure @ (Figure::Angle(_) | Figure::BackOff(_))) => Some(figure),
        Ok(_) => {
            let message = format!("expected an angle for `{key}`, but found another figure");
            let complaint = Complaint::new(Code::Measure, message, "write it like `45°`");
            faults.error(text.at, complaint);
            None
        }
        Err(complaint) => {
            faults.error(text.at, complaint);
            None
        }
    }
}
