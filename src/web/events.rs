//! `/v1/events`: a snapshot of where everything stands, then what changes.
//!
//! Guarantees: nothing ever waits for a listener. What came while one did not read is left out, and it is
//! told everything anew: no state is held for it. One that reads nothing for long is left
//! (see [`crate::web::patience`]), and only so many may listen. What a state has to tell is worked out once,
//! however many listen.

use crate::core::live::Live;
use crate::web::Shared;
use crate::web::problem::{Kind, Problem};
use crate::web::telling::{CHANGE, SNAPSHOT, Tellings};
use axum::Extension;
use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures::{Stream, StreamExt};
use std::convert::Infallible;
use std::sync::Arc;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio_stream::wrappers::WatchStream;
use utoipa::openapi::schema::{ObjectBuilder, OneOfBuilder, Schema};
use utoipa::openapi::{Ref, RefOr};
use utoipa::{PartialSchema, ToSchema};

/// How many may listen at a time: some pages and programs on one machine.
pub(super) const LISTENERS: usize = 32;
/// Places for those who listen, and what is told to them.
pub(super) struct Hearing {
    places: Arc<Semaphore>,
    tellings: Tellings,
}

impl Hearing {
    /// For so many.
    pub(super) fn new(places: usize) -> Self {
        Self { places: Arc::new(Semaphore::new(places)), tellings: Tellings::default() }
    }

    fn take_place(&self) -> Result<OwnedSemaphorePermit, Problem> {
        Arc::clone(&self.places).try_acquire_owned().map_err(|_| {
            let detail = format!(
                "expected at most {LISTENERS} that listen, but found as many; close a page"
            );
            Problem::new(Kind::Crowded, detail)
        })
    }
}

/// Where everything stands, and what becomes of it, as server-sent events.
///
/// The first event is a `snapshot`: the whole state. A `change` follows whenever something is different;
/// it holds, whole, each field of the state that is, and the fields that it leaves out are as they were.
/// Whoever reads too slowly to be told every change is sent a `snapshot` again. The id of an event is
/// the revision of the state. A comment comes every 15 seconds if nothing else does.
#[utoipa::path(get, path = "/v1/events", operation_id = "events", tag = "state",
    responses(
        (status = 200, description = "Events without end", content_type = "text/event-stream", item_schema = StateEvent),
        (status = 503, description = "Too many listen already")
    ))]
pub(super) async fn events(
    State(shared): State<Shared>,
    Extension(hearing): Extension<Arc<Hearing>>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Problem> {
    let place = hearing.take_place()?;
    let mut told = None;
    let events = WatchStream::new(shared.live.clone()).map(move |live| {
        // Taken for as long as the stream is there.
        let _place = &place;
        let telling = hearing.tellings.of(&live);
        let (name, text) = telling.event(told);
        told = Some(telling.revision);
        Ok(Event::default().event(name).id(telling.revision.to_string()).data(text))
    });
    Ok(Sse::new(events).keep_alive(KeepAlive::default()))
}

/// One event as it is described.
pub(super) struct StateEvent;

impl ToSchema for StateEvent {
    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((Live::name().into_owned(), Live::schema()));
        Live::schemas(schemas);
        schemas.push(("Change".to_owned(), change_schema()));
    }
}

impl PartialSchema for StateEvent {
    fn schema() -> RefOr<Schema> {
        let event = |name: &str, content: &str| {
            let data = ObjectBuilder::new()
                .schema_type(utoipa::openapi::Type::String)
                .content_media_type("application/json")
                .content_schema(Some(Ref::from_schema_name(content)));
            let text = |value: Option<&str>| {
                ObjectBuilder::new()
                    .schema_type(utoipa::openapi::Type::String)
                    .enum_values(value.map(|value| [value]))
            };
            ObjectBuilder::new()
                .property("event", text(Some(name)))
                .property("id", text(None).pattern(Some("^[0-9]+$")))
                .property("data", data)
                .required("event")
                .required("id")
                .required("data")
        };
        OneOfBuilder::new()
            .item(event(SNAPSHOT, "Live"))
            .item(event(CHANGE, "Change"))
            .description(Some("An event, with its lines as fields."))
            .into()
    }
}

/// The state's own schema, of which only the revision need be there.
fn change_schema() -> RefOr<Schema> {
    let mut schema = Live::schema();
    if let RefOr::T(Schema::Object(object)) = &mut schema {
        object.required = vec!["revision".to_owned()];
        object.description =
            Some("What is different, each field whole; what is left out is as it was.".to_owned());
    }
    schema
}
