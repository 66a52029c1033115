//! What is kept, and how it is found again.

use super::{
    Rig, all, assert_sound, closed, draft, listed, note, numbered, numbers, reading, started,
};
use clampbook::core::event::{Event, JobId, PersonalField, ReadingKey};
use clampbook::core::time::Stamp;
use clampbook::journal::chain::Link;
use clampbook::journal::head::{self, Head, Witness};
use clampbook::journal::query::{Closing, JobOverview};
use clampbook::journal::verify::{ChainFault, FaultKind};
use clampbook::journal::{Duplicate, EntryError, Erased, Journal, JournalError};
use std::fs;

#[test]
fn what_is_appended_reads_back_after_reopening() {
    let rig = Rig::new();
    let mut journal = rig.open();
    let appended = journal
        .append(vec![started(1, "wheels"), reading(Some(1), numbered("S1", 0, 1), 100.25)])
        .unwrap();
    assert!(appended.head_file_error.is_none());
    let second = journal.append(vec![note(None, "loose")]).unwrap();
    let mut kept = appended.entries;
    kept.extend(second.entries);
    assert_eq!(numbers(&kept), [1, 2, 3]);
    assert_eq!(all(journal.reader()), kept);
    let head = journal.head();
    assert_eq!((head.length, head.hash), (3, kept[2].hash), "the head is the last entry");
    assert_eq!(head::read(journal.reader().path()).unwrap(), Some(head));
    drop(journal);

    let journal = rig.open();
    assert_eq!(journal.witness(), &Witness::Agrees);
    assert_eq!(journal.head(), head);
    assert_eq!(all(journal.reader()), kept);
    assert_sound(journal.reader());
}

#[test]
fn a_reading_is_kept_once_however_often_it_is_delivered() {
    let rig = Rig::new();
    let mut journal = rig.open();
    let arrival = || ReadingKey::Arrival { serial: "S2".to_owned(), connection: -5, arrival: 1 };
    let appended = journal
        .append(vec![
            reading(None, numbered("S1", 0, 1), 100.0),
            reading(None, numbered("S1", 0, 1), 100.0),
            reading(None, arrival(), 50.0),
        ])
        .unwrap();
    let duplicate = |draft, key, number, same| Duplicate { draft, key, number, same };
    assert_eq!(appended.duplicates, [duplicate(1, numbered("S1", 0, 1), 1, true)]);
    assert_eq!(numbers(&appended.entries), [1, 2]);

    let again = journal
        .append(vec![
            reading(Some(1), arrival(), 50.0),
            reading(Some(1), numbered("S1", 0, 1), 101.0),
            reading(Some(1), numbered("S1", 1, 1), 100.0),
        ])
        .unwrap();
    assert_eq!(
        again.duplicates,
        [duplicate(0, arrival(), 2, true), duplicate(1, numbered("S1", 0, 1), 1, false)]
    );
    assert_eq!(numbers(&again.entries), [3]);
    let reader = journal.reader();
    assert_eq!(reader.find(&numbered("S1", 1, 1)).unwrap(), Some(3));
    assert_eq!(reader.find(&numbered("S1", 1, 2)).unwrap(), None);
    assert_eq!(numbers(&all(reader)), [1, 2, 3]);
    assert_sound(reader);
}

#[test]
fn jobs_loose_readings_and_missing_sequences_are_found() {
    let rig = Rig::new();
    let mut journal = rig.open();
    assert_eq!(journal.reader().next_job().unwrap(), JobId(1));
    assert_eq!(journal.reader().open_job().unwrap(), None);
    journal
        .append(vec![
            started(1, "first"),
            reading(Some(1), numbered("S", 3, 2), 1.0),
            closed(1, false, Some("a stud is missing")),
            reading(None, numbered("S", 3, 5), 1.0),
            note(None, "loose, but no reading"),
            started(2, "second"),
            started(3, "third"),
            reading(Some(3), numbered("S", 3, u32::MAX), 1.0),
            closed(3, true, None),
        ])
        .unwrap();
    let reader = journal.reader();
    let of_job: Vec<u64> = reader
        .entries_of_job(JobId(1))
        .unwrap()
        .into_iter()
        .map(|entry| entry.unwrap().number)
        .collect();
    assert_eq!(of_job, [1, 2, 3]);
    let loose: Vec<u64> =
        reader.loose_readings().unwrap().into_iter().map(|entry| entry.unwrap().number).collect();
    assert_eq!(loose, [4]);
    let after = reader.entries_after(7, 1).unwrap();
    assert_eq!(after.len(), 1);
    assert_eq!(after[0].as_ref().unwrap().number, 8);
    assert_eq!(reader.open_job().unwrap(), Some(JobId(2)));
    assert_eq!(reader.next_job().unwrap(), JobId(4));

    let job = |id: u32, name: &str, entries, readings, closed| JobOverview {
        id: JobId(id),
        plan_name: Some(name.to_owned()),
        started: Stamp(i64::from(id) * 1000),
        closed,
        parked: None,
        entries,
        readings,
        verdicts: 0,
        warnings: 0,
    };
    let closing = |id: i64, complete, reason: Option<&str>| {
        Some(Closing {
            at: Stamp(id * 1000 + 900),
            complete: Some(complete),
            open_reason: reason.map(str::to_owned),
        })
    };
    assert_eq!(
        reader.jobs().unwrap(),
        [
            job(1, "first", 3, 1, closing(1, false, Some("a stud is missing"))),
            job(2, "second", 1, 0, None),
            job(3, "third", 3, 1, closing(3, true, None)),
        ]
    );

    assert_eq!(reader.last_epoch("S").unwrap(), Some(3));
    assert_eq!(reader.last_epoch("T").unwrap(), None);
    assert_eq!(reader.last_sequence("S", 3).unwrap(), Some(u32::MAX));
    assert_eq!(reader.last_sequence("S", 2).unwrap(), None);
    assert_eq!(reader.missing("S", 3, 0..=6).unwrap(), [0..=1, 3..=4, 6..=6]);
    assert_eq!(reader.missing("S", 3, 5..=u32::MAX).unwrap(), [6..=u32::MAX - 1]);
    assert_eq!(reader.missing("S", 3, 2..=2).unwrap(), []);
    assert_eq!(reader.missing("S", 4, 1..=9).unwrap(), [1..=9]);
}

#[test]
fn a_reader_sees_what_a_writer_commits() {
    let rig = Rig::new();
    let mut journal = rig.open();
    let reader = Journal::open_reader(&rig.path()).unwrap();
    assert_eq!(reader.head().unwrap(), Head::EMPTY);
    journal.append(vec![note(None, "one")]).unwrap();
    assert_eq!(reader.head().unwrap(), journal.head());
    drop(journal);
    assert_eq!(numbers(&all(&reader)), [1]);
}

#[test]
fn erased_texts_are_gone_from_the_disk_and_the_chain_still_holds() {
    let rig = Rig::new();
    let mut journal = rig.open();
    journal.append(vec![started(1, "one"), started(2, "two")]).unwrap();
    let erased = journal
        .erase(Stamp(3_000), Some(JobId(1)), &[PersonalField::Vin, PersonalField::PlanText])
        .unwrap();
    assert_eq!(erased, Erased { texts: 2, wiped: true });
    let texts: Vec<Option<String>> = all(journal.reader())
        .into_iter()
        .flat_map(|entry| entry.personal)
        .map(|(_, text)| text)
        .collect();
    assert_eq!(
        texts,
        [None, None, Some("name = \"two\"".to_owned()), Some("VIN-OF-NOBODY-0001".to_owned())]
    );
    assert_sound(journal.reader());
    journal.erase(Stamp(4_000), Some(JobId(2)), &[PersonalField::Vin]).unwrap();
    drop(journal);
    for name in ["journal.sqlite", "journal.sqlite-wal"] {
        let octets = fs::read(rig.folder.path().join(name)).unwrap_or_default();
        let vin = b"VIN-OF-NOBODY-0001";
        assert!(
            !octets.windows(vin.len()).any(|part| part == vin),
            "{name} still holds the number"
        );
    }
}

#[test]
fn an_edit_is_refused_and_where_it_is_forced_the_entry_is_named() {
    let rig = Rig::new();
    let mut journal = rig.open();
    let drafts = (1..=6)
        .map(|seq| reading(Some(1), numbered("S", 0, seq), 100.0))
        .chain([started(1, "one")])
        .collect();
    journal.append(drafts).unwrap();
    drop(journal);
    let pristine = fs::read(rig.path()).unwrap();

    let raw = rig.raw();
    for (sql, refusal) in [
        ("UPDATE event SET at_us = 0 WHERE number = 3", "an entry is never changed"),
        ("DELETE FROM event WHERE number = 7", "an entry is never deleted"),
        ("UPDATE personal SET text = 'x'", "a text is erased or kept, never changed"),
        (
            "INSERT OR REPLACE INTO event SELECT * FROM event WHERE number = 7",
            "an entry takes the next number",
        ),
    ] {
        let error = raw.execute(sql, []).unwrap_err();
        assert!(error.to_string().contains(refusal), "{sql}: {error}");
    }
    drop(raw);

    let flip = "UPDATE event SET payload = replace(payload, '100.0', '110.0')";
    for (sql, number, what) in [
        (format!("{flip} WHERE number = 4"), 4, FaultKind::Altered),
        ("UPDATE event SET raw = NULL WHERE number = 1".to_owned(), 1, FaultKind::Altered),
        ("UPDATE event SET job = NULL WHERE number = 6".to_owned(), 6, FaultKind::Altered),
        (
            "UPDATE event SET prev = zeroblob(32) WHERE number = 2".to_owned(),
            2,
            FaultKind::Unlinked,
        ),
        ("UPDATE event SET sequence = 77 WHERE number = 5".to_owned(), 5, FaultKind::Inconsistent),
        ("DELETE FROM event WHERE number = 3".to_owned(), 3, FaultKind::Missing),
        (
            "UPDATE personal SET text = 'another' WHERE place = 1".to_owned(),
            7,
            FaultKind::Text { field: "vin".to_owned() },
        ),
    ] {
        fs::write(rig.path(), &pristine).unwrap();
        let raw = rig.raw();
        raw.execute_batch(
            "DROP TRIGGER event_not_changed; DROP TRIGGER event_not_deleted; \
             DROP TRIGGER personal_not_changed;",
        )
        .unwrap();
        assert_eq!(raw.execute(&sql, []).unwrap(), 1, "{sql}");
        drop(raw);
        let reader = Journal::open_reader(&rig.path()).unwrap();
        let check = reader.verify_chain().unwrap();
        assert_eq!(check.fault, Some(ChainFault { number, what }), "{sql}");
        assert_eq!(check.sound.length, number - 1, "{sql}");
    }
}

#[test]
fn entries_of_a_newer_program_are_named_and_the_others_are_read() {
    let rig = Rig::new();
    let mut journal = rig.open();
    journal.append(vec![note(Some(1), "known")]).unwrap();
    let head = journal.head();
    drop(journal);
    let raw = rig.raw();
    let mut prev = head.hash;
    for (number, kind, version, payload) in [
        (2, "weather", 1, "{\"kind\":\"weather\"}"),
        (3, "mark", 9, "{\"kind\":\"mark\"}"),
        (4, "mark", 1, "{\"kind\":\"mark\"}"),
    ] {
        let link = Link {
            prev: &prev,
            number,
            at_us: 1,
            job: Some(1),
            kind,
            version,
            payload,
            raw: None,
            digests: "[]",
        };
        let hash = link.hash();
        raw.execute(
            "INSERT INTO event (number, at_us, job, kind, version, payload, digests, prev, hash) \
             VALUES (?1, 1, 1, ?2, ?3, ?4, '[]', ?5, ?6)",
            (number, kind, version, payload, prev, hash),
        )
        .unwrap();
        prev = hash;
    }
    drop(raw);
    let mut journal = rig.open();
    journal.append(vec![note(Some(1), "later")]).unwrap();
    let entries = listed(journal.reader());
    let errors: Vec<String> =
        entries.iter().filter_map(|entry| entry.as_ref().err().map(ToString::to_string)).collect();
    assert_eq!(
        errors,
        [
            "entry 2: expected a kind of event known here, but found `weather`; read this journal with the newer clampbook that wrote it",
            "entry 3: expected a `mark` of version 1 to 4, but found version 9; read this journal with the newer clampbook that wrote it",
            "entry 4: expected a well-formed `mark`, but found that its payload does not parse: missing field `say`; it was damaged or edited: compare with a copy",
        ]
    );
    let understood: Vec<u64> =
        entries.iter().filter_map(|entry| entry.as_ref().ok().map(|entry| entry.number)).collect();
    assert_eq!(understood, [1, 5]);
    let numbers: Vec<u64> = entries
        .iter()
        .map(|entry| match entry {
            Ok(entry) => entry.number,
            Err(error) => EntryError::number(error),
        })
        .collect();
    assert_eq!(numbers, [1, 2, 3, 4, 5]);
    assert_eq!(
        journal.reader().verify_chain().unwrap().fault,
        Some(ChainFault { number: 4, what: FaultKind::Inconsistent }),
        "what is merely unknown is no fault"
    );
}

#[test]
fn a_number_that_is_not_finite_is_refused_and_the_batch_with_it() {
    let rig = Rig::new();
    let mut journal = rig.open();
    journal.append(vec![note(None, "before")]).unwrap();
    for spoil in [f64::NAN, f64::INFINITY] {
        let mut bad = reading(None, numbered("S", 0, 1), 1.0);
        let Event::Reading { reading, .. } = &mut bad.event else { unreachable!() };
        reading.rotation_deg = Some(spoil);
        let error = journal.append(vec![note(None, "good"), bad]).unwrap_err();
        assert!(matches!(error, JournalError::NotKeepable { kind: "reading" }), "{error}");
    }
    let appended = journal.append(vec![note(None, "after")]).unwrap();
    assert_eq!(numbers(&appended.entries), [2]);
    assert_eq!(numbers(&all(journal.reader())), [1, 2]);
}

#[test]
fn a_shortened_journal_is_contradicted_by_its_head_file() {
    let rig = Rig::new();
    let mut journal = rig.open();
    journal.append(vec![note(None, "one")]).unwrap();
    drop(journal);
    let short = fs::read(rig.path()).unwrap();
    let mut journal = rig.open();
    journal.append(vec![note(None, "two")]).unwrap();
    let witness = journal.head();
    let path = journal.reader().path().to_owned();
    drop(journal);
    fs::write(rig.path(), short).unwrap();

    let journal = rig.open();
    let Witness::Contradicts { witness: said, length: 1, set_aside: Some(kept) } =
        journal.witness()
    else {
        panic!("{:?}", journal.witness());
    };
    assert_eq!(*said, witness);
    assert!(kept.exists());
    assert_eq!(head::read(&path).unwrap(), None);
}

#[test]
fn a_head_file_that_cannot_be_written_costs_no_entry() {
    let rig = Rig::new();
    let mut journal = rig.open();
    fs::create_dir(head::file_of(journal.reader().path())).unwrap();
    let appended = journal.append(vec![draft(1, None, note(None, "kept").event)]).unwrap();
    assert!(appended.head_file_error.is_some());
    assert_eq!(all(journal.reader()), appended.entries);
    drop(journal);
    assert!(matches!(rig.open().witness(), Witness::Unreadable { .. }));
}

#[test]
fn some_jobs_are_told_without_the_others() {
    let rig = Rig::new();
    let mut journal = rig.open();
    assert_eq!(journal.reader().last_job().unwrap(), None);
    journal.append((1..=7).map(|job| started(job, "one")).collect()).unwrap();
    let reader = journal.reader();
    let all = reader.jobs().unwrap();
    assert_eq!(reader.jobs_from(3..=5).unwrap(), all[2..5]);
    assert_eq!(reader.last_job().unwrap(), Some(JobId(7)));
    assert_eq!(reader.job(JobId(4)).unwrap().as_ref(), Some(&all[3]));
    assert_eq!(reader.job(JobId(8)).unwrap(), None);
}
