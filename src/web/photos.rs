//! `/v1/jobs/current/photos`, `/v1/jobs/{job}/photos`: photos of the work.
//!
//! A photo is told only as what its own octets say it is, and browsers are told to believe that.

use crate::core::command::{Command, Done};
use crate::core::event::{Event, JobId, PersonalField};
use crate::core::photo::{LARGEST, NewPhoto, NoPhoto, Photo, unpack};
use crate::core::time::Stamp;
use crate::journal::query::Reader;
use crate::web::Shared;
use crate::web::description::{NOT_KEPT, STOPPING, UNREADABLE};
use crate::web::door::Caller;
use crate::web::jobs::ask_as;
use crate::web::problem::{Kind, Problem};
use crate::web::reading::{entries, off_thread};
use crate::web::request::{Named, Queried};
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::{HeaderName, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use serde::{Deserialize, Serialize};
use std::path::Path;
use utoipa::{IntoParams, ToSchema};

/// What a photo is of.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(super) struct AboutQuery {
    /// A fastener, a joint, or something that is noted as found, as the plan names it.
    about: String,
}

/// A photo of a job.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct PhotoRow {
    /// Number of its entry.
    entry: u64,
    /// When it was kept.
    at: Stamp,
    /// What is known of it.
    photo: Photo,
    /// Name of the screen that it came from; none if it was none, or the name was erased since.
    by: Option<String>,
    /// The photo itself was erased since.
    erased: bool,
}

/// Keeps a photo in the job under way.
#[utoipa::path(post, path = "/v1/jobs/current/photos", operation_id = "attach", tag = "jobs",
    params(AboutQuery),
    request_body(content = Vec<u8>, content_type = "application/octet-stream",
        description = "The file: JPEG, PNG or WebP, at most 2 MiB"),
    responses(
        (status = 200, description = "It was kept", body = Done),
        (status = 400, description = "The address cannot be read"),
        (status = 409, description = "No job is under way"),
        (status = 413, description = "The photo is too large"),
        (status = 422, description = "It is no photo, or the plan has no such name"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn attach(
    State(shared): State<Shared>,
    Extension(caller): Extension<Caller>,
    Queried(AboutQuery { about }): Queried<AboutQuery>,
    file: Result<Bytes, BytesRejection>,
) -> Result<Json<Done>, Problem> {
    let file = file.map_err(|_| refused(NoPhoto::Size(LARGEST + 1)))?;
    let photo = NewPhoto::new(about, &file).map_err(refused)?;
    ask_as(&shared, caller, Command::Attach(Box::new(photo))).await.map(Json)
}

fn refused(why: NoPhoto) -> Problem {
    let (kind, detail) = match why {
        NoPhoto::Kind => (Kind::Photo, why.to_string()),
        NoPhoto::Size(_) => (
            Kind::TooLarge,
            format!(
                "expected a photo of at most {LARGEST} octets, but found more; make it smaller"
            ),
        ),
    };
    Problem::new(kind, detail)
}

/// The photos of a job, oldest first.
#[utoipa::path(get, path = "/v1/jobs/{job}/photos", operation_id = "photos", tag = "jobs",
    params(("job" = u32, Path, description = "Number of the job", maximum = 4_294_967_295_u64)),
    responses(
        (status = 200, description = "The photos, oldest first", body = Vec<PhotoRow>),
        (status = 404, description = "No such job"),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn list(
    State(shared): State<Shared>,
    Named(job): Named<u32>,
) -> Result<Json<Vec<PhotoRow>>, Problem> {
    off_thread(move || photos(&shared.journal, JobId(job))).await.map(Json)
}

fn photos(journal: &Path, job: JobId) -> Result<Vec<PhotoRow>, Problem> {
    let reader = Reader::open(journal).map_err(|error| Problem::journal(error.to_string()))?;
    let rows = entries(&reader, job)?.into_iter().filter_map(|entry| {
        let Event::Photo(photo) = &entry.event else { return None };
        Some(PhotoRow {
            entry: entry.number,
            at: entry.at,
            photo: photo.clone(),
            by: entry.text(PersonalField::Operator).map(str::to_owned),
            erased: entry.text(PersonalField::Photo).is_none(),
        })
    });
    Ok(rows.collect())
}

/// One photo.
#[utoipa::path(get, path = "/v1/photos/{entry}", operation_id = "photo", tag = "jobs",
    params(("entry" = u64, Path, description = "Number of its entry", maximum = 9_007_199_254_740_992_u64)),
    responses(
        (status = 200, description = "The file as it was sent", content_type = "image/jpeg", body = Vec<u8>),
        (status = 404, description = "No such photo, or it was erased"),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn show(
    State(shared): State<Shared>,
    Named(entry): Named<u64>,
) -> Result<Response, Problem> {
    let (photo, file) = off_thread(move || file(&shared.journal, entry)).await?;
    let headers: [(HeaderName, &str); 4] = [
        (header::CONTENT_TYPE, photo.format.media_type()),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox"),
        (header::CACHE_CONTROL, "private, no-store"),
    ];
    Ok((StatusCode::OK, headers, file).into_response())
}

fn file(journal: &Path, number: u64) -> Result<(Photo, Vec<u8>), Problem> {
    let broken = |error: &dyn std::error::Error| Problem::journal(error.to_string());
    let reader = Reader::open(journal).map_err(|error| broken(&error))?;
    let entry = reader.entry(number).map_err(|error| broken(&error))?.and_then(Result::ok);
    let kept = entry.as_ref().and_then(|entry| match &entry.event {
        Event::Photo(photo) => Some((photo.clone(), unpack(entry.text(PersonalField::Photo)?)?)),
        _ => None,
    });
    kept.ok_or_else(|| {
        Problem::not_found(format!(
            "expected a photo, but found that entry {number} is none, or was erased; see /v1/jobs/JOB/photos"
        ))
    })
}
