//! What a group has been, by everything that is told of it.

use super::Effort;
use super::densities::ln_sum;
use super::seen::{Seen, Weighed};
use super::ways::{Way, Ways, ways};
use crate::class::Class;
use crate::job::{Job, Truth};
use crate::measure::Judged;
use crate::symmetry::{Renaming, renamings};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Ways for a ring to lie, and radii where no plan tells one, are gone through so far apart, as a share of the
/// deviation of a move: at most half of that is any of them off.
const APART: f64 = 0.6;
/// Bounds of a radius: as `job` draws it.
const RADIUS_MM: (f64, f64) = (50.0, 75.0);

/// Who was left out is named alone if it is so likely that it was this one, if anybody.
const NAMED: f64 = 0.95;

/// Everything that a group can have been, each with its weight.
pub struct Group {
    pub repeat: f64,
    pub skipped: f64,
    pub crooked: f64,
    /// By member, from 1: that it was left out.
    left: Vec<f64>,
    /// By effort: the weight of each member, from 1.
    members: Vec<Vec<f64>>,
}

impl Group {
    /// `is_over`: the group is done with; otherwise these are its efforts so far.
    pub fn weigh(job: &Job, index: usize, efforts: &[Effort<'_>], is_over: bool) -> Self {
        let truth = &job.groups[index];
        let ways = ways(job, index, efforts, is_over);
        let even = |width_mm: f64, apart_mm: f64, (low, high): (f64, f64)| -> Vec<f64> {
            let count = (width_mm / apart_mm).ceil() as u32;
            let place = |one: u32| low + (high - low) * (f64::from(one) + 0.5) / f64::from(count);
            (0..count).map(place).collect()
        };
        let told_mm = efforts.iter().find_map(|effort| Some(effort.moved?.1));
        let apart_mm = APART * told_mm.unwrap_or(f64::INFINITY);
        let lies = match efforts.iter().any(Effort::is_placed) {
            true => even(TAU * truth.radius_mm, apart_mm, (0.0, TAU)),
            false => vec![0.0],
        };
        let radii = match job.plan.steps[index].pitch_circle_mm {
            None if told_mm.is_some() => even(RADIUS_MM.1 - RADIUS_MM.0, apart_mm, RADIUS_MM),
            _ => vec![truth.radius_mm],
        };
        let places = radii.iter().flat_map(|radius| lies.iter().map(|lies| (*lies, *radius)));
        let each: Vec<(f64, Self)> = places
            .map(|(lies, radius_mm)| {
                let truth = Truth { lies, radius_mm, ..truth.clone() };
                Self::placed(truth.members, &ways, &Seen::of(&truth, efforts))
            })
            .collect();
        let total = ln_sum(each.iter().map(|one| one.0));
        let mut found = Self::none(truth.members, efforts.len());
        if total > f64::NEG_INFINITY {
            each.iter().for_each(|(ln, one)| found.add((ln - total).exp(), one));
        }
        found
    }

    fn none(members: u16, efforts: usize) -> Self {
        let count = usize::from(members) + 1;
        let (left, members) = (vec![0.0; count], vec![vec![0.0; count]; efforts]);
        Self { repeat: 0.0, skipped: 0.0, crooked: 0.0, left, members }
    }

    fn add(&mut self, weight: f64, other: &Self) {
        self.repeat += weight * other.repeat;
        self.skipped += weight * other.skipped;
        self.crooked += weight * other.crooked;
        let ours = self.members.iter_mut().flatten().chain(&mut self.left);
        for (all, one) in ours.zip(other.members.iter().flatten().chain(&other.left)) {
            *all += weight * one;
        }
    }

    /// What it is if its ring lies so, and ln of the likelihood of what is seen.
    fn placed(members: u16, ways: &Ways, seen: &Seen) -> (f64, Self) {
        let mut found = Self::none(members, seen.0.len());
        let passes: Vec<Weighed> = ways.passes.iter().map(|pass| seen.weigh(pass)).collect();
        let again: Vec<f64> = ways
            .passes
            .iter()
            .zip(&passes)
            .map(|(pass, weighed)| {
                let each = pass.scripts.iter().zip(&weighed.scripts);
                let again = each.filter(|((script, _), _)| script.again(pass.count));
                again.map(|(_, ln)| (ln - weighed.ln).exp()).sum()
            })
            .collect();
        let mut known: BTreeMap<[usize; 2], f64> = BTreeMap::new();
        let mut between = |two: [usize; 2]| {
            let [before, after] = two.map(|pass| &passes[pass]);
            let first = ways.passes[two[1]].first;
            *known.entry(two).or_insert_with(|| seen.between(before, after, first))
        };
        let mut ln = |way: &Way| {
            let own: f64 = way.passes.iter().map(|pass| passes[*pass].ln).sum();
            let made = way.passes.iter().copied().filter(|pass| ways.passes[*pass].count > 0);
            let made: Vec<usize> = made.collect();
            way.ln + own + made.windows(2).map(|two| between([two[0], two[1]])).sum::<f64>()
        };
        let lns: Vec<f64> = ways.all.iter().map(&mut ln).collect();
        let total = ln_sum(lns.iter().copied());
        if total == f64::NEG_INFINITY {
            return (total, found);
        }
        let mut of_pass = vec![0.0; passes.len()];
        for (way, ln) in ways.all.iter().zip(&lns) {
            let weight = (ln - total).exp();
            if weight < 1e-9 {
                continue;
            }
            let never: f64 = way.passes.iter().map(|pass| 1.0 - again[*pass]).product();
            way.passes.iter().for_each(|pass| of_pass[*pass] += weight);
            let one = &ways.hypotheses[way.hypothesis];
            found.repeat += weight * (1.0 - never);
            found.crooked += if one.crooked { weight } else { 0.0 };
            if let Some(left) = one.left {
                found.skipped += weight;
                found.left[usize::from(left)] += weight;
            }
        }
        for ((pass, weighed), weight) in ways.passes.iter().zip(&passes).zip(of_pass) {
            if weight < 1e-9 {
                continue;
            }
            for ((script, _), ln) in pass.scripts.iter().zip(&weighed.scripts) {
                let share = weight * (ln - weighed.ln).exp();
                for (place, member) in script.members().enumerate().take(pass.count) {
                    found.members[pass.first + place][usize::from(member)] += share;
                }
            }
        }
        (total, found)
    }

    /// Its probability of every reading whose fastener can be known, and whether it is right, by the names
    /// that fit best; and these.
    pub fn known(
        &self,
        class: &Class,
        truth: &Truth,
        efforts: &[Effort<'_>],
    ) -> (Vec<Judged>, Renaming) {
        let mut found = (Vec::new(), Vec::new());
        let mut most = None;
        for names in renamings(class, truth.members, truth.ring) {
            let mut judged: Vec<Judged> = Vec::new();
            for (effort, members) in efforts.iter().zip(&self.members) {
                let (member, sure) = likeliest(members);
                for (_, pull) in effort.pulls.iter().filter(|(_, one)| truth.knows(class, one)) {
                    judged.push((sure, names[usize::from(pull.member - 1)] == member));
                }
            }
            let right = judged.iter().filter(|one| one.1).count();
            if most.is_none_or(|most| right > most) {
                most = Some(right);
                found = (judged, names);
            }
        }
        found
    }

    /// How many members are not left out with at least this probability, and how many of these are all the same.
    pub fn shown(&self, truth: &Truth, names: &Renaming, level: f64) -> (usize, usize) {
        let is_shown = |member: &u16| {
            let left = self.left[usize::from(names[usize::from(member - 1)])];
            left <= 1.0 - level
        };
        let untrue = truth.left_out.iter().filter(|one| is_shown(one)).count();
        ((1..=truth.members).filter(is_shown).count(), untrue)
    }

    /// True if it would name one alone who was not left out. Where several may be it, it names all of them.
    pub fn misnames(&self, truth: &Truth, names: &Renaming) -> bool {
        let (named, sure) = likeliest(&self.left);
        sure >= NAMED * self.skipped
            && truth.left_out.iter().all(|one| names[usize::from(one - 1)] != named)
    }
}

fn likeliest(weights: &[f64]) -> (u16, f64) {
    let most = weights.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
    most.map_or((0, 0.0), |(member, sure)| (member as u16, *sure))
}
