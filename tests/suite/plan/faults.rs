//! What is said of a plan that is wrong, doubtful or incomplete.

use super::{check_faults, faults, good, sample, samples};
use clampbook::core::plan::{Fault, Severity, parse, starter, text};

#[test]
fn five_mistakes_give_five_messages_with_their_places() {
    check_faults(
        &sample("broken/five-mistakes.toml"),
        "\
7:11: error: expected a torque unit, but found `lb`, which may mean foot or inch; write `lbf·ft` or `lbf·in`
8:14: error: expected a torque with its unit for `slide-pins`, but found the number 26; write it with its unit and in quotes, like `\"26 N·m\"`
13:9: error: expected each of the 6 members once in the order, but found 3 twice and no 6; write it like `1-4-2-5-3-6`
14:1: error: expected a key of the joint `half-shaft-flange`, but found `turned-to-reech`; did you mean `turned-to-reach`?
19:9: error: expected the name of a joint in `after`, but found `halfshaft-flange`; did you mean `half-shaft-flange`?
",
    );
}

#[test]
fn broken_syntax_is_reported_line_by_line() {
    check_faults(
        &sample("broken/syntax.toml"),
        "\
1:25: error: expected a closing double quote, but found nothing; end the text with a double quote on the same line
2:11: error: expected text in quotes, but found `Orvane Dray 3`; put the text in double quotes, like \"228 N·m\"
5:1: error: expected each key once, but found `tolerance` again; keep one of the two, or give one another name
8:10: error: expected a value, but found nothing; write the value behind the `=`; `\"?\"` if it is still to be looked up
9:23: error: expected the end of the line, but found `\"26 N·m\"`; begin a new line; several values stand in [ ] with commas
10:17: error: expected `=` and a value, but found `\"102 N·m\"`; write it like `hub-nut = \"228 N·m\"`
12:24: error: expected `]`, but found nothing (unclosed table); text stands in double quotes, lists in [ ], every key on its own line as `key = value`
",
    );
}

#[test]
fn windows_that_make_no_sense_are_refused_one_by_one() {
    check_faults(
        &sample("broken/windows.toml"),
        "\
2:13: error: expected less than 100 %, but found `±120 %`; give a smaller tolerance
6:5: error: expected the lower end first, but found 44 and then 32; write the lower end first, like `32..44 N·m`
7:5: error: expected a least torque, but found only a most: `max 44 N·m`; write both, like `32..44 N·m`; the least is what makes a joint hold
8:5: error: expected a window above zero, but found a tolerance that takes 20 N·m down to -5.00; give a smaller tolerance
9:5: error: expected a plain number, but found `1,500`, which reads two ways; write `1500` or `1.500`
10:5: error: expected at most 5000 N·m, but found 9000 N·m; look at the unit and at the decimal sign
11:5: error: expected the tolerance in lbf·ft like the torque, but found N·m; use one unit for both
12:5: error: expected more than zero, but found `0`; a torque is stated without a sign, whichever way the thread turns
13:5: error: expected a torque unit, but found `mN`, which reads as millinewton; write `N·m`
14:5: error: expected a window that a hand can hit, but found `±0 %`; give at least one side more than zero
15:5: error: expected a torque, but found an empty text; write `\"?\"` if the value is still to be looked up
19:13: error: expected the limits once, but found them in the target and in `tolerance`; keep one of the two
23:11: error: expected an early pass of at most 100 N·m, but found 120 N·m; put the passes in rising order, the target last
27:22: error: expected the last pass at the target 100 N·m, but found another; make the last pass `\"final\"`, or correct the target
31:11: error: expected a check behind the pass at the target, but found it earlier; move `\"check\"` to the end
31:20: error: expected one pass at the target, but found another before it; give the earlier pass a torque or a share like `\"50 %\"`, or write `\"check\"` for a round after
36:11: error: expected a tolerance only in a pass with a torque, but found it in another; remove it; a check pass is held to the window of the target
39:10: error: expected a torque for the target, but found what only a pass can be; write it like `228 N·m`
40:44: error: expected `%` or a unit behind the tolerance, but found `±0,5`; write it like `±10 %` or `±5 N·m`
40:54: error: expected a `target` in a pass of `p`, but found none; write it like `{ target = \"final\", hold = \"ride-height\" }`
40:63: error: expected a name from `[holds]`, but found `x`; declare it: `[holds]` and below `x = \"What is asked?\"`
40:70: error: expected a torque with its unit for `passes`, but found the number 60; write it with its unit and in quotes, like `\"60 N·m\"`
",
    );
}

#[test]
fn misplaced_things_are_sent_to_their_place() {
    check_faults(
        &sample("broken/misplaced.toml"),
        "\
1:1: warning: expected a tolerance for the plan, but found none; ±10 % is taken; write `tolerance = \"±10 %\"` at the top if that is meant
1:1: warning: expected where the values come from, but found no `source`; write `source = \"workshop sheet 31-04\"` at the top
2:1: error: expected a key of the plan, but found `in_order`; did you mean `in-order`?
3:1: error: expected a key of the plan, but found `hub-nut`; joints go below the line `[joints]`
4:7: error: expected one line of plain text in `vin`, but found a control character; write it again by hand, on one line
7:15: error: expected what the hold `ride-height` asks, but found nothing; write the question, like `\"Faces clean and dry?\"`
8:46: error: expected `slacken` or `pull-again` for `cure`, but found `wait`; leave it out if a pull made too early must be slackened first
11:1: error: expected the name of a joint below `[joints]`, but found `source`; move `source` to the top of the file, above the first line in brackets
12:1: error: expected a name of lower-case letters, digits and hyphens, but found `Camber Link`; write `camber-link`
13:11: error: expected a torque or a table for `caliper`, but found a list; write it like `caliper = \"228 N·m\"`
16:9: error: expected each joint once, but found `toe-link-left` again, made by `sides`; give one of the joints another name
19:8: error: expected a name from `[holds]`, but found `faces-cleen`; did you mean `faces-clean`?
23:8: error: expected `ring` or `line`, but found both; keep the one that fits
24:16: error: expected a diameter of 5 to 2000 mm for `pitch-circle`, but found `130`; write it like `130 mm` or `5.5 in`, or leave it out
28:8: error: expected 1 to 64 in `ring`, but found 65; count the fasteners of one ring or row; split a larger group
30:12: error: expected `counted` or `shown` for `identity`, but found `certain`; `counted`: the right number of good pulls is enough; `shown`: each fastener must be shown
32:2: error: expected a key of the plan, but found `damper`; joints are named `[joints.damper]`
",
    );
}

#[test]
fn circles_are_named_once_each() {
    check_faults(
        &sample("broken/circle.toml"),
        "\
15:9: error: expected joints that can follow one another, but found a circle: bracket after caliper after disc after bracket; take one `after` of these away
19:9: error: expected another joint in `after`, but found `hub-nut` waiting for itself; take one `after` of these away
",
    );
}

#[test]
fn an_empty_plan_is_told_where_to_start() {
    let expected = "1:1: error: expected a plan, but found nothing in the file; start from the commented plan that `clampbook plan new` prints\n";
    check_faults(&sample("broken/nothing.toml"), expected);
    check_faults("", expected);
    check_faults(" \r\n\t\n", expected);
}

#[test]
fn every_broken_sample_is_refused() {
    let samples = samples("samples/plans/broken");
    assert_eq!(samples.len(), 6);
    for (name, text) in samples {
        assert!(parse(&text).is_err(), "{name}");
    }
}

#[test]
fn warnings_and_notes_leave_the_plan_usable() {
    let text = sample("to-look-up.toml");
    assert_eq!(good(&text).plan.steps.len(), 5);
    check_faults(
        &text,
        "\
1:1: warning: expected a tolerance for the plan, but found none; ±10 % is taken; write `tolerance = \"±10 %\"` at the top if that is meant
1:1: warning: expected where the values come from, but found no `source`; write `source = \"workshop sheet 31-04\"` at the top
4:7: note: expected the check digit 1 at position 9 of `vin`, but found 0; compare with the plate; vehicles not built for North America need no check digit
7:20: note: expected a torque for `strut-to-knuckle`, but found `?`; it will be asked for before this joint is pulled
8:13: note: expected a torque for `top-mount`, but found `?`; it will be asked for before this joint is pulled
14:10: note: expected a torque for `front-right-wheel`, but found `?`; it will be asked for before this joint is pulled
",
    );
}

#[test]
fn the_starter_is_a_plan_with_nothing_worse_than_notes() {
    let file = good(starter());
    assert!(file.faults.iter().all(|fault| fault.severity != Severity::Error));
    check_faults(
        starter(),
        "\
27:11: note: expected a torque for `hub-nut`, but found `?`; it will be asked for before this joint is pulled
32:10: note: expected a torque for `trailing-arm-pivot`, but found `?`; it will be asked for before this joint is pulled
39:10: note: expected a torque for `rear-left-wheel`, but found `?`; it will be asked for before this joint is pulled
",
    );
}

#[test]
fn an_order_of_joints_and_an_after_that_contradict_are_refused() {
    check_faults(
        "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\nin-order = true\n[joints.a]\ntarget = \"9 N·m\"\nafter = \"b\"\n[joints.b]\ntarget = \"9 N·m\"\n",
        "7:9: error: expected a joint listed earlier, as `in-order = true` wants, but found `b`; move it up, or set `in-order = false`\n",
    );
}

#[test]
fn columns_count_characters_and_line_ends_of_any_kind_are_read() {
    let text = "\u{feff}plan = \"p\"\r\nsource = \"s\"\r\n[joints]\r\n\"ä\" = { target = \"9 N·m\", düse = 1 }\r\n";
    check_faults(
        text,
        "\
4:28: error: expected a key of plain letters, digits and hyphens, but found `ü`; write it without accents and spaces; text belongs in double quotes behind the `=`
",
    );
}

#[test]
fn a_file_that_is_no_plan_gets_one_clear_message() {
    check_faults(
        &"x".repeat(10 << 20),
        "1:1: error: expected a plan of at most 262144 octets, but found 10485760; check that this file is a plan\n",
    );
    let deep = format!("a = {}", "[".repeat(100_000));
    assert!(faults(&deep).contains("expected a few levels of brackets"), "{}", faults(&deep));
}

#[test]
fn a_plan_beyond_all_size_is_refused_quickly() {
    let joints: String = (0..9000).map(|n| format!("j{n} = \"9 N·m\"\n")).collect();
    let text = format!("plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\n[joints]\n{joints}");
    check_faults(
        &text,
        "505:1: error: expected at most 500 joints, both sides counted, but found 9000; split the plan\n",
    );
    let holds = "\"x\", ".repeat(40_000);
    let text = format!(
        "plan = \"p\"\nsource = \"s\"\n[joints.a]\ntarget = \"9 N·m ±1 %\"\nhold = [{holds}]\n"
    );
    let found = faults(&text);
    assert_eq!(found.lines().count(), 501);
    assert!(found.ends_with("6:1: error: expected at most 500 faults, but found 39500 more; mend those above first\n"), "{}", found.lines().last().unwrap_or_default());
}

#[test]
fn a_vin_is_only_ever_remarked_upon_and_never_repeated() {
    let notes = |vin: &str| {
        let text = format!(
            "plan = \"p\"\nsource = \"s\"\ntolerance = \"±10 %\"\nvin = \"{vin}\"\n[joints]\na = \"9 N·m\"\n"
        );
        assert_eq!(good(&text).vehicle.vin.as_deref(), Some(vin));
        faults(&text)
    };
    // All ones is the example of 49 CFR 565: the weighted sum is 89, and 89 mod 11 is 1.
    let check_digit = |expected: char, found: char| {
        format!(
            "4:7: note: expected the check digit {expected} at position 9 of `vin`, but found {found}; compare with the plate; vehicles not built for North America need no check digit\n"
        )
    };
    // The weights of 49 CFR 565.15 add up to 89, and 89 mod 11 is 1.
    assert_eq!(notes("11111111111111111"), "");
    assert_eq!(notes("11111111X11111111"), check_digit('1', 'X'));
    assert_eq!(notes("11111111111111112"), check_digit('3', '1'));
    // An A counts 1, a Z 9: the first position weighs 8, and 89 + 64 mod 11 is 10.
    assert_eq!(notes("A1111111111111111"), "");
    assert_eq!(notes("z1111111X11111111"), "");
    assert_eq!(
        notes("1111111111111111O"),
        "4:7: note: expected digits and letters without I, O and Q in `vin`, but found `O`; compare with the plate\n"
    );
    assert_eq!(
        notes("ABC 123"),
        "4:7: note: expected 17 characters in `vin`, but found 7; compare with the plate; vehicles built before 1981 may have fewer\n"
    );
}

#[test]
fn control_characters_of_a_name_never_reach_a_message() {
    check_faults(
        "plan = \"p\"\nsource = \"s\"\n[joints]\n\"\\u001b[2Jwheel\" = \"?\"\n",
        "\
4:1: error: expected a name of lower-case letters, digits and hyphens, but found `\u{fffd}[2Jwheel`; write `2jwheel`
4:20: note: expected a torque for `\u{fffd}[2Jwheel`, but found `?`; it will be asked for before this joint is pulled
",
    );
}

#[test]
fn a_file_in_an_older_encoding_is_told_where_it_stops_being_text() {
    let told = |octets: &[u8]| -> Vec<String> {
        text(octets).expect_err("no text").iter().map(Fault::to_string).collect()
    };
    assert_eq!(text("plan = \"±\"".as_bytes()), Ok("plan = \"±\""));
    assert_eq!(
        told(b"plan = \"p\"\n# \xc3\xa4\ntolerance = \"\xb110 %\"\n"),
        ["3:14: error: expected UTF-8 text, but found the octet 0xb1; save the file as UTF-8"]
    );
    assert_eq!(
        told(b"\xff\xfep\0"),
        ["1:1: error: expected UTF-8 text, but found the octet 0xff; save the file as UTF-8"]
    );
}
