//! Many jobs through the tracker, on all processors.

use super::class::Class;
use super::ideal::{self, Densities};
use super::job::Job;
use super::score::{Score, score};
use super::tell;
use clampbook::core::event::{Conclusion, Summary};
use clampbook::core::tracker::Tracker;
use std::io::Write;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// Between two words about how far it is.
const TELL_EVERY: Duration = Duration::from_secs(20);

/// What the tracker made of a job.
#[derive(Debug)]
pub struct Concluded {
    pub conclusions: Vec<Conclusion>,
    pub summary: Summary,
}

/// Jobs still to be done, and how far it is.
struct Queue {
    seeds: std::ops::Range<u64>,
    next: AtomicU64,
    began: Instant,
    /// Milliseconds since then when it was last told.
    told_ms: AtomicU64,
}

impl Queue {
    fn next(&self) -> Option<u64> {
        let seed = self.next.fetch_add(1, Ordering::Relaxed);
        let done = seed.saturating_sub(self.seeds.start);
        let passed = self.began.elapsed();
        let before = self.told_ms.load(Ordering::Relaxed);
        let now = u64::try_from(passed.as_millis()).unwrap();
        let due = passed.saturating_sub(Duration::from_millis(before)) >= TELL_EVERY;
        let turn =
            || self.told_ms.compare_exchange(before, now, Ordering::Relaxed, Ordering::Relaxed);
        if due && done > 0 && turn().is_ok() {
            let all = self.seeds.end - self.seeds.start;
            let left = passed.as_secs_f64() / done as f64 * all.saturating_sub(done) as f64;
            let _ = writeln!(
                std::io::stderr(),
                "{done} of {all} jobs, {:.0} minutes more",
                (left / 60.0).ceil()
            );
        }
        (seed < self.seeds.end).then_some(seed)
    }
}

/// The scores of every job, class by class, in order of seed.
pub fn all(
    seeds: std::ops::Range<u64>,
    classes: &[&Class],
    densities: Option<&Densities>,
) -> Vec<Vec<Score>> {
    let queue = Queue {
        next: AtomicU64::new(seeds.start),
        seeds,
        began: Instant::now(),
        told_ms: AtomicU64::new(0),
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let mut scores: Vec<Vec<Score>> = classes.iter().map(|_| Vec::new()).collect();
    std::thread::scope(|scope| {
        let workers: Vec<_> =
            (0..threads).map(|_| scope.spawn(|| work(&queue, classes, densities))).collect();
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

fn work(queue: &Queue, classes: &[&Class], densities: Option<&Densities>) -> Vec<Vec<Score>> {
    let mut scores: Vec<Vec<Score>> = classes.iter().map(|_| Vec::new()).collect();
    while let Some(seed) = queue.next() {
        let job = Job::seeded(seed);
        for (class, scores) in classes.iter().zip(&mut scores) {
            if job.groups.iter().all(|group| group.members >= class.least_members) {
                let mut one = score(&job, class, &concluded(&job, class));
                one.ideal = densities.map(|densities| ideal::judge(&job, class, densities));
                scores.push(one);
            }
        }
    }
    scores
}

fn concluded(job: &Job, class: &Class) -> Concluded {
    let mut tracker = Tracker::new(job.plan.clone());
    let inputs = tell::inputs(job, class);
    let steps = inputs.into_iter().flat_map(|input| tracker.step(input).conclusions);
    let conclusions = steps.collect();
    Concluded { conclusions, summary: tracker.summary() }
}
