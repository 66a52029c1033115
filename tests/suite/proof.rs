//! What proves a record: audit, signatures, what is erased, corrected and certified.

use crate::rig::Rig;
use insta::assert_snapshot;
use serde_json::Value;
use std::fs;

/// A journal with one closed job on a wheel, typed.
pub(crate) fn wheel() -> Rig {
    Rig::new()
        .run("job wheels --studs 2 --target \"90 N·m\" --source \"sheet 12\"")
        .run("job mark confirm wheel-down")
        .run_with("typed", "90 at wheel/1\n91 at wheel/2\nnote nut 2 looked worn\n")
        .run("job close --open \"check round left out\"")
}

/// What was said, without hashes and names that are drawn anew each time.
fn told(rig: &Rig) -> String {
    let text = rig.told();
    text.lines().map(|line| without_hashes(line) + "\n").collect()
}

fn without_hashes(line: &str) -> String {
    let mut shown = String::new();
    let mut run = String::new();
    for c in line.chars().chain([' ']) {
        if c.is_ascii_hexdigit() {
            run.push(c);
            continue;
        }
        shown += if run.len() == 64 { "[HASH]" } else { &run };
        run.clear();
        shown.push(c);
    }
    shown.trim_end().to_owned()
}

pub(crate) fn json(rig: &Rig, args: &[&str]) -> (i32, Value) {
    let output = rig.output(args);
    let text = String::from_utf8(output.stdout).unwrap();
    let value = serde_json::from_str(&text)
        .unwrap_or_else(|_| panic!("{text}{}", String::from_utf8_lossy(&output.stderr)));
    (output.status.code().unwrap(), value)
}

/// The database as any other program sees it, without its guards.
fn raw(rig: &Rig, sql: &str) {
    let raw = rusqlite::Connection::open(rig.path("journal.sqlite")).unwrap();
    raw.execute_batch(
        "DROP TRIGGER IF EXISTS event_not_changed; DROP TRIGGER IF EXISTS event_not_deleted; \
         PRAGMA foreign_keys = OFF;",
    )
    .unwrap();
    raw.execute_batch(sql).unwrap();
}

#[test]
fn a_sound_journal_passes_and_its_reports_belong_to_it() {
    let rig = wheel()
        .run("report 1")
        .run("audit")
        .run("job wheels --studs 2 --target \"90 N·m\" --source \"sheet 12\"")
        .run("audit job-1/report.json");
    let all = told(&rig);
    let from = all.find("$ clampbook report").unwrap();
    assert_snapshot!(&all[from..]);
}

#[test]
fn an_edited_entry_is_named() {
    let rig = wheel();
    raw(&rig, "UPDATE event SET payload = replace(payload, '91.0', '95.0') WHERE kind = 'reading'");
    let (status, found) = json(&rig, &["audit", "--json"]);
    assert_eq!(status, 1);
    assert_eq!(found["holds"], false);
    let entry = found["first_unfit"]["entry"].as_u64().unwrap();
    assert_eq!(
        found["first_unfit"]["why"],
        format!("entry {entry} was changed after it was written")
    );
    assert_eq!(found["entries"], entry - 1);
    let words = String::from_utf8(rig.output(&["audit"]).stdout).unwrap();
    assert!(words.contains(&format!("DOES NOT FIT: entry {entry} was changed")), "{words}");
}

#[test]
fn a_cut_tail_is_found_by_the_newest_head_and_by_nothing_else() {
    let rig =
        wheel().run("report 1 --json first.json").run("job wheels --studs 2 --target \"90 N·m\"");
    assert!(rig.output(&["report", "2", "--json", "second.json"]).status.success());
    let (_, before) = json(&rig, &["audit", "--json"]);
    let length = before["entries"].as_u64().unwrap();
    raw(
        &rig,
        &format!(
            "DELETE FROM personal WHERE event = {length}; DELETE FROM event WHERE number = {length}"
        ),
    );
    let cut = format!("entry {length} was cut off the end");

    let (status, by_file) = json(&rig, &["audit", "--json"]);
    assert_eq!((status, &by_file["first_unfit"]["why"]), (1, &Value::from(cut.as_str())));
    fs::remove_file(rig.path("journal.sqlite.head")).unwrap();

    let (status, by_report) = json(&rig, &["audit", "first.json", "second.json", "--json"]);
    assert_eq!((status, &by_report["first_unfit"]["why"]), (1, &Value::from(cut.as_str())));
    assert_eq!(by_report["reports"][0]["belongs"], true);
    assert_eq!(by_report["reports"][1]["belongs"], false);

    let (status, by_older) = json(&rig, &["audit", "first.json", "--json"]);
    assert_eq!((status, &by_older["holds"]), (0, &Value::Bool(true)));
    let words = String::from_utf8(rig.output(&["audit"]).stdout).unwrap();
    assert!(words.contains("entries cut off the end cannot be found without one"), "{words}");
}

#[test]
fn a_report_that_says_something_else_or_is_anothers_does_not_belong() {
    let rig = wheel().run("report 1 --json true.json");
    let text = fs::read_to_string(rig.path("true.json")).unwrap();
    let edited = text.replacen("\"peak_nm\": 91.0", "\"peak_nm\": 93.0", 1);
    assert_ne!(edited, text);
    let other = wheel();
    let rig = rig.file("edited.json", edited).file("list.json", "[1]");
    let (status, found) = json(&rig, &["audit", "edited.json", "--json"]);
    assert_eq!(status, 1);
    let differences = found["reports"][0]["differences"].as_array().unwrap();
    assert_eq!(differences.len(), 1, "{differences:?}");
    let difference = differences[0].as_str().unwrap();
    assert!(difference.ends_with("peak_nm: 93.0 told, 91.0 kept"), "{difference}");

    fs::copy(rig.path("true.json"), other.path("foreign.json")).unwrap();
    let (status, found) = json(&other, &["audit", "foreign.json", "--json"]);
    assert_eq!((status, &found["reports"][0]["belongs"]), (1, &Value::Bool(false)));

    let refused = rig.output(&["audit", "list.json"]);
    assert_eq!(refused.status.code(), Some(2));
    assert_eq!(
        String::from_utf8_lossy(&refused.stderr),
        "error: list.json: expected a JSON report, but found JSON of another kind; make one with \
         `clampbook report JOB --json FILE`\n"
    );
}

#[test]
fn a_report_that_claims_texts_to_be_gone_does_not_belong() {
    let rig = wheel().run("report 1 --json true.json --redact").run("report 1 --json full.json");
    let (status, found) = json(&rig, &["audit", "true.json", "full.json", "--json"]);
    assert_eq!((status, &found["holds"]), (0, &Value::Bool(true)), "{found}");
    let kept: Value =
        serde_json::from_str(&fs::read_to_string(rig.path("full.json")).unwrap()).unwrap();
    let removed = serde_json::json!({"state": "removed"});
    let measured = "/steps/0/fasteners/0/pulls/0/measured";
    let notes = kept["operator_said"].as_array().unwrap();
    let note = notes.iter().position(|mark| mark["say"] == "note").unwrap();
    let cases = [
        ("/steps/0/fasteners/0".to_owned(), removed.clone(), "/steps/0/fasteners/0/"),
        ("/chain/version".to_owned(), "9".into(), "/chain/version: "),
        (format!("{measured}/redacted"), true.into(), measured),
        (format!("{measured}/at/local"), "2031-01-01T00:00:00+00:00".into(), measured),
        (format!("/operator_said/{note}/text"), removed, "/operator_said/"),
        ("/redacted".to_owned(), true.into(), "/operator_said/"),
        ("/state".to_owned(), "removed".into(), "/state: "),
    ];
    for (place, forged, named) in cases {
        let mut told = kept.clone();
        let (parent, name) = place.rsplit_once('/').unwrap();
        match told.pointer_mut(parent).unwrap() {
            Value::Array(members) => members[name.parse::<usize>().unwrap()] = forged,
            object => object[name] = forged,
        }
        fs::write(rig.path("forged.json"), told.to_string()).unwrap();
        let (status, found) = json(&rig, &["audit", "forged.json", "--json"]);
        assert_eq!(status, 1, "{place}: {found}");
        let differences = found["reports"][0]["differences"].as_array().unwrap();
        let is_named = |one: &Value| one.as_str().unwrap().starts_with(named);
        assert!(differences.iter().any(is_named), "{place}: {differences:?}");
    }
}

#[test]
fn no_full_report_is_written_beside_a_customers_copy() {
    let rig = wheel().run("report 1 --copy customer --out copy");
    let files: Vec<_> =
        fs::read_dir(rig.path("copy")).unwrap().map(|one| one.unwrap().file_name()).collect();
    assert_eq!(files, ["report.html"]);
}

#[test]
fn a_signature_is_verified_without_the_journal() {
    let rig = wheel();
    let key = String::from_utf8(rig.output(&["audit", "key"]).stdout).unwrap();
    let key = key.trim().to_owned();
    assert_eq!(key.len(), 64);
    assert_eq!(String::from_utf8(rig.output(&["audit", "key"]).stdout).unwrap().trim(), key);
    let rig = rig.run("report 1 --json signed.json");
    let text = fs::read_to_string(rig.path("signed.json")).unwrap();
    let stranger = Rig::new()
        .file("signed.json", &text)
        .file("edited.json", text.replacen("\"headline\": \"", "\"headline\": \"Well, ", 1));
    let alone = |file: &str, more: &[&str]| {
        let args = [&["audit", "--without-journal", "--json", file], more].concat();
        json(&stranger, &args)
    };
    let (status, found) = alone("signed.json", &[]);
    assert_eq!((status, &found["signed_by"]), (0, &Value::from(key.as_str())));
    assert_eq!(alone("signed.json", &["--signed-by", &key.to_uppercase()]).0, 0);
    assert_eq!(alone("signed.json", &["--signed-by", &"0".repeat(64)]).0, 1);
    let (status, found) = alone("edited.json", &[]);
    assert_eq!(status, 1);
    assert!(found["trouble"].as_str().unwrap().contains("was changed after it was signed"));
    // In the journal's own place both are shown at once.
    let (status, found) = json(&rig, &["audit", "signed.json", "--json"]);
    assert_eq!((status, &found["reports"][0]["belongs"]), (0, &Value::Bool(true)), "{found}");
}

#[cfg(unix)]
#[test]
fn a_pdf_is_written_where_it_is_built_in_and_refused_before_anything_else_elsewhere() {
    let rig = wheel();
    let output = rig.output(&["report", "1", "--pdf", "report.pdf", "--json", "report.json"]);
    let said = String::from_utf8(output.stderr).unwrap();
    if cfg!(feature = "pdf") {
        assert_eq!(output.status.code(), Some(0), "{said}");
        assert!(fs::read(rig.path("report.pdf")).unwrap().starts_with(b"%PDF-1.7"));
        assert_eq!(json(&rig, &["audit", "report.json", "--json"]).0, 0);
    } else {
        assert_eq!(output.status.code(), Some(2));
        assert!(said.contains("cargo build --release --features pdf"), "{said}");
        assert!(!rig.path("report.json").exists(), "nothing is written");
    }
}

#[test]
fn only_its_owner_may_read_the_key() {
    use std::os::unix::fs::PermissionsExt;
    let rig = Rig::new().run("audit key --file mine.key");
    let mode = fs::metadata(rig.path("mine.key")).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o600);
}

#[test]
fn a_persons_texts_are_erased_and_the_journal_still_holds() {
    let rig = Rig::new()
        .file(
            "corner.toml",
            "plan = \"Sump\"\nvehicle = \"Orvane Dray 3\"\nvin = \"ORV4NE0DR4Y000007\"\nsource = \"s\"\n\
             tolerance = \"±5 %\"\n[joints]\nsump = \"38 N·m\"\n",
        )
        .run("job start corner.toml")
        .run_with("typed", "note the owner is in a hurry\n38 at sump\nclose\n")
        .run("report 1 --json before.json")
        .run("job erase 1")
        .run("job erase 1 --only vin,notes --yes")
        .run("job erase 1 --only vin --yes")
        .run("job erase 3 --yes");
    let all = rig.told();
    assert!(all.contains("expected --yes, because nobody can be asked"), "{all}");
    // The identification number, the note, and the plan's text, which says the number, too.
    assert!(all.contains("3 texts of job 1 erased"), "{all}");
    assert!(all.contains("the plan's text says it, too, and goes with it"), "{all}");
    assert!(all.contains("0 texts of job 1 erased"), "{all}");
    assert!(all.contains("expected a job of the journal, but found no job 3"), "{all}");
    let (status, found) = json(&rig, &["audit", "before.json", "--json"]);
    assert_eq!((status, &found["erased_texts"]), (0, &Value::from(3)), "{found}");
    assert_eq!(found["reports"][0]["belongs"], true, "what was erased since is no difference");
    let after: Value =
        serde_json::from_slice(&rig.output(&["report", "1", "--json", "-"]).stdout).unwrap();
    assert_eq!(after["vehicle"]["vin"]["state"], "removed");
    assert_eq!(after["vehicle"]["text"]["text"], "Orvane Dray 3");
    // A text that is taken out behind the journal's back is missed.
    raw(&rig, "DELETE FROM personal WHERE field = 'vehicle'");
    let (status, found) = json(&rig, &["audit", "--json"]);
    assert_eq!(status, 1);
    assert_eq!(
        found["first_unfit"]["why"],
        "the vehicle text of entry 1 is gone, and nothing says that it was erased"
    );
}

#[test]
fn a_correction_points_at_the_old_and_changes_nothing() {
    let rig = wheel().run("report 1 --json before.json");
    let rig = rig
        .run("job correct 1 --vin ORV4NE0DR4Y000007 --operator \"Ada\"")
        .run("job correct 1 --entry 3 --note \"that was on the left\"")
        .run("job correct 1 --entry 9999 --note x")
        .run("job correct 1");
    let all = rig.told();
    assert!(all.contains("2 corrections kept in job 1"), "{all}");
    assert!(all.contains("expected an entry of job 1, but found that 9999 is none"), "{all}");
    let after: Value =
        serde_json::from_slice(&rig.output(&["report", "1", "--json", "-"]).stdout).unwrap();
    assert_eq!(after["vehicle"]["vin"]["text"], "ORV4NE0DR4Y000007");
    assert_eq!(after["job"]["operator"]["text"], "Ada");
    assert_eq!(after["corrections"].as_array().unwrap().len(), 3);
    assert_eq!(after["corrections"][2]["corrects"], 3);
    let (status, found) = json(&rig, &["audit", "before.json", "--json"]);
    assert_eq!((status, &found["reports"][0]["belongs"]), (0, &Value::Bool(true)), "{found}");
}

#[test]
fn a_certificate_is_kept_and_listed() {
    let rig = wheel();
    let example = rig.output(&["adapter", "certificate", "--example"]).stdout;
    let broken = String::from_utf8(example.clone()).unwrap().replace("[40, 280]", "[280, 40]");
    let rig = rig
        .file("good.toml", example)
        .file("broken.toml", broken)
        .run("adapter certificate")
        .run("adapter certificate good.toml")
        .run("adapter certificate broken.toml")
        .run("adapter certificate --json");
    let all = rig.told();
    assert!(all.contains("certificate of KB-0412 on record, due 2032-02-03"), "{all}");
    assert!(
        all.contains("broken.toml: expected a rising range of N·m, but found 280 to 40"),
        "{all}"
    );
    assert!(all.contains("\"serial\":\"KB-0412\""), "{all}");
    assert_eq!(json(&rig, &["audit", "--json"]).0, 0);
}

#[test]
fn a_certificate_is_kept_before_there_is_any_job() {
    let rig = Rig::new();
    let example = rig.output(&["adapter", "certificate", "--example"]).stdout;
    let rig = rig
        .file("good.toml", example)
        .run("adapter certificate")
        .run("audit")
        .run("export")
        .run("backup copy.sqlite")
        .run("adapter certificate good.toml")
        .run("adapter certificate");
    let all = rig.told();
    let nowhere = all.matches("but found none; name another file with --journal").count();
    assert_eq!((nowhere, all.matches("-> 2").count()), (4, 4), "{all}");
    assert!(all.contains("2031-02-03, due 2032-02-03"), "{all}");
    assert!(all.contains("certificate of KB-0412 on record, due 2032-02-03"), "{all}");
    assert_eq!(json(&rig, &["audit", "--json"]).0, 0);
}
