//! How the adapter in the hand guides it: what its next pull should reach, which adapter that concerns, and what it
//! shows or sounds once a pull was judged.
//!
//! Guidance helps the hand and is never a verdict. Where it is not sure enough what is asked next, there is none: a
//! lamp that praises the wrong fastener is worse than no lamp.

use crate::core::event::{Act, Conclusion, Ending, TorqueVerdict, Verdict, WarningCode};
use crate::core::plan::{Expect, Plan, Window};
use crate::core::snapshot::{Next, Snapshot};
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// So likely it has to be that the next pull is asked for this very window. A judgement: a lamp that is wrong one time
/// in five is not looked at any more.
const SURE: f64 = 0.8;

/// What the next pull should reach. Torques and rotation have the sign of the direction, clockwise positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// To be aimed at.
    pub target: Torque,
    /// The lowest torque that counts.
    pub low: Torque,
    /// The highest torque allowed, if there is one.
    pub high: Option<Torque>,
    /// How far to turn on once the target is reached, degrees; none where torque alone counts.
    pub turn_deg: Option<f64>,
}

impl Aim {
    /// The window of a pass, in the direction in which the thread tightens.
    #[must_use]
    pub fn of(window: &Window, left_hand: bool) -> Self {
        let signed =
            |torque: Torque| Torque::from_nm(if left_hand { -torque.nm() } else { torque.nm() });
        Self {
            target: signed(window.target),
            low: signed(window.low),
            high: window.high.map(signed),
            turn_deg: None,
        }
    }

    /// True if a torque is beyond the highest one allowed.
    #[must_use]
    pub fn is_passed_by(&self, torque: Torque) -> bool {
        let along = |one: Torque| one.nm() * self.target.nm().signum();
        self.high.is_some_and(|high| along(torque) > along(high))
    }

    /// True if an adapter of this range can measure the target.
    fn fits(&self, range: Option<(Torque, Torque)>) -> bool {
        let size = self.target.nm().abs();
        range.is_none_or(|(least, most)| (least.nm()..=most.nm()).contains(&size))
    }
}

/// What the next pull should reach: none while something else is asked, or nothing. `alike` is the probability that
/// the next pull is asked for that window, whichever fastener it is on.
#[must_use]
pub fn aim(plan: &Plan, next: Option<&Next>, alike: f64) -> Option<Aim> {
    let Some(Next::Pull { fastener, pass, .. }) = next else { return None };
    let step = plan.step(plan.fastener(fastener)?.step);
    let passes = step.passes.get(usize::try_from(*pass).ok()?.checked_sub(1)?..)?;
    // Nobody hears a pass by hand: the pull that is heard next is for the pass behind it.
    let heard = passes.iter().find(|pass| pass.expect != Expect::ByHand)?;
    match &heard.expect {
        // A turn by angle has its torque window only for a check, and what is added for a nut's grip is not in the plan.
        Expect::Window(window)
            if alike >= SURE && heard.turn.is_none() && !step.rules.adds_grip() =>
        {
            Some(Aim::of(window, step.left_hand))
        }
        _ => None,
    }
}

/// An adapter that the next pull could be made with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hand<'a> {
    /// Its short id.
    pub adapter: &'a str,
    /// Least and largest torque that it measures, as magnitudes.
    pub range: Option<(Torque, Torque)>,
    /// Data flows from it.
    pub is_linked: bool,
    /// When it was pulled with last.
    pub pulled: Option<Stamp>,
}

/// The adapter that the next pull will be made with: of those whose range fits the one that was pulled with last,
/// otherwise the smallest.
#[must_use]
pub fn chosen<'a>(hands: &[Hand<'a>], aim: &Aim) -> Option<&'a str> {
    let most = |hand: &Hand<'_>| hand.range.map_or(f64::INFINITY, |(_, most)| most.nm());
    let fitting = hands.iter().filter(|hand| hand.is_linked && aim.fits(hand.range));
    let best = fitting.max_by(|a, b| {
        let by_range = || most(b).total_cmp(&most(a));
        a.pulled.cmp(&b.pulled).then_with(by_range).then_with(|| b.adapter.cmp(a.adapter))
    });
    best.map(|hand| hand.adapter)
}

/// What an adapter shows or sounds once a pull was judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cue {
    /// The pull is in its window.
    Reached,
    /// The pull ended below its window: go on.
    Low,
    /// The pull went above its window: stop.
    Over,
    /// Something else is wrong: look at the screen.
    Look,
    /// All fasteners of the step are done.
    StepDone,
}

/// The one cue that follows from a pull, the most urgent; `conclusions` are what it led to. What turns back, or is on
/// nothing of the plan, has none of its own.
#[must_use]
pub fn cue(
    conclusions: &[&Conclusion],
    (adapter, seq): (&str, u64),
    before: &Snapshot,
    after: &Snapshot,
) -> Option<Cue> {
    let verdict = conclusions.iter().find_map(|conclusion| match conclusion {
        Conclusion::Verdict(verdict) => Some(verdict).filter(|verdict| {
            !verdict.revised && (&*verdict.adapter, verdict.seq) == (adapter, seq)
        }),
        Conclusion::Warning(_) => None,
    });
    let warned = |wanted: fn(WarningCode) -> bool| {
        conclusions.iter().any(
            |conclusion| matches!(conclusion, Conclusion::Warning(warning) if wanted(warning.code)),
        )
    };
    let torque = verdict.and_then(tightened);
    if torque == Some(TorqueVerdict::High) || warned(|code| code == WarningCode::HighTorque) {
        return Some(Cue::Over);
    }
    if warned(|code| code != WarningCode::HighTorque) {
        return Some(Cue::Look);
    }
    match torque? {
        TorqueVerdict::In => {
            let done = verdict.is_some_and(|verdict| finishes(verdict, before, after));
            Some(if done { Cue::StepDone } else { Cue::Reached })
        }
        TorqueVerdict::Low => Some(Cue::Low),
        TorqueVerdict::High | TorqueVerdict::Na => None,
    }
}

fn tightened(verdict: &Verdict) -> Option<TorqueVerdict> {
    matches!(verdict.act, Act::Tighten | Act::Recheck).then_some(verdict.torque)
}

/// True if the pull was the last one that its group waited for.
fn finishes(verdict: &Verdict, before: &Snapshot, after: &Snapshot) -> bool {
    let Some((group, _)) = verdict.fastener.as_deref().and_then(|name| name.rsplit_once('/'))
    else {
        return false;
    };
    let waits = |snapshot: &Snapshot| {
        let mut groups = snapshot.groups.iter().filter(|one| one.name == group);
        groups.any(|one| one.members.iter().any(|member| member.ending == Ending::Open))
    };
    waits(before) && !waits(after)
}
