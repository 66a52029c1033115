//! How the belief about one reading came about, as a table: a row for each thing that the pull could have been, a
//! column for each source of evidence.

use crate::cli::account;
use crate::cli::contract::Line;
use crate::cli::printer::Printer;
use crate::core::event::Act;
use crate::core::tracker::{Explanation, Guess, Tracker};
use std::io;

/// Rows of a table, at most.
const ROWS: usize = 12;
/// The least width of a column.
const COLUMN: usize = 7;

/// Shows every reading of that number; more than one where several adapters gave it.
///
/// # Errors
/// The output cannot be written.
pub(super) fn show(tracker: &Tracker, seq: u64, json: bool, printer: Printer) -> io::Result<()> {
    let explanations = tracker.explain(seq);
    if explanations.is_empty() {
        printer.warning(format_args!(
            "expected a reading {seq} to explain, but the recording has none that counts; numbers are the `seq` of its \
             reading lines"
        ));
    }
    for explanation in &explanations {
        if json {
            printer.json(&Line::from(explanation))?;
        } else {
            for line in table(explanation) {
                printer.line(line)?;
            }
        }
    }
    Ok(())
}

fn table(explanation: &Explanation) -> Vec<String> {
    let turned = explanation.turned_deg.map(|deg| format!(", turned {deg:.1}°"));
    let mut lines = vec![
        String::new(),
        format!(
            "reading {} of {} at {}: {:.1} N·m{}",
            explanation.seq,
            explanation.adapter,
            account::elapsed(explanation.at.seconds()),
            explanation.peak.nm(),
            turned.unwrap_or_default(),
        ),
    ];
    let heads: Vec<&str> = explanation
        .sources
        .iter()
        .map(|source| account::basis_word(*source))
        .chain(["in the end"])
        .collect();
    let widths: Vec<usize> = heads.iter().map(|head| head.chars().count().max(COLUMN)).collect();
    let names: Vec<String> = explanation.guesses.iter().take(ROWS).map(name).collect();
    let wide = names.iter().map(|name| name.chars().count()).max().unwrap_or(0);
    let row = |name: &str, cells: Vec<String>| {
        let cells = cells.iter().zip(&widths).map(|(cell, width)| format!("  {cell:>width$}"));
        format!("  {name:<wide$}{}", cells.collect::<String>())
    };
    lines.push(row("", heads.iter().map(|head| (*head).to_owned()).collect()));
    for (name, guess) in names.iter().zip(&explanation.guesses) {
        let shares = guess.after.iter().chain([&guess.now]);
        lines.push(row(name, shares.map(|share| format!("{:.1} %", share * 100.0)).collect()));
    }
    lines.push(format!("  not followed any more, all in all: {:.2} %", explanation.let_go * 100.0));
    lines
}

fn name(guess: &Guess) -> String {
    let act = match guess.act {
        Act::Tighten => "tightened",
        Act::Recheck => "pulled again",
        Act::Loosen => "loosened",
        Act::Trial => "tried",
    };
    match &guess.fastener {
        Some(fastener) => format!("{fastener} {act}"),
        None => "not in the plan".to_owned(),
    }
}
