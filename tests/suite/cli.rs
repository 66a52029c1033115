//! The command line as a person or a script meets it: all that it says, and its exit status.

use crate::rig::{Rig, samples};
use insta::assert_snapshot;
use std::process::Stdio;

const WHEEL: &str = r#"plan = "Wheel"
tolerance = "±10 %"
source = "my sheet"

[holds]
tyre-touching = "Tyre just touching the ground, wheels chocked?"

[joints.wheel]
ring = 5
target = "110 N·m"
hold = "tyre-touching"
"#;

/// Three lone joints, so that nothing is in doubt.
const LONE: &str = r#"plan = "Three bolts"
tolerance = "±8 %"
source = "my sheet"
in-order = true

[joints]
damper-eye = "122 N·m"
arm-pivot = "178 N·m"
toe-link = "60 N·m"
"#;

const RECORDING: &str = r#"{"kind":"header","format":"clampbook-recording","version":1,"started":"2026-05-16T17:00:00Z"}
{"kind":"adapter","t":0,"adapter":"a","serial":"LK-0001","drive":"1/2\"","range_nm":[40,280],"accuracy_pct":3,"reports":["peak","rotation"]}
{"kind":"mark","t":2,"say":"at","fastener":"damper-eye/1"}
{"kind":"reading","t":10,"adapter":"a","seq":1,"peak_nm":122.2,"rotation_deg":40,"duration_ms":900}
{"kind":"truth","t":10,"seq":1,"adapter":"a","fastener":"damper-eye/1","act":"tighten"}
{"kind":"reading","t":20
{"kind":"mark","t":19,"say":"at","fastener":"arm-pivot/1"}
{"kind":"reading","t":20.25,"adapter":"a","seq":2,"peak_nm":199.5,"rotation_deg":44,"duration_ms":900}
{"kind":"truth","t":20.25,"seq":2,"adapter":"a","fastener":"arm-pivot/1","act":"tighten"}
{"kind":"reading","t":25,"adapter":"a","seq":3}
"#;

#[test]
fn words_from_outside_do_not_act_on_the_terminal() {
    let hostile =
        format!("\u{1b}]0;title\u{7}\u{1b}[2J\u{9b}31m \u{202e}tfel {}", "x".repeat(1000));
    let rig = Rig::new().file("plan.toml", LONE).run("job start plan.toml");
    let served = rig.serve(&[]);
    let mark = serde_json::json!({"say": "note", "text": hostile, "origin": "command-line"});
    let (status, body) = served.post("/v1/jobs/current/marks", &mark);
    assert_eq!(status, 200, "{body}");
    drop(served);
    let said = rig.log();
    assert!(
        said.contains("⟨U+001B⟩]0;title⟨U+0007⟩⟨U+001B⟩[2J⟨U+009B⟩31m ⟨U+202E⟩tfel x"),
        "{said}"
    );
    assert!(!said.contains(|c: char| (c.is_control() && c != '\n') || c == '\u{202e}'), "{said:?}");
}

#[test]
fn every_verb_has_help_with_an_example() {
    let rig = Rig::new();
    for verb in [
        "adapter",
        "adapter scan",
        "serve",
        "demo",
        "adapter list",
        "adapter add",
        "adapter show",
        "adapter identify",
        "adapter zero",
        "adapter forget",
        "doctor",
        "plan",
        "plan new",
        "plan check",
        "plan show",
        "plan diff",
        "plan import-csv",
        "plan schema",
        "job",
        "job start",
        "job list",
        "job show",
        "job mark",
        "job mark at",
        "job mark confirm",
        "job mark stated",
        "job mark opened",
        "job mark skip",
        "job mark note",
        "job mark retract",
        "job close",
        "record",
        "replay",
        "report",
    ] {
        let mut args: Vec<&str> = verb.split(' ').collect();
        args.push("--help");
        let output = rig.output(&args);
        let text = String::from_utf8(output.stdout).unwrap();
        assert_eq!(output.status.code(), Some(0), "{verb}");
        assert!(text.contains("Example"), "{verb}: {text}");
        assert!(text.contains(&format!("clampbook {verb}")), "{verb}: {text}");
        assert!(output.stderr.is_empty(), "{verb}");
    }
}

#[test]
fn bad_usage_ends_with_2_and_says_so_on_standard_error() {
    assert_snapshot!(
        Rig::new()
            .run("")
            .run("sing")
            .run("replay one.toml")
            .run("report 1 --out a --html b")
            .run("job mark skip wheel/1")
            .told()
    );
}

#[test]
fn a_starter_plan_can_be_checked_at_once() {
    let rig = Rig::new();
    let starter = rig.output(&["plan", "new"]).stdout;
    assert_snapshot!(rig.file("new.toml", starter).run("plan check new.toml").told());
}

#[test]
fn five_mistakes_in_a_plan_give_five_messages_with_their_places() {
    assert_snapshot!(
        Rig::new()
            .sample("plans/broken/five-mistakes.toml")
            .run("plan check five-mistakes.toml")
            .run("plan check five-mistakes.toml --json")
            .run("plan show five-mistakes.toml")
            .run("job start five-mistakes.toml")
            .run("replay five-mistakes.toml nothing.ndjson")
            .told()
    );
}

#[test]
fn what_is_no_plan_is_refused_with_a_remedy() {
    assert_snapshot!(
        Rig::new()
            .file("latin.toml", b"plan = \"x\"\nsource = \"Stra\xdfe\"\n")
            .run("plan check .")
            .run("plan check missing.toml")
            .run("plan check latin.toml")
            .told()
    );
}

#[test]
fn a_job_runs_from_start_to_close_without_a_daemon() {
    assert_snapshot!(
        Rig::new()
            .file("wheel.toml", WHEEL)
            .run("job list")
            .run("job start wheel.toml")
            .run("job start wheel.toml")
            .run("job mark confirm tyre-touchin")
            .run("job mark confirm tyre-touching")
            .run("job mark at wheel/9")
            .run("job mark at wheel/3")
            .run("job mark retract")
            .run("job mark stated wheel/1")
            .run("job mark skip wheel/2 --reason \"stud is broken\"")
            .run("job mark note \"cleaned both faces\"")
            .run("job show")
            .run("job close")
            .run("job close --open \"goes on tomorrow\"")
            .run("job mark at wheel/1")
            .run("job close")
            .run("job list")
            .run("job list --json")
            .run("job show 2")
            .run("report 1 --out handover")
            .run("report 2")
            .told()
    );
}

#[test]
fn a_recorded_job_replays_to_the_same_summary() {
    let rig = Rig::new().file("wheel.toml", WHEEL);
    for line in [
        "job start wheel.toml",
        "job mark confirm tyre-touching",
        "job mark stated wheel/1",
        "job mark note cleaned",
    ] {
        let args: Vec<&str> = line.split(' ').collect();
        assert!(rig.output(&args).status.success(), "{line}");
    }
    let recorded = rig.output(&["record"]).stdout;
    assert!(String::from_utf8_lossy(&recorded).contains("\"say\":\"note\",\"text\":\"cleaned\""));
    let shown = rig.output(&["job", "show", "--json"]).stdout;
    let shown: serde_json::Value = serde_json::from_slice(&shown).unwrap();
    let rig = rig.file("job.ndjson", recorded);
    let replayed = rig.output(&["replay", "wheel.toml", "job.ndjson", "--json"]);
    assert_eq!(replayed.status.code(), Some(3));
    let text = String::from_utf8(replayed.stdout).unwrap();
    let summary: serde_json::Value = serde_json::from_str(text.lines().last().unwrap()).unwrap();
    for key in ["complete", "fasteners", "open", "holds", "verdicts"] {
        assert_eq!(summary[key], shown["summary"][key], "{key}");
    }
}

#[test]
fn replay_names_broken_lines_reads_the_rest_and_keeps_to_the_contract() {
    assert_snapshot!(
        Rig::new()
            .file("three.toml", LONE)
            .file("three.ndjson", RECORDING)
            .run("replay three.toml three.ndjson --json")
            .run("replay three.toml three.ndjson")
            .told()
    );
}

#[test]
fn replay_explains_what_each_source_made_of_a_reading() {
    let sample = |name: &str| {
        let path = format!("{}/samples/{name}", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(path).unwrap()
    };
    let (plan, recording) =
        (sample("plans/one-wheel.toml"), sample("recordings/skipped-and-doubled.ndjson"));
    assert_snapshot!(
        Rig::new()
            .file("wheel.toml", &plan)
            .file("doubled.ndjson", &recording)
            .run("replay wheel.toml doubled.ndjson --explain 5")
            .run("replay wheel.toml doubled.ndjson --explain 1 --explain 99 --json")
            .told()
    );
}

#[test]
fn replay_does_not_look_at_what_really_happened() {
    let lies = RECORDING.replace(
        "\"fastener\":\"damper-eye/1\",\"act\":\"tighten\"",
        "\"fastener\":null,\"act\":\"trial\"",
    );
    let silent: String = RECORDING
        .lines()
        .filter(|line| !line.contains("truth"))
        .map(|line| format!("{line}\n"))
        .collect();
    assert_ne!(lies, RECORDING);
    let rig = Rig::new()
        .file("three.toml", LONE)
        .file("told.ndjson", RECORDING)
        .file("lied.ndjson", &lies)
        .file("silent.ndjson", &silent);
    let replay = |name: &str| rig.output(&["-q", "replay", "three.toml", name, "--json"]).stdout;
    assert_eq!(replay("lied.ndjson"), replay("told.ndjson"));
    assert_eq!(replay("silent.ndjson"), replay("told.ndjson"));
}

#[test]
fn replay_of_nothing_usable_ends_with_2() {
    assert_snapshot!(
        Rig::new()
            .file("wheel.toml", WHEEL)
            .file("text.ndjson", "hello\n")
            .file("empty.ndjson", "")
            .file("other.ndjson", "{\"kind\":\"header\",\"format\":\"other\",\"version\":1,\"started\":\"2026-05-16T17:00:00Z\"}\n")
            .run("replay wheel.toml text.ndjson")
            .run("replay wheel.toml empty.ndjson")
            .run("replay wheel.toml other.ndjson")
            .run("replay wheel.toml missing.ndjson")
            .run("replay wheel.toml .")
            .run("replay missing.toml text.ndjson")
            .told()
    );
}

#[test]
fn a_journal_that_is_something_else_is_left_alone() {
    let rig = Rig::new()
        .file("wheel.toml", WHEEL)
        .file("journal.sqlite", "my shopping list\n")
        .run("job list")
        .run("job start wheel.toml")
        .run("serve")
        .run("report 1")
        .run("--journal . job list");
    assert_eq!(std::fs::read_to_string(rig.path("journal.sqlite")).unwrap(), "my shopping list\n");
    assert_snapshot!(rig.told());
}

#[test]
fn adapters_are_kept_for_serve() {
    assert_snapshot!(
        Rig::new()
            .run("adapter list")
            .run("adapter add sim:")
            .run("adapter add sim:three.ndjson")
            .run("adapter add sim:three.ndjson")
            .run("adapter list")
            .run("adapter list --json")
            .run("adapter zero")
            .run("adapter show LK-0007")
            .run("adapter forget LK-0007")
            .run("adapter forget sim:three.ndjson")
            .run("adapter list")
            .told()
    );
}

#[test]
fn nobody_reading_is_no_failure() {
    let rig = Rig::new().file("three.toml", LONE).file("three.ndjson", RECORDING);
    for args in [
        &["plan", "new"][..],
        &["plan", "show", "three.toml"],
        &["replay", "three.toml", "three.ndjson", "--json"],
        &["--help"],
    ] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = rig
            .command(args)
            .stdout(Stdio::from(writer))
            .stderr(Stdio::piped())
            .spawn()
            .unwrap()
            .wait_with_output()
            .unwrap();
        assert_eq!(output.status.code(), Some(0), "{args:?}");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!said.contains("error") && !said.contains("panic"), "{args:?}: {said}");
    }
}

#[test]
fn every_sample_plan_that_is_not_broken_can_be_shown() {
    let mut seen = 0;
    for entry in std::fs::read_dir(samples().join("plans")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            let output = Rig::new().output(&["plan", "show", path.to_str().unwrap()]);
            assert_eq!(output.status.code(), Some(0), "{}", path.display());
            seen += 1;
        }
    }
    assert!(seen > 3);
}
