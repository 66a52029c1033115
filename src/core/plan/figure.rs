//! Figures as a plan states them: `228 N·m ±5 %`, `228 ± 10 N·m`, `32..44 N·m`, `min 32 N·m`, `none`, `?`.

use crate::core::plan::Window;
use crate::core::plan::fault::{Code, Complaint, short};
use crate::core::plan::measure;
use crate::core::plan::tolerance::Tolerance;
use crate::core::units::{StatedTorque, parse_number, split_number};

/// No joint that a hand tightens with an adapter in line needs less or more, N·m.
const SMALLEST_NM: f64 = 0.01;
const LARGEST_NM: f64 = 5000.0;

/// No joint is turned further in one pass, degrees: two turns.
const MOST_DEGREES: f64 = 720.0;

/// What a plan says of how tight.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Figure {
    /// `by hand`.
    ByHand,
    /// `none`: no figure is published.
    None,
    /// `?`: still to be looked up.
    LookUp,
    /// `check`: a round at the final window.
    Check,
    /// `final`: the joint's own target.
    Final,
    /// `50 %`: of the joint's own target.
    Share(f64),
    /// `45°`: so far on from the target.
    Angle(f64),
    /// `back off 90°`: so far back, if it says how far.
    BackOff(Option<f64>),
    /// A torque.
    Amount(Amount),
}

/// A torque with what the text says about its limits.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Amount {
    pub(super) stated: StatedTorque,
    pub(super) limits: Limits,
}

/// What a figure's own text says about its limits. Numbers are in the figure's unit.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Limits {
    /// Nothing: a tolerance from elsewhere applies.
    Unsaid,
    /// A tolerance.
    Tolerance(Tolerance),
    /// The target is the least; the most, if there is one.
    AtLeast(Option<f64>),
    /// Least and most.
    Between(f64, f64),
}

impl Amount {
    /// The window, with `fallback` where the figure says no limits itself.
    pub(super) fn window(&self, fallback: &Tolerance) -> Result<Window, Complaint> {
        let target = self.stated.value;
        let (low, high) = match &self.limits {
            Limits::Unsaid => {
                let (low, high) = fallback.limits(&self.stated);
                (low, Some(high))
            }
            Limits::Tolerance(tolerance) => {
                let (low, high) = tolerance.limits(&self.stated);
                (low, Some(high))
            }
            Limits::AtLeast(high) => (target, *high),
            Limits::Between(low, high) => (*low, Some(*high)),
        };
        let window = Window::from_limits(self.stated.clone(), low, high);
        if window.low.nm() <= 0.0 {
            return Err(Complaint::new(
                Code::Tolerance,
                format!(
                    "expected a window above zero, but found a tolerance that takes {} down to {low:.2}",
                    self.stated
                ),
                "give a smaller tolerance",
            ));
        }
        Ok(window)
    }
}

impl Figure {
    /// Reads a figure.
    pub(super) fn parse(text: &str) -> Result<Self, Complaint> {
        let text = text.trim();
        Ok(match text.to_lowercase().as_str() {
            "by hand" | "hand" | "by-hand" | "snug" | "hand snug" => Self::ByHand,
            "none" => Self::None,
            "?" => Self::LookUp,
            "check" | "check round" => Self::Check,
            "final" | "target" => Self::Final,
            "" => {
                return Err(Complaint::new(
                    Code::Figure,
                    "expected a torque, but found an empty text",
                    "write `\"?\"` if the value is still to be looked up",
                ));
            }
            lower => match share(text).or_else(|| turn(lower)) {
                Some(figure) => figure?,
                None => Self::Amount(amount(text)?),
            },
        })
    }
}

/// `50 %`, or nothing if the text is of another form.
fn share(text: &str) -> Option<Result<Figure, Complaint>> {
    let number = text.strip_suffix('%')?.trim_end();
    let plain =
        number.starts_with(|c: char| c.is_ascii_digit()) && split_number(number).1.is_empty();
    plain.then(|| match parse_number(number) {
        Ok(value) if value < 100.0 => Ok(Figure::Share(value)),
        Ok(_) => Err(Complaint::new(
            Code::Figure,
            format!("expected a share below 100 % of the target, but found `{text}`"),
            "write `final` for the whole target",
        )),
        Err(error) => Err(unit_complaint(&error.to_string())),
    })
}

/// `45°`, `+45 deg`, `back off`, `back off 90°`; or nothing if the text is of another form.
fn turn(lower: &str) -> Option<Result<Figure, Complaint>> {
    let back = ["back off", "back-off", "slacken"].iter().find_map(|word| lower.strip_prefix(word));
    let (text, back) = match back {
        Some(rest) if rest.trim().is_empty() => return Some(Ok(Figure::BackOff(None))),
        Some(rest) => (rest.trim(), true),
        None => (lower.trim_start_matches(['+', ' ']), false),
    };
    let is_angle = ["°", "deg", "degree", "degrees"].iter().any(|unit| text.ends_with(unit));
    (back || is_angle).then(|| {
        let degrees = measure::degrees(text)?;
        if degrees <= 0.0 || degrees > MOST_DEGREES {
            return Err(Complaint::new(
                Code::Figure,
                format!("expected an angle of up to {MOST_DEGREES}°, but found `{}`", short(lower)),
                "write it like `45°`, one pass an angle",
            ));
        }
        Ok(if back { Figure::BackOff(Some(degrees)) } else { Figure::Angle(degrees) })
    })
}

fn amount(text: &str) -> Result<Amount, Complaint> {
    let lower = text.to_lowercase();
    if lower.starts_with("max") || text.starts_with(['≤', '<']) {
        return Err(Complaint::new(
            Code::Figure,
            format!("expected a least torque, but found only a most: `{}`", short(text)),
            "write both, like `32..44 N·m`; the least is what makes a joint hold",
        ));
    }
    let least = ["minimum", "min.", "min", "at least", "≥", ">="]
        .iter()
        .find_map(|word| lower.starts_with(word).then(|| text.get(word.len()..)).flatten());
    if let Some(rest) = least {
        return at_least(rest);
    }
    if let Some((low, high)) = range_parts(text) {
        return between(low, high);
    }
    let Some(sign) = tolerance_start(text) else {
        return Ok(Amount { stated: torque(text)?, limits: Limits::Unsaid });
    };
    let (main, rest) = text.split_at(sign);
    let tolerance = Tolerance::parse(rest)?;
    let (_, unit) = split_number(main);
    let stated = match (unit.is_empty(), tolerance.unit()) {
        (true, Some(unit)) => torque(&format!("{main} {unit}"))?,
        _ => torque(main)?,
    };
    if let Some(unit) = tolerance.unit()
        && unit != stated.unit
    {
        return Err(Complaint::new(
            Code::Tolerance,
            format!("expected the tolerance in {} like the torque, but found {unit}", stated.unit),
            "use one unit for both",
        ));
    }
    Ok(Amount { stated, limits: Limits::Tolerance(tolerance) })
}

fn at_least(rest: &str) -> Result<Amount, Complaint> {
    let split = rest.to_lowercase().find("max");
    let (low, high) = match split.and_then(|index| rest.get(index..).map(|high| (index, high))) {
        Some((index, high)) => (rest.get(..index).unwrap_or(rest), Some(high)),
        None => (rest, None),
    };
    let low = low.trim().trim_end_matches(',').trim_end();
    let Some(high) = high else {
        let stated = torque(low)?;
        return Ok(Amount { stated, limits: Limits::AtLeast(None) });
    };
    let high = high.get(3..).unwrap_or_default();
    let high = high.trim_start_matches("imum").trim_start_matches('.');
    let Amount { stated, limits } = between(low, high)?;
    let Limits::Between(low, high) = limits else {
        return Ok(Amount { stated, limits });
    };
    Ok(Amount {
        stated: StatedTorque { value: low, unit: stated.unit },
        limits: Limits::AtLeast(Some(high)),
    })
}

/// The target of a range is its middle.
fn between(low: &str, high: &str) -> Result<Amount, Complaint> {
    let high = torque(high)?;
    let unit = high.unit;
    let low = if split_number(low).1.is_empty() {
        torque(&format!("{low} {unit}"))?
    } else {
        torque(low)?
    };
    if low.unit != unit {
        return Err(Complaint::new(
            Code::Figure,
            format!("expected one unit for both ends, but found {} and {unit}", low.unit),
            "write both ends in the same unit",
        ));
    }
    if low.value >= high.value {
        return Err(Complaint::new(
            Code::Figure,
            format!(
                "expected the lower end first, but found {} and then {}",
                low.value, high.value
            ),
            "write the lower end first, like `32..44 N·m`",
        ));
    }
    Ok(Amount {
        stated: StatedTorque { value: ((low.value + high.value) / 2.0 * 1e9).round() / 1e9, unit },
        limits: Limits::Between(low.value, high.value),
    })
}

/// The two sides of `32..44`, `32 to 44`, `32–44` or `32-44`, if the text is a range.
fn range_parts(text: &str) -> Option<(&str, &str)> {
    for sign in ["...", "..", "…", " to "] {
        if let Some((low, high)) = text.split_once(sign) {
            return Some((low.trim(), high.trim()));
        }
    }
    let bytes = text.as_bytes();
    text.match_indices(['-', '–']).find_map(|(index, sign)| {
        let before = text[..index].trim_end();
        let after = text[index + sign.len()..].trim_start();
        let digits = before.bytes().last().is_some_and(|b| b.is_ascii_digit())
            && after.bytes().next().is_some_and(|b| b.is_ascii_digit());
        // A minus that belongs to a tolerance stands behind its plus.
        (digits && !bytes[..index].contains(&b'+')).then_some((before, after))
    })
}

fn tolerance_start(text: &str) -> Option<usize> {
    text.char_indices().skip(1).find(|(_, c)| matches!(c, '±' | '+')).map(|(index, _)| index)
}

/// A torque within reason.
pub(super) fn torque(text: &str) -> Result<StatedTorque, Complaint> {
    let stated: StatedTorque = text
        .parse()
        .map_err(|error: crate::core::units::UnitError| unit_complaint(&error.to_string()))?;
    if stated.torque().nm() > LARGEST_NM {
        return Err(Complaint::new(
            Code::Figure,
            format!("expected at most {LARGEST_NM} N·m, but found {stated}"),
            "look at the unit and at the decimal sign",
        ));
    }
    if stated.torque().nm() < SMALLEST_NM {
        return Err(Complaint::new(
            Code::Figure,
            format!("expected at least {SMALLEST_NM} N·m, but found {stated}"),
            "look at the unit and at the decimal sign",
        ));
    }
    Ok(stated)
}

/// A unit error's text ends in its own remedy behind the semicolon.
pub(super) fn unit_complaint(text: &str) -> Complaint {
    let (message, remedy) = text.split_once("; ").unwrap_or((text, "write it like `228 N·m`"));
    Complaint::new(Code::Figure, message, remedy)
}
