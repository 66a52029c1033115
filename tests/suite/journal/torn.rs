//! A write-ahead file whose end was lost: what remains is a prefix, and it is sound.

use super::{Rig, all, assert_sound, note, numbered, numbers, reading, started};
use clampbook::journal::Journal;
use std::fs;

const WAL_HEADER: usize = 32;
const FRAME: usize = 24 + 4096;

#[test]
fn a_torn_write_ahead_file_leaves_a_prefix_of_the_batches() {
    let rig = Rig::new();
    let mut journal = rig.open();
    let mut ends = vec![0];
    for batch in 1..=5_u32 {
        let mut drafts = vec![
            reading(Some(1), numbered("S", 0, batch), f64::from(batch)),
            note(Some(1), &"long ".repeat(600)),
        ];
        if batch == 1 {
            drafts.insert(0, started(1, "one"));
        }
        journal.append(drafts).unwrap();
        ends.push(journal.head().length);
    }
    let whole = all(journal.reader());
    let main = fs::read(rig.path()).unwrap();
    let wal = fs::read(rig.folder.path().join("journal.sqlite-wal")).unwrap();
    let frames = (wal.len() - WAL_HEADER) / FRAME;
    assert!(frames > 20, "the cuts fall into many batches: {frames}");

    let edges = (0..=frames).map(|frame| WAL_HEADER + frame * FRAME);
    let cuts = edges.flat_map(|edge| [edge.saturating_sub(1), edge, edge + 13, edge + 2000]);
    let mut seen = Vec::new();
    for cut in [0, 5].into_iter().chain(cuts).filter(|cut| *cut <= wal.len()) {
        let copy = Rig::new();
        fs::write(copy.path(), &main).unwrap();
        fs::write(copy.folder.path().join("journal.sqlite-wal"), &wal[..cut]).unwrap();
        let mut journal = Journal::open_writer(&copy.path())
            .unwrap_or_else(|error| panic!("cut at {cut}: {error}"));
        let kept = all(journal.reader());
        assert_eq!(kept, whole[..kept.len()], "cut at {cut}");
        let length = kept.len() as u64;
        assert!(ends.contains(&length), "cut at {cut}: half a batch");
        assert_sound(journal.reader());
        let next = journal.append(vec![note(Some(1), "next")]).unwrap();
        assert_eq!(numbers(&next.entries), [length + 1], "cut at {cut}");
        assert_sound(journal.reader());
        seen.push(length);
    }
    seen.dedup();
    assert_eq!(seen, ends, "every batch's end was met, in order");
}

#[test]
fn a_journal_whose_making_was_cut_short_is_made_anew() {
    let half = Rig::new();
    let raw = half.raw();
    // More than the cache holds, so that pages reach the main file before the commit.
    raw.execute_batch(
        "PRAGMA cache_size = 5; BEGIN; PRAGMA application_id = 0x436c6d70; \
         CREATE TABLE t (x); INSERT INTO t VALUES (zeroblob(500000));",
    )
    .unwrap();
    let mut stamped = Vec::from(b"SQLite format 3\0");
    stamped.resize(68, 0);
    stamped.extend(0x436c_6d70_u32.to_be_bytes());
    for start in [vec![0; 72], stamped] {
        let copy = Rig::new();
        for name in ["journal.sqlite", "journal.sqlite-journal"] {
            fs::copy(half.folder.path().join(name), copy.folder.path().join(name)).unwrap();
        }
        let mut main = fs::read(copy.path()).unwrap();
        main[..72].copy_from_slice(&start);
        fs::write(copy.path(), main).unwrap();
        copy.open().append(vec![note(None, "one")]).unwrap();
        let journal = copy.open();
        assert_eq!(numbers(&all(journal.reader())), [1]);
        assert_sound(journal.reader());
    }
}
