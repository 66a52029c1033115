//! What cannot be used, given to every command that reads or writes records: told with place, expectation and remedy,
//! and nothing is lost.

use crate::journal::disk::SmallDisk;
use crate::proof::wheel;
use crate::recheck::closed;
use crate::rig::Rig;
use clampbook::core::certificate::EXAMPLE;
use insta::assert_snapshot;
use rusqlite::Connection;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// A journal with a job, what was made of it, and the same in every bad form.
fn spoiled() -> Rig {
    let rig = closed().run("report 1 --json report.json").run("export --out all.ndjson");
    // Copied whole: what is in the write-ahead file is in the database first.
    raw(&rig, "journal.sqlite", "PRAGMA wal_checkpoint(TRUNCATE)");
    let read = |name: &str| fs::read(rig.path(name)).unwrap();
    let cut = |octets: Vec<u8>| octets[..octets.len() * 2 / 3].to_vec();
    let cut_before = |octets: Vec<u8>, what: &str| {
        let text = String::from_utf8(octets).unwrap();
        text.split_once(what).unwrap().0.to_owned()
    };
    let (journal, lines, report) =
        (read("journal.sqlite"), read("all.ndjson"), read("report.json"));
    let newer = |octets: &[u8], old: &str, new: &str| {
        String::from_utf8(octets.to_vec()).unwrap().replacen(old, new, 1)
    };
    fs::create_dir(rig.path("folder")).unwrap();
    let rig = rig
        .file("newer.sqlite", &journal)
        .file("cut.sqlite", cut(journal))
        .file("text.txt", "Nothing of ours.\n")
        .file("gone.sqlite-wal", "What another journal left.")
        .file("empty", "")
        .file("latin.txt", b"plan = \"Stra\xdfe\"\n")
        .file("newer.ndjson", newer(&lines, "\"version\":1", "\"version\":9"))
        .file("cut.ndjson", cut_before(lines, "\"kind\":\"adapter\""))
        .file("other.json", newer(&report, "clampbook-report", "some-report"))
        .file("cut.json", cut_before(report, "\": \"clampbook-report"))
        .file("paper.toml", EXAMPLE)
        .file(
            "cut.toml",
            EXAMPLE.split_once("range_nm = [40").unwrap().0.to_owned() + "range_nm = [40",
        );
    raw(&rig, "newer.sqlite", "PRAGMA user_version = 99");
    rig
}

fn raw(rig: &Rig, name: &str, sql: &str) {
    Connection::open(rig.path(name)).unwrap().execute_batch(sql).unwrap();
}

/// Every file of the folder with its octets.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    let files = entries.filter(|entry| entry.file_type().unwrap().is_file());
    let name = |entry: &fs::DirEntry| entry.file_name().into_string().unwrap();
    files.map(|entry| (name(&entry), fs::read(entry.path()).unwrap())).collect()
}

/// Runs each line, which has to end with status 1 or 2, say something that a person can use, and leave every file as
/// it was. What was said, with the lines.
#[track_caller]
fn refused(mut rig: Rig, lines: &[String]) -> String {
    let before = files(&rig.path("."));
    let from = rig.told().len();
    for line in lines {
        rig = rig.run(line);
    }
    let told = rig.told()[from..].to_owned();
    for part in told.split("$ ").skip(1) {
        assert!(part.lines().next().unwrap().ends_with(['1', '2']), "{part}");
        assert!(!part.contains("panicked"), "{part}");
    }
    for (name, octets) in files(&rig.path(".")) {
        let kept = before.get(&name);
        // The files around a database that is read come and go.
        let beside = name.ends_with("-shm") || name.ends_with("-wal") || name.ends_with(".lock");
        assert!(beside || kept == Some(&octets), "{name} was changed or is new: {told}");
    }
    told
}

/// Every command that needs a journal.
const NEED_A_JOURNAL: [&str; 12] = [
    "report 1",
    "audit",
    "backup copy.sqlite",
    "export",
    "import all.ndjson",
    "recheck list",
    "recheck calendar",
    "adapter certificate",
    "adapter certificate paper.toml",
    "job list",
    "job correct 1 --note x",
    "job erase 1 --yes",
];

#[test]
fn a_journal_that_cannot_be_used_is_named_by_every_command_and_left_as_it_is() {
    let of = |journal: &str, commands: &[&str]| -> Vec<String> {
        commands.iter().map(|command| format!("--journal {journal} {command}")).collect()
    };
    let mut lines = Vec::new();
    for journal in ["folder", "text.txt", "newer.sqlite", "no/such/journal.sqlite"] {
        // What may begin a journal makes one where there is none.
        let begins = |command: &&&str| {
            journal.starts_with("no/")
                && (command.starts_with("import") || command.ends_with("toml"))
        };
        let commands: Vec<&str> =
            NEED_A_JOURNAL.iter().filter(|command| !begins(command)).copied().collect();
        lines.extend(of(journal, &commands));
    }
    assert_snapshot!(refused(spoiled(), &lines));
}

#[test]
fn a_journal_that_was_cut_short_is_told_as_damaged_by_every_command() {
    let commands = NEED_A_JOURNAL.iter().filter(|command| !command.starts_with("job list"));
    let lines: Vec<String> =
        commands.map(|command| format!("--journal cut.sqlite {command}")).collect();
    let told = refused(spoiled(), &lines);
    for part in told.split("$ ").skip(1) {
        assert!(part.contains("cut.sqlite, but found damage"), "{part}");
        assert!(part.contains("copy the file and its -wal to a safe place"), "{part}");
    }
}

#[test]
fn a_file_that_cannot_be_used_is_named_with_what_was_expected_of_it() {
    let mut lines: Vec<String> = Vec::new();
    for file in ["none", "folder", "empty", "text.txt", "latin.txt", "newer.ndjson", "cut.ndjson"] {
        lines.push(format!("import {file}"));
    }
    for file in ["none", "folder", "empty", "text.txt", "latin.txt", "other.json", "cut.json"] {
        lines.push(format!("audit {file}"));
        lines.push(format!("audit --without-journal {file}"));
    }
    for file in ["none", "folder", "empty", "text.txt", "latin.txt", "cut.toml"] {
        lines.push(format!("adapter certificate {file}"));
    }
    for file in ["folder", "empty", "text.txt", "latin.txt"] {
        lines.push(format!("audit key --file {file}"));
        lines.push(format!("report 1 --json - --key {file}"));
    }
    lines.push("report 1 --json - --key none".to_owned());
    assert_snapshot!(refused(spoiled(), &lines));
}

#[test]
fn a_job_that_there_is_not_is_told_by_every_command_that_takes_one() {
    let lines = [
        "report 9",
        "report 4294967295",
        "job show 9",
        "job correct 9 --vin X",
        "job correct 1 --entry 999999 --note x",
        "job erase 9 --yes",
        "job resume 9",
        "job start --recheck 9",
        "record 9",
    ];
    assert_snapshot!(refused(spoiled(), &lines.map(str::to_owned)));
}

#[test]
fn a_command_that_begins_nothing_makes_no_journal() {
    let lines = [
        "job close",
        "job park",
        "job mark at wheel/1",
        "job start --recheck 1",
        "import text.txt",
        "job list",
    ];
    let rig = Rig::new().file("text.txt", "Nothing of ours.\n");
    assert_snapshot!(refused(rig, &lines.map(str::to_owned)));
}

#[test]
fn a_place_that_cannot_be_written_to_is_named_with_a_remedy() {
    let mut lines: Vec<String> = Vec::new();
    for place in ["no/such/file", "folder", "text.txt/file"] {
        lines.extend(writing(place));
    }
    lines.push("audit key --file text.txt/key".to_owned());
    lines.push("report 1 --out text.txt".to_owned());
    lines.push("report 1 --html /dev/full".to_owned());
    lines.push("report 1 --text=/dev/full".to_owned());
    lines.push("recheck calendar --out /dev/full".to_owned());
    lines.push("backup text.txt".to_owned());
    lines.push("backup gone.sqlite".to_owned());
    lines.push("export --out text.txt".to_owned());
    assert_snapshot!(refused(spoiled(), &lines));
}

/// Every command that writes a file, without what it may not replace.
fn writing(place: &str) -> Vec<String> {
    [
        format!("report 1 --html {place}"),
        format!("report 1 --json {place}"),
        format!("report 1 --csv {place}"),
        format!("report 1 --text={place}"),
        format!("recheck calendar --out {place}"),
        format!("record 1 --out {place}"),
        format!("backup {place} --force"),
        format!("export --out {place} --force"),
    ]
    .to_vec()
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_or_one_that_is_read_only_leaves_what_stood_there() {
    let Some(disk) = SmallDisk::mount("256k") else {
        return;
    };
    let rig = spoiled();
    let folder = disk.path().parent().unwrap().to_owned();
    let old = folder.join("old");
    fs::write(&old, "what stood there").unwrap();
    disk.fill();
    let lines = writing(&old.display().to_string());
    let mut told = refused(rig, &lines).replace(&folder.display().to_string(), "[DISK]");
    assert_eq!(fs::read_to_string(&old).unwrap(), "what stood there");
    let names: Vec<String> = files(&folder).into_keys().collect();
    assert_eq!(names, ["filler", "old"], "nothing half written is left");
    disk.remount("ro");
    let again = refused(spoiled(), &lines);
    told += &again.replace(&folder.display().to_string(), "[DISK]");
    assert_eq!(fs::read_to_string(&old).unwrap(), "what stood there");
    assert_snapshot!(told);
}

#[cfg(target_os = "linux")]
#[test]
fn output_that_nobody_can_take_is_told_and_not_called_done() {
    let rig = wheel();
    for args in [
        &["report", "1", "--html", "-"][..],
        &["report", "1", "--json", "-"],
        &["report", "--schema"],
        &["audit"],
        &["export"],
        &["recheck", "list"],
        &["recheck", "calendar"],
        &["adapter", "certificate", "--example"],
    ] {
        let full = fs::File::options().write(true).open("/dev/full").unwrap();
        let output = rig.command(args).stdout(full).output().unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(1), "{args:?}: {said}");
        let expected = "error: expected to write the output, but found: No space left on device (os error \
             28); free some space, then try again\n";
        assert!(said.ends_with(expected), "{args:?}: {said}");
    }
}
