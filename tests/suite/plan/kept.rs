//! Plans and traces that come back from where they were kept.

use clampbook::core::event::Trace;
use clampbook::core::plan::{Plan, parse};
use serde_json::{Value, json};

fn kept() -> Value {
    let text = include_str!("../../../samples/plans/in-turn.toml");
    serde_json::to_value(parse(text).unwrap().plan).unwrap()
}

/// What is said of the plan once the value at `place` is another.
fn said(place: &str, value: Value) -> String {
    let mut plan = kept();
    *plan.pointer_mut(place).unwrap() = value;
    serde_json::from_value::<Plan>(plan).unwrap_err().to_string()
}

#[test]
fn a_kept_plan_is_the_plan_it_was() {
    let plan: Plan = serde_json::from_value(kept()).unwrap();
    assert_eq!(serde_json::to_value(plan).unwrap(), kept());
}

#[test]
fn a_kept_plan_that_no_parser_made_is_refused() {
    let name = kept()["steps"][1]["group"].clone();
    for (place, value, expected) in [
        ("/steps/0/group", name, "two groups have one name"),
        ("/steps/0/holds", json!([99]), "a hold is asked for that is none"),
        ("/steps/0/passes/0/holds", json!([99]), "a hold is asked for that is none"),
        ("/steps/0/members", json!(0), "a step is not whole"),
        ("/steps/0/passes", json!([]), "a step is not whole"),
        ("/steps/0/passes/0/order", json!([7]), "a step is not whole"),
        ("/steps/0/passes/0/expect/low", json!(-1.0), "a step is not whole"),
        ("/steps/0/pitch_circle_mm", json!(-1.0), "a step is not whole"),
        ("/steps/0/after", json!([0]), "steps wait for each other, or for one that is none"),
        ("/steps/0/after", json!([99]), "steps wait for each other, or for one that is none"),
    ] {
        assert_eq!(said(place, value), format!("a plan in which {expected}"), "{place}");
    }
}

#[test]
fn a_kept_trace_that_is_none_is_refused() {
    let trace =
        json!({"start": 0, "rate_hz": 100.0, "torque": [1.0, null], "turned_deg": [0.0, 0.1]});
    let with = |key: &str, value: Value| {
        let mut trace = trace.clone();
        trace[key] = value;
        serde_json::from_value::<Trace>(trace).map_err(|error| error.to_string())
    };
    assert!(with("rate_hz", json!(50.0)).is_ok());
    let rate = Err("samples whose rate is not above zero".to_owned());
    assert_eq!(with("rate_hz", json!(0.0)).map(|_| ()), rate);
    assert_eq!(with("rate_hz", json!(-1.0)).map(|_| ()), rate);
    let turned = Err("another count of rotations than of samples".to_owned());
    assert_eq!(with("turned_deg", json!([])).map(|_| ()), turned);
    assert_eq!(with("turned_deg", json!([0.0, 0.1, 0.2])).map(|_| ()), turned);
}
