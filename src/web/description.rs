//! `/openapi.json`: the interface, described for programs.

use crate::web::jobs::{CloseRequest, MarkRequest, ResumeRequest, StartRequest};
use crate::web::problem::Problem;
use crate::web::reading::{JobRow, JobState, LooseRow};
use crate::web::typed::{ClaimRequest, TypedRequest};
use crate::web::{adapters, jobs, reports, state, typed};
use axum::Json;
use utoipa::OpenApi;
use utoipa::openapi::OpenApi as Document;

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Clampbook",
        description = "The daemon's interface on loopback. Every request needs the header `Authorization: Bearer TOKEN`."
    ),
    paths(
        state::state,
        state::events,
        adapters::list,
        adapters::zero,
        adapters::identify,
        jobs::list,
        jobs::show,
        jobs::start,
        jobs::mark,
        typed::typed,
        typed::loose,
        typed::claim,
        jobs::park,
        jobs::resume,
        jobs::close,
        reports::page,
        reports::document
    ),
    components(schemas(
        Problem,
        JobRow,
        JobState,
        StartRequest,
        MarkRequest,
        ResumeRequest,
        LooseRow,
        TypedRequest,
        ClaimRequest,
        CloseRequest
    ))
)]
struct Description;

/// The description.
pub(super) async fn description() -> Json<Document> {
    Json(Description::openapi())
}
