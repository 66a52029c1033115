//! The orders in which a ring's members are really taken.

use super::kind::Kind;
use super::symmetry::images;
use clampbook::core::plan::{Pattern, Step};
use clampbook::core::tracker::ring::{RingOrder, judge};

/// Every order that a job of this kind can have, all equally likely.
pub fn orders(step: &Step, kind: Kind) -> Vec<Vec<u16>> {
    let n = step.members;
    let pass = step.passes.iter().rfind(|pass| !pass.check).unwrap();
    let order = pass.order.clone();
    if step.pattern != Pattern::Ring {
        return vec![order];
    }
    let taken = |names: &Vec<u16>| -> Vec<u16> {
        order.iter().map(|one| names[usize::from(one - 1)]).collect()
    };
    let all: Vec<(bool, Vec<u16>)> =
        images(n).map(|(mirrored, names)| (mirrored, taken(&names))).collect();
    let mirrored = all.iter().filter(|(mirrored, _)| *mirrored).map(|(_, taken)| taken.clone());
    match kind {
        Kind::StartElsewhere => {
            let turned = all.iter().filter(|(mirrored, _)| !mirrored).skip(1);
            turned.map(|(_, taken)| taken.clone()).collect()
        }
        // The mirror that leaves the first where it is.
        Kind::OtherDirection => mirrored.filter(|taken| taken[0] == order[0]).collect(),
        Kind::Reflected => mirrored.collect(),
        Kind::RoundTheClock => vec![(1..=n).collect()],
        Kind::SwappedPair => swapped(n, &order),
        _ => vec![order],
    }
}

/// Two have changed places so that the order is crooked, if any two do that.
fn swapped(n: u16, order: &[u16]) -> Vec<Vec<u16>> {
    let places = 0..order.len();
    let pairs = places.flat_map(|one| (0..one).map(move |other| (one, other)));
    let all = pairs.map(|(one, other)| {
        let mut taken = order.to_vec();
        taken.swap(one, other);
        taken
    });
    let crooked: Vec<Vec<u16>> = all.filter(|taken| judge(n, taken) == RingOrder::Wrong).collect();
    if crooked.is_empty() { vec![order.to_vec()] } else { crooked }
}
