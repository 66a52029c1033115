//! The programs of the system that a daemon finds and calls, in a search path of the test's own.

use crate::rig::{Rig, Served};
use serde_json::json;
use std::fs;
use std::time::Duration;

/// A daemon that finds these programs and no others, once it was asked something.
fn served_with(programs: &[(&str, &str)], args: &[&str]) -> (Rig, Served) {
    let mut rig = Rig::new().sample("plans/arm-pivot.toml").run("job start arm-pivot.toml");
    fs::create_dir(rig.path("programs")).unwrap();
    for (name, text) in programs {
        rig = rig.program(&format!("programs/{name}"), text);
    }
    let mut command = rig.command(&[&["serve"], args].concat());
    command.env("PATH", rig.path("programs"));
    let served = rig.serve_by(command);
    let note = json!({"say": "confirm", "hold": "ride-height", "origin": "page"});
    assert_eq!(served.post("/v1/jobs/current/marks", &note).0, 200);
    (rig, served)
}

fn until_told(rig: &Rig, wanted: &str) {
    for _ in 0..500 {
        if rig.log().contains(wanted) {
            return;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    panic!("not told: {wanted}; told was {}", rig.log());
}

/// Writes down what it was called with, into the file that stands in the place of the name.
fn noting(file: &str) -> String {
    format!("#!/bin/sh\necho \"$@\" >> \"${{0%/*}}/{file}\"\n")
}

#[test]
fn voices_are_told_their_language_and_how_loud_they_are() {
    for (name, expected) in [
        ("espeak-ng", "-v de -s 150 -a 30 -- "),
        ("spd-say", "--wait -l de -i -40 -- "),
        ("say", "[[volm 0.30]] "),
    ] {
        let voice = noting("said");
        let args = ["--speak", "--language", "de", "--speak-volume", "30"];
        let (rig, served) = served_with(&[(name, &voice)], &args);
        for _ in 0..500 {
            if rig.path("programs/said").exists() {
                break;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        let said = fs::read_to_string(rig.path("programs/said")).unwrap();
        assert!(said.starts_with(expected), "{said}");
        drop(served);
        until_told(&rig, "words alone: expected pw-play, paplay, aplay or afplay");
        assert_eq!(rig.log().matches("words alone").count(), 1, "{}", rig.log());
    }
}

#[test]
fn a_player_that_fails_gives_way_to_the_next_and_each_is_told_of_once() {
    let (voice, good) = (noting("said"), noting("played"));
    let bad = "#!/bin/sh\necho 'connection refused' >&2\nexit 1\n";
    for (last, told) in [(&*good, "aplay is tried next"), (bad, "words alone from now on")] {
        let programs = [("say", &*voice), ("paplay", bad), ("aplay", last)];
        let (rig, served) = served_with(&programs, &["--speak"]);
        let retract = json!({"say": "retract", "origin": "page"});
        assert_eq!(served.post("/v1/jobs/current/marks", &retract).0, 200);
        until_told(&rig, "paplay plays no rhythm: connection refused");
        for _ in 0..3 {
            assert_eq!(served.post("/v1/repeat", &json!({})).0, 200);
            std::thread::sleep(Duration::from_millis(400));
        }
        until_told(&rig, told);
        let failed = if last == bad { 2 } else { 1 };
        assert_eq!(rig.log().matches("plays no rhythm").count(), failed, "{}", rig.log());
        let played = fs::read_to_string(rig.path("programs/played")).unwrap_or_default();
        let is_asked = |line: &str| line.starts_with("-q ") && line.ends_with("/attention.wav");
        assert!(played.lines().all(is_asked), "{played}");
        assert_eq!(played.is_empty(), last == bad);
    }
}

#[test]
fn a_voice_without_a_sound_card_is_told_of_once_even_if_it_ends_well() {
    let voice = "#!/bin/sh\necho 'noise' >&2\necho 'error: no card' >&2\n";
    let rig = Rig::new().program("voice", voice).sample("plans/arm-pivot.toml");
    let rig = rig.run("job start arm-pivot.toml");
    let served = rig.serve(&["--speak-with", "./voice"]);
    let note = json!({"say": "confirm", "hold": "ride-height", "origin": "page"});
    assert_eq!(served.post("/v1/jobs/current/marks", &note).0, 200);
    let complaint = "complains: error: no card; perhaps nothing was heard";
    for _ in 0..500 {
        if rig.log().contains(complaint) {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    assert_eq!(served.post("/v1/repeat", &json!({})).0, 200);
    std::thread::sleep(Duration::from_millis(600));
    assert_eq!(rig.log().matches(complaint).count(), 1, "{}", rig.log());
}

#[test]
fn how_loud_and_how_much_are_refused_with_what_is_expected() {
    for (args, expected) in [
        ("serve --speak --speak-volume 0", "0 is not in 1..=100"),
        ("serve --speak --speak-volume loud", "invalid digit found in string"),
        (
            "serve --speak --speak-what all",
            "expected everything, values or alarms, but found `all`",
        ),
    ] {
        let told = Rig::new().run(args).told();
        assert!(told.contains("-> 2\n") && told.contains(expected), "{told}");
    }
}
