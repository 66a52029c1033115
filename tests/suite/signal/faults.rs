//! What may be wrong with a pull, drawn by hand.

use super::stories::{Line, REST, pulls};
use clampbook::core::signal::Flags;

const LET_GO: Line = Line(0.15, 0.0, -2.5);

/// Flags of a pull of these lines, after three plain ones of the same kind.
fn flags(lines: &[Line]) -> Flags {
    let plain = [REST, Line(0.7, 150.0, 50.0), Line(0.1, 152.0, 0.0), LET_GO, REST];
    let all = [&plain[..], &plain, &plain, lines, &[LET_GO, REST]].concat();
    let all = pulls(&all);
    let [.., last] = all.as_slice() else { panic!("a pull, but found none") };
    last.flags
}

/// Each fault: its probability, and whether it should be called.
fn check(lines: &[Line], called: &str) {
    let flags = flags(lines);
    let told = [
        ("stick-slip", flags.stick_slip),
        ("yielding", flags.yielding),
        ("thread damage", flags.thread_damage),
        ("bottomed", flags.bottomed_or_crossed),
        ("under-sampled", flags.under_sampled),
        ("slip", flags.slip),
    ];
    let told: Vec<&str> = told.iter().filter(|(_, p)| *p > 0.5).map(|(name, _)| *name).collect();
    assert_eq!(told.join(", "), called, "{flags:?}");
}

#[test]
fn a_plain_pull_is_called_nothing() {
    check(&[Line(0.7, 150.0, 50.0), Line(0.1, 152.0, 0.0)], "");
}

#[test]
fn a_thread_that_sticks_and_slips_in_turns_is_called_stick_slip() {
    let mut lines = vec![Line(0.35, 75.0, 20.0)];
    for tooth in 0..8 {
        let high = 88.0 + 9.0 * f64::from(tooth);
        lines.extend([Line(0.04, high, 0.2), Line(0.01, high * 0.88, 3.0)]);
    }
    check(&lines, "stick-slip");
}

#[test]
fn a_fastener_that_turns_on_at_the_same_torque_is_called_yielding() {
    check(&[Line(0.6, 120.0, 40.0), Line(0.7, 124.0, 60.0)], "yielding");
}

#[test]
fn torque_that_falls_while_the_fastener_turns_is_called_thread_damage() {
    check(&[Line(0.6, 120.0, 40.0), Line(0.6, 62.0, 45.0)], "thread damage");
}

#[test]
fn a_rise_that_is_suddenly_many_times_as_steep_is_called_bottomed() {
    check(&[Line(0.55, 28.0, 45.0), Line(0.3, 150.0, 7.0), Line(0.1, 151.0, 0.0)], "bottomed");
}
