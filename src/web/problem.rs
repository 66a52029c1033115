//! Errors as callers see them: problem details (RFC 9457).

use crate::core::command::Refusal;
use axum::Json;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// What went wrong with a request.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Problem {
    /// What kind, as a relative reference that never changes.
    #[serde(rename = "type")]
    pub kind: &'static str,
    /// The kind in words.
    pub title: &'static str,
    /// The HTTP status.
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

impl Problem {
    /// A problem of that kind.
    pub fn new(
        status: StatusCode,
        kind: &'static str,
        title: &'static str,
        detail: impl Into<String>,
    ) -> Self {
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
        Self::new(StatusCode::NOT_FOUND, "/problems/not-found", "Not found", detail)
    }

    /// The journal cannot be read.
    pub fn journal(detail: impl Into<String>) -> Self {
        Self::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "/problems/journal",
            "The journal cannot be read",
            detail,
        )
    }

    /// The daemon is stopping.
    #[must_use]
    pub fn stopping() -> Self {
        Self::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "/problems/stopping",
            "The daemon is stopping",
            "nothing was done; start it again with `clampbook serve`",
        )
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        let detail = refusal.to_string();
        match refusal {
            Refusal::NoJob => {
                Self::new(StatusCode::CONFLICT, "/problems/no-job", "No job is under way", detail)
            }
            Refusal::JobUnderWay(_) => Self::new(
                StatusCode::CONFLICT,
                "/problems/job-under-way",
                "Another job is under way",
                detail,
            ),
            Refusal::NotParked(_) => Self::new(
                StatusCode::CONFLICT,
                "/problems/not-parked",
                "The job is not parked",
                detail,
            ),
            Refusal::NotLoose { .. } => Self::new(
                StatusCode::CONFLICT,
                "/problems/not-loose",
                "The reading is not without a job",
                detail,
            ),
            Refusal::NoUnit | Refusal::TooMuch(_) | Refusal::NothingAsked | Refusal::NotDue(_) => {
                Self::new(
                    StatusCode::UNPROCESSABLE_ENTITY,
                    "/problems/typed",
                    "The line is not understood",
                    detail,
                )
            }
            Refusal::UnknownName { nearest, .. } => Self {
                nearest: nearest.into(),
                ..Self::new(
                    StatusCode::UNPROCESSABLE_ENTITY,
                    "/problems/unknown-name",
                    "The plan has no such name",
                    detail,
                )
            },
            Refusal::StillOpen { open } => Self {
                open: open.into(),
                ..Self::new(
                    StatusCode::CONFLICT,
                    "/problems/still-open",
                    "Something is still open",
                    detail,
                )
            },
            Refusal::NoAdapter { .. } => Self::new(
                StatusCode::NOT_FOUND,
                "/problems/no-adapter",
                "No such adapter is listened to",
                detail,
            ),
            Refusal::AdapterAway(_) => Self::new(
                StatusCode::CONFLICT,
                "/problems/adapter-away",
                "The adapter cannot be reached",
                detail,
            ),
            Refusal::AdapterRefused { .. } => Self::new(
                StatusCode::CONFLICT,
                "/problems/adapter-refused",
                "The adapter did not do it",
                detail,
            ),
            Refusal::NotKept(_) => Self::new(
                StatusCode::INSUFFICIENT_STORAGE,
                "/problems/not-kept",
                "The record could not be kept",
                detail,
            ),
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = (status, Json(self)).into_response();
        let headers = response.headers_mut();
        headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
        if status == StatusCode::UNAUTHORIZED {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        response
    }
}
