//! The accounts that are still held possible, each with its weight.
//!
//! Every pull multiplies the accounts by what it could have been and keeps the best of them. Nothing
//! here decides: probabilities are sums of weights, and the rest of the tracker asks for them.

use crate::core::event::Act;
use crate::core::tracker::evidence::{ln_sum, order, walk};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::{Assignment, Seen};
use crate::core::tracker::scene::Scene;
use crate::core::tracker::sieve::Sieve;
use crate::core::tracker::weigh::{Desk, Weighed, tells, weigh};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Accounts kept after each pull at most,
const KEPT: usize = 40;
/// and of those no more than are needed for all but this share.
const SPARED: f64 = 2e-5;
/// Accounts lighter than the heaviest by this much (e^-16, one in nine million) are let go.
const LN_FLOOR: f64 = 16.0;
/// An account with this probability needs no comparing.
const CLEAR: f64 = 0.9;
/// Share of missing readings that were on the fastener due next.
const MISSING_WAS_DUE: f64 = 0.85;
/// Missing readings followed one by one; beyond that nothing is assumed.
const MISSING_FOLLOWED: usize = 3;
/// Ending a job while a group has had fewer pulls than it has members, against ending it when it has had
/// them all: who pulls one twice and forgets another believes to have finished.
const ENDS_HALF_DONE: f64 = 0.03;
/// The same of one of which nothing was done.
const ENDS_NOT_BEGUN: f64 = 0.05;
/// The same at one place in the middle of a round over what is tight, if one round in five stops short, at any place
/// alike: a judgement, as the others are.
const ENDS_HALF_CHECKED: f64 = 0.03;
/// The same of a round that the plan asks for, and so the voice, until it is round.
const ENDS_HALF_ASKED: f64 = 0.01;

#[derive(Debug, Clone)]
pub(super) struct Beliefs {
    /// The best first, then heaviest first; weights sum to 1 after [`Hypothesis::ln`] is exponentiated. Kept by reference:
    /// they are sorted, and states are copied, pull by pull.
    accounts: Vec<Arc<Hypothesis>>,
    /// The account that all others came from, in which nothing has happened.
    new: Arc<Hypothesis>,
    /// Probability of what was let go, summed over all pulls, by the step that they were on.
    let_go: Vec<f64>,
}

impl Beliefs {
    pub fn new(scene: &Scene) -> Self {
        let let_go = vec![0.0; scene.plan.steps.len()];
        let new = Arc::new(Hypothesis::new(scene));
        Self { accounts: vec![new.clone()], new, let_go }
    }

    /// The account that is held most likely.
    pub fn best(&self) -> &Hypothesis {
        &self.accounts[0]
    }

    /// The probability of all accounts that were let go, at most.
    pub fn let_go(&self) -> f64 {
        self.let_go.iter().sum::<f64>().min(1.0)
    }

    /// The same of those that were let go at pulls on this step.
    pub fn let_go_at(&self, step: usize) -> f64 {
        self.let_go[step].min(1.0)
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

    /// True if `holds` is true of any account.
    pub fn is_possible(&self, holds: impl Fn(&Hypothesis) -> bool) -> bool {
        self.accounts.iter().any(|one| holds(one))
    }

    /// Changes every account alike: something certain happened.
    pub fn for_all(&mut self, change: impl Fn(&mut Hypothesis)) {
        self.accounts.iter_mut().for_each(|account| change(Arc::make_mut(account)));
    }

    /// Takes a pull into account.
    pub fn observe(&mut self, scene: &Scene, seen: &Seen) {
        let mut sieve = Sieve::default();
        let by_account: Vec<Seen> = self.accounts.iter().map(|one| one.seeing(seen)).collect();
        let mut desk = Desk::default();
        // The heaviest accounts come first: lighter ones seldom have anything to add.
        for (parent, (account, seen)) in self.accounts.iter().zip(&by_account).enumerate() {
            let here = sieve.least - account.ln;
            weigh(scene, (account, &self.new), seen, here, &mut desk, |assignment, terms| {
                sieve.take(account.ln + terms.sum(), parent, assignment);
            });
            sieve.shake();
        }
        let (candidates, low) = sieve.sorted();
        let heaviest = candidates.first().map_or(0.0, |best| best.ln);
        self.accounts = candidates
            .into_iter()
            .filter(|one| one.ln > heaviest - LN_FLOOR)
            .map(|one| {
                let (mut account, seen) =
                    (self.accounts[one.parent].branch(), &by_account[one.parent]);
                account.ln = one.ln;
                let told = tells(scene, &account, seen, &one.assignment);
                account.apply(scene, seen, one.assignment, told);
                Arc::new(account)
            })
            .collect();
        self.join_alike();
        let light = ln_sum(&[low, self.keep(scene)]);
        let kept: Vec<f64> = self.accounts.iter().map(|one| one.ln).collect();
        let share = (light - ln_sum(&[light, ln_sum(&kept)])).exp();
        self.normalise();
        if let Some(last) = self.best().last {
            self.let_go[scene.step_of(last.fastener)] += share;
        }
    }

    /// Everything that a pull could be, in every account that is possible before it.
    pub fn weighed(&self, scene: &Scene, seen: &Seen) -> Vec<Weighed> {
        let mut desk = Desk::default();
        let mut all = Vec::new();
        for account in &self.accounts {
            let seen = account.seeing(seen);
            weigh(scene, (account, &self.new), &seen, f64::MIN, &mut desk, |assignment, by| {
                if by.sum() > f64::NEG_INFINITY {
                    all.push(Weighed { assignment, ln: account.ln, by });
                }
            });
        }
        all
    }

    /// Makes one of accounts that stand alike: whatever comes, they will never be told apart again.
    fn join_alike(&mut self) {
        let mut stands: Vec<u64> = Vec::with_capacity(self.accounts.len());
        let mut kept: Vec<Arc<Hypothesis>> = Vec::with_capacity(self.accounts.len());
        for account in std::mem::take(&mut self.accounts) {
            let stand = account.stand();
            let mut all = stands.iter().zip(&kept);
            match all.position(|(one, kept)| *one == stand && kept.stands_as(&account)) {
                Some(place) => Arc::make_mut(&mut kept[place]).join(&account),
                None => {
                    stands.push(stand);
                    kept.push(account);
                }
            }
        }
        kept.sort_by(|a, b| b.ln.total_cmp(&a.ln));
        self.accounts = kept;
    }

    /// How many of the heaviest are all but what may be spared.
    fn needed(&self) -> usize {
        let weights: Vec<f64> = self.accounts.iter().map(|one| one.ln).collect();
        let all = ln_sum(&weights);
        let mut tail = 0.0;
        let spared = weights.iter().rev().take_while(|ln| {
            tail += (**ln - all).exp();
            tail <= SPARED
        });
        weights.len() - spared.count()
    }

    /// Keeps the heaviest accounts. One that goes is counted with a kept one in which every fastener stands as in this
    /// one; ln of the weight of those for which there is none.
    fn keep(&mut self, scene: &Scene) -> f64 {
        let rest = self.accounts.split_off(self.needed().min(KEPT));
        if rest.is_empty() {
            return f64::NEG_INFINITY;
        }
        let mut of = BTreeMap::new();
        for (place, account) in self.accounts.iter().enumerate() {
            of.entry(account.outcome(scene)).or_insert(place);
        }
        let mut light = f64::NEG_INFINITY;
        for account in rest {
            match of.get(&account.outcome(scene)) {
                Some(place) => Arc::make_mut(&mut self.accounts[*place]).join(&account),
                None => light = ln_sum(&[light, account.ln]),
            }
        }
        light
    }

    /// Takes a pull that the operator took back: it belongs to nothing.
    pub fn observe_void(&mut self, scene: &Scene, seen: &Seen) {
        self.for_all(|account| account.apply(scene, seen, Assignment::TRIAL, None));
    }

    /// Readings are missing: the fasteners due next may have been pulled unseen.
    pub fn miss(&mut self, scene: &Scene, readings: usize) {
        for _ in 0..readings.min(MISSING_FOLLOWED) {
            let unseen = self.accounts.iter().filter_map(|account| {
                let mut due = order::expectations(scene, account);
                due.retain(|(assignment, _)| assignment.act == Act::Tighten);
                due.sort_by(|a, b| b.1.total_cmp(&a.1));
                let (assignment, _) = *due.first()?;
                let fastener = assignment.fastener?;
                let mut account = account.branch();
                account.pass_over(scene, fastener, assignment.pass);
                account.ln += MISSING_WAS_DUE.ln();
                Some(Arc::new(account))
            });
            let unseen: Vec<Arc<Hypothesis>> = unseen.collect();
            self.for_all(|account| account.ln += (1.0 - MISSING_WAS_DUE).ln());
            self.accounts.extend(unseen);
            self.normalise();
            self.accounts.truncate(KEPT);
        }
    }

    /// Nothing more will come.
    pub fn end(&mut self, scene: &Scene) {
        self.for_all(|account| {
            let steps = 0..scene.plan.steps.len();
            let ln: f64 = steps.map(|step| ends(scene, account, step).ln()).sum();
            account.ln += ln;
        });
        self.normalise();
    }

    fn normalise(&mut self) {
        let weights: Vec<f64> = self.accounts.iter().map(|account| account.ln).collect();
        let total = ln_sum(&weights);
        self.for_all(|account| account.ln -= total);
        self.accounts.sort_by(|a, b| b.ln.total_cmp(&a.ln));
        self.lead();
    }

    /// Puts first the account that agrees best with all of them, pull by pull: on which fastener it was,
    /// and what it was. Four accounts that differ only in which tight fastener was pulled again outweigh
    /// one in which none was.
    fn lead(&mut self) {
        let Some(first) = self.accounts.first().filter(|first| first.ln.exp() < CLEAR) else {
            return;
        };
        let (pulls, fasteners) = (first.history.len(), first.members.len() + 1);
        let wide = fasteners + ACTS;
        let mut weights = vec![0.0; pulls * wide];
        let places = |place: usize, one: &Assignment| {
            let fastener = one.fastener.map_or(0, |fastener| fastener + 1);
            (place * wide + fastener, place * wide + fasteners + kind(one))
        };
        for account in &self.accounts {
            let weight = account.ln.exp();
            for (place, past) in account.history.iter().enumerate() {
                let (where_it_was, what_it_was) = places(place, &past.was);
                weights[where_it_was] += weight * past.sure;
                weights[what_it_was] += weight;
                if let Some((fastener, share)) = past.otherwise {
                    let fastener = fastener.map_or(0, |fastener| fastener + 1);
                    weights[place * wide + fastener] += weight * share;
                }
            }
        }
        let agreement = |account: &Hypothesis| -> f64 {
            let all = account.history.iter().enumerate();
            all.map(|(place, one)| {
                let (where_it_was, what_it_was) = places(place, &one.was);
                weights[where_it_was] + weights[what_it_was]
            })
            .sum()
        };
        let mut best = (0, f64::NEG_INFINITY);
        for (place, account) in self.accounts.iter().enumerate() {
            let found = agreement(account);
            if found > best.1 + 1e-9 {
                best = (place, found);
            }
        }
        self.accounts[..=best.0].rotate_right(1);
    }
}

/// How often a job ends with a step as it stands, against ending it when all is done: people seldom stop with a group half
/// done, or not begun.
fn ends(scene: &Scene, account: &Hypothesis, step: usize) -> f64 {
    let done = if account.lacks_last(scene, step) {
        walk::passed_over(usize::from(scene.step(step).members))
    } else if account.knows_it_is_short(scene, step) {
        ENDS_HALF_DONE
    } else if account.has_not_begun(scene, step) {
        ENDS_NOT_BEGUN
    } else {
        1.0
    };
    if !account.is_half_checked(scene, step) {
        return done;
    }
    done * if scene.final_check(step).is_some() { ENDS_HALF_ASKED } else { ENDS_HALF_CHECKED }
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
