//! `/v1/jobs`: list, show, start, mark, park, resume, close.

use crate::core::command::{Command, Done, StartJob};
use crate::core::event::{JobId, Mark, Origin, Say};
use crate::web::description::{EXAMPLE_PLAN, NOT_KEPT, STOPPING, UNREADABLE};
use crate::web::door::Caller;
use crate::web::problem::{Kind, Problem};
use crate::web::reading::{self, JobRow, JobState};
use crate::web::request::{Body, Named, whole_or_none};
use crate::web::{Asked, Shared};
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::IntoResponse;
use axum::{Extension, Json};
use serde::{Deserialize, Serialize};
use tokio::sync::oneshot;
use utoipa::ToSchema;

/// What a job is started from.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StartRequest {
    /// The whole plan file.
    pub plan: String,
    /// The vehicle's identification number; otherwise what the plan says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vin: Option<String>,
    /// The vehicle's registration plate; otherwise what the plan says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plate: Option<String>,
}

/// What the operator said.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct MarkRequest {
    /// `say` and its argument, as in a recording's marks.
    #[serde(flatten)]
    pub say: Say,
    /// By what means. What comes from a screen is always the page's.
    pub origin: Origin,
}

/// How a job is closed.
#[derive(Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseRequest {
    /// Why, if something is open.
    #[serde(default)]
    pub open_reason: Option<String>,
}

/// Which job is gone on with.
#[derive(Debug, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ResumeRequest {
    /// Its number; otherwise the one parked last.
    #[serde(default, deserialize_with = "whole_or_none")]
    #[schema(maximum = 4_294_967_295_u64)]
    pub job: Option<u32>,
}

/// The jobs of the journal, oldest first.
#[utoipa::path(get, path = "/v1/jobs", operation_id = "jobs", tag = "jobs",
    responses(
        (status = 200, description = "The jobs, oldest first", body = Vec<JobRow>),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn list(State(shared): State<Shared>) -> Result<Json<Vec<JobRow>>, Problem> {
    reading::off_thread(move || reading::jobs(&shared.journal)).await.map(Json)
}

/// Where one job stands.
#[utoipa::path(get, path = "/v1/jobs/{job}", operation_id = "job", tag = "jobs",
    params(("job" = u32, Path, description = "Number of the job", maximum = 4_294_967_295_u64)),
    responses(
        (status = 200, description = "Where the job stands", body = JobState),
        (status = 404, description = "No such job"),
        (status = 500, description = UNREADABLE)
    ))]
pub(super) async fn show(
    State(shared): State<Shared>,
    Named(job): Named<u32>,
) -> Result<Json<JobState>, Problem> {
    reading::off_thread(move || reading::job(&shared.journal, JobId(job))).await.map(Json)
}

/// Starts a job.
#[utoipa::path(post, path = "/v1/jobs", operation_id = "start", tag = "jobs",
    request_body(content = StartRequest, example = json!({"plan": EXAMPLE_PLAN})),
    responses(
        (status = 201, description = "The job was started", body = Done,
            headers(("Location" = String, description = "Where the job is shown")),
            links(
                ("show" = (operation_id = "job", parameters(("job" = "$response.body#/job")))),
                ("mark" = (operation_id = "mark")),
                ("park" = (operation_id = "park")),
                ("close" = (operation_id = "close"))
            )),
        (status = 409, description = "Another job is under way"),
        (status = 422, description = "The plan has faults, each of which is named"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn start(
    State(shared): State<Shared>,
    Body(request): Body<StartRequest>,
) -> Result<impl IntoResponse, Problem> {
    Ok(created(ask(&shared, Command::Start(Box::new(start_job(request)?))).await?))
}

fn created(done: Done) -> impl IntoResponse {
    let location = match &done {
        Done::Started { job } => Some([(header::LOCATION, format!("/v1/jobs/{}", job.0))]),
        _ => None,
    };
    (StatusCode::CREATED, location, Json(done))
}

/// Starts a job that pulls again what another one tightened.
#[utoipa::path(post, path = "/v1/jobs/{job}/recheck", operation_id = "recheck", tag = "jobs",
    params(("job" = u32, Path, description = "Number of the other job", maximum = 4_294_967_295_u64)),
    responses(
        (status = 201, description = "The job was started", body = Done,
            headers(("Location" = String, description = "Where the job is shown")),
            links(
                ("show" = (operation_id = "job", parameters(("job" = "$response.body#/job")))),
                ("mark" = (operation_id = "mark")),
                ("close" = (operation_id = "close"))
            )),
        (status = 404, description = "No such job"),
        (status = 409, description = "The other job is not closed, or has nothing to be pulled again, or another is under way"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn recheck(
    State(shared): State<Shared>,
    Named(job): Named<u32>,
) -> Result<impl IntoResponse, Problem> {
    let random = rand::random();
    Ok(created(ask(&shared, Command::Recheck { job: JobId(job), random }).await?))
}

/// Keeps a mark in the job under way.
#[utoipa::path(post, path = "/v1/jobs/current/marks", operation_id = "mark", tag = "jobs",
    request_body(content = MarkRequest, examples(
        ("at" = (summary = "I am here now", value = json!({"say": "at", "fastener": "arm-pivot/1", "origin": "page"}))),
        ("stated" = (summary = "Done without the adapter", value = json!({"say": "stated", "fastener": "damper-eye/1", "origin": "page"}))),
        ("opened" = (summary = "Slackened", value = json!({"say": "opened", "fastener": "arm-pivot/1", "origin": "page"}))),
        ("confirm" = (summary = "A condition is met", value = json!({"say": "confirm", "hold": "ride-height", "origin": "page"}))),
        ("renewed" = (summary = "A new part is in", value = json!({"say": "confirm", "hold": "new:arm-pivot/1", "origin": "page"}))),
        ("also-opened" = (summary = "Something else was opened", value = json!({"say": "also-opened", "name": "hose-clip", "origin": "page"}))),
        ("spoiled" = (summary = "Needs a new part", value = json!({"say": "spoiled", "fastener": "arm-pivot/1", "origin": "page"}))),
        ("figure" = (summary = "A hold with its length", value = json!({"say": "figure", "of": "ride-height", "value": "511 mm", "origin": "page"}))),
        ("skip" = (summary = "Left out on purpose", value = json!({"say": "skip", "fastener": "arm-pivot/1", "reason": "part is missing", "origin": "page"}))),
        ("note" = (summary = "A note", value = json!({"say": "note", "text": "new bolt", "origin": "page"}))),
        ("retract" = (summary = "Takes back what was said last", value = json!({"say": "retract", "origin": "page"})))
    )),
    responses(
        (status = 200, description = "The mark was kept", body = Done,
            links(("mark" = (operation_id = "mark")), ("close" = (operation_id = "close")))),
        (status = 409, description = "No job is under way"),
        (status = 422, description = "A name is not in the plan (the nearest are named), or a figure is none"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn mark(
    State(shared): State<Shared>,
    Extension(caller): Extension<Caller>,
    Body(MarkRequest { say, origin }): Body<MarkRequest>,
) -> Result<Json<Done>, Problem> {
    let origin = match caller {
        Caller::Account => origin,
        // A screen speaks for itself and for the pedal that it was taught.
        Caller::Screen(_) if origin == Origin::Pedal => Origin::Pedal,
        Caller::Screen(_) => Origin::Page,
    };
    ask_as(&shared, caller, Command::Mark(Mark { say, origin })).await.map(Json)
}

/// Closes the job under way.
#[utoipa::path(post, path = "/v1/jobs/current/close", operation_id = "close", tag = "jobs",
    request_body(content = CloseRequest, example = json!({"open_reason": "a part is missing"})),
    responses(
        (status = 200, description = "The job was closed", body = Done,
            links(("report" = (operation_id = "report", parameters(("job" = "$response.body#/job")))))),
        (status = 409, description = "Something is open and no reason was given, or no job is under way"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn close(
    State(shared): State<Shared>,
    Body(CloseRequest { open_reason }): Body<CloseRequest>,
) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Close { open_reason }).await.map(Json)
}

/// Parks the job under way.
#[utoipa::path(post, path = "/v1/jobs/current/park", operation_id = "park", tag = "jobs",
    responses(
        (status = 200, description = "The job is parked", body = Done,
            links(("resume" = (operation_id = "resume")))),
        (status = 409, description = "No job is under way"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn park(State(shared): State<Shared>) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Park).await.map(Json)
}

/// Goes on with a parked job.
#[utoipa::path(post, path = "/v1/jobs/resume", operation_id = "resume", tag = "jobs",
    request_body(content = ResumeRequest, example = json!({"job": 1})),
    responses(
        (status = 200, description = "The job is under way again", body = Done,
            links(
                ("mark" = (operation_id = "mark")),
                ("park" = (operation_id = "park")),
                ("close" = (operation_id = "close"))
            )),
        (status = 409, description = "It is not parked, or another is under way"),
        (status = 503, description = STOPPING),
        (status = 507, description = NOT_KEPT)
    ))]
pub(super) async fn resume(
    State(shared): State<Shared>,
    Body(ResumeRequest { job }): Body<ResumeRequest>,
) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Resume { job: job.map(JobId) }).await.map(Json)
}

/// Puts a command to the daemon.
pub(super) async fn ask(shared: &Shared, command: Command) -> Result<Done, Problem> {
    ask_as(shared, Caller::Account, command).await
}

/// Puts a command to the daemon whose record says on which screen it was given.
pub(super) async fn ask_as(
    shared: &Shared,
    caller: Caller,
    command: Command,
) -> Result<Done, Problem> {
    let by = match caller {
        Caller::Account => None,
        Caller::Screen(number) => shared.sessions.name(number),
    };
    let (answer, answered) = oneshot::channel();
    let asked = Asked { command, by, answer };
    shared.commands.send(asked).await.map_err(|_| Problem::stopping())?;
    Ok(answered.await.map_err(|_| Problem::stopping())??)
}

/// What a job is started from, out of a plan file's text and what was said beside it.
///
/// # Errors
/// The plan cannot be used; every fault is named.
pub fn start_job(request: StartRequest) -> Result<StartJob, Problem> {
    let StartRequest { plan, vin, plate } = request;
    let mut start = StartJob::new(plan, rand::random()).map_err(|faults| Problem {
        faults: faults.iter().map(|fault| format!("plan:{fault}")).collect(),
        ..Problem::new(
            Kind::Plan,
            "expected a plan without errors; correct the faults named, then start the job again",
        )
    })?;
    let vehicle = &mut start.vehicle;
    for (place, said) in [(&mut vehicle.vin, vin), (&mut vehicle.plate, plate)] {
        let said = said.map(|said| said.trim().to_owned()).filter(|said| !said.is_empty());
        *place = said.or(place.take());
    }
    Ok(start)
}
