//! Everything that a pull could have been in one account, with what each source of evidence makes of it.

use crate::core::event::{Act, Moved};
use crate::core::tracker::evidence::order::Signs;
use crate::core::tracker::evidence::{adapter, mark, motion, order, rotation, time, torque, trace};
use crate::core::tracker::hypothesis::{Assignment, Hypothesis, Seen, Told};
use crate::core::tracker::member::Spoiled;
use crate::core::tracker::scene::Scene;

/// Share of pulls before which a fastener that must be slackened was slackened unseen.
const SLACKENED_UNSEEN: f64 = 0.3;

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
    pub(super) fn sum(&self) -> f64 {
        let told = [self.mark, self.motion, self.rotation, self.trace];
        self.order + self.torque + self.time + told.into_iter().flatten().sum::<f64>()
    }
}

/// Weighs a pull in one account.
pub(super) struct Weighing<'a> {
    scene: &'a Scene,
    account: &'a Hypothesis,
    seen: &'a Seen,
    /// ln of a weight below which nothing is looked at.
    least: f64,
    /// ln of the most that all likelihoods together can come to.
    most: f64,
    /// Likelihoods that were worked out already.
    known: Vec<(Alike, Known)>,
}

/// All that likelihoods of torque, rotation and trace depend on within one account: many fasteners of a
/// group stand alike.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Alike {
    step: Option<usize>,
    pass: usize,
    act: Act,
    slackened: bool,
    unturned: bool,
    held_nm: f64,
}

#[derive(Debug, Clone, Copy)]
struct Known {
    torque: f64,
    rotation: Option<f64>,
    trace: Option<f64>,
}

impl<'a> Weighing<'a> {
    pub fn new(scene: &'a Scene, account: &'a Hypothesis, seen: &'a Seen, least: f64) -> Self {
        let moved = seen.moved.as_ref().map_or(0.0, motion::most);
        let turned = seen.turned_deg.map_or(0.0, |_| rotation::MOST);
        let shown = seen.shape.map_or(0.0, |_| trace::MOST);
        let most = torque::MOST + moved + turned.max(shown);
        Self { scene, account, seen, least, most, known: Vec::new() }
    }

    /// Gives all that is worth looking at; returns what the rest could weigh at most, against the account.
    pub fn all(&mut self, mut take: impl FnMut(Assignment, Terms)) -> f64 {
        let least_share = (self.least - self.most).exp();
        let tightened = 1.0 - order::LOOSEN_SHARE;
        // Who says where they are numbers the members, and a direction tells how they lie.
        let directed = self.seen.moved.is_some_and(|one| matches!(one.moved, Moved::Axes { .. }));
        let marked = self.scene.at.is_some();
        let place = marked || self.seen.moved.is_some();
        let signs = Signs { place, way_round: marked || directed };
        let least_in_step = least_share / tightened;
        let expected = order::expectations(self.scene, self.account, least_in_step, signs);
        let mut left = expected.skipped * tightened;
        let prior = expected.found.into_iter().map(|(one, share)| (one, share * tightened));
        let loosened =
            if self.turns_back() { order::loosening(self.scene, self.account) } else { Vec::new() };
        let back = loosened.into_iter().map(|(one, share)| (one, share * order::LOOSEN_SHARE));
        for (assignment, share) in prior.chain(back) {
            if share < least_share {
                left += share;
                continue;
            }
            let variants = variants(self.scene, self.account, self.seen, assignment, share);
            for (assignment, share) in variants.into_iter().flatten() {
                if let Some(terms) = self.terms(assignment, share) {
                    take(assignment, terms);
                }
            }
        }
        left * self.most.exp()
    }

    /// True if the pull turned something back.
    fn turns_back(&self) -> bool {
        let mut steps = self.scene.plan.steps.iter();
        steps.any(|step| (self.seen.nm < 0.0) != step.left_hand)
    }

    /// None if it cannot have been that.
    fn terms(&mut self, assignment: Assignment, share: f64) -> Option<Terms> {
        let (scene, account, seen) = (self.scene, self.account, self.seen);
        let known = self.known(&assignment);
        if known.torque == f64::NEG_INFINITY {
            return None;
        }
        Some(Terms {
            order: share.ln(),
            torque: known.torque,
            time: time::ln_likelihood(scene, account, seen, &assignment),
            mark: scene.at.map(|_| mark::ln_likelihood(scene, &assignment)),
            motion: seen
                .moved
                .as_ref()
                .map(|moved| motion::ln_likelihood(scene, account, moved, &assignment)),
            rotation: known.rotation,
            trace: known.trace,
        })
    }

    fn known(&mut self, assignment: &Assignment) -> Known {
        let (scene, account, seen) = (self.scene, self.account, self.seen);
        let alike = Alike {
            step: assignment.fastener.map(|fastener| scene.step_of(fastener)),
            pass: assignment.pass,
            act: assignment.act,
            slackened: assignment.slackened,
            unturned: assignment.unturned,
            held_nm: assignment.fastener.map_or(0.0, |one| account.members[one].held_nm),
        };
        if let Some((_, known)) = self.known.iter().find(|(one, _)| *one == alike) {
            return *known;
        }
        let mut known = Known {
            torque: torque::ln_likelihood(scene, account, seen.nm, assignment)
                + adapter::ln_likelihood(scene, seen, assignment),
            rotation: None,
            trace: None,
        };
        if known.torque > f64::NEG_INFINITY {
            known.rotation = seen
                .turned_deg
                .map(|deg| rotation::ln_likelihood(scene, account, seen.nm, deg, assignment));
            let shape = seen.shape.filter(|_| seen.turned_deg.is_none());
            known.trace = shape.map(|shape| {
                let held = rotation::held_share(scene, account, seen.nm, assignment);
                let still = rotation::short_of_gun(scene, account, seen.nm, assignment);
                let ln = trace::ln_likelihood(account, &shape, held, still, assignment);
                let tight = held > rotation::HOLDS_SHARE;
                ln + if tight { 0.0 } else { rotation::ln_share(scene, account, assignment) }
            });
        }
        self.known.push((alike, known));
        known
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
) -> [Option<(Assignment, f64)>; 4] {
    let spoiled = assignment.fastener.and_then(|fastener| account.members[fastener].spoiled);
    let (first, second) = match (spoiled, assignment.act) {
        (Some(Spoiled::Hold(_) | Spoiled::Unturned), Act::Tighten) => {
            // Not slackened, it is tight: pulling again is no tightening.
            let again = Assignment { act: Act::Recheck, ..assignment };
            let slackened = Assignment { slackened: true, ..assignment };
            ((slackened, share * SLACKENED_UNSEEN), Some((again, share * (1.0 - SLACKENED_UNSEEN))))
        }
        _ => ((assignment, share), None),
    };
    let told = seen.turned_deg.is_some() || seen.shape.is_some();
    if !told || !rotation::may_be_unturned(scene, account, seen.nm, &assignment) {
        return [Some(first), second, None, None];
    }
    // The share of fasteners already tight is part of the rotation's own likelihood.
    let unturned = |(one, share)| (Assignment { unturned: true, ..one }, share);
    [Some(first), second, Some(unturned(first)), second.map(unturned)]
}

/// What tells that the pull was on this fastener, beyond plan order, torque and time.
pub(super) fn tells(
    scene: &Scene,
    account: &Hypothesis,
    seen: &Seen,
    assignment: &Assignment,
) -> Option<Told> {
    let marked = scene.at.is_some() && scene.at == assignment.fastener;
    let moved = seen.moved.is_some_and(|moved| motion::tells(scene, account, &moved, assignment));
    let turned = match (seen.turned_deg, &seen.shape) {
        (Some(_), _) => true,
        (None, Some(shape)) => trace::turned(account, shape),
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
