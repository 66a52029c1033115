//! `/v1/typed`, `/v1/loose`, `/v1/jobs/current/claim`: values that are typed, and readings without a job.

use crate::core::command::{Command, Done};
use crate::core::typed::{self, Typed};
use crate::core::units::TorqueUnit;
use crate::web::Shared;
use crate::web::jobs::{ask, unreadable};
use crate::web::problem::Problem;
use crate::web::reading::{self, LooseRow};
use axum::Json;
use axum::extract::State;
use axum::extract::rejection::JsonRejection;
use axum::http::StatusCode;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One typed line.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct TypedRequest {
    /// A torque, `low`, `done`, `at NAME`, `yes`, `undo`, `note TEXT` or `close`.
    pub line: String,
    /// For a number that names no unit: `N·m`, `lbf·ft`, `lbf·in`, `kgf·m` or `kgf·cm`.
    #[serde(default)]
    #[schema(value_type = Option<String>)]
    pub unit: Option<TorqueUnit>,
}

/// Which readings are claimed.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct ClaimRequest {
    /// Numbers of their entries.
    pub entries: Vec<u64>,
}

/// Keeps what was typed.
#[utoipa::path(post, path = "/v1/typed", request_body = TypedRequest,
    responses((status = 200, description = "It was kept, with what is concluded and what comes next", body = Object), (status = 409, description = "No job is under way, or something is open", body = Problem), (status = 422, description = "The line is not understood", body = Problem)))]
pub(super) async fn typed(
    State(shared): State<Shared>,
    body: Result<Json<TypedRequest>, JsonRejection>,
) -> Result<Json<Done>, Problem> {
    let Json(TypedRequest { line, unit }) = body.map_err(unreadable)?;
    let line = read(&line)?;
    ask(&shared, Command::Type { line, unit }).await.map(Json)
}

/// The readings that belong to no job.
#[utoipa::path(get, path = "/v1/loose", responses((status = 200, description = "Readings without a job, oldest first", body = Vec<LooseRow>)))]
pub(super) async fn loose(State(shared): State<Shared>) -> Result<Json<Vec<LooseRow>>, Problem> {
    reading::off_thread(move || reading::loose(&shared.journal)).await.map(Json)
}

/// Puts readings without a job into the one under way.
#[utoipa::path(post, path = "/v1/jobs/current/claim", request_body = ClaimRequest,
    responses((status = 200, description = "They belong to the job now", body = Object), (status = 409, description = "No job is under way, or one of them belongs to a job", body = Problem)))]
pub(super) async fn claim(
    State(shared): State<Shared>,
    body: Result<Json<ClaimRequest>, JsonRejection>,
) -> Result<Json<Done>, Problem> {
    let Json(ClaimRequest { entries }) = body.map_err(unreadable)?;
    ask(&shared, Command::Claim { entries }).await.map(Json)
}

/// What a line says.
///
/// # Errors
/// It is not understood, or says nothing.
pub fn read(line: &str) -> Result<Typed, Problem> {
    let refused = |detail: String| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "/problems/typed",
            "The line is not understood",
            detail,
        )
    };
    typed::parse(line).map_err(|error| refused(error.to_string()))?.ok_or_else(|| {
        refused("expected a value or a word, but found an empty line; leave it out".to_owned())
    })
}
