//! `/v1/state` and `/v1/events`: where everything stands, once or as it changes.

use crate::core::live::Live;
use crate::web::Shared;
use axum::Json;
use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures::{Stream, StreamExt};
use std::convert::Infallible;
use tokio_stream::wrappers::WatchStream;

/// Where everything stands.
#[utoipa::path(get, path = "/v1/state", responses((status = 200, description = "The daemon's state", body = Object)))]
pub(super) async fn state(State(shared): State<Shared>) -> Json<Live> {
    let live = shared.live.borrow().clone();
    Json((*live).clone())
}

/// Where everything stands, now and after every change. States in between may be missed.
#[utoipa::path(get, path = "/v1/events", responses((status = 200, description = "Server-sent events named `state`; the id is the state's revision", content_type = "text/event-stream", body = String)))]
pub(super) async fn events(
    State(shared): State<Shared>,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let states = WatchStream::new(shared.live.clone()).map(|live| {
        let text = serde_json::to_string(&*live)
            .expect("plain structs with text keys always serialize; this is a bug");
        Ok(Event::default().event("state").id(live.revision.to_string()).data(text))
    });
    Sse::new(states).keep_alive(KeepAlive::default())
}
