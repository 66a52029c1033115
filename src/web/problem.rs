//! Errors as callers see them: problem details (RFC 9457), of a closed set of kinds.

use crate::core::command::Refusal;
use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// The media type of a problem.
pub(super) const PROBLEM_JSON: &str = "application/problem+json";

/// What went wrong with a request.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
#[schema(example = json!({
    "type": "/problems/no-job",
    "title": "No job is under way",
    "status": 409,
    "detail": "expected a job under way, but found none; start one with `clampbook job start PLAN`"
}))]
pub struct Problem {
    /// What kind, as a relative reference that never changes.
    #[serde(rename = "type")]
    pub kind: Kind,
    /// The kind in words.
    pub title: &'static str,
    /// The HTTP status.
    #[schema(minimum = 400, maximum = 599)]
    pub status: u16,
    /// This very occurrence, and what can be done.
    pub detail: String,
    /// Names of what is open, if that is why.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub open: Box<[String]>,
    /// Names that come nearest to an unknown one.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub nearest: Box<[String]>,
    /// Everything wrong with a plan, one fault a line.
    #[serde(skip_serializing_if = "<[String]>::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub faults: Box<[String]>,
}

/// The kinds of problem. Their references never change; kinds are only added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub enum Kind {
    /// The token is missing or wrong.
    #[serde(rename = "/problems/token")]
    Token,
    /// The request names another host.
    #[serde(rename = "/problems/host")]
    Host,
    /// The request comes from a page of somebody else.
    #[serde(rename = "/problems/origin")]
    Origin,
    /// The key lets nobody in.
    #[serde(rename = "/problems/key")]
    Key,
    /// Too many wrong keys were tried.
    #[serde(rename = "/problems/tries")]
    Tries,
    /// A screen may not do that.
    #[serde(rename = "/problems/not-yours")]
    NotYours,
    /// There is nothing of that name or number.
    #[serde(rename = "/problems/not-found")]
    NotFound,
    /// The address takes other methods.
    #[serde(rename = "/problems/method")]
    Method,
    /// A part of the address cannot be read.
    #[serde(rename = "/problems/address")]
    Address,
    /// The body does not say that it is JSON.
    #[serde(rename = "/problems/not-json")]
    NotJson,
    /// The body is not JSON.
    #[serde(rename = "/problems/malformed")]
    Malformed,
    /// The body is longer than any that makes sense.
    #[serde(rename = "/problems/too-large")]
    TooLarge,
    /// The body is JSON, and not what is described.
    #[serde(rename = "/problems/body")]
    Body,
    /// The plan has faults.
    #[serde(rename = "/problems/plan")]
    Plan,
    /// The plan has no such name.
    #[serde(rename = "/problems/unknown-name")]
    UnknownName,
    /// No job is under way.
    #[serde(rename = "/problems/no-job")]
    NoJob,
    /// Another job is under way.
    #[serde(rename = "/problems/job-under-way")]
    JobUnderWay,
    /// The job is not parked.
    #[serde(rename = "/problems/not-parked")]
    NotParked,
    /// The job is not closed.
    #[serde(rename = "/problems/not-closed")]
    NotClosed,
    /// Nothing of the job is to be pulled again.
    #[serde(rename = "/problems/nothing-to-recheck")]
    NothingToRecheck,
    /// The reading is not without a job.
    #[serde(rename = "/problems/not-loose")]
    NotLoose,
    /// The typed line is not understood.
    #[serde(rename = "/problems/typed")]
    Typed,
    /// The file is no photo.
    #[serde(rename = "/problems/photo")]
    Photo,
    /// Something is still open.
    #[serde(rename = "/problems/still-open")]
    StillOpen,
    /// Nothing was said that could be said again.
    #[serde(rename = "/problems/nothing-said")]
    NothingSaid,
    /// No such adapter is listened to.
    #[serde(rename = "/problems/no-adapter")]
    NoAdapter,
    /// The adapter cannot be reached.
    #[serde(rename = "/problems/adapter-away")]
    AdapterAway,
    /// The adapter did not do it.
    #[serde(rename = "/problems/adapter-refused")]
    AdapterRefused,
    /// The record could not be kept.
    #[serde(rename = "/problems/not-kept")]
    NotKept,
    /// The journal cannot be read.
    #[serde(rename = "/problems/journal")]
    Journal,
    /// The daemon is stopping.
    #[serde(rename = "/problems/stopping")]
    Stopping,
    /// As many listen as may.
    #[serde(rename = "/problems/crowded")]
    Crowded,
    /// The daemon has a defect.
    #[serde(rename = "/problems/defect")]
    Defect,
}

impl Kind {
    fn status_and_title(self) -> (StatusCode, &'static str) {
        match self {
            Self::Token => (StatusCode::UNAUTHORIZED, "A token is needed"),
            Self::Host => (StatusCode::MISDIRECTED_REQUEST, "Not meant for this server"),
            Self::Origin => (StatusCode::FORBIDDEN, "The request comes from another page"),
            Self::Key => (StatusCode::UNPROCESSABLE_ENTITY, "The key lets nobody in"),
            Self::Tries => (StatusCode::TOO_MANY_REQUESTS, "Too many wrong keys"),
            Self::NotYours => (StatusCode::FORBIDDEN, "A screen may not do that"),
            Self::NotFound => (StatusCode::NOT_FOUND, "Not found"),
            Self::Method => (StatusCode::METHOD_NOT_ALLOWED, "The address takes other methods"),
            Self::Address => (StatusCode::BAD_REQUEST, "The address cannot be read"),
            Self::NotJson => (StatusCode::UNSUPPORTED_MEDIA_TYPE, "The body must be JSON"),
            Self::Malformed => (StatusCode::BAD_REQUEST, "The body is not JSON"),
            Self::TooLarge => (StatusCode::PAYLOAD_TOO_LARGE, "The body is too large"),
            Self::Body => (StatusCode::UNPROCESSABLE_ENTITY, "The request cannot be read"),
            Self::Plan => (StatusCode::UNPROCESSABLE_ENTITY, "The plan cannot be used"),
            Self::UnknownName => (StatusCode::UNPROCESSABLE_ENTITY, "The plan has no such name"),
            Self::NoJob => (StatusCode::CONFLICT, "No job is under way"),
            Self::JobUnderWay => (StatusCode::CONFLICT, "Another job is under way"),
            Self::NotParked => (StatusCode::CONFLICT, "The job is not parked"),
            Self::NotClosed => (StatusCode::CONFLICT, "The job is not closed"),
            Self::NothingToRecheck => (StatusCode::CONFLICT, "Nothing is to be pulled again"),
            Self::NotLoose => (StatusCode::CONFLICT, "The reading is not without a job"),
            Self::Typed => (StatusCode::UNPROCESSABLE_ENTITY, "The line is not understood"),
            Self::Photo => (StatusCode::UNPROCESSABLE_ENTITY, "The file is no photo"),
            Self::StillOpen => (StatusCode::CONFLICT, "Something is still open"),
            Self::NothingSaid => (StatusCode::CONFLICT, "Nothing was said yet"),
            Self::NoAdapter => (StatusCode::NOT_FOUND, "No such adapter is listened to"),
            Self::AdapterAway => (StatusCode::CONFLICT, "The adapter cannot be reached"),
            Self::AdapterRefused => (StatusCode::CONFLICT, "The adapter did not do it"),
            Self::NotKept => (StatusCode::INSUFFICIENT_STORAGE, "The record could not be kept"),
            Self::Journal => (StatusCode::INTERNAL_SERVER_ERROR, "The journal cannot be read"),
            Self::Stopping => (StatusCode::SERVICE_UNAVAILABLE, "The daemon is stopping"),
            Self::Crowded => (StatusCode::SERVICE_UNAVAILABLE, "Too many listen already"),
            Self::Defect => (StatusCode::INTERNAL_SERVER_ERROR, "The daemon has a defect"),
        }
    }
}

impl Problem {
    /// A problem of that kind.
    pub fn new(kind: Kind, detail: impl Into<String>) -> Self {
        let (status, title) = kind.status_and_title();
        Self {
            kind,
            title,
            status: status.as_u16(),
            detail: detail.into(),
            open: Box::default(),
            nearest: Box::default(),
            faults: Box::default(),
        }
    }

    /// There is nothing of that name or number.
    pub fn not_found(detail: impl Into<String>) -> Self {
        Self::new(Kind::NotFound, detail)
    }

    /// The journal cannot be read.
    pub fn journal(detail: impl Into<String>) -> Self {
        Self::new(Kind::Journal, detail)
    }

    /// The daemon is stopping.
    #[must_use]
    pub fn stopping() -> Self {
        Self::new(Kind::Stopping, "nothing was done; start it again with `clampbook serve`")
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        let detail = refusal.to_string();
        let of = |kind| Self::new(kind, detail);
        match refusal {
            Refusal::NoJob => of(Kind::NoJob),
            Refusal::JobUnderWay(_) => of(Kind::JobUnderWay),
            Refusal::NotParked(_) => of(Kind::NotParked),
            Refusal::NoSuchJob(_) => of(Kind::NotFound),
            Refusal::NotClosed(_) => of(Kind::NotClosed),
            Refusal::NothingToRecheck(_) => of(Kind::NothingToRecheck),
            Refusal::NotLoose { .. } => of(Kind::NotLoose),
            Refusal::NoUnit
            | Refusal::TooMuch(_)
            | Refusal::ValueFirst { .. }
            | Refusal::NothingAsked
            | Refusal::NoFigure(_)
            | Refusal::NoNewName(_)
            | Refusal::ChangesNothing(_)
            | Refusal::NotDue(_)
            | Refusal::NotGiven(_)
            | Refusal::NoPlanText => of(Kind::Typed),
            Refusal::UnknownName { nearest, .. } => {
                Self { nearest: nearest.into(), ..of(Kind::UnknownName) }
            }
            Refusal::StillOpen { open } => Self { open: open.into(), ..of(Kind::StillOpen) },
            Refusal::NothingSaid => of(Kind::NothingSaid),
            Refusal::NoAdapter { .. } => of(Kind::NoAdapter),
            Refusal::AdapterAway(_) => of(Kind::AdapterAway),
            Refusal::AdapterRefused { .. } => of(Kind::AdapterRefused),
            Refusal::NotKept(_) => of(Kind::NotKept),
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, Json(self)).into_response();
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(PROBLEM_JSON));
        if status == StatusCode::UNAUTHORIZED {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        response
    }
}
