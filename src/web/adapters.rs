//! `/v1/adapters`: what is listened to, and what can be asked of it.

use crate::core::command::{AdapterAsk, Command, Done};
use crate::core::live::AdapterState;
use crate::web::Shared;
use crate::web::jobs::{ask, unreadable};
use crate::web::problem::Problem;
use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// For how long an adapter draws attention to itself.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct IdentifyRequest {
    /// Seconds; 0 ends it.
    pub seconds: u8,
}

/// The adapters listened to.
#[utoipa::path(get, path = "/v1/adapters", responses((status = 200, description = "Adapters and their links", body = Vec<Object>)))]
pub(super) async fn list(State(shared): State<Shared>) -> Json<Vec<AdapterState>> {
    Json(shared.live.borrow().adapters.clone())
}

/// Has an adapter take its present torque as zero.
#[utoipa::path(post, path = "/v1/adapters/{adapter}/zero", params(("adapter" = String, Path, description = "Its serial number")),
    responses((status = 200, description = "The zero was taken", body = Object), (status = 404, description = "No such adapter is listened to", body = Problem), (status = 409, description = "It cannot be reached, or declines", body = Problem)))]
pub(super) async fn zero(
    State(shared): State<Shared>,
    Path(adapter): Path<String>,
) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Adapter { adapter, ask: AdapterAsk::Zero }).await.map(Json)
}

/// Has an adapter draw attention to itself.
#[utoipa::path(post, path = "/v1/adapters/{adapter}/identify", params(("adapter" = String, Path, description = "Its serial number")), request_body = IdentifyRequest,
    responses((status = 200, description = "It does", body = Object), (status = 404, description = "No such adapter is listened to", body = Problem), (status = 409, description = "It cannot be reached, or declines", body = Problem)))]
pub(super) async fn identify(
    State(shared): State<Shared>,
    Path(adapter): Path<String>,
    body: Result<Json<IdentifyRequest>, JsonRejection>,
) -> Result<Json<Done>, Problem> {
    let Json(IdentifyRequest { seconds }) = body.map_err(unreadable)?;
    let ask_for = AdapterAsk::Identify { seconds };
    ask(&shared, Command::Adapter { adapter, ask: ask_for }).await.map(Json)
}
