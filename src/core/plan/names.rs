//! Names: what they may be made of, and which known one a wrong one may have meant.

use crate::core::plan::fault::{Code, Complaint, short};

/// The longest name, characters.
const LONGEST: usize = 48;

/// Lower-case letters, digits and single hyphens between them.
pub(super) fn check(name: &str) -> Result<(), Complaint> {
    let good = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
        && !name.starts_with('-')
        && !name.ends_with('-')
        && !name.is_empty();
    if !good {
        let proposal = tidy(name);
        let remedy = if proposal.is_empty() {
            "name it like `rear-left-wheel`".to_owned()
        } else {
            format!("write `{proposal}`")
        };
        return Err(Complaint::new(
            Code::Name,
            format!(
                "expected a name of lower-case letters, digits and hyphens, but found `{}`",
                short(name)
            ),
            remedy,
        ));
    }
    if name.len() > LONGEST {
        return Err(Complaint::new(
            Code::Name,
            format!("expected a name of at most {LONGEST} characters, but found {}", name.len()),
            "shorten it; `title` takes the long form",
        ));
    }
    Ok(())
}

/// The known name that `found` most probably meant.
pub(super) fn nearest<'k>(found: &str, known: &[&'k str]) -> Option<&'k str> {
    let found = tidy(found);
    let allowed = if found.len() < 4 { 1 } else { 2 };
    known
        .iter()
        .map(|name| (distance(&found, name), *name))
        .filter(|(distance, _)| *distance <= allowed)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// A remedy that names the nearest of `known`, or all of them.
pub(super) fn did_you_mean(found: &str, known: &[&str]) -> String {
    match nearest(found, known) {
        Some(name) => format!("did you mean `{name}`?"),
        None if known.is_empty() => "there is none yet".to_owned(),
        None => format!("known here: {}", known.join(", ")),
    }
}

/// A text as the name it would make: lower case, hyphens for all else.
pub(super) fn tidy(name: &str) -> String {
    let mut tidied = String::new();
    for c in name.chars().take(LONGEST).flat_map(char::to_lowercase) {
        if c.is_ascii_lowercase() || c.is_ascii_digit() {
            tidied.push(c);
        } else if !tidied.is_empty() && !tidied.ends_with('-') {
            tidied.push('-');
        }
    }
    tidied.trim_end_matches('-').to_owned()
}

/// Optimal string alignment distance: insertions, deletions, substitutions and swaps of neighbours.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows = vec![(0..=b.len()).collect::<Vec<_>>()];
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let same = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (rows[i - 1][j] + 1).min(row[j - 1] + 1).min(rows[i - 1][j - 1] + same);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            row.push(best);
        }
        rows.push(row);
    }
    rows[a.len()][b.len()]
}
