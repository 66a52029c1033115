//! Adding to the journal.

use crate::core::event::{Draft, Entry, Event, JobId, PersonalField, Reading, ReadingKey};
use crate::core::time::Stamp;
use crate::journal::chain;
use crate::journal::error::JournalError;
use crate::journal::head::{self, Head, Witness};
use crate::journal::lock::WriterLock;
use crate::journal::place;
use crate::journal::query::{Reader, find_row, head_of};
use crate::journal::rows::{self, Encoded, Row};
use crate::journal::schema;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Transaction, TransactionBehavior};
use std::io;
use std::path::Path;

/// A journal open for adding: the only one of its kind in the whole system.
#[derive(Debug)]
pub struct Journal {
    pub(super) reader: Reader,
    pub(super) head: Head,
    witness: Witness,
    _lock: WriterLock,
}

/// What became of a batch.
#[derive(Debug)]
pub struct Appended {
    /// What was added, in order of the drafts.
    pub entries: Vec<Entry>,
    /// The drafts that were not added because their reading is already kept.
    pub duplicates: Vec<Duplicate>,
    /// Why the head file beside the journal could not be renewed. The entries are kept all the same.
    pub head_file_error: Option<io::Error>,
}

/// A reading that was delivered again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Duplicate {
    /// Which draft of the batch, from 0.
    pub draft: usize,
    /// Its key.
    pub key: ReadingKey,
    /// The entry that keeps it.
    pub number: u64,
    /// True if both say the same; false if an adapter has given one number to two pulls.
    pub same: bool,
}

/// What became of texts that were to be erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Erased {
    /// How many texts are gone.
    pub texts: usize,
    /// False if an open reader keeps the old octets in the write-ahead file for now; they go when the
    /// last reader closes and the journal is opened again.
    pub wiped: bool,
}

/// A draft in the form in which it is stored.
struct Prepared {
    draft: Draft,
    encoded: Encoded,
    digests: String,
    salts: Vec<[u8; 32]>,
}

impl Journal {
    /// Opens the journal at `path` for adding, and makes it if there is none: a folder and a file that
    /// only their owner may read. Holds the writer's lock until dropped.
    ///
    /// # Errors
    /// [`JournalError::Locked`] if another process adds to it; otherwise whatever [`JournalError`] says
    /// of something that is not a journal, newer than this program, out of reach, or out of room.
    pub fn open_writer(path: &Path) -> Result<Self, JournalError> {
        place::look(path)?;
        place::make(path)?;
        // One journal has one lock, whatever links lead to it.
        let path = &path.canonicalize().map_err(|error| JournalError::io(path, &error))?;
        let lock = WriterLock::take(path)?;
        place::look(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let failed = |error| JournalError::sqlite(path, error);
        let mut conn = Connection::open_with_flags(path, flags).map_err(failed)?;
        if conn.is_readonly("main").map_err(failed)? {
            return Err(JournalError::ReadOnly { path: path.to_owned() });
        }
        schema::prepare_writer(&mut conn, path)?;
        let head = head_of(&conn).map_err(failed)?;
        let witness = hear_witness(&conn, path, head).map_err(failed)?;
        let path = path.to_owned();
        Ok(Self { reader: Reader { conn, path }, head, witness, _lock: lock })
    }

    /// Opens the journal at `path` for reading only; needs no lock.
    ///
    /// # Errors
    /// As [`Reader::open`].
    pub fn open_reader(path: &Path) -> Result<Reader, JournalError> {
        Reader::open(path)
    }

    /// Everything that can be asked.
    #[must_use]
    pub fn reader(&self) -> &Reader {
        &self.reader
    }

    /// The chain's length and last hash, as committed.
    #[must_use]
    pub fn head(&self) -> Head {
        self.head
    }

    /// What the head file said when the journal was opened.
    #[must_use]
    pub fn witness(&self) -> &Witness {
        &self.witness
    }

    /// Adds the drafts in order, all or none, and returns once they are on the disk. A reading whose key
    /// is already kept is not added again; it is reported and is no error.
    ///
    /// # Errors
    /// [`JournalError::DiskFull`] and the like, or [`JournalError::NotKeepable`]: then nothing was added,
    /// and the same batch can be tried again.
    pub fn append(&mut self, drafts: Vec<Draft>) -> Result<Appended, JournalError> {
        let prepared = drafts.into_iter().map(Prepared::new).collect::<Result<Vec<_>, _>>()?;
        let Reader { conn, path } = &mut self.reader;
        let failed = |error| JournalError::sqlite(path, error);
        let transaction =
            conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let mut head = head_of(&transaction).map_err(failed)?;
        let mut entries = Vec::new();
        let mut duplicates = Vec::new();
        for (index, prepared) in prepared.into_iter().enumerate() {
            match prepared.kept_already(&transaction, index).map_err(failed)? {
                Some(duplicate) => duplicates.push(duplicate),
                None => entries.push(prepared.insert(&transaction, &mut head).map_err(failed)?),
            }
        }
        transaction.commit().map_err(failed)?;
        self.head = head;
        let head_file_error = match entries.is_empty() {
            true => None,
            false => head::write(&self.reader.path, head).err(),
        };
        Ok(Appended { entries, duplicates, head_file_error })
    }

    /// Erases a job's personal texts of these fields (without a job: those of loose entries), with their
    /// salts, and adds an entry that says so. The entries, and the chain over them, stay whole. Where there
    /// is nothing to erase, nothing is added.
    ///
    /// # Errors
    /// What the database refuses: then nothing was erased.
    pub fn erase(
        &mut self,
        at: Stamp,
        job: Option<JobId>,
        fields: &[PersonalField],
    ) -> Result<Erased, JournalError> {
        let Reader { conn, path } = &mut self.reader;
        let failed = |error| JournalError::sqlite(path, error);
        let transaction =
            conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let mut head = head_of(&transaction).map_err(failed)?;
        let mut texts = 0;
        for field in fields {
            texts += transaction
                .execute(
                    "DELETE FROM personal WHERE field = ?1 \
                     AND event IN (SELECT number FROM event WHERE job IS ?2)",
                    (rows::field_name(*field), job.map(|JobId(job)| job)),
                )
                .map_err(failed)?;
        }
        if texts > 0 {
            let event = Event::Erased { fields: fields.to_vec(), texts: texts as u64 };
            let draft = Draft { at, job, event, personal: Vec::new(), raw: None };
            Prepared::new(draft)?.insert(&transaction, &mut head).map_err(failed)?;
        }
        transaction.commit().map_err(failed)?;
        self.head = head;
        if texts > 0 {
            // The next entry renews it, if it cannot be renewed now.
            let _ = head::write(&self.reader.path, head);
        }
        let blocked: i64 = self
            .reader
            .conn
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))
            .map_err(|error| self.reader.failed(error))?;
        Ok(Erased { texts, wiped: blocked == 0 })
    }
}

impl Prepared {
    fn new(draft: Draft) -> Result<Self, JournalError> {
        let encoded = rows::encode(&draft.event)?;
        let salts: Vec<[u8; 32]> = draft.personal.iter().map(|_| rand::random()).collect();
        let digests: Vec<_> = draft
            .personal
            .iter()
            .zip(&salts)
            .map(|((field, text), salt)| {
                let name = rows::field_name(*field);
                (*field, chain::personal_digest(salt, name, text))
            })
            .collect();
        let digests = rows::encode_digests(&digests);
        Ok(Self { draft, encoded, digests, salts })
    }

    fn kept_already(&self, conn: &Connection, draft: usize) -> rusqlite::Result<Option<Duplicate>> {
        let Event::Reading { key, reading, .. } = &self.draft.event else {
            return Ok(None);
        };
        Ok(find_row(conn, key)?.map(|row| Duplicate {
            draft,
            key: key.clone(),
            number: row.number(),
            same: matches!(
                row.event(),
                Ok(Event::Reading { reading: kept, .. }) if same_pull(&kept, reading)
            ),
        }))
    }

    fn insert(self, conn: &Transaction<'_>, head: &mut Head) -> rusqlite::Result<Entry> {
        let Self { draft, encoded, digests, salts } = self;
        let mut row = Row {
            number: head.length as i64 + 1,
            at_us: draft.at.0,
            job: draft.job.map(|JobId(job)| i64::from(job)),
            kind: encoded.kind.to_owned(),
            version: encoded.version,
            payload: encoded.payload,
            key: encoded.key,
            raw: draft.raw,
            digests,
            prev: head.hash,
            hash: [0; 32],
        };
        row.hash = row.expected_hash();
        row.insert(conn)?;
        for (place, ((field, text), salt)) in draft.personal.iter().zip(&salts).enumerate() {
            conn.prepare_cached(
                "INSERT INTO personal (event, place, field, salt, text) VALUES (?1, ?2, ?3, ?4, ?5)",
            )?
            .execute((row.number, place as i64, rows::field_name(*field), salt, text))?;
        }
        *head = Head { length: head.length + 1, hash: row.hash };
        Ok(Entry {
            number: head.length,
            at: draft.at,
            job: draft.job,
            event: draft.event,
            personal: draft.personal.into_iter().map(|(field, text)| (field, Some(text))).collect(),
            raw: row.raw,
            hash: row.hash,
        })
    }
}

/// True if two readings say the same of a pull; the short name of the adapter is ours, not its.
fn same_pull(one: &Reading, other: &Reading) -> bool {
    one.seq == other.seq
        && one.peak == other.peak
        && one.rotation_deg == other.rotation_deg
        && one.duration_ms == other.duration_ms
}

fn hear_witness(conn: &Connection, path: &Path, head: Head) -> rusqlite::Result<Witness> {
    let said = match head::read(path) {
        Ok(Some(said)) => said,
        Ok(None) => return Ok(Witness::Absent),
        Err(error) => {
            return Ok(Witness::Unreadable { detail: error.to_string() });
        }
    };
    let hash: Option<[u8; 32]> = match i64::try_from(said.length) {
        Ok(0) => Some(Head::EMPTY.hash),
        Ok(number) => conn
            .query_row("SELECT hash FROM event WHERE number = ?1", [number], |row| row.get(0))
            .optional()?,
        Err(_) => None,
    };
    Ok(match hash == Some(said.hash) {
        true => Witness::Agrees,
        false => Witness::Contradicts {
            witness: said,
            length: head.length,
            set_aside: head::set_aside(path, said),
        },
    })
}

#[cfg(test)]
mod tests {
    use super::Journal;
    use crate::core::event::{Draft, Event, Gap, PersonalField};
    use crate::core::time::Stamp;
    use crate::journal::JournalError;

    fn draft(at: i64, octets: usize) -> Draft {
        Draft {
            at: Stamp(at),
            job: None,
            event: Event::Gap(Gap { adapter: "A".to_owned(), epoch: None, first: 1, last: 2 }),
            personal: vec![(PersonalField::Note, "note".to_owned())],
            raw: Some(vec![0x5a; octets]),
        }
    }

    #[test]
    fn a_batch_that_finds_no_room_leaves_nothing_and_can_be_tried_again() {
        let folder = tempfile::tempdir().unwrap();
        let mut journal = Journal::open_writer(&folder.path().join("j.sqlite")).unwrap();
        journal.append(vec![draft(1, 10)]).unwrap();
        let before = journal.head();
        let conn = &journal.reader.conn;
        let pages: i64 = conn.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
        conn.pragma_update_and_check(None, "max_page_count", pages + 4, |_| Ok(())).unwrap();
        let batch = || vec![draft(2, 10), draft(3, 100_000)];
        let error = journal.append(batch()).unwrap_err();
        assert!(matches!(error, JournalError::DiskFull { .. }), "{error}");
        assert_eq!(journal.head(), before);
        assert_eq!(journal.reader().head().unwrap(), before);

        let conn = &journal.reader.conn;
        conn.pragma_update_and_check(None, "max_page_count", pages + 4000, |_| Ok(())).unwrap();
        let numbers: Vec<u64> =
            journal.append(batch()).unwrap().entries.iter().map(|entry| entry.number).collect();
        assert_eq!(numbers, [2, 3]);
        assert_eq!(journal.reader().verify_chain().unwrap().fault, None);
    }
}
