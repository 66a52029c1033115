//! What a pull could have been, in one account: every assignment with what each source makes of it.

use crate::core::event::Act;
use crate::core::tracker::evidence::known::Known;
use crate::core::tracker::evidence::{adapter, mark, motion, order, rotation, time, torque, trace};
use crate::core::tracker::hypothesis::Hypothesis;
use crate::core::tracker::pull::{Assignment, Seen, Told};
use crate::core::tracker::rules::castle;
use crate::core::tracker::scene::Scene;

/// Weight of what the shape of a pull tells beside how far it turned, which tells much of the same.
const BESIDE_ROTATION: f64 = 0.5;
/// No likelihood of a peak is above e to this: the narrowest density is that of the torque that people stop at.
const MOST_OF_TORQUE: f64 = 3.0;
/// The same of all else that a pull tells, but for how the tool moved.
const MOST_TOLD: f64 = 0.6;
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
    pub fn sum(&self) -> f64 {
        let told = [self.mark, self.motion, self.rotation, self.trace];
        self.order + self.torque + self.time + told.into_iter().flatten().sum::<f64>()
    }
}

/// What was worked out already of the pull at hand, and lists that are used again from account to account.
#[derive(Default)]
pub(super) struct Desk {
    torques: Known<torque::Ground>,
    /// In one account.
    pauses: Known<time::Step>,
    moves: Known<motion::Hop>,
    turns: Known<rotation::Ground>,
    prior: order::Prior,
    /// ln that time and move come to at most, by step.
    reach: Vec<f64>,
    /// By place in the prior.
    weighed: Vec<(usize, Assignment, Terms)>,
    forms: Vec<(Assignment, f64)>,
}

impl Desk {
    fn time(&mut self, (scene, account, seen): Case<'_>, assignment: &Assignment) -> f64 {
        time::ground(scene, account, seen, assignment).map_or(0.0, |step| {
            self.pauses.of(step, |step| time::ln_likelihood(scene, account, seen, *step))
        })
    }

    fn motion(&mut self, (scene, account, seen): Case<'_>, assignment: &Assignment) -> Option<f64> {
        let moved = seen.moved.as_ref()?;
        let hop = motion::hop(scene, account, moved.back, assignment);
        Some(self.moves.of(hop, |hop| motion::ln_likelihood(account, moved, hop)))
    }

    fn rotation(
        &mut self,
        (scene, account, seen): Case<'_>,
        assignment: &Assignment,
    ) -> Option<f64> {
        let deg = seen.turned_deg?;
        let ground = rotation::ground(scene, account, assignment);
        Some(ground.map_or_else(rotation::anything, |ground| {
            self.turns
                .of(ground, |ground| rotation::ln_likelihood(scene, account, seen.nm, deg, ground))
        }))
    }

    /// What time and move tell of every step but those that the tool may have stayed at, which `most` is for.
    fn reach(&mut self, case: Case<'_>, most: f64) {
        let (scene, account, seen) = case;
        let from = seen.moved.as_ref().and_then(|moved| motion::from(account, moved.back));
        let here =
            [account.last.map(|last| last.fastener), from].map(|at| at.map(|at| scene.step_of(at)));
        // They differ in nothing but whether they are groups or lone fasteners.
        let mut known = [None; 2];
        let mut reach = std::mem::take(&mut self.reach);
        reach.clear();
        reach.extend((0..scene.plan.steps.len()).map(|step| {
            if here.contains(&Some(step)) {
                return most;
            }
            *known[usize::from(scene.step(step).members > 1)].get_or_insert_with(|| {
                let any = Assignment::new(scene.fasteners_of(step).start, 0, Act::Tighten);
                self.time(case, &any) + self.motion(case, &any).unwrap_or(0.0)
            })
        }));
        self.reach = reach;
    }
}

/// A pull as an account sees it.
type Case<'a> = (&'a Scene, &'a Hypothesis, &'a Seen);

/// Everything the pull could have been in one account, with the logarithms of prior and likelihoods; nothing of what it
/// cannot have been. What cannot come to more than e to `least` is not looked at. `new`: the account that all came from.
pub(super) fn weigh(
    scene: &Scene,
    (account, new): (&Hypothesis, &Hypothesis),
    seen: &Seen,
    least: f64,
    desk: &mut Desk,
    mut take: impl FnMut(Assignment, Terms),
) {
    let case = (scene, account, seen);
    let most = seen.moved.as_ref().map_or(0.0, motion::most);
    let least = least - MOST_TOLD;
    desk.pauses.forget();
    desk.moves.forget();
    desk.turns.forget();
    desk.reach(case, most);
    let mut prior = std::mem::take(&mut desk.prior);
    let mut forms = std::mem::take(&mut desk.forms);
    let mut weighed = std::mem::take(&mut desk.weighed);
    weighed.clear();
    let worth = |most: f64| (least - MOST_OF_TORQUE - most).exp();
    prior.expect(scene, account, Some(new), |step| worth(desk.reach[step]));
    let turned_back = scene.turns_back(seen.nm).then(|| order::loosening(scene, account));
    let loosened = turned_back.into_iter().flatten();
    let back = order::loosen_share(scene, account);
    let mut again = prior.again.iter().peekable();
    let shares = prior
        .shares
        .iter()
        .map(|(assignment, share)| (*assignment, share * (1.0 - back)))
        .chain(loosened.map(|(assignment, share)| (assignment, share * back)));
    // Many that follow each other have the same share.
    let mut known = (1.0, 0.0);
    for (place, (assignment, share)) in shares.enumerate() {
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
        let step = assignment.fastener.map(|fastener| scene.step_of(fastener));
        let most = step.map_or(most, |step| desk.reach[step]);
        if share <= worth(most) {
            continue;
        }
        forms.clear();
        variants(scene, account, seen, assignment, share, &mut forms);
        for (assignment, share) in forms.iter().copied() {
            let torque = torque::ground(scene, account, &assignment);
            let torque = torque.map_or_else(torque::anything, |ground| {
                desk.torques.of(ground, |ground| torque::ln_likelihood(scene, seen.nm, ground))
            });
            if share != known.0 {
                known = (share, share.ln());
            }
            let order = known.1;
            if order + torque + most < least {
                continue;
            }
            let time = desk.time(case, &assignment);
            let motion = desk.motion(case, &assignment);
            // Nothing else that is told is ever so likely.
            if order + torque + time + motion.unwrap_or(0.0) < least {
                continue;
            }
            let rotation = desk.rotation(case, &assignment);
            let trace = seen.ln_tight.map(|told| {
                let held = rotation::held_share(scene, account, seen.nm, &assignment);
                let ln = trace::ln_likelihood(account, told, held, &assignment);
                match rotation {
                    Some(_) => BESIDE_ROTATION * ln,
                    None if held > rotation::HOLDS_SHARE => ln,
                    None => ln + rotation::ln_share(scene, account, &assignment),
                }
            });
            let terms = Terms {
                order,
                torque: torque + adapter::ln_likelihood(scene, seen, &assignment),
                time,
                mark: scene.at.map(|_| mark::ln_likelihood(scene, seen, &assignment)),
                motion,
                rotation,
                trace,
            };
            weighed.push((place, assignment, terms));
            take(assignment, terms);
        }
    }
    (desk.prior, desk.forms, desk.weighed) = (prior, forms, weighed);
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
pub(super) fn tells(
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
