//! What could be told at best: an idealised matcher, for a bound that no program passes by much.
//!
//! It knows what no program does: what goes wrong and how often, though not that one thing at most does;
//! who works, what the joints have in common, how wide each ring is, which swings make one tightening, in
//! which pass, and whether the gun left the nuts tight. All that it has to find out is how the ring lies, which
//! member each tightening was on, and whether that was tight already; for that it has what the adapter tells,
//! and goes through everything that the job can have been. Densities are learnt from other jobs, so that it is
//! an estimate from below of what could be told by somebody who knew all that.

mod densities;
mod scripts;
mod seen;

use super::class::Class;
use super::job::{Job, Pull, Truth};
use super::measure::Judged;
use super::person::Check;
use super::symmetry::renamings;
use super::tell;
use clampbook::core::event::{Input, Motion, Moved, Say, What};
use clampbook::core::plan::{Expect, Step};
use clampbook::core::signal::Description;
pub use densities::Densities;
use densities::ln_sum;
use scripts::{Hypothesis, Script, hypotheses, scripts};
use seen::{Seen, Weighed};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Share of moves that are told wrong by far more than their deviation, by how much, and of marks that
/// are mis-said: as they are told.
const WRONG: (f64, f64) = tell::WRONG;
const MIS_SAID: f64 = tell::MIS_SAID;
/// So many ways for a ring to lie are gone through: 5 degrees apart, less than moves tell of it.
const LIES: u32 = 72;

/// What it makes of one job.
#[derive(Debug, Default)]
pub struct Ideal {
    /// Probability that it happened somewhere in the job, and whether it did.
    pub repeat: Judged,
    pub skipped: Judged,
    pub crooked: Judged,
    /// Its probability of every reading whose fastener can be known, and whether it is right.
    pub known: Vec<Judged>,
}

/// A tightening, check or repeat: one or more pulls on one fastener.
struct Effort<'a> {
    pulls: Vec<(usize, &'a Pull)>,
    /// ln of the density of what its first pull shows, of a slack and of a tight fastener.
    shows: [f64; 2],
    /// How the tool came to it.
    moved: Option<(Moved, f64)>,
    said: Vec<u16>,
}

impl Effort<'_> {
    /// True if what it shows depends on where the ring lies.
    fn is_placed(&self) -> bool {
        matches!(self.moved, Some((Moved::Axes { .. }, _)))
    }
}

pub fn judge(job: &Job, class: &Class, densities: &Densities) -> Ideal {
    let heard = Heard::of(&tell::inputs(job, class));
    let mut found = Ideal::default();
    let (mut no_repeat, mut no_skip, mut no_order) = (1.0, 1.0, 1.0);
    for index in 0..job.groups.len() {
        let efforts = efforts(job, class, index, &heard, densities);
        let group = Group::weigh(job, index, &efforts);
        let truth = &job.groups[index];
        found.known.extend(group.known(class, truth, &efforts));
        if truth.blind(class) {
            continue;
        }
        no_repeat *= 1.0 - group.repeat;
        no_skip *= 1.0 - group.skipped;
        no_order *= 1.0 - group.crooked;
        found.repeat.1 |= efforts.iter().any(|one| one.pulls.iter().any(|(_, pull)| pull.repeat));
        found.skipped.1 |= !truth.left_out.is_empty();
        found.crooked.1 |= truth.crooked;
    }
    found.repeat.0 = 1.0 - no_repeat;
    found.skipped.0 = 1.0 - no_skip;
    found.crooked.0 = 1.0 - no_order;
    found
}

/// What was told, by number of the reading.
struct Heard {
    motions: BTreeMap<u64, Motion>,
    marks: BTreeMap<u64, String>,
    shapes: BTreeMap<u64, Description>,
}

impl Heard {
    fn of(inputs: &[Input]) -> Self {
        let mut heard =
            Self { motions: BTreeMap::new(), marks: BTreeMap::new(), shapes: BTreeMap::new() };
        let mut said = None;
        for input in inputs {
            match &input.what {
                What::Motion(motion) => {
                    heard.motions.insert(motion.to_seq, motion.clone());
                }
                What::Mark(mark) => {
                    if let Say::At { fastener } = &mark.say {
                        said = Some(fastener.clone());
                    }
                }
                What::Reading(reading) => {
                    if let Some(said) = said.take() {
                        heard.marks.insert(reading.seq, said);
                    }
                    if let Some(shape) = &reading.description {
                        heard.shapes.insert(reading.seq, **shape);
                    }
                }
                What::Described(described) => {
                    heard.shapes.insert(described.seq, *described.description);
                }
                _ => {}
            }
        }
        heard
    }
}

fn efforts<'a>(
    job: &'a Job,
    class: &Class,
    group: usize,
    heard: &Heard,
    densities: &Densities,
) -> Vec<Effort<'a>> {
    let mut found: Vec<Effort<'a>> = Vec::new();
    for (place, pull) in job.pulls.iter().enumerate().filter(|(_, pull)| pull.group == group) {
        let seq = place as u64 + 1;
        let member = |name: &String| name.rsplit('/').next()?.parse().ok();
        let said: Option<u16> = heard.marks.get(&seq).and_then(member);
        if let Some(last) = found.last_mut().filter(|last| last.pulls[0].1.effort == pull.effort) {
            last.pulls.push((place, pull));
            last.said.extend(said);
            continue;
        }
        let tells = job.groups[group].ring && !job.groups[group].turned_to_reach;
        let motion = heard.motions.get(&seq).filter(|_| tells);
        found.push(Effort {
            pulls: vec![(place, pull)],
            shows: densities.shows(job, class, pull, heard.shapes.get(&seq)),
            moved: motion.map(|motion| (motion.moved, motion.sd_mm)),
            said: said.into_iter().collect(),
        });
    }
    found
}

/// Everything that a group can have been, each with its weight.
struct Group {
    repeat: f64,
    skipped: f64,
    crooked: f64,
    /// By effort: the weight of each member, from 1.
    members: Vec<Vec<f64>>,
}

impl Group {
    fn weigh(job: &Job, index: usize, efforts: &[Effort<'_>]) -> Self {
        let (step, truth) = (&job.plan.steps[index], &job.groups[index]);
        let ways = ways(job, step, efforts);
        let lies: Vec<f64> = match efforts.iter().any(Effort::is_placed) {
            true => (0..LIES).map(|lie| TAU * f64::from(lie) / f64::from(LIES)).collect(),
            false => vec![0.0],
        };
        let each: Vec<(f64, Self)> = lies
            .into_iter()
            .map(|lies| Self::lying(step, &ways, &Seen::of(truth, lies, efforts)))
            .collect();
        let total = ln_sum(each.iter().map(|one| one.0));
        let mut found = Self::none(step, efforts.len());
        if total > f64::NEG_INFINITY {
            each.iter().for_each(|(ln, one)| found.add((ln - total).exp(), one));
        }
        found
    }

    fn none(step: &Step, efforts: usize) -> Self {
        let members = vec![vec![0.0; usize::from(step.members) + 1]; efforts];
        Self { repeat: 0.0, skipped: 0.0, crooked: 0.0, members }
    }

    fn add(&mut self, weight: f64, other: &Self) {
        self.repeat += weight * other.repeat;
        self.skipped += weight * other.skipped;
        self.crooked += weight * other.crooked;
        for (all, one) in self.members.iter_mut().flatten().zip(other.members.iter().flatten()) {
            *all += weight * one;
        }
    }

    /// What it is if its ring lies so, and ln of the likelihood of what is seen.
    fn lying(step: &Step, ways: &[Way], seen: &Seen) -> (f64, Self) {
        let mut found = Self::none(step, seen.0.len());
        let weighed: Vec<(f64, Vec<Weighed>)> = ways
            .iter()
            .map(|way| {
                let passes: Vec<Weighed> = way.passes.iter().map(|pass| seen.weigh(pass)).collect();
                (way.one.ln + passes.iter().map(|pass| pass.ln).sum::<f64>(), passes)
            })
            .collect();
        let total = ln_sum(weighed.iter().map(|one| one.0));
        if total == f64::NEG_INFINITY {
            return (total, found);
        }
        for (way, (ln, passes)) in ways.iter().zip(&weighed) {
            let weight = (ln - total).exp();
            if weight < 1e-9 {
                continue;
            }
            let mut never_again = 1.0;
            for (pass, weighed) in way.passes.iter().zip(passes) {
                let mut again = 0.0;
                for ((script, _), ln) in pass.scripts.iter().zip(&weighed.scripts) {
                    let share = (ln - weighed.ln).exp();
                    again += if script.again() { share } else { 0.0 };
                    for (place, member) in script.members().enumerate() {
                        found.members[pass.first + place][usize::from(member)] += weight * share;
                    }
                }
                never_again *= 1.0 - again;
            }
            found.repeat += weight * (1.0 - never_again);
            found.skipped += if way.one.left.is_some() { weight } else { 0.0 };
            found.crooked += if way.one.crooked { weight } else { 0.0 };
        }
        (total, found)
    }

    fn known(&self, class: &Class, truth: &Truth, efforts: &[Effort<'_>]) -> Vec<Judged> {
        let best = |members: &Vec<f64>| {
            let most = members.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
            most.map_or((0, 0.0), |(member, sure)| (member as u16, *sure))
        };
        let mut found: Vec<Judged> = Vec::new();
        let mut most = None;
        for names in renamings(class, truth.members, truth.ring) {
            let mut judged = Vec::new();
            for (effort, members) in efforts.iter().zip(&self.members) {
                // What comes after the last pass is not gone through.
                if members.iter().sum::<f64>() < 0.5 {
                    continue;
                }
                let (member, sure) = best(members);
                for (_, pull) in effort.pulls.iter().filter(|(_, one)| truth.knows(class, one)) {
                    judged.push((sure, names[usize::from(pull.member - 1)] == member));
                }
            }
            let right = judged.iter().filter(|one| one.1).count();
            if most.is_none_or(|most| right > most) {
                most = Some(right);
                found = judged;
            }
        }
        found
    }
}

/// A hypothesis, and what each of its passes can have been.
struct Way {
    one: Hypothesis,
    passes: Vec<Pass>,
}

/// One pass as a hypothesis has it: what it can have been, each with ln of its probability beforehand.
struct Pass {
    /// The first of its efforts.
    first: usize,
    scripts: Vec<(Script, f64)>,
}

fn ways(job: &Job, step: &Step, efforts: &[Effort<'_>]) -> Vec<Way> {
    let all = hypotheses(step, job.groups.len()).into_iter();
    all.map(|one| Way { passes: passes(job, step, &one, efforts), one }).collect()
}

fn passes(job: &Job, step: &Step, one: &Hypothesis, efforts: &[Effort<'_>]) -> Vec<Pass> {
    let of_pass = |pass: usize| {
        let first = efforts.iter().position(|effort| effort.pulls[0].1.pass == pass);
        let count = efforts.iter().filter(|effort| effort.pulls[0].1.pass == pass).count();
        (first.unwrap_or(0), count)
    };
    let mut found = Vec::new();
    let round = |order: &[u16]| -> Vec<u16> {
        order.iter().copied().filter(|member| one.left != Some(*member)).collect()
    };
    let mut take = |pass: usize, mut scripts: Vec<(Script, f64)>| {
        let (first, count) = of_pass(pass);
        scripts.retain(|(script, _)| script.members().count() == count);
        found.push(Pass { first, scripts });
    };
    for (number, pass) in step.passes.iter().enumerate() {
        if !matches!(pass.expect, Expect::Window(_)) {
            continue;
        }
        if pass.check {
            take(number, vec![(Script::round(&round(&one.order)), 0.0)]);
        } else {
            take(number, scripts(step, number, one));
        }
    }
    if let Some(check) = job.person.checks {
        let clockwise: Vec<u16> = (1..=step.members).collect();
        let whole = round(if check == Check::Clockwise { &clockwise } else { &one.order });
        let count = whole.len();
        let cut = |kept: usize| if kept == count { 0.8 } else { 0.2 / count as f64 };
        let all = (0..=count).map(|kept| (Script::round(&whole[..kept]), cut(kept).ln()));
        take(step.passes.len(), all.collect());
    }
    found
}
