//! `/v1/jobs/{job}/marks`: what the operator said in a job, and on which screen.

use crate::core::event::{Entry, Event, JobId, Origin, PersonalField, Say};
use crate::core::time::Stamp;
use crate::journal::query::Reader;
use crate::web::Shared;
use crate::web::description::UNREADABLE;
use crate::web::problem::Problem;
use crate::web::reading::{entries, off_thread};
use crate::web::request::Named;
use axum::Json;
use axum::extract::State;
use serde::Serialize;
use std::path::Path;
use utoipa::ToSchema;

/// Something that the operator said.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct MarkRow {
    /// When.
    at: Stamp,
    /// What. Words that were erased since are empty.
    said: Say,
    /// By what means.
    origin: Origin,
    /// Name of the screen that it was said on; none if it was none, or the name was erased since.
    by: Option<String>,
}

/// What the operator said in a job, oldest first.
#[utoipa::path(get, path = "/v1/jobs/{job}/marks", operation_id = "marks", tag = "jobs",
    params(("job" = u32, Path, description = "Number of the job", maximum = 4_294_967_295_u64)),
    responses(
        (status = 200, description = "The marks, oldest first", body = Vec<MarkRow>),
        (status = 404, description = "No such job"),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn list(
    State(shared): State<Shared>,
    Named(job): Named<u32>,
) -> Result<Json<Vec<MarkRow>>, Problem> {
    off_thread(move || marks(&shared.journal, JobId(job))).await.map(Json)
}

fn marks(journal: &Path, job: JobId) -> Result<Vec<MarkRow>, Problem> {
    let reader = Reader::open(journal).map_err(|error| Problem::journal(error.to_string()))?;
    Ok(entries(&reader, job)?.iter().filter_map(row).collect())
}

fn row(entry: &Entry) -> Option<MarkRow> {
    let Event::Mark(mark) = &entry.event else { return None };
    let words = || entry.text(PersonalField::Note).unwrap_or_default().to_owned();
    let said = match mark.say.clone() {
        Say::Note { text } if text.is_empty() => Say::Note { text: words() },
        Say::Skip { fastener, reason } if reason.is_empty() => {
            Say::Skip { fastener, reason: words() }
        }
        said => said,
    };
    let by = entry.text(PersonalField::Operator).map(str::to_owned);
    Some(MarkRow { at: entry.at, said, origin: mark.origin, by })
}
