//! Sums and extremes of many samples at once, in lanes that a processor works on side by side.
//!
//! Which lane a sample falls into depends on its place alone, so that a sum does not depend on how
//! samples were cut into blocks.
//!
//! What is done many times a sample is made once for each width of registers, and the processor at hand
//! chooses. Only what is part of its caller is: hence `#[inline(always)]` all the way down.

use crate::core::units::Torque;
use fearless_simd::prelude::*;
use fearless_simd::{Simd, f64x4, f64x8};

/// Samples worked on side by side: two registers of two, on any processor of 64 bits.
pub(super) const LANES: usize = 4;

/// One figure a lane.
pub(super) type Lanes = [f64; LANES];

/// Samples looked at together for a single answer.
pub(super) const WIDE: usize = 4 * LANES;

/// `what` of each pair of lanes.
#[inline(always)]
pub(super) fn each(one: Lanes, other: Lanes, what: impl Fn(f64, f64) -> f64) -> Lanes {
    std::array::from_fn(|lane| what(one[lane], other[lane]))
}

#[inline(always)]
pub(super) fn total(lanes: Lanes) -> f64 {
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])
}

/// The lower of both; the first, if the second is not a number.
#[inline(always)]
pub(super) fn lower(one: f64, other: f64) -> f64 {
    if other < one { other } else { one }
}

/// The higher of both; the first, if the second is not a number.
#[inline(always)]
pub(super) fn higher(one: f64, other: f64) -> f64 {
    if other > one { other } else { one }
}

#[inline(always)]
pub(super) fn lowest(lanes: Lanes) -> f64 {
    lower(lower(lanes[0], lanes[1]), lower(lanes[2], lanes[3]))
}

#[inline(always)]
pub(super) fn highest(lanes: Lanes) -> f64 {
    higher(higher(lanes[0], lanes[1]), higher(lanes[2], lanes[3]))
}

pub(super) const NONE_LOW: Lanes = [f64::INFINITY; LANES];
pub(super) const NONE_HIGH: Lanes = [f64::NEG_INFINITY; LANES];

/// Twice as many.
#[inline(always)]
fn eight<S: Simd>(simd: S, torque: &[Torque; WIDE / 2]) -> f64x8<S> {
    let nm = torque.map(
        #[inline(always)]
        |torque| torque.nm(),
    );
    f64x8::load_array(simd, nm)
}

/// Lowest and highest of finite values.
#[inline(always)]
pub(super) fn extremes(values: &[f64]) -> (f64, f64) {
    let (mut low, mut high) = (NONE_LOW, NONE_HIGH);
    let (parts, rest) = values.as_chunks::<LANES>();
    for part in parts {
        low = each(low, *part, lower);
        high = each(high, *part, higher);
    }
    let ends = (lowest(low), highest(high));
    rest.iter().fold(ends, |(low, high), value| (lower(low, *value), higher(high, *value)))
}

/// The same of so many.
#[inline(always)]
pub(super) fn ends(simd: impl Simd, values: &[f64; WIDE]) -> (f64, f64) {
    (lowest_of(simd, values), highest_of(simd, values))
}

/// The lowest of so many.
#[inline(always)]
pub(super) fn lowest_of(simd: impl Simd, values: &[f64; WIDE]) -> f64 {
    let [one, two] = eights(simd, values);
    one.min(two).reduce_min()
}

/// The highest of so many.
#[inline(always)]
pub(super) fn highest_of(simd: impl Simd, values: &[f64; WIDE]) -> f64 {
    let [one, two] = eights(simd, values);
    one.max(two).reduce_max()
}

/// These, in two vectors.
#[inline(always)]
pub(super) fn eights<S: Simd>(simd: S, values: &[f64; WIDE]) -> [f64x8<S>; 2] {
    let (eights, _) = values.as_chunks::<{ WIDE / 2 }>();
    [f64x8::load_array_ref(simd, &eights[0]), f64x8::load_array_ref(simd, &eights[1])]
}

/// Highest of finite values.
#[inline(always)]
pub(super) fn high(simd: impl Simd, values: &[f64]) -> f64 {
    let (parts, rest) = values.as_chunks::<WIDE>();
    let mut most = f64x8::splat(simd, f64::NEG_INFINITY);
    for part in parts {
        let [one, two] = eights(simd, part);
        most = most.max(one.max(two));
    }
    rest.iter().fold(most.reduce_max(), |high, value| higher(high, *value))
}

/// These torques, N·m.
#[inline(always)]
pub(super) fn four<S: Simd>(simd: S, torque: &[Torque; LANES]) -> f64x4<S> {
    let [one, two, three, four] = torque;
    f64x4::load_array(simd, [one.nm(), two.nm(), three.nm(), four.nm()])
}

/// Puts torques there one for one, N·m, each less `zero` and times `sign`. Tells the lowest and the highest of them as
/// they are; not a number, if any of them is not finite.
#[inline(always)]
pub(super) fn along(
    simd: impl Simd,
    torque: &[Torque],
    (zero, sign): (f64, f64),
    to: &mut [f64],
) -> (f64, f64) {
    let mut low = f64x8::splat(simd, f64::INFINITY);
    let mut high = f64x8::splat(simd, f64::NEG_INFINITY);
    let mut odd = f64x8::splat(simd, 0.0);
    let (parts, rest) = torque.as_chunks::<{ WIDE / 2 }>();
    let (to_parts, to_rest) = to.as_chunks_mut::<{ WIDE / 2 }>();
    for (part, to) in parts.iter().zip(to_parts) {
        let nm = eight(simd, part);
        (low, high, odd) = (low.min(nm), high.max(nm), odd + nm * 0.0);
        *to = ((nm - zero) * sign).to_array();
    }
    let (mut low, mut high) = (low.reduce_min(), high.reduce_max());
    let mut odd = odd.reduce_sum();
    for (torque, to) in rest.iter().zip(to_rest) {
        let nm = torque.nm();
        (low, high, odd) = (lower(low, nm), higher(high, nm), odd + nm * 0.0);
        *to = (nm - zero) * sign;
    }
    (low + odd, high + odd)
}

/// Which of these are at least this, the first in the lowest bit.
#[inline(always)]
pub(super) fn at_least(simd: impl Simd, values: &[f64; WIDE], least: f64) -> u64 {
    let [one, two] = eights(simd, values);
    one.simd_ge(least).to_bitmask() | two.simd_ge(least).to_bitmask() << (WIDE / 2)
}

/// The first place of a value of at least this; values are finite.
#[inline(always)]
pub(super) fn first_at_least(simd: impl Simd, values: &[f64], least: f64) -> Option<usize> {
    let (parts, rest) = values.as_chunks::<WIDE>();
    let mut at = 0;
    for part in parts {
        let high = at_least(simd, part, least);
        if high != 0 {
            return Some(at + high.trailing_zeros() as usize);
        }
        at += WIDE;
    }
    for value in rest {
        if *value >= least {
            return Some(at);
        }
        at += 1;
    }
    None
}

/// The last place of a value of at least this; values are finite.
#[inline(always)]
pub(super) fn last_at_least(simd: impl Simd, values: &[f64], least: f64) -> Option<usize> {
    let (rest, parts) = values.as_rchunks::<WIDE>();
    let mut to = values.len();
    for part in parts.iter().rev() {
        let high = at_least(simd, part, least);
        if high != 0 {
            return Some(to - WIDE + high.ilog2() as usize);
        }
        to -= WIDE;
    }
    for value in rest.iter().rev() {
        to -= 1;
        if *value >= least {
            return Some(to);
        }
    }
    None
}

/// How many of these are at least this.
#[inline(always)]
pub(super) fn count_at_least(simd: impl Simd, values: &[f64], least: f64) -> usize {
    let (parts, rest) = values.as_chunks::<WIDE>();
    let parts: u32 = parts.iter().map(|part| at_least(simd, part, least).count_ones()).sum();
    parts as usize + rest.iter().filter(|value| **value >= least).count()
}

/// The first place of a torque that is not nearer than `within_nm` to `middle_nm`, or the end.
#[inline(always)]
pub(super) fn first_beyond(
    simd: impl Simd,
    torque: &[Torque],
    middle_nm: f64,
    within_nm: f64,
) -> usize {
    let (parts, _) = torque.as_chunks::<LANES>();
    let mut at = 0;
    for part in parts {
        if !(four(simd, part) - middle_nm).abs().simd_lt(within_nm).all_true() {
            break;
        }
        at += LANES;
    }
    while at < torque.len() && (torque[at].nm() - middle_nm).abs() < within_nm {
        at += 1;
    }
    at
}

/// The first place of the highest value, and the value; the first place and 0, if none is above 0.
#[inline(always)]
pub(super) fn highest_at(simd: impl Simd, values: &[f64]) -> (usize, f64) {
    let high = high(simd, values);
    let at = if high > 0.0 { first_at_least(simd, values, high) } else { None };
    at.map_or((0, 0.0), |at| (at, high))
}

/// How far the deepest value lies below the line that is at `start` at the first of them and rises by `slope` from
/// each to the next, and the last place of it.
#[inline(always)]
pub(super) fn deepest(simd: impl Simd, values: &[f64], start: f64, slope: f64) -> (f64, usize) {
    let (parts, rest) = values.as_chunks::<{ WIDE / 2 }>();
    let mut places = f64x8::from_fn(simd, |lane| lane as f64);
    let mut deepest = f64x8::splat(simd, f64::NEG_INFINITY);
    let mut ats = f64x8::splat(simd, 0.0);
    for part in parts {
        let deep = places * slope + start - f64x8::load_array_ref(simd, part);
        let deeper = deep.simd_ge(deepest);
        (deepest, ats) = (deepest.max(deep), deeper.select(places, ats));
        places += (WIDE / 2) as f64;
    }
    let most = deepest.reduce_max();
    let last = deepest.simd_ge(most).select(ats, f64x8::splat(simd, 0.0)).reduce_max();
    let done = values.len() - rest.len();
    rest.iter().zip(done..).fold((most, last as usize), |(most, at), (value, place)| {
        let deep = place as f64 * slope + start - value;
        if deep >= most { (deep, place) } else { (most, at) }
    })
}

/// The most that values grow over `span` places; 0 if they do not.
#[inline(always)]
pub(super) fn steepest(simd: impl Simd, values: &[f64], span: usize) -> f64 {
    let Some(later) = values.get(span..) else { return 0.0 };
    let (now, _) = values[..later.len()].as_chunks::<{ WIDE / 2 }>();
    let (then, rest) = later.as_chunks::<{ WIDE / 2 }>();
    let mut most = f64x8::splat(simd, 0.0);
    for (now, then) in now.iter().zip(then) {
        let grown = f64x8::load_array_ref(simd, then) - f64x8::load_array_ref(simd, now);
        most = most.max(grown);
    }
    let done = later.len() - rest.len();
    let grown = rest.iter().zip(&values[done..]).map(|(then, now)| then - now);
    grown.fold(most.reduce_max(), higher)
}

/// The least step between neighbours that is more than nothing; infinite, if there is none.
#[inline(always)]
pub(super) fn least_step(simd: impl Simd, values: &[f64], nothing: f64) -> f64 {
    let Some(later) = values.get(1..) else { return f64::INFINITY };
    let step = |then: f64, now: f64| {
        let step = (then - now).abs();
        if step > nothing { step } else { f64::INFINITY }
    };
    let (now, _) = values[..later.len()].as_chunks::<{ WIDE / 2 }>();
    let (then, rest) = later.as_chunks::<{ WIDE / 2 }>();
    let none = f64x8::splat(simd, f64::INFINITY);
    let mut least = none;
    for (now, then) in now.iter().zip(then) {
        let step = f64x8::load_array_ref(simd, then) - f64x8::load_array_ref(simd, now);
        let step = step.abs();
        least = least.min(step.simd_gt(nothing).select(step, none));
    }
    let done = later.len() - rest.len();
    let steps = rest.iter().zip(&values[done..]).map(|(then, now)| step(*then, *now));
    steps.fold(least.reduce_min(), lower)
}

/// Sum of the values, and of their squares, each less `pivot`.
#[inline(always)]
pub(super) fn sums(simd: impl Simd, values: &[f64], pivot: f64) -> (f64, f64) {
    let (mut sum, mut squares) = (f64x4::splat(simd, 0.0), f64x4::splat(simd, 0.0));
    let (parts, rest) = values.as_chunks::<LANES>();
    for part in parts {
        let off = f64x4::load_array_ref(simd, part) - pivot;
        sum += off;
        squares += off * off;
    }
    let both = (total(sum.to_array()), total(squares.to_array()));
    rest.iter().fold(both, |(sum, squares), value| {
        let off = value - pivot;
        (sum + off, squares + off * off)
    })
}

/// The same, with the sum of the values less `pivot`, each times its place from the middle of them.
#[inline(always)]
pub(super) fn levers(simd: impl Simd, values: &[f64], pivot: f64) -> (f64, f64, f64) {
    let middle = (values.len() as f64 - 1.0) / 2.0;
    let mut places = f64x8::from_fn(simd, |lane| lane as f64 - middle);
    let none = f64x8::splat(simd, 0.0);
    let (mut sum, mut squares, mut levers) = (none, none, none);
    let (parts, rest) = values.as_chunks::<{ WIDE / 2 }>();
    for part in parts {
        let off = f64x8::load_array_ref(simd, part) - pivot;
        sum += off;
        squares += off * off;
        levers += places * off;
        places += (WIDE / 2) as f64;
    }
    let all = (sum.reduce_sum(), squares.reduce_sum(), levers.reduce_sum());
    let rest = rest.iter().zip(places.to_array());
    rest.fold(all, |(sum, squares, levers), (value, place)| {
        let off = value - pivot;
        (sum + off, squares + off * off, levers + place * off)
    })
}

#[cfg(test)]
mod tests {
    use super::{
        Torque, along, count_at_least, extremes, first_at_least, first_beyond, last_at_least,
        least_step, levers, steepest, sums,
    };
    use fearless_simd::{Level, Simd, dispatch};

    #[test]
    fn lanes_say_what_one_value_after_another_says() {
        dispatch!(Level::new(), simd => lanes_say_what_values_say(simd));
        dispatch!(Level::baseline(), simd => lanes_say_what_values_say(simd));
    }

    fn lanes_say_what_values_say(simd: impl Simd) {
        let mut odd = 7_u32;
        let values: Vec<f64> = std::iter::repeat_with(|| {
            odd = odd.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(odd >> 20) - 2_000.0
        })
        .take(103)
        .collect();
        for length in [0, 1, 3, 4, 7, 64, 103] {
            let values = &values[..length];
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            assert_eq!(extremes(values), (low, high));
            assert_eq!(super::high(simd, values), high);
            for least in [low, 0.0, 1_500.0, high, high + 1.0] {
                let first = values.iter().position(|value| *value >= least);
                assert_eq!(first_at_least(simd, values, least), first);
                let last = values.iter().rposition(|value| *value >= least);
                assert_eq!(last_at_least(simd, values, least), last);
                let count = values.iter().filter(|value| **value >= least).count();
                assert_eq!(count_at_least(simd, values, least), count);
            }
            let torque: Vec<Torque> = values.iter().copied().map(Torque::from_nm).collect();
            let mut put = vec![0.0; length];
            assert_eq!(along(simd, &torque, (3.0, -1.0), &mut put), (low, high));
            assert!(put.iter().zip(values).all(|(put, value)| *put == 3.0 - value));
            for within in [0.0, 500.0, 1_900.0, 2_500.0] {
                let near = |torque: &&Torque| (torque.nm() - 9.0).abs() < within;
                let near = torque.iter().take_while(near).count();
                assert_eq!(first_beyond(simd, &torque, 9.0, within), near);
            }
            let pairs = values.iter().zip(values.iter().skip(5));
            let most = pairs.map(|(now, then)| then - now).fold(0.0, f64::max);
            assert_eq!(steepest(simd, values, 5), most);
            let steps = values.windows(2).map(|pair| (pair[1] - pair[0]).abs());
            let least = steps.filter(|step| *step > 9.0).fold(f64::INFINITY, f64::min);
            assert_eq!(least_step(simd, values, 9.0), least);
            let deep = |place: usize| 5.0 + 9.0 * place as f64 - values[place];
            let last = (0..length).max_by(|one, other| deep(*one).total_cmp(&deep(*other)));
            let expected = last.map_or((f64::NEG_INFINITY, 0), |last| (deep(last), last));
            assert_eq!(super::deepest(simd, values, 5.0, 9.0), expected);
            let sum: f64 = values.iter().map(|value| value - 3.0).sum();
            let squares: f64 = values.iter().map(|value| (value - 3.0).powi(2)).sum();
            assert_eq!(sums(simd, values, 3.0), (sum, squares));
            let middle = (length as f64 - 1.0) / 2.0;
            let lever = |(place, value): (usize, &f64)| (place as f64 - middle) * (value - 3.0);
            let lever = values.iter().enumerate().map(lever).sum::<f64>();
            assert_eq!(levers(simd, values, 3.0), (sum, squares, lever));
        }
    }

    #[test]
    fn what_is_no_number_spoils_a_span_wherever_it_stands() {
        dispatch!(Level::new(), simd => what_is_no_number_spoils_a_span(simd));
        dispatch!(Level::baseline(), simd => what_is_no_number_spoils_a_span(simd));
    }

    fn what_is_no_number_spoils_a_span(simd: impl Simd) {
        for at in 0..9 {
            for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
                let mut torque = [Torque::from_nm(1.0); 9];
                torque[at] = Torque::from_nm(odd);
                let (low, high) = along(simd, &torque, (0.0, 1.0), &mut [0.0; 9]);
                assert!(low.is_nan() && high.is_nan(), "{odd} at {at}");
            }
        }
    }
}
