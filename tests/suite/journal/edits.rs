//! Edits of every kind, made behind the journal's back, and the audit that must find them.

use super::{Rig, closed, note, numbered, reading, started};
use clampbook::core::event::{JobId, PersonalField, ReadingKey};
use clampbook::core::time::Stamp;
use clampbook::journal::audit::Audit;
use clampbook::journal::chain::Link;
use clampbook::journal::head::{self, Head};
use clampbook::journal::{Journal, JournalError, Reader};
use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use rusqlite::Connection;
use rusqlite::types::Value;
use std::collections::BTreeMap;
use std::fs;
use std::ops::RangeInclusive;

const EDITS: usize = 12_000;
/// The entry that says that a text of entry 2 was erased.
const ERASED: u64 = 15;
const FLIPS_IN_THE_FILE: usize = 600;

const COLUMNS: [&str; 15] = [
    "number",
    "at_us",
    "job",
    "kind",
    "version",
    "payload",
    "serial",
    "epoch",
    "sequence",
    "connection",
    "arrival",
    "raw",
    "digests",
    "prev",
    "hash",
];

fn journal() -> Rig {
    let rig = Rig::new();
    let mut journal = rig.open();
    let mut drafts = vec![started(1, "one"), started(2, "two")];
    drafts
        .extend((1..=6).map(|seq| reading(Some(1), numbered("S", 0, seq), 100.0 + f64::from(seq))));
    drafts.extend((1..=3).map(|arrival| {
        let key = ReadingKey::Arrival { serial: "T".to_owned(), connection: 5, arrival };
        reading(None, key, 42.5)
    }));
    drafts.extend([note(Some(2), "said"), closed(1, true, None), closed(2, false, Some("late"))]);
    journal.append(drafts).unwrap();
    journal.erase(Stamp(9_000), Some(JobId(2)), &[PersonalField::Vin]).unwrap();
    journal.append(vec![note(None, "last"), note(None, "very last")]).unwrap();
    drop(journal);
    rig
}

fn audit(rig: &Rig, reader: &Reader) -> Result<Audit, JournalError> {
    let heads = head::read_all(&rig.path()).unwrap();
    let heads: Vec<Head> = heads.into_iter().map(|(_, said)| said.unwrap()).collect();
    assert_eq!(heads.len(), 1);
    reader.audit(&heads, &mut |_| {})
}

/// A journal without the guards against accidents, a copy of what was in it, and chance.
struct Bench {
    rig: Rig,
    raw: Connection,
    length: u64,
    chance: StdRng,
}

impl Bench {
    fn new(seed: u64) -> Self {
        let rig = journal();
        let raw = rig.raw();
        raw.execute_batch(
            "DROP TRIGGER event_in_order; DROP TRIGGER event_not_changed; DROP TRIGGER event_not_deleted; \
             DROP TRIGGER personal_not_changed; DROP INDEX event_by_sequence; DROP INDEX event_by_arrival; \
             PRAGMA foreign_keys = OFF; PRAGMA ignore_check_constraints = ON; PRAGMA synchronous = OFF; \
             CREATE TEMP TABLE kept AS SELECT * FROM event; \
             CREATE TEMP TABLE kept_personal AS SELECT * FROM personal;",
        )
        .unwrap();
        let length: i64 =
            raw.query_row("SELECT max(number) FROM event", [], |row| row.get(0)).unwrap();
        Self { rig, raw, length: length as u64, chance: StdRng::seed_from_u64(seed) }
    }

    fn restore(&self) {
        self.raw
            .execute_batch(
                "BEGIN; DELETE FROM personal; DELETE FROM event; INSERT INTO event SELECT * FROM kept; \
                 INSERT INTO personal SELECT * FROM kept_personal; COMMIT;",
            )
            .unwrap();
    }

    fn any(&mut self, range: RangeInclusive<u64>) -> u64 {
        self.chance.random_range(range)
    }

    /// Makes one edit: what it was, and between which entries the first that does not fit must be.
    fn edit(&mut self) -> (&'static str, RangeInclusive<u64>) {
        let length = self.length;
        match self.any(0..=11) {
            0..=4 => self.flip_column(),
            5 => {
                let (one, other) = (self.any(1..=length - 1), self.any(2..=length));
                let (low, high) = (one.min(other), one.max(other));
                if low == high {
                    return self.edit();
                }
                self.sql(&format!("UPDATE event SET number = -1 WHERE number = {low}"));
                self.sql(&format!("UPDATE event SET number = {low} WHERE number = {high}"));
                self.sql(&format!("UPDATE event SET number = {high} WHERE number = -1"));
                ("swapped", low..=low)
            }
            6 => {
                let gone = self.any(1..=length - 1);
                self.sql(&format!("DELETE FROM event WHERE number = {gone}"));
                ("deleted", gone..=gone)
            }
            7 => {
                let place = self.any(1..=length);
                self.shift_from(place);
                let copied = self.any(1..=length + 1);
                let copied = if copied == place { place + 1 } else { copied };
                self.sql(&format!(
                    "INSERT INTO event SELECT {place}, {} FROM event WHERE number = {copied}",
                    COLUMNS[1..].join(", ")
                ));
                let forged = self.any(0..=1) == 1;
                if forged {
                    // It fits by itself, but what follows does not follow from it.
                    self.chain_anew(place, place);
                }
                ("inserted", place..=place + 1)
            }
            8 => {
                let first = self.any(1..=length);
                self.sql(&format!("DELETE FROM personal WHERE event >= {first}"));
                self.sql(&format!("DELETE FROM event WHERE number >= {first}"));
                // With the entry that says what was erased, the erased text is missed.
                ("tail cut", if first <= ERASED { 2.min(first)..=first } else { first..=first })
            }
            9 => {
                let from = self.any(1..=length);
                self.sql(&format!("UPDATE event SET at_us = at_us + 1 WHERE number = {from}"));
                self.chain_anew(from, length);
                ("chained anew", length..=length)
            }
            10 => self.flip_text(),
            _ => {
                let (event, place) = self.some_text();
                self.sql(&format!(
                    "DELETE FROM personal WHERE event = {event} AND place = {place}"
                ));
                ("text deleted", event..=event)
            }
        }
    }

    fn flip_column(&mut self) -> (&'static str, RangeInclusive<u64>) {
        let number = self.any(1..=self.length);
        let column = COLUMNS[self.any(0..=COLUMNS.len() as u64 - 1) as usize];
        let value: Value = self
            .raw
            .query_row(&format!("SELECT {column} FROM event WHERE number = {number}"), [], |row| {
                row.get(0)
            })
            .unwrap();
        let (value, text) = self.flipped(column, value);
        let set = if text { "CAST(?1 AS TEXT)" } else { "?1" };
        let sql = format!("UPDATE event SET {column} = {set} WHERE number = {number}");
        // A number that is taken is refused even here.
        if self.raw.execute(&sql, [value]).is_err() {
            assert_eq!(column, "number");
            return self.flip_column();
        }
        match column {
            "number" => ("number flipped", 1..=number),
            _ => ("flipped", number..=number),
        }
    }

    fn flip_text(&mut self) -> (&'static str, RangeInclusive<u64>) {
        let (event, place) = self.some_text();
        let column = ["field", "salt", "text"][self.any(0..=2) as usize];
        let which = format!("event = {event} AND place = {place}");
        let sql = format!("SELECT {column} FROM personal WHERE {which}");
        let value: Value = self.raw.query_row(&sql, [], |row| row.get(0)).unwrap();
        let (value, text) = self.flipped(column, value);
        let set = if text { "CAST(?1 AS TEXT)" } else { "?1" };
        self.raw
            .execute(&format!("UPDATE personal SET {column} = {set} WHERE {which}"), [value])
            .unwrap();
        ("text flipped", event..=event)
    }

    fn some_text(&mut self) -> (u64, u64) {
        let count: i64 =
            self.raw.query_row("SELECT count(*) FROM personal", [], |row| row.get(0)).unwrap();
        let skip = self.any(0..=count as u64 - 1);
        let sql = format!("SELECT event, place FROM personal LIMIT 1 OFFSET {skip}");
        let found: (i64, i64) =
            self.raw.query_row(&sql, [], |row| Ok((row.get(0)?, row.get(1)?))).unwrap();
        (found.0 as u64, found.1 as u64)
    }

    /// The value with one bit of one octet turned, and whether it is text. Nothing becomes something.
    fn flipped(&mut self, column: &str, value: Value) -> (Value, bool) {
        let turned = |chance: &mut StdRng, mut octets: Vec<u8>| {
            if octets.is_empty() {
                octets.push(0);
            }
            let at = chance.random_range(0..octets.len());
            octets[at] ^= 1 << chance.random_range(0..8);
            octets
        };
        let chance = &mut self.chance;
        match value {
            Value::Integer(number) => {
                (Value::Integer(number ^ 1 << chance.random_range(0..48)), false)
            }
            Value::Blob(octets) => (Value::Blob(turned(chance, octets)), false),
            Value::Text(text) => (Value::Blob(turned(chance, text.into_bytes())), true),
            Value::Null if column == "raw" => (Value::Blob(vec![7]), false),
            Value::Null if column == "serial" => (Value::Blob(vec![b'S']), true),
            Value::Null => (Value::Integer(chance.random_range(0..9)), false),
            Value::Real(_) => unreachable!("no column holds one"),
        }
    }

    /// Makes room for one more entry.
    fn shift_from(&self, place: u64) {
        self.sql(&format!("UPDATE event SET number = -number - 1 WHERE number >= {place}"));
        self.sql("UPDATE event SET number = -number WHERE number < 0");
        self.sql(&format!("UPDATE personal SET event = -event - 1 WHERE event >= {place}"));
        self.sql("UPDATE personal SET event = -event WHERE event < 0");
    }

    /// Hashes as somebody would make them who knows how.
    fn chain_anew(&self, first: u64, last: u64) {
        for number in first..=last {
            let before = number - 1;
            let prev: [u8; 32] = match before {
                0 => [0; 32],
                _ => self
                    .raw
                    .query_row("SELECT hash FROM event WHERE number = ?1", [before as i64], |row| {
                        row.get(0)
                    })
                    .unwrap(),
            };
            let hash: [u8; 32] = self
                .raw
                .query_row(
                    "SELECT at_us, job, kind, version, payload, raw, digests FROM event WHERE number = ?1",
                    [number as i64],
                    |row| {
                        let (kind, payload, digests): (String, String, String) =
                            (row.get(2)?, row.get(4)?, row.get(6)?);
                        let raw: Option<Vec<u8>> = row.get(5)?;
                        Ok(Link {
                            prev: &prev,
                            number: number as i64,
                            at_us: row.get(0)?,
                            job: row.get(1)?,
                            kind: &kind,
                            version: row.get(3)?,
                            payload: &payload,
                            raw: raw.as_deref(),
                            digests: &digests,
                        }
                        .hash())
                    },
                )
                .unwrap();
            self.raw
                .execute(
                    "UPDATE event SET prev = ?1, hash = ?2 WHERE number = ?3",
                    (prev, hash, number as i64),
                )
                .unwrap();
        }
    }

    fn sql(&self, sql: &str) {
        self.raw.execute(sql, []).unwrap_or_else(|error| panic!("{sql}: {error}"));
    }
}

#[test]
fn every_one_of_twelve_thousand_random_edits_is_found_and_its_entry_named() {
    let mut bench = Bench::new(8);
    let reader = Journal::open_reader(&bench.rig.path()).unwrap();
    assert_eq!(audit(&bench.rig, &reader).unwrap().unfit(), None, "nothing is edited yet");
    let mut made: BTreeMap<&str, usize> = BTreeMap::new();
    for index in 0..EDITS {
        bench.raw.execute_batch("BEGIN").unwrap();
        let (what, expected) = bench.edit();
        bench.raw.execute_batch("COMMIT").unwrap();
        let found = audit(&bench.rig, &reader).unwrap().unfit();
        let number = found.as_ref().map(clampbook::journal::audit::Unfit::number);
        assert!(
            number.is_some_and(|number| expected.contains(&number)),
            "edit {index}, {what}: expected entry {expected:?}, found {found:?}"
        );
        *made.entry(what).or_default() += 1;
        bench.restore();
    }
    assert_eq!(audit(&bench.rig, &reader).unwrap().unfit(), None, "nothing is edited any more");
    assert_eq!(made.len(), 9, "{made:?}");
    assert!(made.values().all(|count| *count > EDITS / 100), "{made:?}");
}

#[test]
fn an_octet_turned_anywhere_in_the_file_is_found_or_changed_no_entry() {
    let rig = journal();
    let clean = fs::read(rig.path()).unwrap();
    let rows = dump(&rig).unwrap();
    let mut chance = StdRng::seed_from_u64(9);
    let mut found = 0;
    for _ in 0..FLIPS_IN_THE_FILE {
        let mut octets = clean.clone();
        let at = chance.random_range(0..octets.len());
        octets[at] ^= 1 << chance.random_range(0..8);
        fs::write(rig.path(), &octets).unwrap();
        let audited = Journal::open_reader(&rig.path()).and_then(|reader| audit(&rig, &reader));
        match audited {
            Ok(audited) if audited.unfit().is_none() => {
                assert_eq!(dump(&rig).ok().as_ref(), Some(&rows), "octet {at} changed an entry");
            }
            _ => found += 1,
        }
        for ending in ["-wal", "-shm"] {
            let _ = fs::remove_file(format!("{}{ending}", rig.path().display()));
        }
    }
    assert!(found > FLIPS_IN_THE_FILE / 20, "{found} found");
}

/// Every entry and every text, as the database has them.
fn dump(rig: &Rig) -> rusqlite::Result<Vec<Vec<Value>>> {
    let raw = rig.raw();
    let mut all = Vec::new();
    for (sql, width) in [
        ("SELECT * FROM event ORDER BY number", COLUMNS.len()),
        ("SELECT * FROM personal ORDER BY event, place", 5),
    ] {
        let mut statement = raw.prepare(sql)?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            all.push((0..width).map(|index| row.get(index)).collect::<Result<_, _>>()?);
        }
    }
    Ok(all)
}
