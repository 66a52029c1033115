//! What may be opened, and by whom.

use super::{Rig, note};
use clampbook::journal::{Journal, JournalError};
use std::fs;
use std::path::Path;

#[track_caller]
fn check_refused(path: &Path, message: &str) {
    let before = fs::read(path).ok();
    let message = message.replace("{}", &path.display().to_string());
    let writer = Journal::open_writer(path).unwrap_err().to_string();
    assert_eq!(writer, message);
    let reader = Journal::open_reader(path).unwrap_err().to_string();
    assert_eq!(reader, message);
    assert_eq!(fs::read(path).ok(), before, "it was left as it was");
    let beside = fs::read_dir(path.parent().unwrap()).unwrap().count();
    assert_eq!(beside, 1, "nothing was put beside it");
}

#[test]
fn a_text_file_is_refused_and_left_alone() {
    let rig = Rig::new();
    fs::write(rig.path(), "Ölwechsel: morgen\n".repeat(40)).unwrap();
    check_refused(
        &rig.path(),
        "expected a Clampbook journal at {}, but found a text file; it was left as it is: \
         name another file with --journal, or move this one away",
    );
}

#[test]
fn a_directory_is_refused() {
    let rig = Rig::new();
    fs::create_dir(rig.path()).unwrap();
    check_refused(
        &rig.path(),
        "expected a Clampbook journal at {}, but found a directory; it was left as it is: \
         name another file with --journal, or move this one away",
    );
}

#[test]
fn another_programs_database_is_refused_and_left_alone() {
    let rig = Rig::new();
    rig.raw()
        .execute_batch("PRAGMA user_version = 1; CREATE TABLE event (number INTEGER);")
        .unwrap();
    check_refused(
        &rig.path(),
        "expected a Clampbook journal at {}, but found another program's SQLite database; \
         it was left as it is: name another file with --journal, or move this one away",
    );
}

#[test]
fn a_file_of_another_kind_is_refused_and_left_alone() {
    let rig = Rig::new();
    fs::write(rig.path(), [0x89, 0x50, 0x4e, 0x47, 0, 1, 2, 0xff]).unwrap();
    check_refused(
        &rig.path(),
        "expected a Clampbook journal at {}, but found a file of another kind; it was left as \
         it is: name another file with --journal, or move this one away",
    );
}

#[test]
fn a_newer_schema_is_refused() {
    let rig = Rig::new();
    drop(rig.open());
    rig.raw().execute_batch("PRAGMA user_version = 99").unwrap();
    let expected = format!(
        "expected a journal of schema 0 to 1 at {}, but found schema 99; use the newer \
         clampbook that wrote it",
        rig.path().canonicalize().unwrap().display()
    );
    let writer = Journal::open_writer(&rig.path()).unwrap_err();
    assert_eq!(writer.to_string(), expected);
    let reader = Journal::open_reader(&rig.path()).unwrap_err();
    assert!(matches!(reader, JournalError::NewerSchema { found: 99, .. }));
}

#[test]
fn a_second_writer_is_refused_by_the_first_ones_process_number() {
    let rig = Rig::new();
    let first = rig.open();
    let path = rig.path();
    let error = Journal::open_writer(&path).unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "expected to be the only writer of {}, but found process {} writing to it; stop \
             that one, or name another file with --journal",
            path.canonicalize().unwrap().display(),
            std::process::id()
        )
    );
    assert!(Journal::open_reader(&path).is_ok());
    drop(first);
    drop(rig.open());
}

#[cfg(unix)]
#[test]
fn a_link_to_a_journal_shares_its_lock() {
    let rig = Rig::new();
    let _first = rig.open();
    let link = rig.folder.path().join("link.sqlite");
    std::os::unix::fs::symlink(rig.path(), &link).unwrap();
    let error = Journal::open_writer(&link).unwrap_err();
    assert!(matches!(error, JournalError::Locked { .. }), "{error}");
}

#[test]
fn a_missing_journal_is_made_for_a_writer_and_named_for_a_reader() {
    let rig = Rig::new();
    let path = rig.folder.path().join("a/b/journal.sqlite");
    let error = Journal::open_reader(&path).unwrap_err();
    assert!(matches!(error, JournalError::Missing { .. }), "{error}");
    assert!(!rig.folder.path().join("a").exists());
    let mut journal = Journal::open_writer(&path).unwrap();
    journal.append(vec![note(None, "one")]).unwrap();
    #[cfg(unix)]
    for (name, expected) in [
        ("a", 0o700),
        ("a/b", 0o700),
        ("a/b/journal.sqlite", 0o600),
        ("a/b/journal.sqlite-wal", 0o600),
        ("a/b/journal.sqlite.head", 0o600),
        ("a/b/journal.sqlite.lock", 0o600),
    ] {
        use std::os::unix::fs::PermissionsExt;
        let metadata = fs::metadata(rig.folder.path().join(name)).unwrap();
        assert_eq!(metadata.permissions().mode() & 0o777, expected, "{name}");
    }
}

#[test]
fn entries_without_their_database_are_not_thrown_away() {
    let rig = Rig::new();
    let mut journal = rig.open();
    journal.append(vec![note(None, "one")]).unwrap();
    let wal = rig.folder.path().join("journal.sqlite-wal");
    let octets = fs::read(&wal).unwrap();
    drop(journal);
    fs::remove_file(rig.path()).unwrap();
    fs::write(&wal, &octets).unwrap();
    let error = Journal::open_writer(&rig.path()).unwrap_err();
    assert!(matches!(error, JournalError::DatabaseGone { .. }), "{error}");
    assert_eq!(fs::read(&wal).unwrap(), octets);
}

#[test]
fn a_damaged_journal_is_named_as_such() {
    let rig = Rig::new();
    let mut journal = rig.open();
    journal.append(vec![note(None, "one")]).unwrap();
    drop(journal);
    let mut octets = fs::read(rig.path()).unwrap();
    octets[100..].fill(0xee);
    fs::write(rig.path(), octets).unwrap();
    let error = Journal::open_writer(&rig.path()).unwrap_err();
    assert!(matches!(error, JournalError::Damaged { .. }), "{error}");
}
