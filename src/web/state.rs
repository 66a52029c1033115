//! `/v1/state`: where everything stands.

use crate::core::live::Live;
use crate::web::Shared;
use axum::Json;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// Where everything stands.
#[utoipa::path(get, path = "/v1/state", operation_id = "state", tag = "state",
    responses((status = 200, description = "The daemon's state", body = Live)))]
pub(super) async fn state(State(shared): State<Shared>) -> Response {
    let live = Arc::clone(&shared.live.borrow());
    Json(&*live).into_response()
}
