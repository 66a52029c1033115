//! `/v1/typed`, `/v1/loose`, `/v1/jobs/current/claim`: values that are typed, and readings without a job.

use crate::core::command::{Command, Done};
use crate::core::typed::{self, Typed};
use crate::core::units::TorqueUnit;
use crate::web::Shared;
use crate::web::description::{NOT_KEPT, STOPPING, UNREADABLE};
use crate::web::door::Caller;
use crate::web::jobs::{ask, ask_as};
use crate::web::problem::{Kind, Problem};
use crate::web::reading::{self, LooseRow};
use crate::web::request::{Body, whole_list};
use axum::extract::State;
use axum::{Extension, Json};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// One typed line.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TypedRequest {
    /// A torque, `low`, `done`, `at NAME`, `yes`, `undo`, `note TEXT` or `close`.
    pub line: String,
    /// For a number that names no unit: `N·m`, `lbf·ft`, `lbf·in`, `ozf·in`, `kgf·m` or `kgf·cm`.
    #[serde(default)]
    pub unit: Option<TorqueUnit>,
}

/// Which readings are claimed.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ClaimRequest {
    /// Numbers of their entries.
    #[serde(deserialize_with = "whole_list")]
    #[schema(value_type = Vec<EntryNumber>)]
    pub entries: Vec<u64>,
}

/// Number of an entry of the journal.
#[derive(ToSchema)]
#[schema(minimum = 0, maximum = 9_007_199_254_740_992_u64)]
#[expect(dead_code, reason = "describes a number")]
struct EntryNumber(u64);

/// Keeps what was typed.
#[utoipa::path(post, path = "/v1/typed", operation_id = "typed", tag = "jobs",
    request_body(content = TypedRequest, examples(
        ("value" = (summary = "What a tool showed", value = json!({"line": "122 at damper-eye", "unit": "N·m"}))),
        ("low" = (summary = "It stayed below", value = json!({"line": "low at damper-eye"}))),
        ("done" = (summary = "Done with a tool that shows nothing", value = json!({"line": "done at damper-eye"}))),
        ("yes" = (summary = "The condition is met", value = json!({"line": "yes ride-height"})))
    )),
    responses(
        (status = 200, description = "It was kept, with what is concluded and what comes next", body = Done,
            links(("next" = (operation_id = "typed")), ("close" = (operation_id = "close")))),
        (status = 409, description = "No job is under way, or something is open"),
        (status = 422, description = "The line is not understood, or names what the plan has not"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn typed(
    State(shared): State<Shared>,
    Extension(caller): Extension<Caller>,
    Body(TypedRequest { line, unit }): Body<TypedRequest>,
) -> Result<Json<Done>, Problem> {
    let command = Command::Type { line: read(&line)?, unit };
    ask_as(&shared, caller, command).await.map(Json)
}

/// Says again what was said last, by every voice that speaks.
#[utoipa::path(post, path = "/v1/repeat", operation_id = "repeat", tag = "jobs",
    responses(
        (status = 200, description = "It is said again", body = Done),
        (status = 409, description = "Nothing was said yet"),
        (status = 503, description = STOPPING)
    ))]
pub(super) async fn repeat(State(shared): State<Shared>) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Repeat).await.map(Json)
}

/// The readings that belong to no job.
#[utoipa::path(get, path = "/v1/loose", operation_id = "loose", tag = "jobs",
    responses(
        (status = 200, description = "Readings without a job, oldest first", body = Vec<LooseRow>),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn loose(State(shared): State<Shared>) -> Result<Json<Vec<LooseRow>>, Problem> {
    reading::off_thread(move || reading::loose(&shared.journal)).await.map(Json)
}

/// Puts readings without a job into the one under way.
#[utoipa::path(post, path = "/v1/jobs/current/claim", operation_id = "claim", tag = "jobs",
    request_body(content = ClaimRequest, example = json!({"entries": [1]})),
    responses(
        (status = 200, description = "They belong to the job now", body = Done),
        (status = 409, description = "No job is under way, or one of them belongs to a job"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn claim(
    State(shared): State<Shared>,
    Body(ClaimRequest { entries }): Body<ClaimRequest>,
) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Claim { entries }).await.map(Json)
}

/// What a line says.
///
/// # Errors
/// It is not understood, or says nothing.
pub fn read(line: &str) -> Result<Typed, Problem> {
    let refused = |detail: String| Problem::new(Kind::Typed, detail);
    typed::parse(line).map_err(|error| refused(error.to_string()))?.ok_or_else(|| {
        refused("expected a value or a word, but found an empty line; leave it out".to_owned())
    })
}
