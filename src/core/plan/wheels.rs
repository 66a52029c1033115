//! The plan of a job on wheels alone, written from a few words.

use crate::core::recheck::WHEEL;
use std::fmt::Write as _;

/// The most wheels that one such plan holds.
pub const MOST_WHEELS: usize = 4;

/// What is known of the wheels.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wheels {
    /// Studs (or bolts) of each wheel.
    pub studs: u16,
    /// A figure as plans state it, `165 N·m`.
    pub target: String,
    /// As plans state it; ±10 % where none is given.
    pub tolerance: Option<String>,
    /// Where the figure comes from.
    pub source: Option<String>,
    /// When to pull again, as plans state it; what is usual where none is given.
    pub recheck: Option<String>,
    /// One name a wheel.
    pub names: Vec<String>,
}

/// Names for so many wheels where nobody gave any: corners for four, sides for two.
#[must_use]
pub fn wheel_names(count: usize) -> Vec<String> {
    let names: &[&str] = match count {
        0 | 1 => &["wheel"],
        2 => &["left", "right"],
        3 => &["wheel-1", "wheel-2", "wheel-3"],
        _ => &["front-left", "front-right", "rear-left", "rear-right"],
    };
    names.iter().map(|name| (*name).to_owned()).collect()
}

/// The text of the plan: snug by hand, the star at the target with the tyre just touching, and a check
/// round. Whatever is wrong with the words in it is for [`parse`](crate::core::plan::parse) to find.
#[must_use]
pub fn wheels_text(wheels: &Wheels) -> String {
    let Wheels { studs, target, tolerance, source, recheck, names } = wheels;
    let usual = WHEEL.to_string();
    let mut text = String::new();
    let mut line = |key: &str, value: &str| {
        let _ = writeln!(text, "{key} = {}", quoted(value));
    };
    match names.as_slice() {
        [_] => line("plan", "One wheel"),
        _ => line("plan", &format!("Wheels: {}", names.join(", "))),
    }
    line("tolerance", tolerance.as_deref().unwrap_or("±10 %"));
    if let Some(source) = source {
        line("source", source);
    }
    text.push_str("\n[holds]\n");
    for name in names {
        let ask = format!("{name}: tyre just touching the ground, vehicle chocked?");
        let _ = writeln!(
            text,
            "{} = {{ ask = {}, cure = \"pull-again\" }}",
            quoted(&hold(name)),
            quoted(&ask)
        );
    }
    for name in names {
        let _ = writeln!(
            text,
            "\n[joints.{}]\nring = {studs}\ntarget = {}\nrecheck = {}\n\
             passes = [\"by hand\", {{ target = \"final\", hold = {} }}, \"check\"]\n\
             notes = [\"faces clean and dry\", \"every nut started by hand\", \
             \"recheck after the distance that the maker states\"]",
            quoted(name),
            quoted(target),
            quoted(recheck.as_deref().unwrap_or(&usual)),
            quoted(&hold(name)),
        );
    }
    text
}

fn hold(name: &str) -> String {
    format!("{name}-down")
}

/// A TOML basic string (TOML 1.0, "String"), which is also a quoted key.
fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}
