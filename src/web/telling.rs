//! What is told of a state, worked out once for all who listen.

use crate::core::live::Live;
use serde_json::{Map, Value};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

/// Names the event that tells everything.
pub(super) const SNAPSHOT: &str = "snapshot";
/// Names the event that tells what is different.
pub(super) const CHANGE: &str = "change";

/// One state, ready to be told.
pub(super) struct Telling {
    pub(super) revision: u64,
    fields: Map<String, Value>,
    /// What is different from the revision before; none if nobody was told that one.
    change: Option<String>,
    snapshot: OnceLock<String>,
}

impl Telling {
    fn new(live: &Live, before: Option<&Self>) -> Self {
        let fields = fields(live);
        let change = before.filter(|before| before.revision + 1 == live.revision).map(|before| {
            let mut different = fields.clone();
            different.retain(|name, value| before.fields.get(name) != Some(value));
            Value::Object(different).to_string()
        });
        Self { revision: live.revision, fields, change, snapshot: OnceLock::new() }
    }

    /// Name and text of the event for one who was told the revision `told` last.
    pub(super) fn event(&self, told: Option<u64>) -> (&'static str, &str) {
        match &self.change {
            Some(change) if told.is_some_and(|told| told + 1 == self.revision) => (CHANGE, change),
            Some(_) | None => (SNAPSHOT, self.snapshot()),
        }
    }

    fn snapshot(&self) -> &str {
        self.snapshot.get_or_init(|| {
            serde_json::to_string(&self.fields).expect("it has text keys only; this is a bug")
        })
    }
}

/// The last telling, for the next who wants it.
#[derive(Default)]
pub(super) struct Tellings(Mutex<Option<Arc<Telling>>>);

impl Tellings {
    /// What is told of `live`.
    pub(super) fn of(&self, live: &Live) -> Arc<Telling> {
        let mut last = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        match last.as_ref() {
            Some(last) if last.revision == live.revision => Arc::clone(last),
            // Somebody was quicker, and the state has moved on.
            Some(last) if last.revision > live.revision => Arc::new(Telling::new(live, None)),
            Some(_) | None => {
                let telling = Arc::new(Telling::new(live, last.as_deref()));
                *last = Some(Arc::clone(&telling));
                telling
            }
        }
    }
}

fn fields(live: &Live) -> Map<String, Value> {
    match serde_json::to_value(live) {
        Ok(Value::Object(fields)) => Some(fields),
        Ok(_) | Err(_) => None,
    }
    .expect("a plain struct with text keys always becomes an object; this is a bug")
}

#[cfg(test)]
mod tests {
    use crate::core::event::JobId;
    use crate::core::live::Live;
    use crate::web::telling::Tellings;
    use serde_json::{Value, json};

    fn told(tellings: &Tellings, live: &Live, told: Option<u64>) -> (&'static str, Value) {
        let telling = tellings.of(live);
        let (name, text) = telling.event(told);
        (name, serde_json::from_str(text).expect("an event's text is JSON"))
    }

    #[test]
    fn first_everything_is_told_then_what_is_different() {
        let tellings = Tellings::default();
        let first = Live { revision: 7, loose: 1, ..Live::default() };
        let whole = |live: &Live| serde_json::to_value(live).expect("a state is JSON");
        assert_eq!(told(&tellings, &first, None), ("snapshot", whole(&first)));
        let second = Live { revision: 8, job: Some(JobId(3)), ..first.clone() };
        let change = json!({"revision": 8, "job": 3});
        assert_eq!(told(&tellings, &second, Some(7)), ("change", change.clone()));
        assert_eq!(told(&tellings, &second, None), ("snapshot", whole(&second)));
        assert_eq!(told(&tellings, &second, Some(7)), ("change", change));
        let third = Live { revision: 9, job: None, ..second };
        let change = json!({"revision": 9, "job": Value::Null});
        assert_eq!(told(&tellings, &third, Some(8)), ("change", change));
        let same = Live { revision: 10, ..third };
        assert_eq!(told(&tellings, &same, Some(9)), ("change", json!({"revision": 10})));
    }

    #[test]
    fn whoever_missed_a_state_is_told_everything() {
        let tellings = Tellings::default();
        for revision in 1..=5 {
            tellings.of(&Live { revision, ..Live::default() });
        }
        let live = Live { revision: 6, ..Live::default() };
        for before in [None, Some(1), Some(4), Some(6), Some(7)] {
            assert_eq!(told(&tellings, &live, before).0, "snapshot", "{before:?}");
        }
        assert_eq!(told(&tellings, &live, Some(5)).0, "change");
        let late = Live { revision: 4, ..Live::default() };
        assert_eq!(told(&tellings, &late, Some(3)).0, "snapshot");
        assert_eq!(told(&tellings, &live, Some(5)).0, "change", "what is late spoils nothing");
    }
}
