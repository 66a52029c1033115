//! Reading lines of JSON back into a journal: all of them, or none.
//!
//! As far as they go on where the journal stands, entries are taken as they are, with their hashes. From the
//! first that differs on, what the journal does not have yet is added at its end, under new numbers: a
//! reading is known by its key, a job by its name that is unique in the world, anything else by its job,
//! time, kind and payload.

use crate::core::event::{Event, JobId, PersonalField, Reading, ReadingKey, Verdict, Warning};
use crate::core::typed::TYPED;
use crate::journal::chain;
use crate::journal::error::{EntryError, JournalError};
use crate::journal::head::{self, Head};
use crate::journal::lines::{FORMAT, Header, Line, VERSION};
use crate::journal::query::{KeptText, Reader, find_row};
use crate::journal::rows::{self, COLUMNS, Row, decode_digests};
use crate::journal::writer::Journal;
use rusqlite::{Connection, OptionalExtension, TransactionBehavior};
use std::collections::BTreeMap;
use std::io::{self, BufRead, Read};
use thiserror::Error;

/// Longer than any line that is written, octets.
const LONGEST_LINE: u64 = 1 << 28;

/// What was added.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Imported {
    /// How many entries were read.
    pub read: u64,
    /// How many of them were added.
    pub added: u64,
    /// How many were there already.
    pub known: u64,
    /// Every entry that was added kept its number and hash.
    pub verbatim: bool,
    /// Jobs that were added under another number: theirs and ours.
    pub renumbered: Vec<(JobId, JobId)>,
}

/// Why nothing was added.
#[derive(Debug, Error)]
pub enum ImportError {
    /// It is something else.
    #[error("expected lines that `clampbook export` wrote, but found {found}; name another file")]
    NotAnExport {
        /// What is there.
        found: String,
    },
    /// A newer program wrote it.
    #[error(
        "expected an export of version {VERSION}, but found version {found}; use the newer clampbook that wrote it"
    )]
    Newer {
        /// The version it has.
        found: u32,
    },
    /// A line is no good.
    #[error(
        "line {line}: expected an entry as it was written, but found {found}; the file was damaged or edited: export it again, or find a copy"
    )]
    Line {
        /// Which, from 1.
        line: u64,
        /// What is wrong.
        found: String,
    },
    /// Lines are missing or left over at the end.
    #[error(
        "expected {expected} entries, as the first line says, but found {found}; the file was cut off or edited: export it again, or find a copy"
    )]
    Length {
        /// What the first line says.
        expected: u64,
        /// How many there are.
        found: u64,
    },
    /// An entry that would need another number is not understood here.
    #[error(
        "the journal has entries of its own, and one that should be put behind them is not understood: {0}"
    )]
    NotUnderstood(#[from] EntryError),
    /// There would be more than one job under way.
    #[error(
        "expected at most one job under way, but found jobs {} and {} to be; park or close one of them, then import again",
        .0.0, .1.0
    )]
    TwoUnderWay(JobId, JobId),
    /// The journal cannot be used.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The lines cannot be read.
    #[error("expected to read the export, but found: {0}; try again, or find a copy")]
    Read(#[from] io::Error),
}

/// An export whose first line is read: what it is is known before anything is opened for it.
pub struct Export<'r> {
    lines: Lines<'r>,
    header: Header,
}

impl<'r> Export<'r> {
    /// Reads the first line.
    ///
    /// # Errors
    /// It is not that of an export, or of a newer one, or cannot be read.
    pub fn of(lines: &'r mut dyn BufRead) -> Result<Self, ImportError> {
        let mut lines = Lines { from: lines, number: 0 };
        let header = lines.header()?;
        Ok(Self { lines, header })
    }
}

impl Journal {
    /// Adds what an export holds and the journal does not, all or nothing. `visit` is told how many lines are
    /// read, and of how many.
    ///
    /// # Errors
    /// What [`ImportError`] says; then the journal is as before.
    pub fn import(
        &mut self,
        Export { mut lines, header }: Export<'_>,
        visit: &mut dyn FnMut(u64, u64),
    ) -> Result<Imported, ImportError> {
        let before = self.head;
        let Reader { conn, path } = &mut self.reader;
        let failed = |error| ImportError::Journal(JournalError::sqlite(path, error));
        let transaction =
            conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let mut import = Import {
            conn: &transaction,
            head: before,
            theirs: Head::EMPTY,
            own: before.length,
            stage: Stage::Common,
            jobs: BTreeMap::new(),
            numbers: BTreeMap::new(),
            typed: BTreeMap::new(),
            done: Imported { verbatim: true, ..Imported::default() },
        };
        while let Some(line) = lines.next()? {
            let at = lines.number;
            import.take(line).map_err(|stop| stop.error(at, failed))?;
            visit(import.done.read, header.length);
        }
        if import.done.read != header.length {
            let (expected, found) = (header.length, import.done.read);
            return Err(ImportError::Length { expected, found });
        }
        if chain::hex(&import.theirs.hash) != header.head {
            return Err(ImportError::Line {
                line: lines.number,
                found: "another last entry than the first line names".to_owned(),
            });
        }
        let Import { head, done, .. } = import;
        if let [one, other, ..] = under_way(&transaction).map_err(failed)?[..] {
            return Err(ImportError::TwoUnderWay(one, other));
        }
        transaction.commit().map_err(failed)?;
        self.head = head;
        if done.added > 0 {
            // The next entry renews it, if it cannot be renewed now.
            let _ = head::write(&self.reader.path, head);
        }
        Ok(done)
    }
}

/// Why an entry is not taken.
enum Stop {
    Found(String),
    NotUnderstood(EntryError),
    Database(rusqlite::Error),
}

impl Stop {
    fn error(self, line: u64, failed: impl Fn(rusqlite::Error) -> ImportError) -> ImportError {
        match self {
            Self::Found(found) => ImportError::Line { line, found },
            Self::NotUnderstood(error) => error.into(),
            Self::Database(error) => failed(error),
        }
    }
}

impl From<rusqlite::Error> for Stop {
    fn from(error: rusqlite::Error) -> Self {
        Self::Database(error)
    }
}

/// How the lines stand to the journal.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// All the same so far.
    Common,
    /// One differed: what is new goes to the end.
    Apart,
}

struct Import<'c> {
    conn: &'c Connection,
    /// Of the journal as it grows.
    head: Head,
    /// Of the lines so far.
    theirs: Head,
    /// How long the journal was.
    own: u64,
    stage: Stage,
    /// Number of a job: theirs to ours, and whether the journal had it before.
    jobs: BTreeMap<i64, (i64, bool)>,
    /// Number of an entry: theirs to ours, of those behind the first that differed.
    numbers: BTreeMap<u64, u64>,
    /// Number of a typed value: theirs to ours.
    typed: BTreeMap<u32, u32>,
    done: Imported,
}

impl Import<'_> {
    fn take(&mut self, line: Line) -> Result<(), Stop> {
        let (row, texts) =
            line.row(self.theirs.hash).map_err(|found| Stop::Found(found.to_owned()))?;
        check(&row, &texts, self.theirs.length + 1)?;
        self.theirs = Head { length: self.theirs.length + 1, hash: row.hash };
        self.done.read += 1;
        if self.stage == Stage::Common && self.theirs.length <= self.own {
            if self.is_own()? {
                if let Some(job) = row.job {
                    self.jobs.insert(job, (job, true));
                }
                self.done.known += 1;
                return Ok(());
            }
            self.stage = Stage::Apart;
        }
        match self.stage {
            Stage::Common => self.add(&row, &texts),
            Stage::Apart => self.merge(row, texts),
        }
    }

    /// Whether the journal's own entry of the present number is the same.
    fn is_own(&self) -> Result<bool, Stop> {
        let own: Option<[u8; 32]> = self
            .conn
            .prepare_cached("SELECT hash FROM event WHERE number = ?1")?
            .query_row([self.theirs.length as i64], |row| row.get(0))
            .optional()?;
        Ok(own == Some(self.theirs.hash))
    }

    fn add(&mut self, row: &Row, texts: &[KeptText]) -> Result<(), Stop> {
        row.insert(self.conn)?;
        for kept in texts {
            self.conn
                .prepare_cached(
                    "INSERT INTO personal (event, place, field, salt, text) \
                     VALUES (?1, ?2, ?3, ?4, ?5)",
                )?
                .execute((row.number, kept.place as i64, &kept.field, &kept.salt, &kept.text))?;
        }
        self.head = Head { length: row.number(), hash: row.hash };
        self.done.added += 1;
        Ok(())
    }

    /// Puts an entry behind the journal's own, unless it is there already.
    fn merge(&mut self, mut row: Row, mut texts: Vec<KeptText>) -> Result<(), Stop> {
        let theirs = row.number();
        let mut event = row.event().map_err(Stop::NotUnderstood)?;
        let job = self.job(&row, &event)?;
        row.job = job.map(|(job, _)| job);
        if self.renumber(&mut event, &row)? {
            rewrite(&mut row, &event)?;
        }
        if let Some(ours) = self.there(&row, &event, job)? {
            self.numbers.insert(theirs, ours.number());
            // Their job has it, and here it belongs to none.
            match event {
                Event::Reading { key, at, at_error_us, reading }
                    if ours.job.is_none() && matches!(job, Some((_, false))) =>
                {
                    let entry = ours.number();
                    event = Event::Claimed { entry, key, at, at_error_us, reading };
                    rewrite(&mut row, &event)?;
                    row.raw = None;
                    "[]".clone_into(&mut row.digests);
                    texts.clear();
                }
                _ => {
                    self.done.known += 1;
                    return Ok(());
                }
            }
        }
        if let Event::Erased { fields, .. } = &event {
            self.erase(fields, row.job)?;
        }
        row.number = self.head.length as i64 + 1;
        row.prev = self.head.hash;
        row.hash = row.expected_hash();
        self.done.verbatim = false;
        self.numbers.entry(theirs).or_insert(row.number());
        self.add(&row, &texts)
    }

    /// Puts the journal's own numbers into an event that names an entry or a typed value; true if that
    /// changed it.
    fn renumber(&mut self, event: &mut Event, row: &Row) -> Result<bool, Stop> {
        let ours = |number: u64| {
            let number = u32::try_from(number).ok()?;
            self.typed.get(&number).copied()
        };
        match event {
            Event::Claimed { entry, key, reading, .. } => {
                let known = self.numbers.get(&*entry).copied();
                *entry = known.unwrap_or(*entry);
                let number = ours(reading.seq);
                if let (ReadingKey::Typed { number: of }, Some(number)) = (key, number) {
                    *of = number;
                    reading.seq = number.into();
                }
                Ok(true)
            }
            Event::Corrected { entry, .. } => {
                let known = self.numbers.get(&*entry).copied();
                *entry = known.unwrap_or(*entry);
                Ok(known.is_some())
            }
            Event::RecheckOf { job, .. } => {
                let known = self.jobs.get(&i64::from(job.0)).copied();
                *job = known.map_or(*job, |(ours, _)| id(ours));
                Ok(known.is_some())
            }
            Event::Reading { key: ReadingKey::Typed { number }, reading, .. } => {
                let theirs = *number;
                let own = match self.typed_there(row, reading)? {
                    Some(own) => own,
                    None => self.conn.query_row(
                        "SELECT coalesce(max(arrival), 0) + 1 FROM event \
                         WHERE serial = ?1 AND connection = 0",
                        [TYPED],
                        |row| row.get(0),
                    )?,
                };
                self.typed.insert(theirs, own);
                *number = own;
                reading.seq = own.into();
                Ok(own != theirs)
            }
            Event::Verdict(Verdict { adapter, seq, .. })
            | Event::Warning(Warning { adapter: Some(adapter), seq: Some(seq), .. })
                if *adapter == TYPED =>
            {
                let number = ours(*seq);
                *seq = number.map_or(*seq, u64::from);
                Ok(number.is_some())
            }
            _ => Ok(false),
        }
    }

    /// The number under which the journal has the same typed value.
    fn typed_there(&self, row: &Row, reading: &Reading) -> Result<Option<u32>, Stop> {
        let mut statement = self.conn.prepare_cached(
            "SELECT payload FROM event WHERE kind = 'reading' AND job IS ?1 AND at_us = ?2 \
             AND serial = ?3",
        )?;
        let mut rows = statement.query((row.job, row.at_us, TYPED))?;
        while let Some(row) = rows.next()? {
            let payload: String = row.get(0)?;
            let own: Result<Event, _> = serde_json::from_str(&payload);
            if let Ok(Event::Reading { key: ReadingKey::Typed { number }, reading: own, .. }) = own
                && own.peak == reading.peak
            {
                return Ok(Some(number));
            }
        }
        Ok(None)
    }

    /// The journal's own number for the entry's job, and whether it had that job before.
    fn job(&mut self, row: &Row, event: &Event) -> Result<Option<(i64, bool)>, Stop> {
        let Some(theirs) = row.job else {
            return Ok(None);
        };
        if let Event::JobStarted { uuid, .. } = event
            && !self.jobs.contains_key(&theirs)
        {
            let known = self.started(uuid)?;
            let ours = match known {
                Some(ours) => ours,
                None => self.conn.query_row(
                    "SELECT coalesce(max(job), 0) + 1 FROM event",
                    [],
                    |row| row.get(0),
                )?,
            };
            self.jobs.insert(theirs, (ours, known.is_some()));
            if ours != theirs {
                self.done.renumbered.push((id(theirs), id(ours)));
            }
        }
        match self.jobs.get(&theirs) {
            Some(known) => Ok(Some(*known)),
            None => Err(Stop::Found(format!("job {theirs} without its start"))),
        }
    }

    /// The job that was started under that name.
    fn started(&self, uuid: &str) -> Result<Option<i64>, Stop> {
        let mut statement = self.conn.prepare_cached(
            "SELECT job, payload FROM event WHERE kind = 'job-started' AND job IS NOT NULL",
        )?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let payload: String = row.get(1)?;
            let own: Result<Event, _> = serde_json::from_str(&payload);
            if matches!(own, Ok(Event::JobStarted { uuid: own, .. }) if own == uuid) {
                return Ok(Some(row.get(0)?));
            }
        }
        Ok(None)
    }

    /// The entry that says the same already.
    fn there(
        &self,
        row: &Row,
        event: &Event,
        job: Option<(i64, bool)>,
    ) -> Result<Option<Row>, Stop> {
        if let Event::Reading { key, .. } = event {
            return Ok(find_row(self.conn, key)?);
        }
        if matches!(job, Some((_, false))) {
            return Ok(None);
        }
        Ok(self
            .conn
            .prepare_cached(&format!(
                "SELECT {COLUMNS} FROM event \
                 WHERE kind = ?1 AND job IS ?2 AND at_us = ?3 AND payload = ?4"
            ))?
            .query_row((&row.kind, row.job, row.at_us, &row.payload), Row::read)
            .optional()?)
    }

    /// What was erased elsewhere is erased here, too.
    fn erase(&self, fields: &[PersonalField], job: Option<i64>) -> Result<(), Stop> {
        for field in fields {
            self.conn.execute(
                "DELETE FROM personal WHERE field = ?1 \
                 AND event IN (SELECT number FROM event WHERE job IS ?2)",
                (rows::field_name(*field), job),
            )?;
        }
        Ok(())
    }
}

/// Puts a changed event into its row.
fn rewrite(row: &mut Row, event: &Event) -> Result<(), Stop> {
    let encoded = rows::encode(event).map_err(|error| Stop::Found(error.to_string()))?;
    row.kind = encoded.kind.to_owned();
    row.version = encoded.version;
    row.payload = encoded.payload;
    row.key = encoded.key;
    Ok(())
}

/// Whether an entry is what its hash says, and its texts what their digests say.
fn check(row: &Row, texts: &[KeptText], number: u64) -> Result<(), Stop> {
    let found = |found: String| Err(Stop::Found(found));
    if i64::try_from(number) != Ok(row.number) {
        return found(format!("entry {} in place of entry {number}", row.number));
    }
    if row.hash != row.expected_hash() {
        return found(format!("that entry {number} was changed after it was written"));
    }
    if let Err(error @ EntryError::Malformed { .. }) = row.event() {
        return found(error.to_string());
    }
    let Some(digests) = decode_digests(&row.digests) else {
        return found(format!("that entry {number} has digests that do not parse"));
    };
    for kept in texts {
        let digest = chain::personal_digest(&kept.salt, &kept.field, &kept.text);
        let fits = digests
            .get(kept.place)
            .is_some_and(|[field, hex]| *field == kept.field && *hex == chain::hex(&digest));
        if !fits {
            return found(format!("that the {} text of entry {number} was changed", kept.field));
        }
    }
    Ok(())
}

/// Jobs that are neither parked nor closed.
fn under_way(conn: &Connection) -> rusqlite::Result<Vec<JobId>> {
    conn.prepare(
        "SELECT DISTINCT job FROM event AS begun WHERE kind IN ('job-started', 'job-resumed') \
         AND NOT EXISTS (SELECT 1 FROM event AS ended WHERE ended.job = begun.job \
         AND ended.kind IN ('job-parked', 'job-closed') AND ended.number > begun.number)",
    )?
    .query_map([], |row| row.get(0).map(JobId))?
    .collect()
}

fn id(job: i64) -> JobId {
    JobId(u32::try_from(job).unwrap_or(u32::MAX))
}

/// Lines as they are read.
struct Lines<'r> {
    from: &'r mut dyn BufRead,
    /// Of the last line read, from 1.
    number: u64,
}

impl Lines<'_> {
    fn header(&mut self) -> Result<Header, ImportError> {
        let other = |found: &str| ImportError::NotAnExport { found: found.to_owned() };
        let octets = self.octets()?.ok_or_else(|| other("nothing"))?;
        let header: Header =
            serde_json::from_slice(&octets).map_err(|_| other("a first line of another kind"))?;
        if header.format != FORMAT {
            return Err(other("a first line of another kind"));
        }
        if header.version != VERSION {
            return Err(ImportError::Newer { found: header.version });
        }
        Ok(header)
    }

    fn next(&mut self) -> Result<Option<Line>, ImportError> {
        let Some(octets) = self.octets()? else {
            return Ok(None);
        };
        serde_json::from_slice(&octets)
            .map(Some)
            .map_err(|error| ImportError::Line { line: self.number, found: error.to_string() })
    }

    /// The next line that is not empty.
    fn octets(&mut self) -> Result<Option<Vec<u8>>, ImportError> {
        loop {
            let mut octets = Vec::new();
            let read = (&mut *self.from).take(LONGEST_LINE).read_until(b'\n', &mut octets)?;
            if read == 0 {
                return Ok(None);
            }
            self.number += 1;
            if read as u64 == LONGEST_LINE {
                let found = "more octets than any line has".to_owned();
                return Err(ImportError::Line { line: self.number, found });
            }
            if !octets.trim_ascii().is_empty() {
                return Ok(Some(octets));
            }
        }
    }
}
