//! `/v1/jobs/{job}/report.html` and `.json`, and the same for callers in this process.

use crate::core::event::JobId;
use crate::core::time::Stamp;
use crate::journal::query::Reader;
use crate::report::{Report, ReportContext, html, json};
use crate::web::Shared;
use crate::web::problem::Problem;
use crate::web::reading::{kept, off_thread};
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use jiff::tz::TimeZone;

/// The report of a job, made at `now` from the journal at `journal`.
///
/// # Errors
/// The journal cannot be read, or has no such job.
pub fn report(journal: &std::path::Path, job: JobId, now: Stamp) -> Result<Report, Problem> {
    let broken = |error: &dyn std::error::Error| Problem::journal(error.to_string());
    let reader = Reader::open(journal).map_err(|error| broken(&error))?;
    let mut job_kept = kept(&reader, job)?;
    let loose = reader.loose_readings().map_err(|error| broken(&error))?;
    job_kept.entries.extend(loose.into_iter().flatten());
    let head = reader.head().map_err(|error| broken(&error))?;
    let context = ReportContext {
        printed_at: now,
        time_zone: TimeZone::system(),
        software_version: env!("CARGO_PKG_VERSION").to_owned(),
        chain_head: (head.length, head.hash),
        job,
    };
    Report::build(&job_kept.entries, &job_kept.tracker.summary(), &context)
        .map_err(|error| broken(&error))
}

/// The report as one HTML page.
#[utoipa::path(get, path = "/v1/jobs/{job}/report.html", params(("job" = u32, Path, description = "Number of the job")),
    responses((status = 200, description = "One self-contained page", content_type = "text/html", body = String), (status = 404, description = "No such job", body = Problem)))]
pub(super) async fn page(
    State(shared): State<Shared>,
    Path(job): Path<u32>,
) -> Result<Response, Problem> {
    let report = build(shared, job).await?;
    let kind = [(header::CONTENT_TYPE, "text/html; charset=utf-8")];
    Ok((kind, html::render(&report)).into_response())
}

/// The report as JSON.
#[utoipa::path(get, path = "/v1/jobs/{job}/report.json", params(("job" = u32, Path, description = "Number of the job")),
    responses((status = 200, description = "The report", body = Object), (status = 404, description = "No such job", body = Problem)))]
pub(super) async fn document(
    State(shared): State<Shared>,
    Path(job): Path<u32>,
) -> Result<Response, Problem> {
    let report = build(shared, job).await?;
    let kind = [(header::CONTENT_TYPE, "application/json")];
    Ok((kind, json::render(&report)).into_response())
}

async fn build(shared: Shared, job: u32) -> Result<Report, Problem> {
    off_thread(move || report(&shared.journal, JobId(job), (shared.now)())).await
}
