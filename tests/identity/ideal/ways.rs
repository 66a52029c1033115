//! Everything that a group can have been done like: which hypothesis, whether there was a round of checks that
//! no plan asks for, and which efforts belong to which pass.

use super::Effort;
use super::scripts::{Hypothesis, Script, hypotheses, scripts};
use crate::job::{Job, Truth};
use crate::person::Check;
use clampbook::core::plan::{Expect, Step};
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::ops::Range;

/// How often somebody goes round once more, and how: as `person` draws it.
const ROUNDS: [(Option<Check>, f64); 3] =
    [(None, 0.75), (Some(Check::Clockwise), 0.15), (Some(Check::Pattern), 0.10)];
/// How often such a round stops short: as `doing` draws it.
const STOPS: f64 = 0.2;
/// The same of one that the plan asks for: as `doing` has it, never, which nobody can count on.
const ASKED_STOPS: f64 = 0.03;
/// Seconds between two passes.
const BETWEEN_PASSES_S: (f64, f64) = (4.0, 25.0);
/// Share of pauses that are any, and their bounds, seconds.
const ANY_PAUSE: (f64, (f64, f64)) = (0.003, (0.1, 5000.0));

pub struct Ways {
    pub hypotheses: Vec<Hypothesis>,
    pub passes: Vec<Pass>,
    pub all: Vec<Way>,
}

/// A hypothesis, and what each of its passes can have been.
pub struct Way {
    pub hypothesis: usize,
    /// ln of its probability beforehand, with that of the pauses.
    pub ln: f64,
    pub passes: Vec<usize>,
}

/// What a pass can have been if it begins with this effort, each with ln of its probability beforehand.
pub struct Pass {
    pub first: usize,
    /// How many efforts are its own; of a pass that is not over, its scripts may go on.
    pub count: usize,
    pub scripts: Vec<(Script, f64)>,
}

/// Which scripts a pass can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Sort {
    Tightened(usize),
    Checked,
    Clockwise,
    Pattern,
}

struct Walk<'a> {
    job: &'a Job,
    step: &'a Step,
    truth: &'a Truth,
    efforts: &'a [Effort<'a>],
    is_over: bool,
    found: Ways,
    /// By hypothesis, sort, first effort and count.
    known: BTreeMap<(usize, Sort, usize, usize), Option<usize>>,
}

/// Passes of one target follow each other where only order, place and pauses tell: which of them an effort
/// belongs to is open. Where the target changes, the torque tells it.
///
/// `is_over`: the group is done with; otherwise these are its efforts so far.
pub fn ways(job: &Job, index: usize, efforts: &[Effort<'_>], is_over: bool) -> Ways {
    let (step, truth) = (&job.plan.steps[index], &job.groups[index]);
    let found = Ways {
        hypotheses: hypotheses(step, job.groups.len()),
        passes: Vec::new(),
        all: Vec::new(),
    };
    let mut walk = Walk { job, step, truth, efforts, is_over, found, known: BTreeMap::new() };
    for hypothesis in 0..walk.found.hypotheses.len() {
        for (round, share) in ROUNDS {
            let mut sorts = walk.planned();
            sorts.extend(round.map(|round| match round {
                Check::Clockwise => Sort::Clockwise,
                Check::Pattern => Sort::Pattern,
            }));
            let ln = walk.found.hypotheses[hypothesis].ln + f64::ln(share);
            walk.split(hypothesis, &sorts, 0, ln, &mut Vec::new());
        }
    }
    walk.found
}

impl Walk<'_> {
    fn planned(&self) -> Vec<Sort> {
        let passes = self.step.passes.iter().enumerate();
        let windows = passes.filter(|(_, pass)| matches!(pass.expect, Expect::Window(_)));
        windows
            .map(|(number, pass)| if pass.check { Sort::Checked } else { Sort::Tightened(number) })
            .collect()
    }

    /// How many efforts a pass can have, from this one on.
    fn counts(&self, sort: Sort, first: usize, is_last: bool) -> Range<usize> {
        let left = self.efforts.len() - first;
        let of_pass = |number: usize| {
            let is_of = |effort: &&Effort<'_>| effort.pulls[0].1.pass == number;
            self.efforts[first..].iter().take_while(is_of).count()
        };
        match sort {
            Sort::Tightened(number)
                if self.step.passes[number + 1..].iter().any(|one| !one.check) =>
            {
                let count = of_pass(number);
                count..count + 1
            }
            _ if is_last => left..left + 1,
            // Who stops short of the round that is asked for makes no other.
            Sort::Checked => usize::from(self.step.members).saturating_sub(1).min(left)..left + 1,
            _ => 0..left + 1,
        }
    }

    fn split(
        &mut self,
        hypothesis: usize,
        sorts: &[Sort],
        first: usize,
        ln: f64,
        taken: &mut Vec<usize>,
    ) {
        let is_told = first == self.efforts.len();
        let Some((sort, rest)) = sorts.split_first().filter(|_| self.is_over || !is_told) else {
            if is_told {
                let passes = taken.clone();
                self.found.all.push(Way { hypothesis, ln, passes });
            }
            return;
        };
        for count in self.counts(*sort, first, rest.is_empty()) {
            let Some(pass) = self.pass(hypothesis, *sort, first, count) else { continue };
            let ln = ln + self.pauses(*sort, first, count, !rest.is_empty());
            taken.push(pass);
            self.split(hypothesis, rest, first + count, ln, taken);
            taken.pop();
        }
    }

    fn pass(&mut self, hypothesis: usize, sort: Sort, first: usize, count: usize) -> Option<usize> {
        let key = (hypothesis, sort, first, count);
        if let Some(known) = self.known.get(&key) {
            return *known;
        }
        let goes_on = !self.is_over && first + count == self.efforts.len();
        let scripts = self.scripts(&self.found.hypotheses[hypothesis], sort, count, goes_on);
        let place = (!scripts.is_empty()).then_some(self.found.passes.len());
        if place.is_some() {
            self.found.passes.push(Pass { first, count, scripts });
        }
        self.known.insert(key, place);
        place
    }

    fn scripts(
        &self,
        one: &Hypothesis,
        sort: Sort,
        count: usize,
        goes_on: bool,
    ) -> Vec<(Script, f64)> {
        let round = |order: &[u16]| -> Vec<u16> {
            let is_left =
                |member: &u16| one.left == Some(*member) || self.truth.given_up.contains(member);
            order.iter().copied().filter(|member| !is_left(member)).collect()
        };
        let clockwise: Vec<u16> = (1..=self.step.members).collect();
        let whole = match sort {
            Sort::Tightened(number) => {
                let mut all = scripts(self.step, number, one);
                all.retain(|(script, _)| {
                    let length = script.0.len();
                    length == count || goes_on && length > count
                });
                return all;
            }
            Sort::Checked | Sort::Pattern => round(&one.order),
            Sort::Clockwise => round(&clockwise),
        };
        let stop = if sort == Sort::Checked { ASKED_STOPS } else { STOPS };
        let at_one = stop / whole.len().max(1) as f64;
        let share = match count.cmp(&whole.len()) {
            Ordering::Greater => return Vec::new(),
            _ if goes_on => 1.0 - at_one * count as f64,
            Ordering::Equal => 1.0 - stop,
            Ordering::Less => at_one,
        };
        vec![(Script::round(&whole[..count]), share.ln())]
    }

    /// ln of the density of the pauses between the efforts of a pass, and of the one after it.
    fn pauses(&self, sort: Sort, first: usize, count: usize, is_followed: bool) -> f64 {
        let within = self.job.person.pause_s;
        let after = match sort {
            Sort::Tightened(_) => BETWEEN_PASSES_S,
            _ => within,
        };
        let end = first + count;
        let mut sum: f64 =
            (first + 1..end).map(|place| ln_pause(self.efforts[place].rested_s, within)).sum();
        if is_followed && count > 0 && end < self.efforts.len() {
            sum += ln_pause(self.efforts[end].rested_s, after);
        }
        sum
    }
}

/// ln of the density of a pause whose logarithm is even within bounds.
fn ln_pause(seconds: f64, bounds: (f64, f64)) -> f64 {
    let even = |(low, high): (f64, f64)| {
        let is_within = (low..=high).contains(&seconds);
        if is_within { 1.0 / (seconds * (high / low).ln()) } else { 0.0 }
    };
    let (share, any) = ANY_PAUSE;
    ((1.0 - share) * even(bounds) + share * even(any)).max(1e-9).ln()
}
