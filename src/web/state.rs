//! `/v1/state`: where everything stands. `/v1/pulse`: that somebody answers.

use crate::core::live::Live;
use crate::core::time::Stamp;
use crate::web::Shared;
use axum::Json;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use std::sync::Arc;
use utoipa::ToSchema;

/// That somebody answers.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct Pulse {
    /// The present moment, microseconds since the Unix epoch.
    now: Stamp,
    /// Revision of the state.
    revision: u64,
}

/// Says that somebody answers.
///
/// A page that hears nothing must not show what it heard last as what is so now, and a connection does not
/// tell that the other end has gone out of reach.
#[utoipa::path(get, path = "/v1/pulse", operation_id = "pulse", tag = "state",
    responses((status = 200, description = "The present moment", body = Pulse)))]
pub(super) async fn pulse(State(shared): State<Shared>) -> Json<Pulse> {
    let revision = shared.live.borrow().revision;
    Json(Pulse { now: (shared.now)(), revision })
}

/// Where everything stands.
#[utoipa::path(get, path = "/v1/state", operation_id = "state", tag = "state",
    responses((status = 200, description = "The daemon's state", body = Live)))]
pub(super) async fn state(State(shared): State<Shared>) -> Response {
    let live = Arc::clone(&shared.live.borrow());
    Json(&*live).into_response()
}
