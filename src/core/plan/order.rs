//! Orders of a group's members: the cross order of a ring, and reading one that a plan states.

use crate::core::plan::fault::{Code, Complaint, short};
use std::f64::consts::{PI, TAU};

/// The order in which a ring of `n` fasteners (2..=64) is tightened, numbered clockwise from 1.
///
/// Odd `n`: a constant step of (n − 1)/2, which has no divisor in common with n. Even `n`: across,
/// then the next opposite pair whose axis lies nearest 90° to the last pair's. For 4, 5, 6, 8 and 10
/// these are the usual cross orders.
#[must_use]
pub fn cross_order(n: u16) -> Vec<u16> {
    if n < 3 {
        return (1..=n).collect();
    }
    if n % 2 == 1 {
        let step = u32::from((n - 1) / 2);
        return (0..u32::from(n))
            .filter_map(|i| u16::try_from(i * step % u32::from(n) + 1).ok())
            .collect();
    }
    let mut order = vec![1];
    while order.len() < usize::from(n) {
        let next = (1..=n)
            .filter(|member| !order.contains(member))
            .min_by_key(|&member| rank(n, &order, member));
        order.extend(next);
    }
    order
}

/// The order in which a row or a cover of `n` fasteners is tightened: from the middle to the ends, the sides in
/// turn, so that what lies between is pressed outwards.
#[must_use]
pub fn centre_order(n: u16) -> Vec<u16> {
    let first = n.div_ceil(2);
    let right = (first + 1..=n).map(Some).chain(std::iter::repeat(None));
    let left = (1..first).rev().map(Some).chain(std::iter::repeat(None));
    let pairs = right.zip(left).take(usize::from(n));
    std::iter::once(first)
        .chain(pairs.flat_map(|(right, left)| right.into_iter().chain(left)))
        .collect()
}

/// How unwelcome `member` is as the next of `done`: uneven pull first, then a neighbour of the last,
/// then an axis close to the last pair's, then closeness to what is done and to the last, then number.
fn rank(n: u16, done: &[u16], member: u16) -> (i64, bool, i32, i32, i32, u16) {
    let angle = |m: u16| TAU * f64::from(m) / f64::from(n);
    let all = || done.iter().copied().chain([member]);
    let x: f64 = all().map(|m| angle(m).cos()).sum();
    let y: f64 = all().map(|m| angle(m).sin()).sum();
    let resultant = thousandths(x.hypot(y));
    let hop = |m: u16| {
        let distance = m.abs_diff(member);
        i32::from(distance.min(n - distance))
    };
    let last = done.last().copied().unwrap_or(member);
    let axis = if done.len().is_multiple_of(2) {
        let between = (angle(member) - angle(last)).rem_euclid(PI);
        i32::try_from(thousandths(between.min(PI - between))).unwrap_or(0)
    } else {
        0
    };
    let nearest = done.iter().map(|&m| hop(m)).min().unwrap_or(0);
    (resultant, hop(last) == 1, -axis, -nearest, -hop(last), member)
}

/// Rounded, so that ties stay ties whatever the last bit of a sine.
fn thousandths(value: f64) -> i64 {
    (value * 1000.0).round() as i64
}

/// An order as text, `1-4-2-5-3-6`; commas and spaces part as well; or `from-centre`. A permutation of 1..=n.
pub(super) fn parse_order(text: &str, n: u16) -> Result<Vec<u16>, Complaint> {
    let example = cross_order(n);
    let remedy = || format!("write it like `{}`", join(&example));
    if ["from-centre", "from-center", "from the centre"].contains(&text.to_lowercase().as_str()) {
        return Ok(centre_order(n));
    }
    let mut order = Vec::new();
    for part in text.split(|c: char| matches!(c, '-' | '–' | ',' | ';' | '>') || c.is_whitespace())
    {
        if part.is_empty() {
            continue;
        }
        match part.parse::<u16>() {
            Ok(member) if (1..=n).contains(&member) => order.push(member),
            Ok(_) => {
                return Err(Complaint::new(
                    Code::Order,
                    format!("expected members from 1 to {n} in the order, but found {part}"),
                    remedy(),
                ));
            }
            Err(_) => {
                return Err(Complaint::new(
                    Code::Order,
                    format!("expected numbers with hyphens, but found `{}`", short(part)),
                    remedy(),
                ));
            }
        }
    }
    check(&order, n).map_err(|message| Complaint::new(Code::Order, message, remedy()))?;
    Ok(order)
}

/// Members with hyphens between them.
pub(super) fn join(order: &[u16]) -> String {
    let parts: Vec<String> = order.iter().map(u16::to_string).collect();
    parts.join("-")
}

fn check(order: &[u16], n: u16) -> Result<(), String> {
    let twice = (1..=n).find(|m| order.iter().filter(|o| *o == m).count() > 1);
    let missing: Vec<u16> = (1..=n).filter(|m| !order.contains(m)).collect();
    let missing_text = || {
        let parts: Vec<String> = missing.iter().map(u16::to_string).collect();
        parts.join(", ")
    };
    match (twice, missing.is_empty()) {
        (None, true) => Ok(()),
        (None, false) => Err(format!(
            "expected each of the {n} members once in the order, but found no {}",
            missing_text()
        )),
        (Some(twice), true) => Err(format!(
            "expected each of the {n} members once in the order, but found {twice} twice"
        )),
        (Some(twice), false) => Err(format!(
            "expected each of the {n} members once in the order, but found {twice} twice and no {}",
            missing_text()
        )),
    }
}
