//! Nonsense from outside.

use super::generator::random::Chance;
use clampbook::core::signal::{Block, Found, Nonsense, PullFinder, Source};
use clampbook::core::time::Stamp;
use clampbook::core::units::Torque;
use std::collections::HashMap;
use std::mem::{Discriminant, discriminant};

const INPUTS: usize = 1_000_000;

const ODD_NUMBERS: [f64; 14] = [
    f64::NAN,
    f64::INFINITY,
    f64::NEG_INFINITY,
    f64::MAX,
    f64::MIN,
    f64::MIN_POSITIVE,
    f64::EPSILON,
    -0.0,
    0.0,
    1e300,
    -1e9,
    19_999.9,
    1e-310,
    250.0,
];

const ODD_RATES: [f64; 9] =
    [f64::NAN, f64::INFINITY, 0.0, -100.0, 1e-9, 4.9, 1e12, 20_000.1, f64::MIN_POSITIVE];

const ODD_STAMPS: [i64; 5] = [i64::MIN, i64::MAX, 0, -1, i64::MAX - 1];

#[test]
fn a_million_hostile_blocks_neither_panic_nor_hang_and_what_is_nonsense_is_reported() {
    let mut chance = Chance::seeded(20);
    let mut reported: HashMap<Discriminant<Nonsense>, usize> = HashMap::new();
    let (mut samples, mut pulls) = (0, 0);
    let mut note = |found| match found {
        Found::Nonsense { what, .. } => {
            assert!(what.to_string().starts_with("expected"), "{what}");
            *reported.entry(discriminant(&what)).or_default() += 1;
        }
        Found::Pull(pull) => {
            let json = serde_json::to_string(&pull).unwrap();
            let again = serde_json::from_str(&json);
            assert!(again.is_ok_and(|again| pull == again), "a description is plain data: {json}");
            pulls += 1;
        }
        Found::Knock { torque, .. } => assert!(torque.nm().is_finite()),
        Found::Zero { zero, .. } => assert!(zero.nm().is_finite()),
    };
    let mut finder = PullFinder::new(odd_source(&mut chance));
    let (mut torque, mut turned) = (Vec::new(), Vec::new());
    let mut start = 0_i64;
    for input in 0..INPUTS {
        if input % 5_000 == 0 {
            finder.finish(&mut note);
            finder = PullFinder::new(odd_source(&mut chance));
        }
        let rate_hz = match chance.even(0.0, 1.0) {
            p if p < 0.02 => chance.one_of(&ODD_RATES),
            p if p < 0.04 => chance.ratio(1.0, 30_000.0),
            _ => 500.0,
        };
        let length = (chance.ratio(1.0, 40.0) - 1.0) as usize;
        torque.clear();
        turned.clear();
        let (base, slope) = (chance.even(-20.0, 300.0), chance.even(-15.0, 15.0));
        for index in 0..length {
            let nm = base + slope * index as f64;
            let odd = chance.happens(0.1);
            torque.push(if odd { chance.one_of(&ODD_NUMBERS) } else { nm } as f32);
            turned.push(if odd { chance.one_of(&ODD_NUMBERS) } else { index as f64 * 0.1 });
        }
        if chance.happens(0.05) {
            turned.push(1.0);
        }
        start = match chance.even(0.0, 1.0) {
            p if p < 0.01 => chance.one_of(&ODD_STAMPS),
            p if p < 0.05 => start.saturating_add(chance.even(-3e6, 3e6) as i64),
            _ => start.saturating_add(length as i64 * 2_000),
        };
        let told = chance.happens(0.7);
        let block = Block {
            start: Stamp(start),
            rate_hz,
            torque: &torque,
            turned_deg: told.then_some(turned.as_slice()),
        };
        finder.feed(&block, &mut note);
        samples += length;
    }
    finder.finish(&mut note);
    assert!(samples > INPUTS, "{samples} samples");
    assert!(pulls > 1_000, "{pulls} pulls in between");
    assert_eq!(reported.len(), 5, "kinds reported: {reported:?}");
    assert!(reported.values().all(|count| *count > 1_000), "reported by kind: {reported:?}");
}

fn odd_source(chance: &mut Chance) -> Source {
    let nm = if chance.happens(0.5) { chance.one_of(&ODD_NUMBERS) } else { 280.0 };
    Source {
        range_max: chance.happens(0.8).then_some(Torque::from_nm(nm)),
        accuracy_pct: chance.happens(0.5).then(|| chance.one_of(&ODD_NUMBERS)),
        wind_up_deg_per_nm: chance.happens(0.5).then(|| chance.one_of(&ODD_NUMBERS)),
    }
}
