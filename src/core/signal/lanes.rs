//! Sums and extremes of many samples at once, in lanes that a processor works on side by side.
//!
//! Which lane a sample falls into depends on its place alone, so that a sum does not depend on how
//! samples were cut into blocks.
//!
//! What is done many times a sample is made once for each width of registers, and the processor at hand
//! chooses. Only what is part of its caller is: hence `#[inline(always)]` all the way down.

use fearless_simd::prelude::*;
use fearless_simd::{Simd, f32x16, f64x8};

/// Samples of a pull worked on side by side. They are kept half as precise as they come, seven digits, so that twice
/// as many are.
pub(super) const WIDE: usize = 16;

/// The lower of both; the first, if the second is not a number.
#[inline(always)]
pub(super) fn lower<T: PartialOrd>(one: T, other: T) -> T {
    if other < one { other } else { one }
}

/// The higher of both; the first, if the second is not a number.
#[inline(always)]
pub(super) fn higher<T: PartialOrd>(one: T, other: T) -> T {
    if other > one { other } else { one }
}

/// So many samples of a pull, side by side.
#[inline(always)]
pub(super) fn wide<S: Simd>(simd: S, values: &[f32; WIDE]) -> f32x16<S> {
    f32x16::load_array_ref(simd, values)
}

/// So many torques, N·m.
#[inline(always)]
pub(super) fn eight<S: Simd>(simd: S, torque: &[f32; WIDE / 2]) -> f64x8<S> {
    f64x8::load_array(simd, torque.map(f64::from))
}

/// Lowest and highest of finite values.
#[inline(always)]
pub(super) fn extremes(simd: impl Simd, values: &[f32]) -> (f32, f32) {
    let mut low = f32x16::splat(simd, f32::INFINITY);
    let mut high = f32x16::splat(simd, f32::NEG_INFINITY);
    let (parts, rest) = values.as_chunks::<WIDE>();
    for part in parts {
        let part = wide(simd, part);
        (low, high) = (low.min(part), high.max(part));
    }
    let ends = (low.reduce_min(), high.reduce_max());
    rest.iter().fold(ends, |(low, high), value| (lower(low, *value), higher(high, *value)))
}

/// Highest of finite values.
#[inline(always)]
pub(super) fn high(simd: impl Simd, values: &[f32]) -> f32 {
    let (parts, rest) = values.as_chunks::<WIDE>();
    let mut most = f32x16::splat(simd, f32::NEG_INFINITY);
    for part in parts {
        most = most.max(wide(simd, part));
    }
    rest.iter().fold(most.reduce_max(), |high, value| higher(high, *value))
}

/// Puts torques there one for one, N·m, each less `zero` and times `sign`. Tells the lowest and the highest of what was
/// put there; not a number, if any of them is not finite.
#[inline(always)]
pub(super) fn along(
    simd: impl Simd,
    torque: &[f32],
    (zero, sign): (f64, f64),
    to: &mut [f32],
) -> (f32, f32) {
    let mut low = f32x16::splat(simd, f32::INFINITY);
    let mut high = f32x16::splat(simd, f32::NEG_INFINITY);
    let mut odd = f32x16::splat(simd, 0.0);
    let (parts, rest) = torque.as_chunks::<WIDE>();
    let (to_parts, to_rest) = to.as_chunks_mut::<WIDE>();
    for (part, to) in parts.iter().zip(to_parts) {
        let (halves, _) = part.as_chunks();
        let (early, late) = (eight(simd, &halves[0]), eight(simd, &halves[1]));
        let nm = ((early - zero) * sign).narrow((late - zero) * sign);
        (low, high, odd) = (low.min(nm), high.max(nm), odd + nm * 0.0);
        *to = nm.to_array();
    }
    let (mut low, mut high) = (low.reduce_min(), high.reduce_max());
    let mut odd = odd.reduce_sum();
    for (torque, to) in rest.iter().zip(to_rest) {
        let nm = ((f64::from(*torque) - zero) * sign) as f32;
        (low, high, odd) = (lower(low, nm), higher(high, nm), odd + nm * 0.0);
        *to = nm;
    }
    (low + odd, high + odd)
}

/// Which of these are at least this, the first in the lowest bit.
#[inline(always)]
pub(super) fn at_least(simd: impl Simd, values: &[f32; WIDE], least: f32) -> u64 {
    wide(simd, values).simd_ge(least).to_bitmask()
}

/// The first place of a value of at least this; values are finite.
#[inline(always)]
pub(super) fn first_at_least(simd: impl Simd, values: &[f32], least: f32) -> Option<usize> {
    first(
        simd,
        values,
        #[inline(always)]
        |part| part.simd_ge(least).to_bitmask(),
        #[inline(always)]
        |value| value >= least,
    )
}

/// The same, where it is most often among the first of them: how early is then of no account.
#[inline(always)]
pub(super) fn soon_at_least(simd: impl Simd, values: &[f32], least: f32) -> Option<usize> {
    let Some(soon) = values.first_chunk::<{ 2 * WIDE }>() else {
        return first_at_least(simd, values, least);
    };
    let (parts, _) = soon.as_chunks();
    let found = at_least(simd, &parts[0], least) | at_least(simd, &parts[1], least) << WIDE;
    if found != 0 {
        return Some(found.trailing_zeros() as usize);
    }
    first_at_least(simd, &values[2 * WIDE..], least).map(|at| at + 2 * WIDE)
}

/// The first place of a value below this.
#[inline(always)]
pub(super) fn first_below(simd: impl Simd, values: &[f32], level: f32) -> Option<usize> {
    first(
        simd,
        values,
        #[inline(always)]
        |part| part.simd_lt(level).to_bitmask(),
        #[inline(always)]
        |value| value < level,
    )
}

/// The last place of a value of at least this; values are finite.
#[inline(always)]
pub(super) fn last_at_least(simd: impl Simd, values: &[f32], least: f32) -> Option<usize> {
    last(
        simd,
        values,
        #[inline(always)]
        |part| part.simd_ge(least).to_bitmask(),
        #[inline(always)]
        |value| value >= least,
    )
}

/// The last place of a value below this.
#[inline(always)]
pub(super) fn last_below(simd: impl Simd, values: &[f32], level: f32) -> Option<usize> {
    last(
        simd,
        values,
        #[inline(always)]
        |part| part.simd_lt(level).to_bitmask(),
        #[inline(always)]
        |value| value < level,
    )
}

/// The first place of what is looked for, many at once or one by one.
#[inline(always)]
fn first<S: Simd>(
    simd: S,
    values: &[f32],
    many: impl Fn(f32x16<S>) -> u64,
    one: impl Fn(f32) -> bool,
) -> Option<usize> {
    let (parts, rest) = values.as_chunks::<WIDE>();
    let mut at = 0;
    for part in parts {
        let found = many(wide(simd, part));
        if found != 0 {
            return Some(at + found.trailing_zeros() as usize);
        }
        at += WIDE;
    }
    for value in rest {
        if one(*value) {
            return Some(at);
        }
        at += 1;
    }
    None
}

/// The last place of it.
#[inline(always)]
fn last<S: Simd>(
    simd: S,
    values: &[f32],
    many: impl Fn(f32x16<S>) -> u64,
    one: impl Fn(f32) -> bool,
) -> Option<usize> {
    let (rest, parts) = values.as_rchunks::<WIDE>();
    let mut to = values.len();
    for part in parts.iter().rev() {
        let found = many(wide(simd, part));
        if found != 0 {
            return Some(to - WIDE + found.ilog2() as usize);
        }
        to -= WIDE;
    }
    for value in rest.iter().rev() {
        to -= 1;
        if one(*value) {
            return Some(to);
        }
    }
    None
}

/// How many of these are at least each of those.
#[inline(always)]
pub(super) fn counts_at_least<const N: usize>(
    simd: impl Simd,
    values: &[f32],
    least: &[f32; N],
) -> [usize; N] {
    let mut counts = [0; N];
    let (parts, rest) = values.as_chunks::<WIDE>();
    for part in parts {
        for (count, least) in counts.iter_mut().zip(least) {
            *count += at_least(simd, part, *least).count_ones() as usize;
        }
    }
    for value in rest {
        for (count, least) in counts.iter_mut().zip(least) {
            *count += usize::from(value >= least);
        }
    }
    counts
}

/// The first place of a torque that is not nearer than `within_nm` to `middle_nm`, or the end.
#[inline(always)]
pub(super) fn first_beyond(
    simd: impl Simd,
    torque: &[f32],
    middle_nm: f64,
    within_nm: f64,
) -> usize {
    let (parts, rest) = torque.as_chunks::<{ WIDE / 2 }>();
    let mut at = 0;
    for part in parts {
        let near = (eight(simd, part) - middle_nm).abs().simd_lt(within_nm).to_bitmask();
        let beyond = (!near).trailing_zeros() as usize;
        if beyond < WIDE / 2 {
            return at + beyond;
        }
        at += WIDE / 2;
    }
    for torque in rest {
        let near = (f64::from(*torque) - middle_nm).abs() < within_nm;
        if !near {
            return at;
        }
        at += 1;
    }
    at
}

/// The first place of the highest value, and the value; the first place and 0, if none is above 0.
#[inline(always)]
pub(super) fn highest_at(simd: impl Simd, values: &[f32]) -> (usize, f32) {
    let high = high(simd, values);
    let at = if high > 0.0 { first_at_least(simd, values, high) } else { None };
    at.map_or((0, 0.0), |at| (at, high))
}

/// How far the deepest value lies below the line that is at `start` at the first of them and rises by `slope` from
/// each to the next, and the last place of it.
#[inline(always)]
pub(super) fn deepest(simd: impl Simd, values: &[f32], start: f32, slope: f32) -> (f32, usize) {
    let (parts, rest) = values.as_chunks::<WIDE>();
    let mut places = f32x16::from_fn(simd, |lane| lane as f32);
    let mut deepest = f32x16::splat(simd, f32::NEG_INFINITY);
    let mut ats = f32x16::splat(simd, 0.0);
    for part in parts {
        let deep = places * slope + start - wide(simd, part);
        let deeper = deep.simd_ge(deepest);
        (deepest, ats) = (deepest.max(deep), deeper.select(places, ats));
        places += WIDE as f32;
    }
    let most = deepest.reduce_max();
    let last = deepest.simd_ge(most).select(ats, f32x16::splat(simd, 0.0)).reduce_max();
    let done = values.len() - rest.len();
    rest.iter().zip(done..).fold((most, last as usize), |(most, at), (value, place)| {
        let deep = place as f32 * slope + start - value;
        if deep >= most { (deep, place) } else { (most, at) }
    })
}

/// The most that values grow over `span` places; 0 if they do not.
#[inline(always)]
pub(super) fn steepest(simd: impl Simd, values: &[f32], span: usize) -> f32 {
    let Some(later) = values.get(span..) else { return 0.0 };
    let (now, _) = values[..later.len()].as_chunks::<WIDE>();
    let (then, rest) = later.as_chunks::<WIDE>();
    let mut most = f32x16::splat(simd, 0.0);
    for (now, then) in now.iter().zip(then) {
        most = most.max(wide(simd, then) - wide(simd, now));
    }
    let done = later.len() - rest.len();
    let grown = rest.iter().zip(&values[done..]).map(|(then, now)| then - now);
    grown.fold(most.reduce_max(), higher)
}

/// The least step between neighbours that is more than nothing; infinite, if there is none.
#[inline(always)]
pub(super) fn least_step(simd: impl Simd, values: &[f32], nothing: f32) -> f32 {
    let Some(later) = values.get(1..) else { return f32::INFINITY };
    let step = |then: f32, now: f32| {
        let step = (then - now).abs();
        if step > nothing { step } else { f32::INFINITY }
    };
    let (now, _) = values[..later.len()].as_chunks::<WIDE>();
    let (then, rest) = later.as_chunks::<WIDE>();
    let none = f32x16::splat(simd, f32::INFINITY);
    let mut least = none;
    for (now, then) in now.iter().zip(then) {
        let step = (wide(simd, then) - wide(simd, now)).abs();
        least = least.min(step.simd_gt(nothing).select(step, none));
    }
    let done = later.len() - rest.len();
    let steps = rest.iter().zip(&values[done..]).map(|(then, now)| step(*then, *now));
    steps.fold(least.reduce_min(), lower)
}

/// Sum of the values, and of their squares.
#[inline(always)]
pub(super) fn sums(simd: impl Simd, values: &[f32]) -> (f32, f32) {
    let none = f32x16::splat(simd, 0.0);
    let (mut sum, mut squares) = (none, none);
    let (parts, rest) = values.as_chunks::<WIDE>();
    for part in parts {
        let part = wide(simd, part);
        sum += part;
        squares += part * part;
    }
    let both = (sum.reduce_sum(), squares.reduce_sum());
    rest.iter().fold(both, |(sum, squares), value| (sum + value, squares + value * value))
}

/// Sum of the values, and of their squares, each less `pivot`, and of the same values, each times its place from the
/// middle of them.
#[inline(always)]
pub(super) fn levers(simd: impl Simd, values: &[f32], pivot: f32) -> (f64, f64, f64) {
    let middle = (values.len() as f32 - 1.0) / 2.0;
    let mut places = f32x16::from_fn(simd, |lane| lane as f32 - middle);
    let none = f32x16::splat(simd, 0.0);
    let (mut sum, mut squares, mut levers) = (none, none, none);
    let (parts, rest) = values.as_chunks::<WIDE>();
    for part in parts {
        let off = wide(simd, part) - pivot;
        sum += off;
        squares += off * off;
        levers += places * off;
        places += WIDE as f32;
    }
    let all = (sum.reduce_sum(), squares.reduce_sum(), levers.reduce_sum());
    let all = (f64::from(all.0), f64::from(all.1), f64::from(all.2));
    let rest = rest.iter().zip(places.to_array());
    rest.fold(all, |(sum, squares, levers), (value, place)| {
        let off = value - pivot;
        let all = (off, off * off, place * off);
        (sum + f64::from(all.0), squares + f64::from(all.1), levers + f64::from(all.2))
    })
}

#[cfg(test)]
mod tests {
    use super::{
        along, counts_at_least, extremes, first_at_least, first_below, first_beyond, last_at_least,
        last_below, least_step, levers, soon_at_least, steepest, sums,
    };
    use fearless_simd::{Level, Simd, dispatch};

    #[test]
    fn lanes_say_what_one_value_after_another_says() {
        dispatch!(Level::new(), simd => lanes_say_what_values_say(simd));
        dispatch!(Level::baseline(), simd => lanes_say_what_values_say(simd));
    }

    fn lanes_say_what_values_say(simd: impl Simd) {
        let mut odd = 7_u32;
        let values: Vec<f32> = std::iter::repeat_with(|| {
            odd = odd.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (odd >> 24) as f32 - 128.0
        })
        .take(103)
        .collect();
        for length in [0, 1, 3, 4, 7, 64, 103] {
            let values = &values[..length];
            let low = values.iter().copied().fold(f32::INFINITY, f32::min);
            let high = values.iter().copied().fold(f32::NEG_INFINITY, f32::max);
            assert_eq!(extremes(simd, values), (low, high));
            assert_eq!(super::high(simd, values), high);
            for least in [low, 0.0, 90.0, high, high + 1.0] {
                let first = values.iter().position(|value| *value >= least);
                assert_eq!(first_at_least(simd, values, least), first);
                assert_eq!(soon_at_least(simd, values, least), first);
                let last = values.iter().rposition(|value| *value >= least);
                assert_eq!(last_at_least(simd, values, least), last);
                let first = values.iter().position(|value| *value < least);
                assert_eq!(first_below(simd, values, least), first);
                let last = values.iter().rposition(|value| *value < least);
                assert_eq!(last_below(simd, values, least), last);
                let count = values.iter().filter(|value| **value >= least).count();
                assert_eq!(counts_at_least(simd, values, &[least]), [count]);
            }
            let mut put = vec![0.0; length];
            assert_eq!(along(simd, values, (3.0, -1.0), &mut put), (3.0 - high, 3.0 - low));
            assert!(put.iter().zip(values).all(|(put, value)| *put == 3.0 - value));
            for within in [0.0, 30.0, 120.0, 150.0] {
                let near = |nm: &&f32| (f64::from(**nm) - 9.0).abs() < within;
                let near = values.iter().take_while(near).count();
                assert_eq!(first_beyond(simd, values, 9.0, within), near);
            }
            let pairs = values.iter().zip(values.iter().skip(5));
            let most = pairs.map(|(now, then)| then - now).fold(0.0, f32::max);
            assert_eq!(steepest(simd, values, 5), most);
            let steps = values.windows(2).map(|pair| (pair[1] - pair[0]).abs());
            let least = steps.filter(|step| *step > 9.0).fold(f32::INFINITY, f32::min);
            assert_eq!(least_step(simd, values, 9.0), least);
            let deep = |place: usize| 5.0 + 9.0 * place as f32 - values[place];
            let last = (0..length).max_by(|one, other| deep(*one).total_cmp(&deep(*other)));
            let expected = last.map_or((f32::NEG_INFINITY, 0), |last| (deep(last), last));
            assert_eq!(super::deepest(simd, values, 5.0, 9.0), expected);
            let sum = values.iter().sum::<f32>();
            let squares = values.iter().map(|value| value * value).sum::<f32>();
            assert_eq!(sums(simd, values), (sum, squares));
            let offs = || values.iter().map(|value| f64::from(value - 3.0)).enumerate();
            let sum: f64 = offs().map(|(_, off)| off).sum();
            let squares: f64 = offs().map(|(_, off)| off * off).sum();
            let middle = (length as f64 - 1.0) / 2.0;
            let lever: f64 = offs().map(|(place, off)| (place as f64 - middle) * off).sum();
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
            for odd in [f32::NAN, f32::INFINITY, f32::NEG_INFINITY] {
                let mut torque = [1.0; 9];
                torque[at] = odd;
                let (low, high) = along(simd, &torque, (0.0, 1.0), &mut [0.0; 9]);
                assert!(low.is_nan() && high.is_nan(), "{odd} at {at}");
            }
        }
    }
}
