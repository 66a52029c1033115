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
const SEARCH_LIMIT: u32 = 50_000;

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

/// Judges a complete order: a permutation of `1..=n`.
#[must_use]
pub fn judge(n: u16, order: &[u16]) -> RingOrder {
    let ring = Ring::of(n);
    let seen = order.iter().fold(Measures::of(n), |seen, member| seen.with(&ring, *member));
    seen.judge(&ring)
}

/// True if some completion of `pulled`, the first members of an order without repeats, is not wrong.
#[must_use]
pub fn can_end_well(n: u16, pulled: &[u16]) -> bool {
    let ring = Ring::of(n);
    let seen = pulled.iter().fold(Measures::of(n), |seen, member| seen.with(&ring, *member));
    let mut waits: Vec<bool> = (1..=n).map(|member| !pulled.contains(&member)).collect();
    let mut budget = SEARCH_LIMIT;
    completes(&ring, &seen, &mut waits, &mut budget)
}

fn completes(ring: &Ring, seen: &Measures, waits: &mut [bool], budget: &mut u32) -> bool {
    *budget = budget.saturating_sub(1);
    if *budget == 0 {
        return true;
    }
    let hopeless = seen.neighbour_hops > ring.least_hops + 1
        || seen.rounded_resultant() > ACCEPTABLE_RESULTANT;
    if hopeless && !seen.opposite_pairs {
        return false;
    }
    if !waits.contains(&true) {
        return seen.judge(ring) != RingOrder::Wrong;
    }
    (0..waits.len()).any(|place| {
        if !waits[place] {
            return false;
        }
        waits[place] = false;
        let fine = completes(ring, &seen.with(ring, place as u16 + 1), waits, budget);
        waits[place] = true;
        fine
    })
}

/// What measures are taken on.
struct Ring {
    n: u16,
    /// Neighbour hops that no order can avoid.
    least_hops: u32,
    /// Where each member lies on the unit circle.
    places: Vec<(f64, f64)>,
}

impl Ring {
    fn of(n: u16) -> Self {
        let least_hops = match n {
            2 | 4 => 1,
            3 => 2,
            _ => 0,
        };
        let angle = |member: u16| TAU * f64::from(member) / f64::from(n);
        let places = (1..=n).map(|member| (angle(member).cos(), angle(member).sin()));
        Self { n, least_hops, places: places.collect() }
    }
}

/// The measures of the beginning of an order.
#[derive(Debug, Clone, Copy)]
struct Measures {
    neighbour_hops: u32,
    running_neighbour_hops: bool,
    resultant: f64,
    opposite_pairs: bool,
    last: Option<u16>,
    hopped: bool,
    count: u32,
    sum: (f64, f64),
}

impl Measures {
    /// Of nothing pulled yet.
    fn of(n: u16) -> Self {
        Self {
            neighbour_hops: 0,
            running_neighbour_hops: false,
            resultant: 0.0,
            opposite_pairs: n.is_multiple_of(2),
            last: None,
            hopped: false,
            count: 0,
            sum: (0.0, 0.0),
        }
    }

    fn with(mut self, ring: &Ring, member: u16) -> Self {
        if let Some(last) = self.last {
            let apart = last.abs_diff(member);
            let hop = apart.min(ring.n - apart);
            self.running_neighbour_hops |= self.hopped && hop == 1;
            self.hopped = hop == 1;
            self.neighbour_hops += u32::from(self.hopped);
            self.opposite_pairs &= self.count.is_multiple_of(2) || hop == ring.n / 2;
        }
        let (x, y) = ring.places[usize::from(member) - 1];
        self.sum = (self.sum.0 + x, self.sum.1 + y);
        self.resultant = self.sum.0.hypot(self.sum.1).max(self.resultant);
        self.last = Some(member);
        self.count += 1;
        self
    }

    fn judge(&self, ring: &Ring) -> RingOrder {
        let resultant = self.rounded_resultant();
        if self.neighbour_hops <= ring.least_hops && resultant <= GOOD_RESULTANT {
            RingOrder::Good
        } else if self.opposite_pairs
            || (self.neighbour_hops == ring.least_hops + 1
                && resultant <= ACCEPTABLE_RESULTANT
                && !self.running_neighbour_hops)
        {
            RingOrder::Acceptable
        } else {
            RingOrder::Wrong
        }
    }

    /// Sums of exact unit vectors come out as 1.000 000 000 2.
    fn rounded_resultant(&self) -> f64 {
        (self.resultant * 1e6).round() / 1e6
    }
}

/// Which member comes next if `pulled` is the beginning of `order` in some rotation or reflection, but
/// for one or two members out of their turn; the nearest first, without repeats.
pub(super) fn next_in_near_images(images: &[Vec<u16>], pulled: &[u16]) -> Vec<u16> {
    let mut near: Vec<(usize, u16)> = images
        .iter()
        .filter_map(|image| {
            let off = image.iter().zip(pulled).filter(|(one, other)| one != other).count();
            let next = image[pulled.len().min(image.len())..]
                .iter()
                .chain(image)
                .find(|member| !pulled.contains(member))?;
            (off <= 2 && off + 1 < pulled.len()).then_some((off, *next))
        })
        .collect();
    near.sort_by_key(|(off, _)| *off);
    let mut found = Vec::new();
    for (_, next) in near {
        if !found.contains(&next) {
            found.push(next);
        }
    }
    found
}

/// The neighbour of a member clockwise.
pub(super) fn on(n: u16, member: u16) -> u16 {
    member % n + 1
}

/// The neighbour of a member anticlockwise.
pub(super) fn back(n: u16, member: u16) -> u16 {
    (member + n - 2) % n + 1
}

/// True if every member of `pulled` is the clockwise neighbour of the one before it.
pub(super) fn goes_on(n: u16, pulled: &[u16]) -> bool {
    pulled.windows(2).all(|pair| pair[1] == on(n, pair[0]))
}

/// The same anticlockwise.
pub(super) fn goes_back(n: u16, pulled: &[u16]) -> bool {
    pulled.windows(2).all(|pair| pair[1] == back(n, pair[0]))
}

/// True if `pulled` is the beginning of some image of an order.
pub(super) fn begins_well(images: &[Vec<u16>], pulled: &[u16]) -> bool {
    images.iter().any(|image| image.starts_with(pulled))
}

/// True if `pulled` follows `order`, in some rotation or reflection, with just one member left out so
/// far, or left out and made up for at the very end: something was skipped, but nothing is crooked.
#[must_use]
pub fn leaves_out_one(n: u16, order: &[u16], pulled: &[u16]) -> bool {
    let made_up = pulled.len() == usize::from(n);
    let followed = if made_up { &pulled[..pulled.len() - 1] } else { pulled };
    images(n, order).iter().any(|image| skips_one(image, followed))
}

/// Which members come next if `pulled` follows some image of an order with one member left out.
pub(super) fn next_after_gap(images: &[Vec<u16>], pulled: &[u16]) -> Vec<u16> {
    let mut found = Vec::new();
    for image in images.iter().filter(|image| skips_one(image, pulled)) {
        if let Some(next) = image.get(pulled.len() + 1)
            && !found.contains(next)
        {
            found.push(*next);
        }
    }
    found
}

/// True if `pulled` is the beginning of `image` but for one member.
fn skips_one(image: &[u16], pulled: &[u16]) -> bool {
    let Some(begun) = image.get(..=pulled.len()) else { return false };
    let mut left = pulled.iter().peekable();
    for member in begun {
        left.next_if_eq(&member);
    }
    left.peek().is_none()
}

/// The order seen in a mirror that leaves member 1 where it is.
pub(super) fn mirrored(n: u16, order: &[u16]) -> Vec<u16> {
    order.iter().map(|member| image(n, *member, true, 1)).collect()
}

/// The order in every rotation and reflection of the ring; as written first.
pub(super) fn images(n: u16, order: &[u16]) -> Vec<Vec<u16>> {
    let turned = |mirrored: bool, turn: u16| {
        order.iter().map(|member| image(n, *member, mirrored, turn)).collect()
    };
    let ways = [false, true].into_iter();
    ways.flat_map(|mirrored| (0..n).map(move |turn| (mirrored, turn)))
        .map(|(mirrored, turn)| turned(mirrored, turn))
        .collect()
}

fn image(n: u16, member: u16, mirrored: bool, turn: u16) -> u16 {
    let zero = if mirrored { n - member % n } else { member - 1 };
    (zero + turn) % n + 1
}

/// Which member comes next if `pulled` is the beginning of some image of an order; the order as written
/// first, then every other fit, without repeats.
pub(super) fn next_in_images(images: &[Vec<u16>], pulled: &[u16]) -> Vec<u16> {
    let mut found = Vec::new();
    for image in images {
        if image.starts_with(pulled)
            && let Some(next) = image.get(pulled.len())
            && !found.contains(next)
        {
            found.push(*next);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::{RingOrder, can_end_well, images, judge, leaves_out_one, next_in_images};

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

    #[test]
    fn the_next_member_is_predicted_from_wherever_the_operator_started() {
        let order = [1, 4, 2, 5, 3, 6];
        for (pulled, next) in [
            (&[][..], vec![1, 2, 3, 4, 5, 6]),
            (&[1], vec![4]),
            (&[3, 6], vec![4, 2]),
            (&[1, 4, 2], vec![5]),
            (&[1, 4, 6], vec![3]),
            (&[1, 2], vec![]),
        ] {
            assert_eq!(next_in_images(&images(6, &order), pulled), next, "{pulled:?}");
        }
    }

    #[test]
    fn a_member_left_out_is_no_crooked_order() {
        let order = [1, 4, 2, 5, 3, 6];
        for (pulled, one) in [
            (&[1, 4, 5][..], true),
            (&[1, 4, 5, 3, 6], true),
            (&[1, 4, 5, 3, 6, 2], true),
            (&[1, 4, 5, 2], false),
            (&[1, 2, 3], false),
            (&[1, 4, 3, 6], false),
        ] {
            assert_eq!(leaves_out_one(6, &order, pulled), one, "{pulled:?}");
        }
    }
}
