//! Values for a plan, one a line, as people type or paste them: `hub-nut 228 N·m`, `Hub nut: 228 Nm ±5 %`,
//! `wheel;6 x 165;N·m`, `slide-pins ?`, `bar-link -`.

use crate::core::plan::fault::{Complaint, Fault, is_unprintable, short};
use crate::core::plan::figure::Figure;
use crate::core::plan::names;
use crate::core::plan::tolerance::Tolerance;
use std::fmt;

/// A line and where it was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TypedLine {
    /// As it is named in messages: `values.txt:3`, `--set`.
    pub place: String,
    /// The line.
    pub text: String,
}

/// What is wrong with something that was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where.
    pub place: String,
    /// What was expected and what was found.
    pub message: String,
    /// What to do about it.
    pub remedy: String,
}

/// A joint that values can be given for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Known {
    pub(super) name: String,
    /// The title, tidied into a name.
    pub(super) title: Option<String>,
    pub(super) sides: bool,
}

/// What a line says.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Given {
    /// A joint's figure, and how many fasteners if that was said.
    Value { joint: String, count: Option<u16>, text: String, figure: Figure },
    /// The joint is to be left out.
    LeaveOut { joint: String },
    /// A key at the top of the plan.
    Top { key: &'static str, text: String },
}

/// The keys at the top that a line may give.
const TOP: [&str; 3] = ["tolerance", "source", "vehicle"];

/// The lines of a text, up to one that is only a dot: that ends a list typed by hand.
#[must_use]
pub fn typed_lines(from: &str, text: &str) -> Vec<TypedLine> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    text.lines()
        .take_while(|line| line.trim() != ".")
        .enumerate()
        .map(|(index, line)| TypedLine {
            place: format!("{from}:{}", index + 1),
            text: line.to_owned(),
        })
        .collect()
}

/// What the lines say, and everything that is wrong with them.
pub(super) fn read(lines: &[TypedLine], known: &[Known]) -> (Vec<Given>, Vec<Problem>) {
    let (mut given, mut problems) = (Vec::<Given>::new(), Vec::new());
    let mut places: Vec<&str> = Vec::new();
    for line in lines {
        let text = line.text.trim();
        if text.is_empty() || text.starts_with('#') {
            continue;
        }
        match one(text, known) {
            Ok(new) => {
                if let Some(first) = given.iter().position(|old| old.about() == new.about()) {
                    if given[first] != new {
                        problems.push(line.problem(again(new.about(), places[first])));
                    }
                    continue;
                }
                given.push(new);
                places.push(&line.place);
            }
            Err(complaint) => problems.push(line.problem(complaint)),
        }
    }
    (given, problems)
}

/// The joint of that name or title.
pub(super) fn find<'k>(name: &str, known: &'k [Known]) -> Option<&'k Known> {
    let name = names::tidy(name);
    known
        .iter()
        .find(|joint| joint.name == name)
        .or_else(|| known.iter().find(|joint| joint.title.as_deref() == Some(name.as_str())))
}

/// Nothing carries that name.
pub(super) fn unknown(name: &str, known: &[Known]) -> Complaint {
    let tidied = names::tidy(name);
    let all: Vec<&str> = known.iter().map(|joint| joint.name.as_str()).collect();
    let one_of_two = known.iter().find(|joint| {
        joint.sides && [Some("-left"), Some("-right")].contains(&tidied.strip_prefix(&*joint.name))
    });
    let part = || {
        let inside =
            |name: &&&str| tidied.len() > 2 && (name.contains(&*tidied) || tidied.contains(**name));
        let mut fits = all.iter().filter(inside);
        fits.next().filter(|_| fits.next().is_none())
    };
    let remedy = if let Some(joint) = one_of_two {
        format!("both sides take one value: write `{}`", joint.name)
    } else if let (None, Some(name)) = (names::nearest(name, &all), part()) {
        format!("did you mean `{name}`?")
    } else {
        names::did_you_mean(name, &all)
    };
    complaint(format!("expected the name of a joint, but found `{}`", short(name)), remedy)
}

fn one(text: &str, known: &[Known]) -> Result<Given, Complaint> {
    if text.chars().any(|c| is_unprintable(c) && c != '\t') {
        return Err(complaint(
            "expected one line of plain text, but found a control character",
            "write it again by hand",
        ));
    }
    let text = without_bullet(text);
    let plain = plain(text);
    let words: Vec<&str> = plain.split(' ').filter(|word| !word.is_empty()).collect();
    let mut first_fault = None;
    // The longest name that fits and leaves a value: a name may begin another.
    for split in (1..=words.len()).rev() {
        if let Some(joint) = find(&words[..split].join("-"), known) {
            match value(&joint.name, &words[split..].join(" ")) {
                Ok(given) => return Ok(given),
                Err(fault) => first_fault = first_fault.or(Some(fault)),
            }
        }
    }
    if let Some(fault) = first_fault {
        return Err(fault);
    }
    if let Some(given) = top(text) {
        return given;
    }
    let starts_value = |word: &&str| -> bool {
        word.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '?' | '≥' | '>' | '±'))
            || ["min", "min.", "none", "by"].contains(&word.to_lowercase().as_str())
    };
    match words.iter().position(starts_value) {
        Some(0) => Err(complaint(
            format!("expected the name of a joint first, but found `{}`", short(&plain)),
            "write it like `hub-nut 228 N·m`",
        )),
        split => Err(unknown(&words[..split.unwrap_or(words.len())].join(" "), known)),
    }
}

/// What follows the name of a joint.
fn value(joint: &str, text: &str) -> Result<Given, Complaint> {
    let joint = joint.to_owned();
    if text.is_empty() {
        return Err(complaint(
            format!("expected a value for `{joint}`, but found none"),
            format!("write it like `{joint} 228 N·m`; `?` if it is still to be looked up"),
        ));
    }
    if ["-", "–", "—"].contains(&text) {
        return Ok(Given::LeaveOut { joint });
    }
    let (count, text) = count(text)?;
    let figure = Figure::parse(text)?;
    match &figure {
        Figure::Amount(amount) => {
            // Only limits of its own can leave no window; others are looked at with the whole plan.
            amount.window(&Tolerance::per_cent(0.0))?;
        }
        Figure::Check
        | Figure::Final
        | Figure::Share(_)
        | Figure::Angle(_)
        | Figure::BackOff(_) => {
            return Err(complaint(
                format!("expected a torque for `{joint}`, but found `{}`", short(text)),
                "write it like `228 N·m`; shares belong in the passes of the plan",
            ));
        }
        Figure::ByHand | Figure::None | Figure::LookUp => {}
    }
    Ok(Given::Value { joint, count, text: text.to_owned(), figure })
}

/// `6 × ` in front of a value.
fn count(text: &str) -> Result<(Option<u16>, &str), Complaint> {
    let digits = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let (number, rest) = text.split_at(digits);
    let Some(rest) = rest.trim_start().strip_prefix(['x', 'X', '×', '*']).map(str::trim_start)
    else {
        return Ok((None, text));
    };
    match number.parse() {
        Ok(count @ 1..) => Ok((Some(count), rest)),
        _ => Err(complaint(
            format!("expected how many fasteners before the ×, but found `{}`", short(number)),
            "write it like `6 × 165 N·m`",
        )),
    }
}

/// `tolerance ±8 %`, `source: workshop sheet 31-04`.
fn top(text: &str) -> Option<Result<Given, Complaint>> {
    let end = text.find(|c: char| !c.is_ascii_alphabetic()).unwrap_or(text.len());
    let key = TOP.into_iter().find(|key| key.eq_ignore_ascii_case(&text[..end]))?;
    let rest = text[end..].trim_matches(|c: char| c.is_whitespace() || "=:;\"“”".contains(c));
    Some(top_value(key, rest).map(|()| Given::Top { key, text: rest.to_owned() }))
}

/// Whether a text may stand at the top under that key.
pub(super) fn top_value(key: &str, text: &str) -> Result<(), Complaint> {
    if text.trim().is_empty() {
        return Err(complaint(
            format!("expected a text for `{key}`, but found none"),
            "write it, or leave it out",
        ));
    }
    if key == "tolerance" { Tolerance::parse(text).map(drop) } else { Ok(()) }
}

/// Without `- `, `• `, `3. ` or `3) ` in front.
fn without_bullet(text: &str) -> &str {
    if let Some(rest) = ["- ", "• ", "* "].iter().find_map(|bullet| text.strip_prefix(bullet)) {
        return rest.trim_start();
    }
    let rest = text.trim_start_matches(|c: char| c.is_ascii_digit());
    match rest.strip_prefix(['.', ')']) {
        Some(after) if rest.len() < text.len() && after.starts_with([' ', '\t']) => after.trim(),
        _ => text,
    }
}

/// Signs between name, value and unit as spaces. A comma between digits is a decimal sign.
fn plain(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let is_digit = |index: Option<usize>| {
        index.and_then(|index| chars.get(index)).is_some_and(char::is_ascii_digit)
    };
    let parts = chars.iter().enumerate().map(|(index, c)| match c {
        '\t' | ';' | '|' | '=' | ':' | '"' | '“' | '”' | '\u{a0}' | '\u{202f}' => ' ',
        ',' if !(is_digit(index.checked_sub(1)) && is_digit(Some(index + 1))) => ' ',
        c => *c,
    });
    let spaced: String = parts.collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn again(about: &str, first: &str) -> Complaint {
    complaint(
        format!("expected `{about}` once, but found it again with another value"),
        format!("keep this line or the one at {first}"),
    )
}

/// The plan's fault codes have no meaning here.
fn complaint(message: impl Into<String>, remedy: impl Into<String>) -> Complaint {
    Complaint::new(crate::core::plan::Code::Figure, message, remedy)
}

impl Given {
    fn about(&self) -> &str {
        match self {
            Self::Value { joint, .. } | Self::LeaveOut { joint } => joint,
            Self::Top { key, .. } => key,
        }
    }
}

impl TypedLine {
    fn problem(&self, complaint: Complaint) -> Problem {
        Problem::new(&self.place, complaint)
    }
}

impl Problem {
    pub(super) fn new(place: &str, Complaint { message, remedy, .. }: Complaint) -> Self {
        Self { place: place.to_owned(), message, remedy }
    }

    /// A fault of a whole plan.
    pub(super) fn of_plan(which: &str, fault: Fault) -> Self {
        let place = format!("{which}:{}:{}", fault.line, fault.column);
        Self { place, message: fault.message, remedy: fault.remedy }
    }
}

/// `place: error: message; remedy`, as editors understand it.
impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: error: {}; {}", self.place, self.message, self.remedy)
    }
}
