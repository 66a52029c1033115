//! What a group can have been: as `kind` and `doing` draw it, with the probability of each.

use crate::kind::{Kind, MIX};
use crate::order::orders;
use clampbook::core::plan::{Expect, Step};
use clampbook::core::tracker::ring::{RingOrder, judge};

/// One way in which a group can have been done: its fault, if any.
pub struct Hypothesis {
    /// Natural logarithm of its probability beforehand.
    pub ln: f64,
    pub kind: Kind,
    /// The order in which the members are taken.
    pub order: Vec<u16>,
    pub left: Option<u16>,
    pub crooked: bool,
}

/// The members taken in a pass in order, each with whether it was tight already.
pub struct Script(pub Vec<(u16, bool)>);

impl Script {
    /// A round over what is tight.
    pub fn round(members: &[u16]) -> Self {
        Self(members.iter().map(|member| (*member, true)).collect())
    }

    pub fn members(&self) -> impl Iterator<Item = u16> + '_ {
        self.0.iter().map(|(member, _)| *member)
    }

    /// True if one of the first efforts, so many, was on somebody who was tight, in a pass that is no check.
    pub fn again(&self, efforts: usize) -> bool {
        self.0.iter().take(efforts).any(|(_, tight)| *tight)
            && self.0.iter().any(|(_, tight)| !tight)
    }
}

/// What goes wrong beside the order.
const FAULTS: [Kind; 4] =
    [Kind::Skipped, Kind::Doubled, Kind::SkippedAndDoubled, Kind::MissedLater];
/// Orders that are not as written.
const ORDERS: [Kind; 5] = [
    Kind::StartElsewhere,
    Kind::OtherDirection,
    Kind::Reflected,
    Kind::RoundTheClock,
    Kind::SwappedPair,
];

/// Every way, in a job of so many groups. That a job has one thing wrong at most is what nobody can count on:
/// any order goes with any fault, as often as if they had nothing to do with each other.
pub fn hypotheses(step: &Step, groups: usize) -> Vec<Hypothesis> {
    let mut found = Vec::new();
    for (kind, ordered) in with_the_rest(&ORDERS, groups) {
        let orders = orders(step, kind);
        for order in &orders {
            let ordered = ordered / orders.len() as f64;
            for (kind, share) in with_the_rest(&FAULTS, groups) {
                let lefts: Vec<Option<u16>> = match kind {
                    Kind::Skipped | Kind::SkippedAndDoubled | Kind::MissedLater => {
                        (1..=step.members).map(Some).collect()
                    }
                    _ => vec![None],
                };
                for left in &lefts {
                    let crooked = orders_bind(step)
                        && left.is_none()
                        && judge(step.members, order) == RingOrder::Wrong;
                    let ln = (ordered * share / lefts.len() as f64).ln();
                    let (order, left) = (order.clone(), *left);
                    found.push(Hypothesis { ln, kind, order, left, crooked });
                }
            }
        }
    }
    found
}

/// These kinds with how likely each is in one of so many groups, and that it is none of them.
fn with_the_rest(kinds: &[Kind], groups: usize) -> Vec<(Kind, f64)> {
    let all: f64 = MIX.iter().map(|(_, share)| share).sum();
    let of = |kind: &Kind| MIX.iter().find(|one| one.0 == *kind).map_or(0.0, |one| one.1);
    let mut found: Vec<(Kind, f64)> =
        kinds.iter().map(|kind| (*kind, of(kind) / all / groups as f64)).collect();
    let rest = 1.0 - found.iter().map(|one| one.1).sum::<f64>();
    found.push((Kind::Right, rest));
    found
}

fn orders_bind(step: &Step) -> bool {
    step.passes.iter().any(|pass| pass.ordered)
}

/// Every course of one pass that is no check, with the logarithm of its probability.
pub fn scripts(step: &Step, number: usize, one: &Hypothesis) -> Vec<(Script, f64)> {
    let windows = step.passes.iter().filter(|pass| matches!(pass.expect, Expect::Window(_)));
    let single = windows.filter(|pass| !pass.check).count() == 1;
    let last = step.passes.iter().rposition(|pass| !pass.check).unwrap_or(0);
    let closing = single || number >= last;
    let out = one.left.filter(|_| one.kind != Kind::MissedLater || closing);
    let doubles = match one.kind {
        Kind::Doubled if single || number == last => 1.0,
        Kind::Doubled => 0.3,
        Kind::SkippedAndDoubled => 1.0,
        Kind::MissedLater => 0.5,
        _ => 0.0,
    };
    let mut found = Vec::new();
    if doubles < 1.0 {
        let plain = one.order.iter().filter(|member| out != Some(**member));
        let plain = plain.map(|member| (*member, false)).collect();
        found.push((Script(plain), (1.0_f64 - doubles).ln()));
    }
    if doubles > 0.0 {
        found.extend(
            doubled(&one.order, out)
                .into_iter()
                .map(|(script, share)| (script, (doubles * share).ln())),
        );
    }
    found
}

/// Every course with one pulled again, in place of `out` or before one that still waits.
fn doubled(order: &[u16], out: Option<u16>) -> Vec<(Script, f64)> {
    let n = order.len();
    let missing = out.and_then(|out| order.iter().position(|one| *one == out));
    let plain: Vec<(u16, bool)> = order.iter().map(|one| (*one, false)).collect();
    let places: Vec<usize> = missing.map_or_else(|| (1..n).collect(), |place| vec![place]);
    let mut found = Vec::new();
    for place in &places {
        let share = 1.0 / places.len() as f64;
        if *place == 0 {
            // Nobody was tight before it: the double comes at the end.
            let mut taken = plain[1..].to_vec();
            let again = if taken.len() > 1 { taken[0].0 } else { order[n - 1] };
            taken.push((again, true));
            found.push((Script(taken), share));
            continue;
        }
        let again = (0..*place).map(|earlier| {
            let mut likely = 0.5 / *place as f64;
            likely += if earlier + 1 == *place { 0.3 } else { 0.0 };
            likely += if earlier == 0 { 0.2 } else { 0.0 };
            (order[earlier], likely)
        });
        for (again, likely) in again {
            let mut taken = plain.clone();
            match missing {
                Some(place) => taken[place] = (again, true),
                None => taken.insert(*place, (again, true)),
            }
            found.push((Script(taken), share * likely));
        }
    }
    found
}
