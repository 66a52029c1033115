//! `/v1/jobs/{job}/report.html` and `.json`, and the same for callers in this process.

use crate::core::event::{Entry, Event, JobId};
use crate::core::language::Language;
use crate::core::rebuild::rebuild;
use crate::core::time::Stamp;
use crate::journal::query::Reader;
use crate::report::{Extent, Report, ReportContext, html, json};
use crate::web::Shared;
use crate::web::description::UNREADABLE;
use crate::web::problem::Problem;
use crate::web::reading::{entries, off_thread};
use crate::web::request::{Named, Queried};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::tz::TimeZone;
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};

/// The report of a job, made at `now` from the journal at `journal`.
///
/// # Errors
/// The journal cannot be read, or has no such job.
pub fn report(journal: &std::path::Path, job: JobId, now: Stamp) -> Result<Report, Problem> {
    let reader = Reader::open(journal).map_err(|error| broken(&error))?;
    let head = reader.head().map_err(|error| broken(&error))?;
    built(&reader, entries(&reader, job)?, (head.length, head.hash), job, now)
}

/// The report of a job as it was made at `printed_at`, when the journal had `length` entries. Texts that
/// were erased since are missing.
///
/// # Errors
/// The journal cannot be read, or had no such job.
pub fn report_as_of(
    reader: &Reader,
    job: JobId,
    length: u64,
    printed_at: Stamp,
) -> Result<Report, Problem> {
    let last = reader.entry(length).map_err(|error| broken(&error))?;
    let last = last.ok_or_else(|| Problem::not_found("the journal is not that long"))?;
    let hash = last.map_err(|error| broken(&error))?.hash;
    let mut entries = entries(reader, job)?;
    entries.retain(|entry| entry.number <= length);
    built(reader, entries, (length, hash), job, printed_at)
}

fn built(
    reader: &Reader,
    mut entries: Vec<Entry>,
    chain_head: (u64, [u8; 32]),
    job: JobId,
    printed_at: Stamp,
) -> Result<Report, Problem> {
    let tracker = rebuild(&entries)
        .ok_or_else(|| Problem::journal(format!("the start of job {} is missing", job.0)))?;
    let started = entries.iter().find(|one| matches!(one.event, Event::JobStarted { .. }));
    let closed = entries.iter().find(|one| matches!(one.event, Event::JobClosed { .. }));
    let after = started.map_or(0, |entry| entry.number);
    let before = closed.map_or(u64::MAX, |entry| entry.number);
    let loose = reader
        .loose_readings_between(after, before, chain_head.0)
        .map_err(|error| broken(&error))?;
    entries.extend(loose.into_iter().flatten());
    let certificates = reader.certificates_as_of(chain_head.0).map_err(|error| broken(&error))?;
    entries.extend(certificates.into_iter().flatten());
    let context = ReportContext {
        printed_at,
        time_zone: TimeZone::system(),
        software_version: env!("CARGO_PKG_VERSION").to_owned(),
        chain_head,
        job,
    };
    Report::build(&entries, tracker.plan(), &tracker.summary(), &context)
        .map_err(|error| broken(&error))
}

fn broken(error: &dyn std::error::Error) -> Problem {
    Problem::journal(error.to_string())
}

/// How a page is asked for.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(super) struct PageQuery {
    /// What the page is written in; English without it.
    #[serde(default)]
    #[param(inline)]
    language: Language,
}

/// The report as one HTML page.
#[utoipa::path(get, path = "/v1/jobs/{job}/report.html", operation_id = "report-page", tag = "reports",
    params(
        ("job" = u32, Path, description = "Number of the job", maximum = 4_294_967_295_u64),
        PageQuery
    ),
    responses(
        (status = 200, description = "One page that needs nothing else", content_type = "text/html", body = String),
        (status = 404, description = "No such job"),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn page(
    State(shared): State<Shared>,
    Named(job): Named<u32>,
    Queried(query): Queried<PageQuery>,
) -> Result<Response, Problem> {
    let report = build(shared, job).await?;
    let kind = [(header::CONTENT_TYPE, "text/html; charset=utf-8")];
    Ok((kind, html::render(&report, Extent::Full, query.language)).into_response())
}

/// The report as JSON.
#[utoipa::path(get, path = "/v1/jobs/{job}/report.json", operation_id = "report", tag = "reports",
    params(("job" = u32, Path, description = "Number of the job", maximum = 4_294_967_295_u64)),
    responses(
        (status = 200, description = "The report", body = Document),
        (status = 404, description = "No such job"),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn document(
    State(shared): State<Shared>,
    Named(job): Named<u32>,
) -> Result<Response, Problem> {
    let report = build(shared, job).await?;
    let kind = [(header::CONTENT_TYPE, "application/json")];
    Ok((kind, json::render(&report)).into_response())
}

/// The parts of the report's JSON form. What is in each is told where the report is made.
#[derive(ToSchema)]
#[schema(as = Report)]
#[expect(dead_code, reason = "describes what another type becomes")]
struct Document {
    /// `clampbook-report`.
    #[schema(pattern = "^clampbook-report$")]
    format: String,
    /// Grows only when a field changes its meaning.
    version: u32,
    /// What stands out: what is open first.
    #[schema(value_type = Object)]
    outcome: (),
    /// The job.
    #[schema(value_type = Object)]
    job: (),
    /// What it was done on, as stated.
    #[schema(value_type = Object)]
    vehicle: (),
    /// What was asked for.
    #[schema(value_type = Object)]
    plan: (),
    /// What measured.
    #[schema(value_type = Vec<Object>)]
    adapters: (),
    /// Conditions and whether they were confirmed.
    #[schema(value_type = Vec<Object>)]
    holds: (),
    /// The steps, in plan order.
    #[schema(value_type = Vec<Object>)]
    steps: (),
    /// Warnings, oldest first.
    #[schema(value_type = Vec<Object>)]
    warnings: (),
    /// What could not be known, in sentences.
    not_known: Vec<String>,
    /// What to bear in mind, in sentences.
    cautions: Vec<String>,
}

async fn build(shared: Shared, job: u32) -> Result<Report, Problem> {
    off_thread(move || report(&shared.journal, JobId(job), (shared.now)())).await
}
