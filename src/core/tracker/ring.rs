//! Judging the order in which a ring was pulled.
//!
//! Only measures that do not change when the ring is turned or mirrored are used, since every
//! rotation and reflection of a good order is as good: the number of hops to a neighbour, and the
//! largest resultant of the unit vectors of what has been pulled so far (1 is balanced, n lopsided).

use std::f64::consts::TAU;

/// Largest resultant of a good order.
const GOOD_RESULTANT: f64 = 1.3;
/// Largest resultant of an acceptable order that has one neighbour hop more than it must.
const ACCEPTABLE_RESULTANT: f64 = 1.5;
/// Orders looked at before a long ring's prefix is given the benefit of the doubt.
const SEARCH_LIMIT: u32 = 100_000;

/// What is thought of an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RingOrder {
    /// Balanced, with no more neighbour hops than the ring forces.
    Good,
    /// Opposite pairs, or one neighbour hop too many.
    Acceptable,
    /// Neither.
    Wrong,
}

#[derive(Debug, Clone, Copy)]
struct Measures {
    neighbour_hops: u32,
    running_neighbour_hops: bool,
    resultant: f64,
    opposite_pairs: bool,
}

/// Judges a complete order: a permutation of `1..=n`.
#[must_use]
pub fn judge(n: u16, order: &[u16]) -> RingOrder {
    let seen = measure(n, order);
    let least = least_neighbour_hops(n);
    if seen.neighbour_hops <= least && seen.resultant <= GOOD_RESULTANT {
        RingOrder::Good
    } else if seen.opposite_pairs
        || (seen.neighbour_hops == least + 1
            && seen.resultant <= ACCEPTABLE_RESULTANT
            && !seen.running_neighbour_hops)
    {
        RingOrder::Acceptable
    } else {
        RingOrder::Wrong
    }
}

/// True if some completion of `pulled`, the first members of an order without repeats, is not wrong.
#[must_use]
pub fn can_end_well(n: u16, pulled: &[u16]) -> bool {
    let mut budget = SEARCH_LIMIT;
    completes(n, &mut pulled.to_vec(), &mut budget)
}

fn completes(n: u16, order: &mut Vec<u16>, budget: &mut u32) -> bool {
    *budget = budget.saturating_sub(1);
    if *budget == 0 {
        return true;
    }
    let seen = measure(n, order);
    let least = least_neighbour_hops(n);
    let hopeless = seen.neighbour_hops > least + 1 || seen.resultant > ACCEPTABLE_RESULTANT;
    if hopeless && !seen.opposite_pairs {
        return false;
    }
    if order.len() >= usize::from(n) {
        return judge(n, order) != RingOrder::Wrong;
    }
    (1..=n).any(|member| {
        if order.contains(&member) {
            return false;
        }
        order.push(member);
        let fine = completes(n, order, budget);
        order.pop();
        fine
    })
}

fn least_neighbour_hops(n: u16) -> u32 {
    match n {
        0 | 1 => 0,
        2 | 4 => 1,
        3 => 2,
        _ => 0,
    }
}

fn measure(n: u16, order: &[u16]) -> Measures {
    let mut seen = Measures {
        neighbour_hops: 0,
        running_neighbour_hops: false,
        resultant: 0.0,
        opposite_pairs: n.is_multiple_of(2),
    };
    let mut hopped = false;
    for (index, pair) in order.windows(2).enumerate() {
        let apart = pair[0].abs_diff(pair[1]);
        let hop = apart.min(n - apart);
        seen.running_neighbour_hops |= hopped && hop == 1;
        hopped = hop == 1;
        seen.neighbour_hops += u32::from(hopped);
        seen.opposite_pairs &= index % 2 == 1 || hop == n / 2;
    }
    let (mut x, mut y) = (0.0, 0.0);
    for member in order {
        let angle = TAU * f64::from(*member) / f64::from(n);
        x += angle.cos();
        y += angle.sin();
        seen.resultant = f64::hypot(x, y).max(seen.resultant);
    }
    // Sums of exact unit vectors come out as 1.000 000 000 2.
    seen.resultant = (seen.resultant * 1e6).round() / 1e6;
    seen
}

#[cfg(test)]
mod tests {
    use super::{RingOrder, can_end_well, judge};

    #[test]
    fn published_example_orders_are_judged_as_published() {
        for (order, expected) in [
            (&[1, 3, 5, 2, 4][..], RingOrder::Good),
            (&[1, 4, 2, 5, 3], RingOrder::Good),
            (&[3, 5, 2, 4, 1], RingOrder::Good),
            (&[1, 2, 4, 5, 3], RingOrder::Wrong),
            (&[1, 3, 4, 2], RingOrder::Good),
            (&[1, 2, 3, 4], RingOrder::Wrong),
            (&[1, 4, 3, 6, 5, 2], RingOrder::Acceptable),
            (&[1, 3, 4, 5, 6, 2], RingOrder::Wrong),
            (&[1, 5, 2, 6, 3, 7, 4, 8], RingOrder::Good),
            (&[1, 4, 2, 5, 3, 6], RingOrder::Good),
        ] {
            assert_eq!(judge(order.len() as u16, order), expected, "{order:?}");
        }
    }

    #[test]
    fn every_rotation_and_reflection_is_judged_alike() {
        let order = [1, 4, 2, 5, 3, 6];
        for turn in 0..6 {
            let turned: Vec<u16> = order.iter().map(|m| (m - 1 + turn) % 6 + 1).collect();
            let mirrored: Vec<u16> = turned.iter().map(|m| 7 - m).collect();
            assert_eq!(judge(6, &turned), RingOrder::Good);
            assert_eq!(judge(6, &mirrored), RingOrder::Good);
        }
    }

    #[test]
    fn round_the_clock_is_given_up_as_soon_as_nothing_can_save_it() {
        for (n, pulled, fine) in [
            (5, &[1, 2][..], false),
            (5, &[1, 3], true),
            (6, &[1, 4, 2], true),
            (6, &[1, 4, 2, 3], false),
            (6, &[1, 2], false),
            (4, &[1, 2], true),
            (4, &[1, 2, 3], false),
            (4, &[1, 3, 2], true),
            (10, &[1, 2, 3], false),
        ] {
            assert_eq!(can_end_well(n, pulled), fine, "{n}: {pulled:?}");
        }
    }
}
