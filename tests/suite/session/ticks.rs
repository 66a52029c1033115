//! An adapter's ticks on our clock.

use clampbook::adapter::session::{Runs, TickClock};
use clampbook::core::time::Stamp;
use proptest::prelude::*;
use std::collections::BTreeSet;

#[test]
fn clocks_that_were_set_are_believed_anew() {
    let mut clock = TickClock::new(0, Some(Stamp(0)), Stamp(20_000));
    assert!(!clock.observe(1000, Some(Stamp(10_000_000)), Stamp(10_030_000)));
    let (at, error) = clock.time_of(1000);
    assert!((at.0 - 10_010_000).abs() <= i64::from(error), "{at:?} ± {error}");
    assert!(error < 60_000, "± {error}");
    // Our own clock was put forward by an hour.
    assert!(!clock.observe(2000, Some(Stamp(3_620_000_000)), Stamp(3_620_010_000)));
    let (at, error) = clock.time_of(2000);
    assert!((at.0 - 3_620_005_000).abs() <= i64::from(error), "{at:?} ± {error}");
}

#[test]
fn a_status_that_was_long_under_way_moves_nothing_and_asks_for_an_answer() {
    let mut clock = TickClock::new(0, Some(Stamp(0)), Stamp(20_000));
    let before = clock.time_of(1000);
    // By itself, and made ten seconds before it came.
    assert!(clock.observe(1000, None, Stamp(20_000_000)));
    let (at, error) = clock.time_of(1000);
    assert!((at.0 - before.0.0).abs() < 20_000, "{at:?}");
    assert!(error < 60_000, "± {error}");
    // It was our own clock that was put forward: the answer tells.
    clock.observe(1001, Some(Stamp(20_010_000)), Stamp(20_030_000));
    let (at, _) = clock.time_of(1001);
    assert!((at.0 - 20_020_000).abs() < 60_000, "{at:?}");
}

proptest! {
    /// The stated error holds the true time, whatever the delays and the drift.
    #[test]
    fn the_stated_error_holds_the_true_time(
        boot in 0..1_000_000_000_000_i64,
        drift_millionths in -250..250_i64,
        observations in proptest::collection::vec(
            (1..60_000_000_i64, 0..200_000_i64, 0..200_000_i64, any::<bool>()), 1..20),
        back in 0..60_000_000_i64,
    ) {
        let tick_at = |at: i64| {
            let elapsed = at - boot;
            u32::try_from((elapsed + elapsed * drift_millionths / 1_000_000) / 10_000).unwrap()
        };
        let mut at = boot + 60_000_000;
        let mut clock: Option<TickClock> = None;
        for (pause, out, home, asked) in observations {
            at += pause;
            let asked = asked.then_some(Stamp(at - out));
            let received = Stamp(at + home);
            match &mut clock {
                None => clock = Some(TickClock::new(tick_at(at), asked, received)),
                Some(clock) => drop(clock.observe(tick_at(at), asked, received)),
            }
        }
        let truth = at - back;
        let (said, error) = clock.unwrap().time_of(tick_at(truth));
        // The adapter's own crystal bends the time since the boot; a tick is 10 ms wide.
        prop_assert!(
            (said.0 - truth).abs() <= i64::from(error) + 10_000,
            "said {} for {truth} ± {error}", said.0
        );
    }

    /// Runs hold exactly the numbers that were put in.
    #[test]
    fn runs_are_a_set(
        runs in proptest::collection::vec((1..60_u32, 0..9_u32), 0..12),
        within in (1..60_u32, 0..30_u32),
    ) {
        let mut set = BTreeSet::new();
        let mut found = Runs::default();
        for (first, length) in runs {
            if length == 0 {
                prop_assert_eq!(found.insert(first), set.insert(first));
            } else {
                found.insert_run(first..=first + length);
                set.extend(first..=first + length);
            }
        }
        for number in 0..80 {
            prop_assert_eq!(found.contains(number), set.contains(&number));
        }
        prop_assert_eq!(found.highest(), set.last().copied());
        let prefix = (1..).take_while(|number| set.contains(number)).last().unwrap_or(0);
        prop_assert_eq!(found.prefix(), prefix);
        let within = within.0..=within.0 + within.1;
        let missing: Vec<u32> = found.missing(within.clone()).into_iter().flatten().collect();
        let expected: Vec<u32> = within.filter(|number| !set.contains(number)).collect();
        prop_assert_eq!(missing, expected);
    }
}
