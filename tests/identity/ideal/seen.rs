//! How likely what a group's efforts show is, member by member, if its ring lies so.

use super::densities::{ln_sum, plane, rice};
use super::ways::Pass;
use super::{Effort, MIS_SAID, WRONG};
use crate::job::Truth;
use clampbook::core::event::Moved;

/// Effort by effort.
pub struct Seen(pub Vec<Shown>);

/// ln of the density of what one effort shows.
pub struct Shown {
    /// On a slack and on a tight fastener.
    shows: [f64; 2],
    /// Of the marks, by member from 0.
    said: Vec<f64>,
    /// Of the move, by member it came from and went to, from 0; empty where none is told.
    moved: Vec<Vec<f64>>,
}

/// ln of the weight of each script of a pass, and of all.
pub struct Weighed {
    pub scripts: Vec<f64>,
    pub ln: f64,
    /// Members, from 0, that it may begin and end with, each with ln of its share.
    ends: [Vec<(usize, f64)>; 2],
}

/// Less than this share is not looked at.
const LEAST: f64 = 1e-6;

impl Seen {
    /// Of a group of which this is known, or supposed.
    pub fn of(truth: &Truth, efforts: &[Effort<'_>]) -> Self {
        let members = 1..=truth.members;
        let others = f64::from(truth.members.max(2) - 1);
        let said = |effort: &Effort<'_>, member: u16| {
            let right = |said: &u16| *said == member;
            let share = |said| if right(said) { 1.0 - MIS_SAID } else { MIS_SAID / others };
            effort.said.iter().map(|said| share(said).ln()).sum()
        };
        let shown = |effort: &Effort<'_>| Shown {
            shows: effort.shows,
            said: members.clone().map(|member| said(effort, member)).collect(),
            moved: effort.moved.map_or_else(Vec::new, |(moved, sd_mm)| {
                let from = |from: u16| {
                    let from = truth.place(from);
                    let to = members.clone().map(|to| truth.place(to));
                    to.map(|to| ln_moved(moved, sd_mm, (to.0 - from.0, to.1 - from.1))).collect()
                };
                members.clone().map(from).collect()
            }),
        };
        Self(efforts.iter().map(shown).collect())
    }

    pub fn weigh(&self, pass: &Pass) -> Weighed {
        let shown = &self.0[pass.first..pass.first + pass.count];
        let scripts: Vec<f64> = pass
            .scripts
            .iter()
            .map(|(script, ln)| {
                let mut before: Option<usize> = None;
                let mut sum = *ln;
                for (shown, (member, tight)) in shown.iter().zip(&script.0) {
                    let member = usize::from(member - 1);
                    sum += shown.shows[usize::from(*tight)] + shown.said[member];
                    if let (Some(before), false) = (before, shown.moved.is_empty()) {
                        sum += shown.moved[before][member];
                    }
                    before = Some(member);
                }
                sum
            })
            .collect();
        let ln = ln_sum(scripts.iter().copied());
        let end = |place: usize| -> Vec<(usize, f64)> {
            let mut shares = vec![0.0; self.0.first().map_or(0, |one| one.said.len())];
            for ((script, _), one) in pass.scripts.iter().zip(&scripts).filter(|_| pass.count > 0) {
                shares[usize::from(script.0[place].0 - 1)] += (one - ln).exp();
            }
            let shares = shares.into_iter().enumerate().filter(|one| one.1 > LEAST);
            shares.map(|(member, share)| (member, share.ln())).collect()
        };
        let ends = [end(0), end(pass.count.saturating_sub(1))];
        Weighed { scripts, ln, ends }
    }

    /// ln of the density of the move from the end of one pass to the first effort of another.
    pub fn between(&self, before: &Weighed, after: &Weighed, first: usize) -> f64 {
        let moved = &self.0[first].moved;
        if moved.is_empty() {
            return 0.0;
        }
        let ends = before.ends[1].iter();
        ln_sum(ends.flat_map(|(from, out)| {
            after.ends[0].iter().map(move |(to, share)| out + share + moved[*from][*to])
        }))
    }
}

/// ln of the density of a move that is really so far right and up.
fn ln_moved(moved: Moved, sd_mm: f64, really: (f64, f64)) -> f64 {
    let ln = |sd_mm: f64| match moved {
        Moved::Axes { right_mm, up_mm } => plane((right_mm - really.0, up_mm - really.1), sd_mm),
        Moved::Distance { mm } => rice(mm, really.0.hypot(really.1), sd_mm),
    };
    let (wrong, far) = WRONG;
    ln_sum([(1.0 - wrong).ln() + ln(sd_mm), wrong.ln() + ln(sd_mm * far)])
}
