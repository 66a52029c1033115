//! What becomes of each reading on its way, decided by a seed.

use crate::adapter::spec::Faults;
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};

/// What becomes of one reading.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Fate {
    /// The adapter loses it: it is missing for good.
    pub(super) lost: bool,
    /// It is not sent when it is made.
    pub(super) skipped: bool,
    /// It is sent twice.
    pub(super) doubled: bool,
    /// It is sent so many seconds late.
    pub(super) late_s: f64,
    /// The link is lost just before it, for so many seconds.
    pub(super) link_lost_s: Option<f64>,
}

/// Decides for `count` readings. Every fault that is wished happens at least once, if there are
/// enough readings; the last one is never lost, as nothing would tell of it.
pub(super) fn decide(count: usize, faults: Faults, seed: u64) -> Vec<Fate> {
    let mut chance = StdRng::seed_from_u64(seed);
    let mut fates = vec![Fate::default(); count];
    // Each fault draws as often whether it is wished or not, so that one more leaves the others be.
    let losable = count.saturating_sub(1);
    for index in pick(&mut chance, losable, 0.08) {
        fates[index].lost = faults.gap;
    }
    for index in pick(&mut chance, count, 0.2) {
        fates[index].skipped = faults.skip;
    }
    for index in pick(&mut chance, count, 0.3) {
        fates[index].doubled = faults.double;
    }
    for index in pick(&mut chance, count, 0.25) {
        let late_s = chance.random_range(0.2..20.0);
        fates[index].late_s = if faults.delay { late_s } else { 0.0 };
    }
    for index in pick(&mut chance, count, 0.1) {
        let lost_s = chance.random_range(5.0..45.0);
        fates[index].link_lost_s = faults.drop.then_some(lost_s);
    }
    fates
}

fn pick(chance: &mut StdRng, count: usize, share: f64) -> Vec<usize> {
    if count == 0 {
        return Vec::new();
    }
    let certain = chance.random_range(0..count);
    (0..count).filter(|index| chance.random_bool(share) || *index == certain).collect()
}
