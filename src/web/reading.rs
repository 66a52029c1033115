//! What the journal says of jobs, for callers.

use crate::core::event::{Entry, Event, JobId, PersonalField, ReadingKey, Summary};
use crate::core::rebuild::rebuild;
use crate::core::snapshot::Snapshot;
use crate::core::time::Stamp;
use crate::core::tracker::Tracker;
use crate::journal::query::{JobOverview, Reader};
use crate::web::problem::{Kind, Problem};
use serde::{Deserialize, Serialize};
use std::path::Path;
use utoipa::ToSchema;

/// A job in a list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct JobRow {
    /// Its number.
    pub job: u32,
    /// What its plan calls itself; none if this program cannot understand it.
    pub plan: Option<String>,
    /// When it was started (RFC 3339).
    pub started: String,
    /// When it was closed (RFC 3339); none while it is open.
    pub closed: Option<String>,
    /// Since when it is parked (RFC 3339); none if it is not.
    pub parked: Option<String>,
    /// Nothing of the plan was open when it was closed.
    pub complete: Option<bool>,
    /// How many readings it has.
    pub readings: u64,
    /// How many warnings it has.
    pub warnings: u64,
    /// Names of the screens on which something was said in it.
    #[serde(default)]
    pub said_by: Vec<String>,
}

/// A reading that belongs to no job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct LooseRow {
    /// Number of the entry that keeps it.
    pub entry: u64,
    /// When its peak was (RFC 3339).
    pub at: String,
    /// The same in microseconds since the Unix epoch.
    pub at_us: i64,
    /// The adapter's short id.
    pub adapter: String,
    /// The peak, N·m, signed.
    pub peak_nm: f64,
    /// A person typed it: nothing was measured.
    pub typed: bool,
}

impl LooseRow {
    /// When its peak was.
    #[must_use]
    pub fn stamp(&self) -> Stamp {
        Stamp(self.at_us)
    }
}

impl JobRow {
    /// True if it is neither closed nor parked.
    #[must_use]
    pub fn is_under_way(&self) -> bool {
        self.closed.is_none() && self.parked.is_none()
    }

    /// True if it waits to be resumed.
    #[must_use]
    pub fn is_parked(&self) -> bool {
        self.parked.is_some()
    }
}

/// Where a job stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct JobState {
    /// The job.
    pub job: JobRow,
    /// Why it was closed with something open, unless that was erased.
    pub open_reason: Option<String>,
    /// Where it stands, counted.
    pub summary: Summary,
    /// Where it stands, fastener by fastener.
    pub snapshot: Snapshot,
}

/// One job as kept.
pub(super) struct KeptJob {
    pub(super) entries: Vec<Entry>,
    pub(super) tracker: Tracker,
    pub(super) row: JobRow,
}

/// Every job of the journal, oldest first.
///
/// # Errors
/// The journal cannot be read.
pub fn jobs(journal: &Path) -> Result<Vec<JobRow>, Problem> {
    let reader = Reader::open(journal).map_err(|error| Problem::journal(error.to_string()))?;
    let jobs = reader.jobs().map_err(|error| Problem::journal(error.to_string()))?;
    Ok(jobs.into_iter().map(row).collect())
}

/// Jobs on a page of a list.
pub const JOBS_A_PAGE: u32 = 50;

/// A page of the jobs, the newest page being 1; on it the oldest first. And how many pages there are.
///
/// # Errors
/// The journal cannot be read.
pub fn jobs_page(journal: &Path, page: u32) -> Result<(Vec<JobRow>, u32), Problem> {
    let broken = |error: &dyn std::error::Error| Problem::journal(error.to_string());
    let reader = Reader::open(journal).map_err(|error| broken(&error))?;
    let last = reader.last_job().map_err(|error| broken(&error))?.map_or(0, |JobId(job)| job);
    let passed = JOBS_A_PAGE.saturating_mul(page.saturating_sub(1));
    let end = last.saturating_sub(passed);
    let start = end.saturating_sub(JOBS_A_PAGE - 1).max(1);
    let jobs = match end {
        0 => Vec::new(),
        _ => reader.jobs_from(start..=end).map_err(|error| broken(&error))?,
    };
    Ok((jobs.into_iter().map(row).collect(), last.div_ceil(JOBS_A_PAGE)))
}

/// The job under way; otherwise the newest.
///
/// # Errors
/// The journal cannot be read.
pub fn newest(journal: &Path) -> Result<Option<JobId>, Problem> {
    let broken = |error: &dyn std::error::Error| Problem::journal(error.to_string());
    let reader = Reader::open(journal).map_err(|error| broken(&error))?;
    match reader.open_job().map_err(|error| broken(&error))? {
        Some(job) => Ok(Some(job)),
        None => reader.last_job().map_err(|error| broken(&error)),
    }
}

/// The readings that belong to no job, oldest first. One that this program cannot understand is left out.
///
/// # Errors
/// The journal cannot be read.
pub fn loose(journal: &Path) -> Result<Vec<LooseRow>, Problem> {
    let reader = Reader::open(journal).map_err(|error| Problem::journal(error.to_string()))?;
    let loose = reader.loose_readings().map_err(|error| Problem::journal(error.to_string()))?;
    let row = |entry: Entry| match entry.event {
        Event::Reading { key, at, reading, .. } => Some(LooseRow {
            entry: entry.number,
            at: moment(at),
            at_us: at.0,
            adapter: reading.adapter,
            peak_nm: reading.peak.nm(),
            typed: matches!(key, ReadingKey::Typed { .. }),
        }),
        _ => None,
    };
    Ok(loose.into_iter().flatten().filter_map(row).collect())
}

/// Where one job stands.
///
/// # Errors
/// The journal cannot be read, or has no such job.
pub fn job(journal: &Path, job: JobId) -> Result<JobState, Problem> {
    let reader = Reader::open(journal).map_err(|error| Problem::journal(error.to_string()))?;
    let kept = kept(&reader, job)?;
    Ok(JobState {
        job: kept.row,
        open_reason: kept.entries.iter().rev().find_map(open_reason),
        summary: kept.tracker.summary(),
        snapshot: kept.tracker.snapshot(),
    })
}

pub(super) fn kept(reader: &Reader, job: JobId) -> Result<KeptJob, Problem> {
    let entries = entries(reader, job)?;
    let overview = reader.job(job).map_err(|error| Problem::journal(error.to_string()))?;
    let row = overview.map(row).ok_or_else(|| no_job(job))?;
    let tracker = rebuild(&entries)
        .ok_or_else(|| Problem::journal(format!("the start of job {} is missing", job.0)))?;
    Ok(KeptJob { entries, tracker, row })
}

/// Every entry of a job.
pub(super) fn entries(reader: &Reader, job: JobId) -> Result<Vec<Entry>, Problem> {
    let broken = |error: &dyn std::error::Error| Problem::journal(error.to_string());
    let listed = reader.entries_of_job(job).map_err(|error| broken(&error))?;
    if listed.is_empty() {
        return Err(no_job(job));
    }
    listed.into_iter().collect::<Result<Vec<_>, _>>().map_err(|error| broken(&error))
}

fn no_job(job: JobId) -> Problem {
    Problem::not_found(format!(
        "expected a job of the journal, but found no job {}; see `clampbook job list`",
        job.0
    ))
}

fn open_reason(entry: &Entry) -> Option<String> {
    let Event::JobClosed { .. } = entry.event else {
        return None;
    };
    let mut notes = entry.personal.iter().filter(|(field, _)| *field == PersonalField::Note);
    notes.next().and_then(|(_, text)| text.clone())
}

/// Runs what may wait for the disk where it holds up nobody.
pub(super) async fn off_thread<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    match tokio::task::spawn_blocking(work).await {
        Ok(result) => result,
        // Never cancelled, so that it broke down.
        Err(_) => Err(Problem::new(
            Kind::Defect,
            "nothing was read; what went wrong is in the daemon's log, please report it",
        )),
    }
}

fn row(overview: JobOverview) -> JobRow {
    let closed = overview.closed;
    JobRow {
        job: overview.id.0,
        plan: overview.plan_name,
        started: moment(overview.started),
        complete: closed.as_ref().and_then(|closing| closing.complete),
        closed: closed.map(|closing| moment(closing.at)),
        parked: overview.parked.map(moment),
        readings: overview.readings,
        warnings: overview.warnings,
        said_by: overview.said_by,
    }
}

fn moment(stamp: Stamp) -> String {
    jiff::Timestamp::from_microsecond(stamp.0)
        .map_or_else(|_| format!("{} µs", stamp.0), |moment| format!("{moment:.3}"))
}
