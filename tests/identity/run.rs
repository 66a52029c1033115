//! Many jobs through the tracker, on all processors.

use super::class::Class;
use super::job::Job;
use super::score::{Score, score};
use super::tell;
use clampbook::core::event::{Conclusion, Summary};
use clampbook::core::tracker::Tracker;
use std::sync::atomic::{AtomicU64, Ordering};

/// What the tracker made of a job.
#[derive(Debug)]
pub struct Concluded {
    pub conclusions: Vec<Conclusion>,
    pub summary: Summary,
}

/// The scores of every job, class by class, in order of seed.
pub fn all(seeds: std::ops::Range<u64>, classes: &[&Class]) -> Vec<Vec<Score>> {
    let next = AtomicU64::new(seeds.start);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let mut scores: Vec<Vec<Score>> = classes.iter().map(|_| Vec::new()).collect();
    std::thread::scope(|scope| {
        let workers: Vec<_> =
            (0..threads).map(|_| scope.spawn(|| work(&next, seeds.end, classes))).collect();
        for worker in workers {
            for (all, one) in scores.iter_mut().zip(worker.join().unwrap()) {
                all.extend(one);
            }
        }
    });
    for all in &mut scores {
        all.sort_by_key(|score| score.seed);
    }
    scores
}

fn work(next: &AtomicU64, end: u64, classes: &[&Class]) -> Vec<Vec<Score>> {
    let mut scores: Vec<Vec<Score>> = classes.iter().map(|_| Vec::new()).collect();
    loop {
        let seed = next.fetch_add(1, Ordering::Relaxed);
        if seed >= end {
            return scores;
        }
        let job = Job::seeded(seed);
        for (class, scores) in classes.iter().zip(&mut scores) {
            if job.groups.iter().all(|group| group.members >= class.least_members) {
                scores.push(score(&job, class, &concluded(&job, class)));
            }
        }
    }
}

fn concluded(job: &Job, class: &Class) -> Concluded {
    let mut tracker = Tracker::new(job.plan.clone());
    let inputs = tell::inputs(job, class);
    let steps = inputs.into_iter().flat_map(|input| tracker.step(input).conclusions);
    let conclusions = steps.collect();
    Concluded { conclusions, summary: tracker.summary() }
}
