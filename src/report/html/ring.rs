//! A ring of fasteners as a drawing: members clockwise from the top, as the operator sees them.

use super::shape;
use crate::core::event::Ending;
use crate::report::model::{FastenerReport, StepReport};
use crate::report::words::{Words, ending_name};
use maud::{Markup, html};
use std::f64::consts::TAU;

/// Least distance between neighbours, drawing units.
const SPACING: f64 = 62.0;
/// From a member's centre to its word.
const WORD: f64 = 30.0;
/// Width of a word's letter, and of a percentage's, at the most.
const LETTERS: (f64, f64) = (8.8, 6.9);
/// From a word to the one below it.
const LINE: f64 = 15.0;
/// From a member's centre inwards to the place it had in the order, and on to the arrow.
const ORDER: f64 = 30.0;
const TURN: f64 = 46.0;

/// The drawing, with its caption.
pub(super) fn drawing(words: Words, step: &StepReport) -> Markup {
    let members = step.fasteners.len() as f64;
    let radius = (members * SPACING / TAU).max(74.0);
    let half_width = radius + WORD + widest(words, step);
    let half_height = radius + WORD + 16.0 + LINE;
    let view = format!(
        "{:.0} {:.0} {:.0} {:.0}",
        -half_width,
        -half_height,
        2.0 * half_width,
        2.0 * half_height
    );
    let width = format!("{:.0}", (2.0 * half_width).min(620.0));
    let pulled = step.pulled();
    html! {
        figure {
            svg.ring viewBox=(view) width=(width) role="img" aria-label=(label(words, step)) {
                circle.track cx="0" cy="0" r=(format!("{radius:.1}")) {}
                (turn(radius))
                @for (fastener, turn) in step.fasteners.iter().zip(&pulled) {
                    (member(words, fastener, members, radius))
                    @if let Some(turn) = turn { (order(fastener, *turn, members, radius)) }
                }
            }
            figcaption {
                (words.word("ring-numbered"))
                @if step.fasteners.iter().any(|fastener| fastener.ending == Ending::Counted) {
                    " " (words.word("ring-counted"))
                }
                @if step.fasteners.iter().any(|fastener| fastener.probability.is_some()) {
                    " " (words.word("ring-share"))
                }
                @if pulled.iter().any(Option::is_some) { " " (words.word("ring-order")) }
                @if let Some(diameter) = step.pitch_circle_mm {
                    " " (words.say("ring-pitch-circle", &[("diameter", &words.number(diameter, 1))]))
                }
            }
        }
    }
}

/// Room for the widest word beside a member.
fn widest(words: Words, step: &StepReport) -> f64 {
    let (word, small) = LETTERS;
    let width = |text: &str, letter: f64| text.chars().count() as f64 * letter;
    let widths = step.fasteners.iter().map(|fastener| {
        let sure = fastener.probability.map_or_else(String::new, |sure| words.confidence(sure));
        width(&words.ending_word(fastener.ending), word).max(width(&sure, small))
    });
    widths.fold(62.0, f64::max)
}

/// An arrow that says which way the numbers run.
fn turn(radius: f64) -> Markup {
    let r = radius - TURN;
    let (x, y) = place(0.13, r);
    let (tip_x, tip_y) = (x + 1.5, y + 1.0);
    html! {
        path.turn d=(format!("M0 {:.1}A{r:.1} {r:.1} 0 0 1 {x:.1} {y:.1}", -r)) {}
        path.tip d=(format!("M{tip_x:.1} {tip_y:.1}l-9.5-2.2 6.6-6.2Z")) {}
    }
}

fn member(words: Words, fastener: &FastenerReport, members: f64, radius: f64) -> Markup {
    let share = f64::from(fastener.member - 1) / members;
    let (x, y) = place(share, radius);
    let (word_x, word_y) = place(share, radius + WORD);
    let anchor = match word_x {
        side if side > 12.0 => "start",
        side if side < -12.0 => "end",
        _ => "middle",
    };
    let class = ending_name(fastener.ending);
    let lines = if fastener.probability.is_some() { LINE } else { 0.0 };
    // Words above or below their member must clear the outline; those beside it are centred on it.
    let downward = word_y / (radius + WORD);
    let drop = 4.5 + 6.0 * downward - lines * (0.5 - 0.5 * downward);
    html! {
        g.(class) {
            (shape::outline(fastener.ending, x, y))
            text.number.on[fastener.ending == Ending::Shown] x=(format!("{x:.1}"))
                y=(format!("{:.1}", y + 5.2)) text-anchor="middle" { (fastener.member) }
            text.word x=(format!("{word_x:.1}")) y=(format!("{:.1}", word_y + drop))
                text-anchor=(anchor) { (words.ending_word(fastener.ending)) }
            @if let Some(sure) = fastener.probability {
                text.sure x=(format!("{word_x:.1}")) y=(format!("{:.1}", word_y + drop + LINE))
                    text-anchor=(anchor) { (words.confidence(sure)) }
            }
        }
    }
}

/// The place that a member had in the order.
fn order(fastener: &FastenerReport, turn: usize, members: f64, radius: f64) -> Markup {
    let (x, y) = place(f64::from(fastener.member - 1) / members, radius - ORDER);
    html! {
        text.order x=(format!("{x:.1}")) y=(format!("{:.1}", y + 4.3)) text-anchor="middle" { (turn) "." }
    }
}

/// The point a share of a turn clockwise from the top.
fn place(share: f64, radius: f64) -> (f64, f64) {
    let (sine, cosine) = (share * TAU).sin_cos();
    (radius * sine, -radius * cosine)
}

fn label(words: Words, step: &StepReport) -> String {
    let each = step.fasteners.iter().map(|fastener| {
        let sure = fastener.probability.map(|sure| format!(" ({})", words.confidence(sure)));
        let ending = words.ending(fastener.ending);
        format!("{} {ending}{}", fastener.member, sure.unwrap_or_default())
    });
    words.say("ring", &[("members", &words.joined(each))])
}
