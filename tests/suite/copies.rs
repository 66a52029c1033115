//! Copies of a journal: made while it is written to, exported, imported, merged.

use crate::photos::PICTURE;
use crate::proof::{json as answer, wheel};
use crate::rig::{Rig, Served};
use crate::traces;
use clampbook::core::certificate::EXAMPLE;
use serde_json::{Value, json};
use std::fs;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Duration;

#[test]
fn a_copy_is_made_while_the_journal_is_written_to() {
    let rig = Rig::new()
        .run("job wheels --studs 2 --target \"90 N·m\" --source \"sheet 12\"")
        .run("job mark confirm wheel-down");
    let daemon: Served = rig.serve(&[]);
    let length = |name: &str| {
        let (status, found) = answer(&rig, &["--journal", name, "audit", "--json"]);
        assert_eq!(status, 0, "{found}");
        found["entries"].as_u64().unwrap()
    };
    let note = json!({"say": "note", "text": "one of many", "origin": "command-line"});
    let (enough, written) = (AtomicBool::new(false), AtomicU64::new(0));
    let mut copied = Vec::new();
    std::thread::scope(|scope| {
        scope.spawn(|| {
            while !enough.load(Ordering::Relaxed) {
                assert_eq!(daemon.post("/v1/jobs/current/marks", &note).0, 200);
                written.fetch_add(1, Ordering::Relaxed);
            }
        });
        for number in 0..3 {
            let before = written.load(Ordering::Relaxed);
            while written.load(Ordering::Relaxed) < before + 5 {
                std::thread::sleep(Duration::from_millis(5));
            }
            let name = format!("copy-{number}.sqlite");
            let output = rig.output(&["backup", &name]);
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
            copied.push((name, before, written.load(Ordering::Relaxed)));
        }
        enough.store(true, Ordering::Relaxed);
    });
    let own = length("journal.sqlite");
    let begun = own - written.load(Ordering::Relaxed);
    for (name, before, after) in copied {
        assert!(after > before, "something was written while {name} was made");
        let entries = length(&name);
        // One more may be kept already that was not answered yet.
        let known = begun + before..=begun + after + 1;
        assert!(known.contains(&entries), "{name}: {entries} of {known:?}");
        assert!(!rig.path(&format!("{name}-wal")).exists());
    }
    let rig = rig.run("backup last.sqlite").run("backup last.sqlite").run("backup .");
    drop(daemon);
    let (_, last) = answer(&rig, &["--journal", "last.sqlite", "audit", "--json"]);
    let (_, own) = answer(&rig, &["audit", "--json"]);
    assert_eq!((&last["entries"], &last["head"]), (&own["entries"], &own["head"]));
    let all = rig.told();
    assert!(all.contains("expected a new file, but found one with that name"), "{all}");
    assert!(all.contains("expected a new file, but found a directory; name a file in it"), "{all}");
}

/// A plan with a vehicle, and with what is to be pulled again, by distance and by day.
const WHOLE: &str = "\
plan = \"Two\"
vehicle = \"Orvane Dray 3\"
vin = \"ORV4NE0DR4Y000007\"
source = \"sheet\"
tolerance = \"±10 %\"
[joints.bracket]
target = \"120 N·m\"
recheck = \"2 weeks\"
[joints.arm]
target = \"75 lbf·ft\"
recheck = \"500 km\"
";

/// A journal with all that can be kept: an adapter with a certificate, readings with their traces, a photo, every kind
/// of mark, a pause, corrections, an erased text, and a job that pulls again what the first one tightened.
fn everything() -> Rig {
    let certificate = EXAMPLE.replace("KB-0412", "LK-0007");
    let rig = Rig::new()
        .file("two.toml", WHOLE)
        .file("two.ndjson", traces::recording(false))
        .file("paper.toml", certificate)
        .run("adapter certificate paper.toml")
        .run("job start two.toml --plate \"ORV 4417\"");
    let mut served = rig.serve(&["--adapter", "sim:two.ndjson,fast"]);
    let kept = |kind: &str| -> i64 {
        let journal = rusqlite::Connection::open(rig.path("journal.sqlite")).unwrap();
        let sql = "SELECT count(*) FROM event WHERE kind = ?1 AND job = 1";
        journal.query_row(sql, [kind], |row| row.get(0)).unwrap()
    };
    for _ in 0..400 {
        if kept("described") == 3 {
            break;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    assert_eq!(kept("described"), 3, "{}", rig.log());
    let photo = served.head("POST", "/v1/jobs/current/photos?about=bracket");
    assert_eq!(served.raw(&photo, PICTURE).0, 200);
    let origin = "command-line";
    for mark in [
        json!({"say": "note", "text": "seat looked fine", "origin": origin}),
        json!({"say": "skip", "fastener": "arm/1", "reason": "no nut at hand", "origin": origin}),
        json!({"say": "also-opened", "name": "hose-clip", "origin": origin}),
        json!({"say": "spoiled", "fastener": "bracket/1", "origin": origin}),
        json!({"say": "opened", "fastener": "bracket/1", "origin": origin}),
        json!({"say": "stated", "fastener": "bracket/1", "origin": origin}),
        json!({"say": "at", "fastener": "arm/1", "origin": origin}),
        json!({"say": "retract", "origin": origin}),
    ] {
        let (status, body) = served.post("/v1/jobs/current/marks", &mark);
        assert_eq!(status, 200, "{mark}: {body}");
    }
    served.signal("TERM");
    rig.run("job park")
        .run("job resume")
        .run("job close --open \"nut ordered\"")
        .run("job start --recheck 1")
        .run_with("typed", "121 at bracket\n101 at arm\nclose\n")
        .run("job correct 1 --vin ORV4NE0DR4Y000015 --operator Ada")
        .run("job correct 1 --note \"the left one\"")
        .run("job erase 2 --only vehicle --yes")
}

/// The report of a job in every form, without the time when it was made.
fn forms(rig: &Rig, job: &str) -> [String; 4] {
    let args = ["report", job, "--html", "h", "--json", "j", "--csv", "c", "--text=t"];
    let output = rig.output(&args);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    // Pulls can be of the same second as the print: only where it is said, it is left out.
    let read = |name: &str, from: &str, to: &str| {
        let text = fs::read_to_string(rig.path(name)).unwrap();
        let (before, rest) = text.split_once(from).unwrap();
        let (_, after) = rest.split_once(to).unwrap();
        format!("{before}[PRINTED]{after}")
    };
    [
        read("h", "<p>Made <time", "</time>"),
        read("j", "\"printed_at\": {", "}"),
        fs::read_to_string(rig.path("c")).unwrap(),
        read("t", "\nMade ", " by "),
    ]
}

#[test]
fn a_journal_with_everything_in_it_goes_over_and_reports_the_same_in_every_form() {
    let rig = everything().run("export --out all.ndjson");
    let there = Rig::new();
    fs::copy(rig.path("all.ndjson"), there.path("all.ndjson")).unwrap();
    let there = there.run("import all.ndjson");
    for job in ["1", "2"] {
        assert_eq!(forms(&there, job), forms(&rig, job), "job {job}: {}", there.told());
    }
    let [page, report, table, text] = forms(&rig, "1");
    let holds = |form: &str, facts: &[&str]| {
        for fact in facts {
            assert!(form.contains(fact), "{fact}: {form}");
        }
    };
    holds(&page, &["<svg", "data:image/webp", "Nennford", "ORV 4417", "date by Clampbook"]);
    let said = ["also-opened", "spoiled", "retract", "skip", "opened", "stated", "note"];
    holds(&report, &said.map(|say| format!("\"say\": \"{say}\"")).each_ref().map(String::as_str));
    holds(&report, &["\"corrects\"", "ORV4NE0DR4Y000015", "\"rechecks\": [\n", "\"pauses\": [\n"]);
    holds(&table, &["bracket/1", "ORV 4417"]);
    holds(&text, &["no nut at hand", "the left one"]);
    holds(&forms(&rig, "2")[1], &["\"state\": \"removed\"", "\"recheck_of\": {"]);
    let audited = |rig: &Rig| answer(rig, &["audit", "--json"]).1["head"].clone();
    assert_eq!(audited(&there), audited(&rig));
    let again = there.run("export --out again.ndjson");
    let read = |rig: &Rig, name: &str| fs::read_to_string(rig.path(name)).unwrap();
    assert_eq!(read(&again, "again.ndjson"), read(&rig, "all.ndjson"));
}

#[test]
fn an_export_goes_back_into_an_empty_journal_as_it_was() {
    let rig = wheel().run("export --out all.ndjson");
    let there = Rig::new();
    fs::copy(rig.path("all.ndjson"), there.path("all.ndjson")).unwrap();
    let there = there.run("import all.ndjson").run("import all.ndjson");
    assert_eq!(forms(&there, "1"), forms(&rig, "1"));
    assert_eq!(
        answer(&there, &["audit", "--json"]).1["head"],
        answer(&rig, &["audit", "--json"]).1["head"]
    );
    let all = there.told();
    assert!(all.contains("0 there already"), "{all}");
    assert!(all.contains(" 0 added, "), "{all}");
}

#[test]
fn a_damaged_export_adds_nothing() {
    let rig = wheel().run("export --out all.ndjson");
    let text = fs::read_to_string(rig.path("all.ndjson")).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    let without = |left_out: usize| {
        let kept = lines.iter().enumerate().filter(|(index, _)| *index != left_out);
        kept.map(|(_, line)| format!("{line}\n")).collect::<String>()
    };
    let cases = [
        (text.replacen("91.0", "92.0", 1), "was changed after it was written"),
        (without(3), "in place of entry 3"),
        (without(lines.len() - 1), "as the first line says"),
        (without(0), "a first line of another kind"),
        (format!("{}\n{{}}\n", text.trim_end()), "missing field"),
        (String::new(), "expected lines that `clampbook export` wrote, but found nothing"),
    ];
    for (index, (damaged, expected)) in cases.into_iter().enumerate() {
        let there = Rig::new().file("damaged.ndjson", damaged);
        let output = there.output(&["import", "damaged.ndjson"]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{index}: {said}");
        assert!(said.contains(expected), "{index}: {said}");
        // What begins as no export makes no journal.
        if there.path("journal.sqlite").exists() {
            assert_eq!(answer(&there, &["audit", "--json"]).1["entries"], 0, "{index}");
        } else {
            assert!(said.contains("expected lines that `clampbook export` wrote"), "{said}");
        }
    }
}

#[test]
fn two_journals_become_one_and_nothing_is_there_twice() {
    let other = wheel().run("export --out all.ndjson");
    let ours = Rig::new().run("job wheels --studs 3 --target \"80 N·m\" --source \"sheet 9\"");
    let ours = ours.run_with("typed", "yes\n80 at wheel/1\n").run("job close --open later");
    fs::copy(other.path("all.ndjson"), ours.path("all.ndjson")).unwrap();
    let (status, merged) = answer(&ours, &["import", "all.ndjson", "--json"]);
    assert_eq!(status, 0);
    assert_eq!(merged["added"], merged["read"]);
    assert_eq!(merged["renumbered_jobs"], json!([[1, 2]]));
    let (status, again) = answer(&ours, &["import", "all.ndjson", "--json"]);
    assert_eq!((status, &again["added"]), (0, &Value::from(0)), "{again}");
    let (status, audited) = answer(&ours, &["audit", "--json"]);
    assert_eq!(status, 0, "{audited}");
    // The job tells the same, whatever its number.
    let steps = |rig: &Rig, job: &str| {
        let output = rig.output(&["report", job, "--json", "-"]);
        let report: Value = serde_json::from_slice(&output.stdout).unwrap();
        let fasteners = report["steps"][0]["fasteners"].as_array().unwrap().clone();
        fasteners
            .iter()
            .map(|one| (one["ending"].clone(), one["pulls"][0]["measured"]["peak_nm"].clone()))
            .collect::<Vec<_>>()
    };
    assert_eq!(steps(&ours, "2"), steps(&other, "1"));
}

#[test]
fn a_job_under_way_on_both_sides_is_not_merged() {
    let other =
        Rig::new().run("job wheels --studs 3 --target \"80 N·m\"").run("export --out all.ndjson");
    let ours = Rig::new().run("job wheels --studs 4 --target \"70 N·m\"");
    fs::copy(other.path("all.ndjson"), ours.path("all.ndjson")).unwrap();
    let output = ours.output(&["import", "all.ndjson"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        said.contains("expected at most one job under way, but found jobs 1 and 2 to be"),
        "{said}"
    );
    assert_eq!(answer(&ours, &["audit", "--json"]).0, 0);
}
