//! `/v1/adapters`: what is listened to.

use crate::core::live::AdapterState;
use crate::web::Shared;
use axum::Json;
use axum::extract::State;

/// The adapters listened to.
#[utoipa::path(get, path = "/v1/adapters", responses((status = 200, description = "Adapters and their links", body = Vec<Object>)))]
pub(super) async fn list(State(shared): State<Shared>) -> Json<Vec<AdapterState>> {
    Json(shared.live.borrow().adapters.clone())
}
