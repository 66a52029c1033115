//! `/v1/events`: a snapshot of where everything stands, then what changes.
//!
//! Guarantees: nothing ever waits for a listener. For one that reads slowly a single state is held; what
//! came in between is left out, and it is told everything anew. One that reads nothing for long is left
//! (see [`crate::web::patience`]), and only so many may listen.

use crate::core::live::Live;
use crate::web::Shared;
use crate::web::problem::{Kind, Problem};
use axum::Extension;
use axum::extract::State;
use axum::response::sse::{Event, KeepAlive, Sse};
use futures::{Stream, StreamExt};
use serde_json::{Map, Value};
use std::convert::Infallible;
use std::sync::Arc;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio_stream::wrappers::WatchStream;
use utoipa::openapi::schema::{ObjectBuilder, OneOfBuilder, Schema};
use utoipa::openapi::{Ref, RefOr};
use utoipa::{PartialSchema, ToSchema};

/// How many may listen at a time: some pages and programs on one machine.
pub(super) const LISTENERS: usize = 32;
/// Names the event that tells everything.
const SNAPSHOT: &str = "snapshot";
/// Names the event that tells what is different.
const CHANGE: &str = "change";

/// Places for those who listen.
#[derive(Clone)]
pub(super) struct Places(Arc<Semaphore>);

impl Places {
    /// So many.
    pub(super) fn new(count: usize) -> Self {
        Self(Arc::new(Semaphore::new(count)))
    }

    fn take(&self) -> Result<OwnedSemaphorePermit, Problem> {
        Arc::clone(&self.0).try_acquire_owned().map_err(|_| {
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
    Extension(places): Extension<Places>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Problem> {
    let mut listener = Listener { told: None, _place: places.take()? };
    let events = WatchStream::new(shared.live.clone()).map(move |live| Ok(listener.next(live)));
    Ok(Sse::new(events).keep_alive(KeepAlive::default()))
}

/// One who listens.
struct Listener {
    told: Option<Arc<Live>>,
    _place: OwnedSemaphorePermit,
}

impl Listener {
    /// What is sent now that this is the state.
    fn next(&mut self, live: Arc<Live>) -> Event {
        let (name, fields) = tell(self.told.as_deref(), &live);
        let revision = live.revision.to_string();
        self.told = Some(live);
        let text = Value::Object(fields).to_string();
        Event::default().event(name).id(revision).data(text)
    }
}

/// The event for `live` after `told` was told last.
fn tell(told: Option<&Live>, live: &Live) -> (&'static str, Map<String, Value>) {
    let mut fields = fields(live);
    let Some(told) = told.filter(|told| told.revision + 1 == live.revision) else {
        return (SNAPSHOT, fields);
    };
    let before = self::fields(told);
    fields.retain(|name, value| before.get(name) != Some(value));
    (CHANGE, fields)
}

fn fields(live: &Live) -> Map<String, Value> {
    match serde_json::to_value(live) {
        Ok(Value::Object(fields)) => Some(fields),
        Ok(_) | Err(_) => None,
    }
    .expect("a plain struct with text keys always becomes an object; this is a bug")
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

#[cfg(test)]
mod tests {
    use crate::core::event::JobId;
    use crate::core::live::Live;
    use crate::web::events::tell;
    use serde_json::{Map, Value, json};

    fn after(told: Option<&Live>, live: &Live) -> (&'static str, Value) {
        let (name, fields) = tell(told, live);
        (name, Value::Object(fields))
    }

    #[test]
    fn first_everything_is_told_then_what_is_different() {
        let first = Live { revision: 7, loose: 1, ..Live::default() };
        let whole = serde_json::to_value(&first).expect("a state is JSON");
        assert_eq!(after(None, &first), ("snapshot", whole));
        let second = Live { revision: 8, job: Some(JobId(3)), ..first.clone() };
        assert_eq!(after(Some(&first), &second), ("change", json!({"revision": 8, "job": 3})));
        let third = Live { revision: 9, job: None, ..second.clone() };
        let change = json!({"revision": 9, "job": Value::Null});
        assert_eq!(after(Some(&second), &third), ("change", change));
    }

    #[test]
    fn whoever_missed_a_state_or_met_another_daemon_is_told_everything() {
        let told = Live { revision: 7, ..Live::default() };
        for revision in [9, 6, 1] {
            let live = Live { revision, loose: 2, ..Live::default() };
            assert_eq!(after(Some(&told), &live).0, "snapshot", "{revision}");
        }
    }

    #[test]
    fn a_state_that_differs_in_nothing_else_still_moves_the_revision_on() {
        let told = Live { revision: 7, ..Live::default() };
        let live = Live { revision: 8, ..Live::default() };
        let expected = Map::from_iter([("revision".to_owned(), json!(8))]);
        assert_eq!(after(Some(&told), &live), ("change", Value::Object(expected)));
    }
}
