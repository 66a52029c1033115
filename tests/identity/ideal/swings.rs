//! How many swings a fastener took, slack or tight, and how far the first of them came.

use super::densities::{HELD, held};
use crate::job::{Job, Pull};
use clampbook::core::event::Act;
use clampbook::core::plan::Expect;

/// Jobs that are learnt from; as those of `densities`, nothing else looks at them.
const SEEDS: std::ops::Range<u64> = 1_000_001..1_003_001;
/// Swings from here on are one kind.
const MANY: usize = 4;
/// Bounds of the first peak as a share of the target.
const PEAKS: [f64; 6] = [0.7, 0.9, 0.95, 1.0, 1.05, 1.1];
/// What is added to each count (Laplace).
const AT_LEAST: f64 = 0.5;

/// ln of the share of each outcome, by what the fastener held: the last is of tight ones.
pub struct Swings(Vec<Vec<f64>>);

impl Swings {
    pub fn learn() -> Self {
        let mut counts = vec![vec![AT_LEAST; MANY * (PEAKS.len() + 1) * 2]; HELD.len() + 2];
        for job in SEEDS.map(Job::seeded) {
            let mut pulls: &[Pull] = &job.pulls;
            while let [first, ..] = pulls {
                let same = pulls.iter().take_while(|one| one.effort == first.effort).count();
                let (effort, rest) = pulls.split_at(same);
                pulls = rest;
                let swings: Vec<&Pull> = effort.iter().collect();
                if first.act == Act::Loosen || first.pass > job.plan.steps[first.group].passes.len()
                {
                    continue;
                }
                let kind =
                    if first.act == Act::Recheck { HELD.len() + 1 } else { slack(&job, first) };
                counts[kind][outcome(&job, &swings)] += 1.0;
            }
        }
        let share = |counts: &Vec<f64>| {
            let all: f64 = counts.iter().sum();
            counts.iter().map(|count| (count / all).ln()).collect()
        };
        Self(counts.iter().map(share).collect())
    }

    /// ln of the share of what an effort is, of a slack and of a tight fastener.
    pub fn ln(&self, job: &Job, effort: &[&Pull]) -> [f64; 2] {
        let outcome = outcome(job, effort);
        [slack(job, effort[0]), HELD.len() + 1].map(|kind| self.0[kind][outcome])
    }
}

fn slack(job: &Job, pull: &Pull) -> usize {
    let held = held(job, pull, target_nm(job, pull));
    HELD.iter().filter(|bound| held >= **bound).count()
}

fn outcome(job: &Job, effort: &[&Pull]) -> usize {
    // Whoever pulls twice at once does it on what was slack.
    let habit = usize::from(effort.iter().any(|one| one.habit));
    let swings = effort.iter().filter(|one| !one.habit).count();
    let peak = effort[0].told.peak_nm.abs() / target_nm(job, effort[0]);
    let peak = PEAKS.iter().filter(|bound| peak >= **bound).count();
    (habit * MANY + swings.clamp(1, MANY) - 1) * (PEAKS.len() + 1) + peak
}

/// Of the pull's pass, newton metres.
fn target_nm(job: &Job, pull: &Pull) -> f64 {
    let passes = &job.plan.steps[pull.group].passes;
    match passes.get(pull.pass).map(|pass| &pass.expect) {
        Some(Expect::Window(window)) => window.target.nm(),
        _ => job.figures.target_nm,
    }
}
