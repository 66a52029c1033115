//! Reading the journal: by job, by number, by key. Nothing here writes or judges.
//!
//! A list holds one result an entry: an entry that this program does not understand is named by its
//! [`EntryError`], and the others are there all the same.

use crate::core::event::{AdapterInfo, Entry, Event, JobId, PersonalField, ReadingKey};
use crate::core::time::Stamp;
use crate::journal::error::{EntryError, JournalError};
use crate::journal::head::Head;
use crate::journal::place::{self, Ground};
use crate::journal::rows::{self, COLUMNS, Row};
use crate::journal::schema;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Params};
use std::collections::{HashMap, HashSet};
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

/// A journal open for reading. Any number may be open beside one writer; each question sees the
/// journal as of one commit.
#[derive(Debug)]
pub struct Reader {
    pub(super) conn: Connection,
    pub(super) path: PathBuf,
}

/// An entry, or why it cannot be understood here.
pub type Listed = Result<Entry, EntryError>;

/// One job of the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobOverview {
    /// Its number.
    pub id: JobId,
    /// What its plan calls itself; none if its first entry cannot be understood here.
    pub plan_name: Option<String>,
    /// When it was started.
    pub started: Stamp,
    /// How it was closed; none while it is open.
    pub closed: Option<Closing>,
    /// Since when it is parked; none if it is under way or closed.
    pub parked: Option<Stamp>,
    /// How many entries of any kind it has.
    pub entries: u64,
    /// How many of them are readings.
    pub readings: u64,
    /// How many of them are verdicts, revisions included.
    pub verdicts: u64,
    /// How many of them are warnings.
    pub warnings: u64,
    /// Names of the screens on which something was said in it, as far as they were not erased; in order of the
    /// alphabet.
    pub said_by: Vec<String>,
}

/// How a job was closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closing {
    /// When.
    pub at: Stamp,
    /// Nothing of the plan was open; none if the entry cannot be understood here.
    pub complete: Option<bool>,
    /// Why it was closed with something open.
    pub open_reason: Option<String>,
}

impl Reader {
    /// Opens the journal at `path` for reading only.
    ///
    /// # Errors
    /// Whatever [`JournalError`] says of something that is missing, not a journal, newer than this
    /// program, or out of reach.
    pub fn open(path: &Path) -> Result<Self, JournalError> {
        if place::look(path)? == Ground::Free {
            return Err(JournalError::Missing { path: path.to_owned() });
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let conn = Connection::open_with_flags(path, flags)
            .map_err(|error| JournalError::sqlite(path, error))?;
        schema::prepare_reader(&conn, path)?;
        Ok(Self { conn, path: path.to_owned() })
    }

    /// Where the journal is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The chain's length and last hash.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn head(&self) -> Result<Head, JournalError> {
        head_of(&self.conn).map_err(|error| self.failed(error))
    }

    /// Every entry of a job, in order.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn entries_of_job(&self, job: JobId) -> Result<Vec<Listed>, JournalError> {
        self.list("WHERE job = ?1 ORDER BY number", [job.0])
    }

    /// Every entry with a number above `number`, at most `limit`, in order.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn entries_after(&self, number: u64, limit: u32) -> Result<Vec<Listed>, JournalError> {
        let after = as_stored(number);
        self.list("WHERE number > ?1 ORDER BY number LIMIT ?2", (after, i64::from(limit)))
    }

    /// Every reading that came while no job was under way and that no job has claimed, in order.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn loose_readings(&self) -> Result<Vec<Listed>, JournalError> {
        let loose = self.list("WHERE job IS NULL AND kind = 'reading' ORDER BY number", [])?;
        self.unclaimed(loose, u64::MAX)
    }

    /// The same of those with a number between, as it was when the chain was so long: a long history has many, and
    /// a job has but those of its own time.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn loose_readings_between(
        &self,
        after: u64,
        before: u64,
        length: u64,
    ) -> Result<Vec<Listed>, JournalError> {
        let loose = self.list(
            "WHERE job IS NULL AND number > ?1 AND number < ?2 AND number <= ?3 \
             AND kind = 'reading' ORDER BY number",
            [as_stored(after), as_stored(before), as_stored(length)],
        )?;
        self.unclaimed(loose, length)
    }

    /// Those of them that no job had claimed when the chain was so long.
    fn unclaimed(&self, mut loose: Vec<Listed>, length: u64) -> Result<Vec<Listed>, JournalError> {
        if loose.is_empty() {
            return Ok(loose);
        }
        let claims = self
            .list("WHERE kind = 'claimed' AND number <= ?1 ORDER BY number", [as_stored(length)])?;
        let claimed: HashSet<u64> = claims
            .into_iter()
            .flatten()
            .filter_map(|claim| match claim.event {
                Event::Claimed { entry, .. } => Some(entry),
                _ => None,
            })
            .collect();
        loose.retain(|listed| match listed {
            Ok(entry) => !claimed.contains(&entry.number),
            Err(_) => true,
        });
        Ok(loose)
    }

    /// What traces show of loose readings, in order.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn loose_descriptions(&self) -> Result<Vec<Listed>, JournalError> {
        self.list("WHERE job IS NULL AND kind = 'described' ORDER BY number", [])
    }

    /// Numbers of loose readings that were claimed, each with its job.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn claims(&self) -> Result<Vec<(u64, JobId)>, JournalError> {
        let claims = self.list("WHERE kind = 'claimed' ORDER BY number", [])?;
        Ok(claims
            .into_iter()
            .flatten()
            .filter_map(|claim| match (claim.event, claim.job) {
                (Event::Claimed { entry, .. }, Some(job)) => Some((entry, job)),
                _ => None,
            })
            .collect())
    }

    /// What adapters said of themselves, in order, whether a job was under way or not.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn adapters(&self) -> Result<Vec<AdapterInfo>, JournalError> {
        let told = self.list("WHERE kind = 'adapter' ORDER BY number", [])?;
        Ok(told
            .into_iter()
            .flatten()
            .filter_map(|entry| match entry.event {
                Event::Adapter(info) => Some(info),
                _ => None,
            })
            .collect())
    }

    /// Certificates put on record, in order, as when the chain was so long.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn certificates_as_of(&self, length: u64) -> Result<Vec<Listed>, JournalError> {
        let until = [as_stored(length)];
        self.list("WHERE kind = 'certificate' AND number <= ?1 ORDER BY number", until)
    }

    /// The entry that a job begins with; none if there is no such job.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn started(&self, job: JobId) -> Result<Option<Listed>, JournalError> {
        let first = "WHERE job = ?1 AND kind = 'job-started' ORDER BY number LIMIT 1";
        Ok(self.list(first, [job.0])?.pop())
    }

    /// What jobs left to be pulled again, and which jobs pull again what others tightened, in order.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn rechecks(&self) -> Result<Vec<Listed>, JournalError> {
        self.list("WHERE kind IN ('recheck-due', 'recheck-of') ORDER BY number", [])
    }

    /// What took the place of something that was said of a job, in order.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn corrections(&self, job: JobId) -> Result<Vec<Listed>, JournalError> {
        self.list("WHERE job = ?1 AND kind = 'corrected' ORDER BY number", [job.0])
    }

    /// The highest number of a typed value.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn last_typed(&self) -> Result<Option<u32>, JournalError> {
        self.one(
            "SELECT max(arrival) FROM event WHERE serial = ?1 AND connection = 0",
            [crate::core::typed::TYPED],
        )
    }

    /// The entry with that number; none beyond the end.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn entry(&self, number: u64) -> Result<Option<Listed>, JournalError> {
        let Ok(number) = i64::try_from(number) else {
            return Ok(None);
        };
        Ok(self.list("WHERE number = ?1", [number])?.pop())
    }

    /// Number of the entry that keeps the reading with this key; none if it is not kept yet.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn find(&self, key: &ReadingKey) -> Result<Option<u64>, JournalError> {
        find_row(&self.conn, key)
            .map(|row| row.map(|row| row.number()))
            .map_err(|error| self.failed(error))
    }

    /// The job under way: started or resumed last, and neither parked nor closed since.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn open_job(&self) -> Result<Option<JobId>, JournalError> {
        self.one(
            "SELECT max(job) FROM event AS begun WHERE kind IN ('job-started', 'job-resumed') \
             AND NOT EXISTS (SELECT 1 FROM event AS ended WHERE ended.job = begun.job \
             AND ended.kind IN ('job-parked', 'job-closed') AND ended.number > begun.number)",
            [],
        )
        .map(|job: Option<u32>| job.map(JobId))
    }

    /// The number for the next job.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn next_job(&self) -> Result<JobId, JournalError> {
        self.one("SELECT coalesce(max(job), 0) + 1 FROM event", []).map(JobId)
    }

    /// Every job, in order of number.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn jobs(&self) -> Result<Vec<JobOverview>, JournalError> {
        self.overviews("job IS NOT NULL", [])
    }

    /// The jobs with these numbers, in order.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn jobs_from(&self, range: RangeInclusive<u32>) -> Result<Vec<JobOverview>, JournalError> {
        self.overviews("job BETWEEN ?1 AND ?2", (range.start(), range.end()))
    }

    /// The newest job; none if there is none.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn last_job(&self) -> Result<Option<JobId>, JournalError> {
        let job: Option<u32> = self.one("SELECT max(job) FROM event", [])?;
        Ok(job.map(JobId))
    }

    /// One job; none if there is no such job.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn job(&self, job: JobId) -> Result<Option<JobOverview>, JournalError> {
        Ok(self.overviews("job = ?1", [job.0])?.pop())
    }

    fn overviews<P: Params + Copy>(
        &self,
        which: &str,
        params: P,
    ) -> Result<Vec<JobOverview>, JournalError> {
        let failed = |error| self.failed(error);
        // Both are answered from an index alone: a job of many pulls costs no more than one of few.
        let all = format!(
            "SELECT job, min(number), count(*) FROM event INDEXED BY event_by_job \
             WHERE {which} GROUP BY job ORDER BY job"
        );
        let by_kind = format!(
            "SELECT job, kind, count(*), max(number) FROM event INDEXED BY event_by_kind \
             WHERE kind IN ('reading', 'claimed', 'verdict', 'warning', 'job-parked', 'job-resumed', \
             'job-closed') AND {which} GROUP BY kind, job"
        );
        let mut kinds: HashMap<u32, HashMap<String, (u64, i64)>> = HashMap::new();
        let mut statement = self.prepare(&by_kind)?;
        let mut rows = statement.query(params).map_err(failed)?;
        while let Some(row) = rows.next().map_err(failed)? {
            let (job, kind) = (row.get(0).map_err(failed)?, row.get(1).map_err(failed)?);
            let told = (count(row, 2).map_err(failed)?, row.get(3).map_err(failed)?);
            kinds.entry(job).or_default().insert(kind, told);
        }
        let mut statement = self.prepare(&all)?;
        let jobs = statement
            .query_map(params, |row| Ok((row.get::<_, u32>(0)?, count(row, 1)?, count(row, 2)?)))
            .and_then(Iterator::collect::<Result<Vec<_>, _>>)
            .map_err(failed)?;
        jobs.into_iter()
            .map(|(job, first, entries)| {
                let kinds = kinds.remove(&job).unwrap_or_default();
                let counted = |kind: &str| kinds.get(kind).map_or(0, |(count, _)| *count);
                let last = |kind: &str| kinds.get(kind).map(|(_, last)| *last);
                let mut overview = JobOverview {
                    id: JobId(job),
                    plan_name: None,
                    started: Stamp(0),
                    closed: None,
                    parked: None,
                    entries,
                    readings: counted("reading") + counted("claimed"),
                    verdicts: counted("verdict"),
                    warnings: counted("warning"),
                    said_by: Vec::new(),
                };
                match self.entry(first)? {
                    Some(Ok(entry)) => {
                        overview.started = entry.at;
                        if let Event::JobStarted { plan, .. } = entry.event {
                            overview.plan_name = Some(plan.name);
                        }
                    }
                    _ => overview.started = Stamp(self.time_of(first as i64)?),
                }
                overview.said_by = self.said_by(overview.id)?;
                if let Some(closed) = last("job-closed") {
                    overview.closed = self.closing(closed)?;
                }
                let parked = last("job-parked").filter(|at| Some(*at) > last("job-resumed"));
                if let Some(parked) = parked.filter(|_| last("job-closed").is_none()) {
                    overview.parked = Some(Stamp(self.time_of(parked)?));
                }
                Ok(overview)
            })
            .collect()
    }

    /// The highest sequence number kept of one boot of an adapter.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn last_sequence(&self, serial: &str, epoch: u32) -> Result<Option<u32>, JournalError> {
        self.one(
            "SELECT max(sequence) FROM event \
             WHERE serial = ?1 AND epoch = ?2 AND sequence IS NOT NULL",
            (serial, epoch),
        )
    }

    /// The boot of an adapter that the last kept of its numbered readings came from.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn last_epoch(&self, serial: &str) -> Result<Option<u32>, JournalError> {
        self.prepare(
            "SELECT epoch FROM event WHERE serial = ?1 AND sequence IS NOT NULL \
             ORDER BY number DESC LIMIT 1",
        )?
        .query_row([serial], |row| row.get(0))
        .optional()
        .map_err(|error| self.failed(error))
    }

    /// The sequence numbers within `range` of which no reading is kept, as ranges in order. Those known
    /// to be lost for good are among them.
    ///
    /// # Errors
    /// What the database refuses.
    pub fn missing(
        &self,
        serial: &str,
        epoch: u32,
        range: RangeInclusive<u32>,
    ) -> Result<Vec<RangeInclusive<u32>>, JournalError> {
        let mut statement = self.prepare(
            "SELECT sequence FROM event WHERE serial = ?1 AND epoch = ?2 \
             AND sequence BETWEEN ?3 AND ?4 ORDER BY sequence",
        )?;
        let kept = statement
            .query_map((serial, epoch, range.start(), range.end()), |row| row.get::<_, u32>(0))
            .and_then(Iterator::collect::<Result<Vec<_>, _>>)
            .map_err(|error| self.failed(error))?;
        let mut missing = Vec::new();
        let mut next = u64::from(*range.start());
        for sequence in kept {
            if u64::from(sequence) > next {
                missing.push(next as u32..=sequence - 1);
            }
            next = u64::from(sequence) + 1;
        }
        if next <= u64::from(*range.end()) {
            missing.push(next as u32..=*range.end());
        }
        Ok(missing)
    }

    pub(super) fn failed(&self, error: rusqlite::Error) -> JournalError {
        JournalError::sqlite(&self.path, error)
    }

    fn said_by(&self, job: JobId) -> Result<Vec<String>, JournalError> {
        let mut statement = self.prepare(
            "SELECT DISTINCT personal.text FROM event CROSS JOIN personal ON personal.event = event.number \
             WHERE event.job = ?1 AND event.kind IN ('mark', 'given', 'photo', 'reading') AND personal.field = ?2 \
             ORDER BY personal.text",
        )?;
        statement
            .query_map((job.0, rows::field_name(PersonalField::Operator)), |row| row.get(0))
            .and_then(Iterator::collect)
            .map_err(|error| self.failed(error))
    }

    fn closing(&self, number: i64) -> Result<Option<Closing>, JournalError> {
        let at = self.time_of(number)?;
        let mut closing = Closing { at: Stamp(at), complete: None, open_reason: None };
        if let Some(Ok(entry)) = self.entry(number.unsigned_abs())?
            && let Event::JobClosed { open_reason, summary } = entry.event
        {
            closing.complete = Some(summary.complete);
            closing.open_reason = open_reason;
        }
        Ok(Some(closing))
    }

    fn time_of(&self, number: i64) -> Result<i64, JournalError> {
        self.one("SELECT at_us FROM event WHERE number = ?1", [number])
    }

    fn list(&self, which: &str, params: impl Params) -> Result<Vec<Listed>, JournalError> {
        let mut statement = self.prepare(&format!("SELECT {COLUMNS} FROM event {which}"))?;
        let mut found = statement.query(params).map_err(|error| self.failed(error))?;
        let mut entries = Vec::new();
        while let Some(row) = found.next().map_err(|error| self.failed(error))? {
            let row = Row::read(row).map_err(|error| self.failed(error))?;
            let texts = texts_of(&self.conn, row.number).map_err(|error| self.failed(error))?;
            let texts = texts.into_iter().map(|kept| (kept.place, kept.text)).collect();
            entries.push(row.entry(texts));
        }
        Ok(entries)
    }

    fn one<T: rusqlite::types::FromSql>(
        &self,
        sql: &str,
        params: impl Params,
    ) -> Result<T, JournalError> {
        self.prepare(sql)?.query_row(params, |row| row.get(0)).map_err(|error| self.failed(error))
    }

    fn prepare(&self, sql: &str) -> Result<rusqlite::CachedStatement<'_>, JournalError> {
        self.conn.prepare_cached(sql).map_err(|error| self.failed(error))
    }
}

/// A personal text that is still there.
#[derive(Debug)]
pub(super) struct KeptText {
    pub(super) place: usize,
    pub(super) field: String,
    pub(super) salt: Vec<u8>,
    pub(super) text: String,
}

/// The texts that are still there of one entry.
pub(super) fn texts_of(conn: &Connection, number: i64) -> rusqlite::Result<Vec<KeptText>> {
    conn.prepare_cached("SELECT place, field, salt, text FROM personal WHERE event = ?1")?
        .query_map([number], |row| {
            let place: u32 = row.get(0)?;
            Ok(KeptText {
                place: place as usize,
                field: row.get(1)?,
                salt: row.get(2)?,
                text: row.get(3)?,
            })
        })?
        .collect()
}

/// The last entry's number and hash.
pub(super) fn head_of(conn: &Connection) -> rusqlite::Result<Head> {
    conn.prepare_cached("SELECT number, hash FROM event ORDER BY number DESC LIMIT 1")?
        .query_row([], |row| Ok(Head { length: count(row, 0)?, hash: row.get(1)? }))
        .optional()
        .map(|head| head.unwrap_or(Head::EMPTY))
}

/// The row that keeps the reading with this key.
pub(super) fn find_row(conn: &Connection, key: &ReadingKey) -> rusqlite::Result<Option<Row>> {
    let columns = rows::columns_of(key);
    let (which, first, second) = match key {
        ReadingKey::Numbered { .. } => {
            ("epoch = ?2 AND sequence = ?3", columns.epoch, columns.sequence)
        }
        ReadingKey::Arrival { .. } | ReadingKey::Typed { .. } => {
            ("connection = ?2 AND arrival = ?3", columns.connection, columns.arrival)
        }
    };
    conn.prepare_cached(&format!("SELECT {COLUMNS} FROM event WHERE serial = ?1 AND {which}"))?
        .query_row((columns.serial, first, second), Row::read)
        .optional()
}

/// A number as the database holds it; none is higher.
fn as_stored(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

fn count(row: &rusqlite::Row<'_>, index: usize) -> rusqlite::Result<u64> {
    row.get::<_, i64>(index).map(i64::unsigned_abs)
}
