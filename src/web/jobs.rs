//! `/v1/jobs`: list, show, start, mark, close.

use crate::core::command::{Command, Done, StartJob};
use crate::core::event::{JobId, Mark, Origin, Say};
use crate::web::problem::Problem;
use crate::web::reading::{self, JobRow, JobState};
use crate::web::{Asked, Shared};
use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use serde::{Deserialize, Serialize};
use tokio::sync::oneshot;
use utoipa::ToSchema;

/// What a job is started from.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct StartRequest {
    /// The whole plan file.
    pub plan: String,
}

/// What the operator said.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct MarkRequest {
    /// `say` and its argument, as in a recording's marks.
    #[serde(flatten)]
    #[schema(value_type = Object)]
    pub say: Say,
    /// By what means.
    #[schema(value_type = String)]
    pub origin: Origin,
}

/// How a job is closed.
#[derive(Debug, Default, Serialize, Deserialize, ToSchema)]
pub struct CloseRequest {
    /// Why, if something is open.
    #[serde(default)]
    pub open_reason: Option<String>,
}

/// Which job is gone on with.
#[derive(Debug, Default, Serialize, Deserialize, ToSchema)]
pub struct ResumeRequest {
    /// Its number; otherwise the one parked last.
    #[serde(default)]
    pub job: Option<u32>,
}

/// The jobs of the journal, oldest first.
#[utoipa::path(get, path = "/v1/jobs", responses((status = 200, description = "The jobs, oldest first", body = Vec<JobRow>)))]
pub(super) async fn list(State(shared): State<Shared>) -> Result<Json<Vec<JobRow>>, Problem> {
    reading::off_thread(move || reading::jobs(&shared.journal)).await.map(Json)
}

/// Where one job stands.
#[utoipa::path(get, path = "/v1/jobs/{job}", params(("job" = u32, Path, description = "Number of the job")),
    responses((status = 200, description = "Where the job stands", body = JobState), (status = 404, description = "No such job", body = Problem)))]
pub(super) async fn show(
    State(shared): State<Shared>,
    Path(job): Path<u32>,
) -> Result<Json<JobState>, Problem> {
    reading::off_thread(move || reading::job(&shared.journal, JobId(job))).await.map(Json)
}

/// Starts a job.
#[utoipa::path(post, path = "/v1/jobs", request_body = StartRequest,
    responses((status = 201, description = "The job was started", body = Object), (status = 409, description = "Another job is under way", body = Problem), (status = 422, description = "The plan has faults", body = Problem)))]
pub(super) async fn start(
    State(shared): State<Shared>,
    body: Result<Json<StartRequest>, JsonRejection>,
) -> Result<(StatusCode, Json<Done>), Problem> {
    let Json(StartRequest { plan: plan_text }) = body.map_err(unreadable)?;
    let start = start_job(plan_text)?;
    let done = ask(&shared, Command::Start(Box::new(start))).await?;
    Ok((StatusCode::CREATED, Json(done)))
}

/// Keeps a mark in the job under way.
#[utoipa::path(post, path = "/v1/jobs/current/marks", request_body = MarkRequest,
    responses((status = 200, description = "The mark was kept", body = Object), (status = 409, description = "No job is under way", body = Problem), (status = 422, description = "A name is not in the plan", body = Problem)))]
pub(super) async fn mark(
    State(shared): State<Shared>,
    body: Result<Json<MarkRequest>, JsonRejection>,
) -> Result<Json<Done>, Problem> {
    let Json(MarkRequest { say, origin }) = body.map_err(unreadable)?;
    ask(&shared, Command::Mark(Mark { say, origin })).await.map(Json)
}

/// Closes the job under way.
#[utoipa::path(post, path = "/v1/jobs/current/close", request_body = CloseRequest,
    responses((status = 200, description = "The job was closed", body = Object), (status = 409, description = "Something is open, or no job is under way", body = Problem)))]
pub(super) async fn close(
    State(shared): State<Shared>,
    body: Result<Json<CloseRequest>, JsonRejection>,
) -> Result<Json<Done>, Problem> {
    let Json(CloseRequest { open_reason }) = body.map_err(unreadable)?;
    ask(&shared, Command::Close { open_reason }).await.map(Json)
}

/// Parks the job under way.
#[utoipa::path(post, path = "/v1/jobs/current/park",
    responses((status = 200, description = "The job is parked", body = Object), (status = 409, description = "No job is under way", body = Problem)))]
pub(super) async fn park(State(shared): State<Shared>) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Park).await.map(Json)
}

/// Goes on with a parked job.
#[utoipa::path(post, path = "/v1/jobs/resume", request_body = ResumeRequest,
    responses((status = 200, description = "The job is under way again", body = Object), (status = 409, description = "It is not parked, or another is under way", body = Problem)))]
pub(super) async fn resume(
    State(shared): State<Shared>,
    body: Result<Json<ResumeRequest>, JsonRejection>,
) -> Result<Json<Done>, Problem> {
    let Json(ResumeRequest { job }) = body.map_err(unreadable)?;
    ask(&shared, Command::Resume { job: job.map(JobId) }).await.map(Json)
}

pub(super) async fn ask(shared: &Shared, command: Command) -> Result<Done, Problem> {
    let (answer, answered) = oneshot::channel();
    shared.commands.send(Asked { command, answer }).await.map_err(|_| Problem::stopping())?;
    Ok(answered.await.map_err(|_| Problem::stopping())??)
}

/// What a job is started from, out of a plan file's text.
///
/// # Errors
/// The plan cannot be used; every fault is named.
pub fn start_job(plan_text: String) -> Result<StartJob, Problem> {
    StartJob::new(plan_text, rand::random()).map_err(|faults| Problem {
        faults: faults.iter().map(|fault| format!("plan:{fault}")).collect(),
        ..Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "/problems/plan",
            "The plan cannot be used",
            "expected a plan without errors; correct the faults named, then start the job again",
        )
    })
}

pub(super) fn unreadable(rejection: JsonRejection) -> Problem {
    Problem::new(
        rejection.status(),
        "/problems/body",
        "The request cannot be read",
        rejection.body_text(),
    )
}
