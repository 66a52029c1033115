//! `/v1/adapters`: what is listened to, and what can be asked of it.

use crate::core::command::{AdapterAsk, Command, Done};
use crate::core::live::AdapterState;
use crate::web::Shared;
use crate::web::description::STOPPING;
use crate::web::jobs::ask;
use crate::web::problem::Problem;
use crate::web::request::{Body, Named, whole};
use axum::Json;
use axum::extract::State;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// For how long an adapter draws attention to itself.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IdentifyRequest {
    /// Seconds; 0 ends it.
    #[serde(deserialize_with = "whole")]
    #[schema(maximum = 255)]
    pub seconds: u8,
}

/// The adapters listened to.
#[utoipa::path(get, path = "/v1/adapters", operation_id = "adapters", tag = "adapters",
    responses((status = 200, description = "Adapters and their links", body = Vec<AdapterState>)))]
pub(super) async fn list(State(shared): State<Shared>) -> Json<Vec<AdapterState>> {
    Json(shared.live.borrow().adapters.clone())
}

/// Has an adapter take its present torque as zero.
#[utoipa::path(post, path = "/v1/adapters/{adapter}/zero", operation_id = "zero", tag = "adapters",
    params(("adapter" = String, Path, description = "Its serial number", min_length = 1)),
    responses(
        (status = 200, description = "The zero was taken", body = Done),
        (status = 404, description = "No such adapter is listened to"),
        (status = 409, description = "It cannot be reached, or declines"),
        (status = 503, description = STOPPING)
    ))]
pub(super) async fn zero(
    State(shared): State<Shared>,
    Named(adapter): Named<String>,
) -> Result<Json<Done>, Problem> {
    ask(&shared, Command::Adapter { adapter, ask: AdapterAsk::Zero }).await.map(Json)
}

/// Has an adapter draw attention to itself.
#[utoipa::path(post, path = "/v1/adapters/{adapter}/identify", operation_id = "identify", tag = "adapters",
    params(("adapter" = String, Path, description = "Its serial number", min_length = 1)),
    request_body(content = IdentifyRequest, example = json!({"seconds": 5})),
    responses(
        (status = 200, description = "It does", body = Done),
        (status = 404, description = "No such adapter is listened to"),
        (status = 409, description = "It cannot be reached, or declines"),
        (status = 503, description = STOPPING)
    ))]
pub(super) async fn identify(
    State(shared): State<Shared>,
    Named(adapter): Named<String>,
    Body(IdentifyRequest { seconds }): Body<IdentifyRequest>,
) -> Result<Json<Done>, Problem> {
    let ask_for = AdapterAsk::Identify { seconds };
    ask(&shared, Command::Adapter { adapter, ask: ask_for }).await.map(Json)
}
