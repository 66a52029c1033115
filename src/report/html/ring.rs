//! A ring of fasteners as a drawing: members clockwise from the top, as the operator sees them.

use super::shape;
use crate::core::event::Ending;
use crate::report::model::{FastenerReport, StepReport};
use crate::report::{number, words};
use maud::{Markup, html};
use std::f64::consts::TAU;

/// Least distance between neighbours, drawing units.
const SPACING: f64 = 62.0;
/// From a member's centre to its word.
const WORD: f64 = 30.0;
/// From a word to the one below it.
const LINE: f64 = 15.0;

/// The drawing, with its caption.
pub(super) fn drawing(step: &StepReport) -> Markup {
    let members = step.fasteners.len() as f64;
    let radius = (members * SPACING / TAU).max(74.0);
    let half_width = radius + WORD + 62.0;
    let half_height = radius + WORD + 16.0 + LINE;
    let view = format!(
        "{:.0} {:.0} {:.0} {:.0}",
        -half_width,
        -half_height,
        2.0 * half_width,
        2.0 * half_height
    );
    let width = format!("{:.0}", (2.0 * half_width).min(620.0));
    html! {
        figure {
            svg.ring viewBox=(view) width=(width) role="img" aria-label=(label(step)) {
                circle.track cx="0" cy="0" r=(format!("{radius:.1}")) {}
                (turn(radius))
                @for fastener in &step.fasteners { (member(fastener, members, radius)) }
            }
            figcaption {
                "Numbered clockwise as the operator sees them; 1 is where the operator starts."
                @if step.fasteners.iter().any(|fastener| fastener.ending == Ending::Counted) {
                    " Counted means count only: which one is not known."
                }
                @if step.fasteners.iter().any(|fastener| fastener.probability.is_some()) {
                    " The percentage is inferred: how probable it is that this one was brought to its window and"
                    " not loosened since."
                }
                @if let Some(diameter) = step.pitch_circle_mm {
                    " Pitch circle " (number::nearest(diameter, 1)) " mm."
                }
            }
        }
    }
}

/// An arrow that says which way the numbers run.
fn turn(radius: f64) -> Markup {
    let r = (radius - 34.0).max(20.0);
    let (x, y) = place(0.13, r);
    let (tip_x, tip_y) = (x + 1.5, y + 1.0);
    html! {
        path.turn d=(format!("M0 {:.1}A{r:.1} {r:.1} 0 0 1 {x:.1} {y:.1}", -r)) {}
        path.tip d=(format!("M{tip_x:.1} {tip_y:.1}l-9.5-2.2 6.6-6.2Z")) {}
    }
}

fn member(fastener: &FastenerReport, members: f64, radius: f64) -> Markup {
    let share = f64::from(fastener.member - 1) / members;
    let (x, y) = place(share, radius);
    let (word_x, word_y) = place(share, radius + WORD);
    let anchor = match word_x {
        side if side > 12.0 => "start",
        side if side < -12.0 => "end",
        _ => "middle",
    };
    let class = words::ending_word(fastener.ending);
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
                text-anchor=(anchor) { (class) }
            @if let Some(sure) = fastener.probability {
                text.sure x=(format!("{word_x:.1}")) y=(format!("{:.1}", word_y + drop + LINE))
                    text-anchor=(anchor) { (number::confidence(sure)) }
            }
        }
    }
}

/// The point a share of a turn clockwise from the top.
fn place(share: f64, radius: f64) -> (f64, f64) {
    let (sine, cosine) = (share * TAU).sin_cos();
    (radius * sine, -radius * cosine)
}

fn label(step: &StepReport) -> String {
    let each = step.fasteners.iter().map(|fastener| {
        let sure = fastener.probability.map(number::confidence);
        let sure = sure.map(|sure| format!(" ({sure})")).unwrap_or_default();
        format!("{} {}{sure}", fastener.member, words::ending(fastener.ending))
    });
    format!("Ring, clockwise: {}", each.collect::<Vec<_>>().join("; "))
}
