//! The accounts that are still held possible, each with its weight.
//!
//! Every pull multiplies the accounts by what it could have been, joins those that have come to the same,
//! and lets go of the lightest. How much they weighed when they were let go is kept, and told; probabilities
//! are of what is left. Nothing here decides: probabilities are sums of weights, and the rest of the tracker
//! asks for them.

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_sum, order};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis, Seen};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::weigh::{Weighed, Weighing, tells};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Accounts kept after a pull, at most.
const KEPT: usize = 256;
/// What a pull could have been, over all accounts: so much is looked at for what has come to the same.
const CONSIDERED: usize = 2 * KEPT;
/// What the lightest accounts may weigh together and be let go after a pull.
const LET_GO: f64 = 2e-6;
/// What could come to no more than this against the heaviest account (e^-16, one in nine million) is not
/// looked at.
const LN_FLOOR: f64 = 16.0;
/// An account with this probability needs no comparing.
const CLEAR: f64 = 0.9;
/// ln of the weight below which an account does not count where the leading one is chosen.
const HEAVY_LN: f64 = -7.0;
/// Share of missing readings that were on the fastener due next.
const MISSING_WAS_DUE: f64 = 0.85;
/// Missing readings followed one by one; beyond that nothing is assumed.
const MISSING_FOLLOWED: usize = 3;
/// Ending a job while a group has had fewer pulls than it has members, against ending it when it has had
/// them all: who pulls one twice and forgets another believes to have finished.
const ENDS_HALF_DONE: f64 = 0.03;

#[derive(Debug, Clone)]
pub(super) struct Beliefs {
    /// The best first, then heaviest first; weights sum to 1 after [`Hypothesis::ln`] is exponentiated.
    accounts: Arc<Vec<Hypothesis>>,
    /// What was let go weighed this, at most, when it was.
    dropped: f64,
}

impl Beliefs {
    pub fn new(scene: &Scene) -> Self {
        Self { accounts: Arc::new(vec![Hypothesis::new(scene)]), dropped: 0.0 }
    }

    /// The account that is held most likely.
    pub fn best(&self) -> &Hypothesis {
        &self.accounts[0]
    }

    /// What everything that was let go so far weighed when it was let go, at most.
    pub fn dropped(&self) -> f64 {
        self.dropped
    }

    /// The sum of the accounts' weights, each times what `share` of it counts.
    pub fn expected(&self, share: impl Fn(&Hypothesis) -> f64) -> f64 {
        let sum: f64 = self.accounts.iter().map(|one| one.ln.exp() * share(one)).sum();
        sum.clamp(0.0, 1.0)
    }

    /// The probability of whatever `holds` tells of an account.
    pub fn probability(&self, holds: impl Fn(&Hypothesis) -> bool) -> f64 {
        let sum: f64 = self.accounts.iter().filter(|one| holds(one)).map(|one| one.ln.exp()).sum();
        // An empty sum is -0.0.
        (sum + 0.0).clamp(0.0, 1.0)
    }

    /// Changes every account alike: something certain happened.
    pub fn for_all(&mut self, change: impl Fn(&mut Hypothesis)) {
        Arc::make_mut(&mut self.accounts).iter_mut().for_each(change);
    }

    /// Takes a pull into account.
    pub fn observe(&mut self, scene: &Scene, seen: &Seen) {
        let mut candidates: Vec<Candidate> = Vec::with_capacity(self.accounts.len() * 8);
        let mut heaviest = f64::NEG_INFINITY;
        // Of what was not looked at, no more than this was lost.
        let mut unseen = 0.0;
        for (parent, account) in self.accounts.iter().enumerate() {
            let least = heaviest - LN_FLOOR - account.ln;
            let mut weighing = Weighing::new(scene, account, seen, least);
            unseen += account.ln.exp()
                * weighing.all(|assignment, terms| {
                    let ln = account.ln + terms.sum();
                    if ln > f64::NEG_INFINITY {
                        heaviest = heaviest.max(ln);
                        candidates.push(Candidate { ln, parent, assignment });
                    }
                });
        }
        candidates.sort_unstable_by(|a, b| b.ln.total_cmp(&a.ln).then(a.parent.cmp(&b.parent)));
        let all: f64 = candidates.iter().map(|one| (one.ln - heaviest).exp()).sum();
        let worth_keeping = worth_keeping(candidates.iter().map(|one| (one.ln - heaviest).exp()));
        candidates.truncate(worth_keeping.min(CONSIDERED));
        let followed = candidates.into_iter().map(|Candidate { ln, parent, assignment }| {
            let mut account = self.accounts[parent].clone();
            account.ln = ln;
            let told = tells(scene, &account, seen, &assignment);
            account.apply(scene, seen, assignment, told);
            account
        });
        let mut accounts = join_alike(followed);
        accounts.truncate(KEPT);
        let kept: f64 = accounts.iter().map(|one| (one.ln - heaviest).exp()).sum();
        self.accounts = Arc::new(accounts);
        let unseen = unseen * (-heaviest).exp();
        self.lose(1.0 - kept / (all + unseen));
        self.normalise();
    }

    /// This share of what was left was let go.
    fn lose(&mut self, share: f64) {
        self.dropped += (1.0 - self.dropped) * share.clamp(0.0, 1.0);
    }

    /// Everything that a pull could be, in every account that is possible before it.
    pub fn weighed(&self, scene: &Scene, seen: &Seen) -> Vec<Weighed> {
        let accounts = self.accounts.iter();
        let all = accounts.flat_map(|account| {
            let mut all = Vec::new();
            let mut weighing = Weighing::new(scene, account, seen, f64::NEG_INFINITY);
            weighing.all(|assignment, by| all.push(Weighed { assignment, ln: account.ln, by }));
            all
        });
        all.filter(|one| one.by.sum() > f64::NEG_INFINITY).collect()
    }

    /// Takes a pull that the operator took back: it belongs to nothing.
    pub fn observe_void(&mut self, scene: &Scene, seen: &Seen) {
        self.for_all(|account| account.apply(scene, seen, Assignment::TRIAL, None));
    }

    /// Readings are missing: the fasteners due next may have been pulled unseen.
    pub fn miss(&mut self, scene: &Scene, readings: usize) {
        for _ in 0..readings.min(MISSING_FOLLOWED) {
            let unseen = self.accounts.iter().filter_map(|account| {
                let mut due = order::expectations(scene, account, 0.0, order::Signs::default()).found;
                due.retain(|(assignment, _)| assignment.act == Act::Tighten);
                due.sort_by(|a, b| b.1.total_cmp(&a.1));
                let (assignment, _) = *due.first()?;
                let fastener = assignment.fastener?;
                let mut account = account.clone();
                account.pass_over(scene, fastener, assignment.pass);
                account.ln += MISSING_WAS_DUE.ln();
                Some(account)
            });
            let unseen: Vec<Hypothesis> = unseen.collect();
            self.for_all(|account| account.ln += (1.0 - MISSING_WAS_DUE).ln());
            Arc::make_mut(&mut self.accounts).extend(unseen);
            self.normalise();
            let worth_keeping = worth_keeping(self.accounts.iter().map(|one| one.ln.exp()));
            Arc::make_mut(&mut self.accounts).truncate(worth_keeping.min(KEPT));
            let kept: f64 = self.accounts.iter().map(|one| one.ln.exp()).sum();
            self.lose(1.0 - kept);
            self.normalise();
        }
    }

    /// Nothing more will come: people seldom stop with a group half done.
    pub fn end(&mut self, scene: &Scene) {
        self.for_all(|account| {
            let half_done = (0..scene.plan.steps.len())
                .filter(|step| account.knows_it_is_short(scene, *step))
                .count();
            account.ln += ENDS_HALF_DONE.ln() * half_done as f64;
        });
        self.normalise();
    }

    fn normalise(&mut self) {
        let weights: Vec<f64> = self.accounts.iter().map(|account| account.ln).collect();
        let total = ln_sum(&weights);
        self.for_all(|account| account.ln -= total);
        Arc::make_mut(&mut self.accounts).sort_by(|a, b| b.ln.total_cmp(&a.ln));
        self.lead();
    }

    /// Puts first the account that agrees best with all of them, pull by pull: on which fastener it was,
    /// and what it was. Four accounts that differ only in which tight fastener was pulled again outweigh
    /// one in which none was.
    fn lead(&mut self) {
        let Some(first) = self.accounts.first().filter(|first| first.ln.exp() < CLEAR) else {
            return;
        };
        // By place in the history: what it was on, and what it was, each with its weight.
        let mut on: Vec<Vec<(Option<usize>, f64)>> = vec![Vec::new(); first.history.len()];
        let mut was = vec![[0.0; ACTS]; first.history.len()];
        let heavy = || self.accounts.iter().take_while(|account| account.ln > HEAVY_LN);
        for account in heavy() {
            let weight = account.ln.exp();
            for (place, past) in account.history.iter().enumerate() {
                for (one, p) in past.each() {
                    let sure = weight * p;
                    match on[place].iter_mut().find(|(fastener, _)| *fastener == one.fastener) {
                        Some((_, sum)) => *sum += sure,
                        None => on[place].push((one.fastener, sure)),
                    }
                    was[place][kind(one)] += sure;
                }
            }
        }
        let agreement = |account: &Hypothesis| -> f64 {
            let all = account.history.iter().enumerate();
            all.map(|(place, past)| {
                let its = on[place].iter().find(|(one, _)| *one == past.was.fastener);
                its.map_or(0.0, |(_, weight)| *weight) + was[place][kind(&past.was)]
            })
            .sum()
        };
        let mut best = (0, f64::NEG_INFINITY);
        for (place, account) in heavy().enumerate() {
            let found = agreement(account);
            if found > best.1 + 1e-9 {
                best = (place, found);
            }
        }
        Arc::make_mut(&mut self.accounts)[..=best.0].rotate_right(1);
    }
}

/// Kinds of assignments, and the number of one.
const ACTS: usize = 6;
fn kind(one: &Assignment) -> usize {
    match one.act {
        Act::Tighten if one.unturned => 0,
        Act::Tighten if one.slackened => 5,
        Act::Tighten => 1,
        Act::Recheck => 2,
        Act::Loosen => 3,
        Act::Trial => 4,
    }
}

/// Makes one of accounts that stand alike: whatever comes, they will never be told apart again. The
/// heaviest first.
fn join_alike(accounts: impl Iterator<Item = Hypothesis>) -> Vec<Hypothesis> {
    let mut found: BTreeMap<u64, Vec<usize>> = BTreeMap::new();
    let mut kept: Vec<Hypothesis> = Vec::new();
    for account in accounts {
        let places = found.entry(account.stand()).or_default();
        match places.iter().find(|place| kept[**place].stands_as(&account)) {
            Some(place) => kept[*place].join(&account),
            None => {
                places.push(kept.len());
                kept.push(account);
            }
        }
    }
    kept.sort_by(|a, b| b.ln.total_cmp(&a.ln));
    kept
}

/// What a pull could have been in the account at `parent`.
struct Candidate {
    ln: f64,
    parent: usize,
    assignment: Assignment,
}

/// How many of the heaviest, as they come, leave no more than [`LET_GO`] of the whole behind.
fn worth_keeping(
    weights: impl DoubleEndedIterator<Item = f64> + ExactSizeIterator + Clone,
) -> usize {
    let whole: f64 = weights.clone().sum();
    let mut left = 0.0;
    let light = weights.clone().rev().take_while(|weight| {
        left += weight;
        left <= LET_GO * whole
    });
    weights.len() - light.count()
}
