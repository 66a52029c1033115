//! The accounts that are still held possible, each with its weight.
//!
//! Every pull multiplies the accounts by what it could have been and keeps the best of them. Nothing
//! here decides: probabilities are sums of weights, and the rest of the tracker asks for them.

use crate::core::event::Act;
use crate::core::tracker::evidence::known::Known;
use crate::core::tracker::evidence::{
    adapter, ln_sum, mark, motion, order, rotation, time, torque, trace,
};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::{Assignment, Seen, Told};
use crate::core::tracker::rules::castle;
use crate::core::tracker::scene::Scene;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Weight of what the shape of a pull tells beside how far it turned, which tells much of the same.
const BESIDE_ROTATION: f64 = 0.5;
/// Accounts kept after each pull at most,
const KEPT: usize = 48;
/// and of those no more than are needed for all but this share.
const SPARED: f64 = 2e-5;
/// Accounts looked at for those that have come to the same.
const CONSIDERED: usize = 96;
/// No likelihood of a peak is above e to this: the narrowest density is that of the torque that people stop at.
const MOST_OF_TORQUE: f64 = 3.0;
/// The same of all else that a pull tells, but for how the tool moved.
const MOST_TOLD: f64 = 0.6;
/// Accounts lighter than the heaviest by this much (e^-16, one in nine million) are let go.
const LN_FLOOR: f64 = 16.0;
/// An account with this probability needs no comparing.
const CLEAR: f64 = 0.9;
/// Share of pulls before which a fastener that must be slackened was slackened unseen.
const SLACKENED_UNSEEN: f64 = 0.3;
/// Share of missing readings that were on the fastener due next.
const MISSING_WAS_DUE: f64 = 0.85;
/// Missing readings followed one by one; beyond that nothing is assumed.
const MISSING_FOLLOWED: usize = 3;
/// Ending a job while a group has had fewer pulls than it has members, against ending it when it has had
/// them all: who pulls one twice and forgets another believes to have finished.
const ENDS_HALF_DONE: f64 = 0.03;
/// The same of one of which nothing was done.
const ENDS_NOT_BEGUN: f64 = 0.05;
/// The same in the middle of a round over what is tight.
const ENDS_HALF_CHECKED: f64 = 0.1;

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
        let mut candidates = Vec::new();
        let by_account: Vec<Seen> = self.accounts.iter().map(|one| one.seeing(seen)).collect();
        let mut desk = Desk::default();
        let most = MOST_TOLD + seen.moved.as_ref().map_or(0.0, motion::most);
        // Those that cannot be among the considered ones any more.
        let mut low: Vec<f64> = Vec::new();
        let mut least = f64::MIN;
        let mut light = f64::NEG_INFINITY;
        for (parent, (account, seen)) in self.accounts.iter().zip(&by_account).enumerate() {
            let here = least - most - account.ln;
            weigh(scene, (account, &self.new), seen, here, &mut desk, |assignment, terms| {
                let ln = account.ln + terms.sum();
                if ln > least {
                    candidates.push((ln, parent, assignment));
                } else if ln > f64::NEG_INFINITY {
                    low.push(ln);
                }
            });
            // The heaviest accounts come first: lighter ones seldom have anything to add.
            if candidates.len() + low.len() > 2 * CONSIDERED || parent + 1 == by_account.len() {
                candidates.sort_by(|a, b| b.0.total_cmp(&a.0));
                let rest = candidates.drain(CONSIDERED.min(candidates.len())..);
                low.sort_by(|a, b| b.total_cmp(a));
                let rest = rest.map(|(ln, _, _)| ln).chain(low.drain(..));
                light = rest.fold(light, |light, ln| ln_sum(&[light, ln]));
                least = candidates.get(CONSIDERED - 1).map_or(least, |last| last.0);
            }
        }
        let heaviest = candidates.first().map_or(0.0, |best| best.0);
        self.accounts = candidates
            .into_iter()
            .filter(|(ln, _, _)| *ln > heaviest - LN_FLOOR)
            .map(|(ln, parent, assignment)| {
                let (mut account, seen) = (self.accounts[parent].branch(), &by_account[parent]);
                account.ln = ln;
                let told = tells(scene, &account, seen, &assignment);
                account.apply(scene, seen, assignment, told);
                Arc::new(account)
            })
            .collect();
        self.join_alike();
        let light = ln_sum(&[light, self.keep(scene)]);
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
                let mut due = order::expectations(scene, account, 0.0);
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

    /// Nothing more will come: people seldom stop with a group half done, or not begun.
    pub fn end(&mut self, scene: &Scene) {
        self.for_all(|account| {
            let steps = || 0..scene.plan.steps.len();
            let half_done = steps().filter(|step| account.knows_it_is_short(scene, *step)).count();
            let not_begun = steps().filter(|step| account.has_not_begun(scene, *step)).count();
            account.ln += ENDS_HALF_DONE.ln() * half_done as f64;
            let half_checked = steps().filter(|step| account.is_half_checked(scene, *step)).count();
            account.ln += ENDS_HALF_CHECKED.ln() * half_checked as f64;
            account.ln += ENDS_NOT_BEGUN.ln() * not_begun as f64;
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

/// Something that a pull could have been, in one account.
pub(super) struct Weighed {
    pub assignment: Assignment,
    /// Natural logarithm of the account's weight before the pull.
    pub ln: f64,
    pub by: Terms,
}

/// Natural logarithms of what each source makes of an assignment: of the prior, and of the likelihoods. None for a
/// source that says nothing of this pull.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Terms {
    pub order: f64,
    /// With it, whether the adapter's range covers it.
    pub torque: f64,
    pub time: f64,
    pub mark: Option<f64>,
    pub motion: Option<f64>,
    pub rotation: Option<f64>,
    pub trace: Option<f64>,
}

impl Terms {
    fn sum(&self) -> f64 {
        let told = [self.mark, self.motion, self.rotation, self.trace];
        self.order + self.torque + self.time + told.into_iter().flatten().sum::<f64>()
    }
}

/// What was worked out already of the pull at hand, and lists that are used again from account to account.
#[derive(Default)]
struct Desk {
    torques: Known<torque::Ground>,
    /// In one account.
    pauses: Known<time::Step>,
    moves: Known<motion::Hop>,
    turns: Known<rotation::Ground>,
    prior: order::Prior,
    /// By place in the prior.
    weighed: Vec<(usize, Assignment, Terms)>,
    forms: Vec<(Assignment, f64)>,
}

/// Everything the pull could have been in one account, with the logarithms of prior and likelihoods; nothing of what it
/// cannot have been. What cannot come to more than e to `least`, but for how it turned, how long it took and what else is
/// told of it, is not looked at. `new`: the account that all came from.
fn weigh(
    scene: &Scene,
    (account, new): (&Hypothesis, &Hypothesis),
    seen: &Seen,
    least: f64,
    desk: &mut Desk,
    mut take: impl FnMut(Assignment, Terms),
) {
    let worth = (least - MOST_OF_TORQUE).exp();
    let Desk { torques, pauses, moves, turns, prior, weighed, forms } = desk;
    pauses.forget();
    moves.forget();
    turns.forget();
    weighed.clear();
    prior.expect(scene, account, Some(new), worth);
    let turned_back = scene.turns_back(seen.nm).then(|| order::loosening(scene, account));
    let loosened = turned_back.into_iter().flatten();
    let back = order::loosen_share(scene, account);
    let mut again = prior.again.iter().peekable();
    let prior = prior
        .shares
        .iter()
        .map(|(assignment, share)| (*assignment, share * (1.0 - back)))
        .chain(loosened.map(|(assignment, share)| (assignment, share * back)));
    // Many that follow each other have the same share.
    let mut known = (1.0, 0.0);
    for (place, (assignment, share)) in prior.enumerate() {
        // A group like one that was weighed just now: nobody has touched either.
        if let Some(one) = again.peek().filter(|one| one.places.contains(&place)) {
            let first = place == one.places.start;
            let like = weighed.iter().filter(|(like, ..)| first && one.first.contains(like));
            for (_, like, terms) in like {
                let assignment = like.further(one.on);
                let mark = scene.at.map(|_| mark::ln_likelihood(scene, seen, &assignment));
                take(assignment, Terms { mark, ..*terms });
            }
            again.next_if(|one| one.places.end == place + 1);
            continue;
        }
        if share <= worth {
            continue;
        }
        forms.clear();
        variants(scene, account, seen, assignment, share, forms);
        for (assignment, share) in forms.iter().copied() {
            let torque = torque::ground(scene, account, &assignment);
            let torque = torque.map_or_else(torque::anything, |ground| {
                torques.of(ground, |ground| torque::ln_likelihood(scene, seen.nm, ground))
            });
            if share != known.0 {
                known = (share, share.ln());
            }
            let order = known.1;
            // Neither how long it took nor how far it turned is ever so likely.
            if order + torque < least {
                continue;
            }
            let time = time::ground(scene, account, seen, &assignment).map_or(0.0, |step| {
                pauses.of(step, |step| time::ln_likelihood(scene, account, seen, *step))
            });
            let mut terms = Terms {
                order,
                torque: torque + adapter::ln_likelihood(scene, seen, &assignment),
                time,
                mark: scene.at.map(|_| mark::ln_likelihood(scene, seen, &assignment)),
                ..Terms::default()
            };
            if let Some(moved) = &seen.moved {
                let hop = motion::hop(scene, account, moved.back, &assignment);
                let ln = moves.of(hop, |hop| motion::ln_likelihood(account, moved, hop));
                terms.motion = Some(ln);
            }
            if let Some(deg) = seen.turned_deg {
                let ground = rotation::ground(scene, account, &assignment);
                terms.rotation = Some(ground.map_or_else(rotation::anything, |ground| {
                    turns.of(ground, |ground| {
                        rotation::ln_likelihood(scene, account, seen.nm, deg, ground)
                    })
                }));
            }
            if let Some(told) = seen.ln_tight {
                let held = rotation::held_share(scene, account, seen.nm, &assignment);
                let ln = trace::ln_likelihood(account, told, held, &assignment);
                terms.trace = Some(match seen.turned_deg {
                    Some(_) => BESIDE_ROTATION * ln,
                    None if held > rotation::HOLDS_SHARE => ln,
                    None => ln + rotation::ln_share(scene, account, &assignment),
                });
            }
            weighed.push((place, assignment, terms));
            take(assignment, terms);
        }
    }
}

/// What else must be told apart of one assignment: slackened before without being seen, and reaching
/// torque without turning.
fn variants(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Seen,
    assignment: Assignment,
    share: f64,
    found: &mut Vec<(Assignment, f64)>,
) {
    let assignment = castle::forward(scene, account, assignment);
    let spoiled = assignment.fastener.and_then(|fastener| account.members[fastener].spoiled);
    match (spoiled, assignment.act) {
        (Some(_), Act::Tighten) => {
            // Not slackened, it is tight: pulling again is no tightening.
            let again = Assignment { act: Act::Recheck, ..assignment };
            found.push((Assignment { slackened: true, ..assignment }, share * SLACKENED_UNSEEN));
            found.push((again, share * (1.0 - SLACKENED_UNSEEN)));
        }
        _ => found.push((assignment, share)),
    }
    let told = seen.turned_deg.is_some() || seen.looks.is_some();
    if told && rotation::may_be_unturned(scene, account, seen.nm, &assignment) {
        // The share of fasteners already tight is part of the rotation's own likelihood.
        for place in 0..found.len() {
            let (one, share) = found[place];
            found.push((Assignment { unturned: true, ..one }, share));
        }
    }
}

/// What tells that the pull was on this fastener, beyond plan order, torque and time.
fn tells(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Seen,
    assignment: &Assignment,
) -> Option<Told> {
    let marked = scene.at.is_some() && scene.at == assignment.fastener;
    let moved = seen.moved.is_some_and(|moved| motion::tells(scene, account, &moved, assignment));
    let turned = match (seen.turned_deg, seen.ln_tight) {
        (Some(_), _) => true,
        (None, Some(told)) => trace::turned(account, told),
        (None, None) => false,
    };
    if marked || moved {
        Some(Told::Place)
    } else if turned && assignment.act == Act::Tighten && !assignment.unturned {
        Some(Told::Turning)
    } else {
        None
    }
}
