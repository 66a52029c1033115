//! The published schema of plan files against the parser and the samples.

use super::{good, samples};
use clampbook::core::plan::{SKELETONS, schema, starter};
use serde_json::Value;

/// Every good sample, skeleton and starter.
fn texts() -> Vec<(String, String)> {
    let mut texts = samples("samples/plans");
    texts.extend(samples("samples/plans/shared"));
    texts.extend(samples("samples/plans/doubtful"));
    texts.extend(SKELETONS.iter().map(|one| (one.name.to_owned(), one.text.to_owned())));
    texts.push(("starter".to_owned(), starter().to_owned()));
    texts
}

fn as_json(text: &str) -> Value {
    let table: toml::Table = text.parse().unwrap();
    serde_json::to_value(table).unwrap()
}

fn validator() -> jsonschema::Validator {
    let schema = schema();
    jsonschema::draft202012::meta::validate(&schema).unwrap();
    jsonschema::validator_for(&schema).unwrap()
}

#[test]
fn every_good_plan_fits_the_schema() {
    let validator = validator();
    for (name, text) in texts() {
        let plan = as_json(&text);
        let errors: Vec<String> = validator
            .iter_errors(&plan)
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert_eq!(errors, Vec::<String>::new(), "{name}");
    }
}

/// Every key that the parser takes is in the schema, and none besides: a plan with each key of the schema, and
/// nothing else, has no unknown key.
#[test]
fn the_schema_has_the_keys_of_the_parser() {
    let schema = schema();
    let keys = |place: &Value| -> Vec<String> {
        let mut keys: Vec<String> =
            place["properties"].as_object().unwrap().keys().cloned().collect();
        keys.sort();
        keys
    };
    let known = |text: &str, marker: &str| -> Vec<String> {
        let faults = clampbook::core::plan::parse(text).unwrap_err();
        let fault = faults.iter().find(|fault| fault.message.contains(marker)).unwrap();
        let mut known: Vec<String> = fault
            .remedy
            .trim_start_matches("known here: ")
            .split(", ")
            .map(str::to_owned)
            .collect();
        known.sort();
        known
    };
    let text = "plan = \"p\"\nqqqqqqqq = true\n[joints.a]\ntarget = \"9 N·m\"\nrrrrrrrr = true\npasses = [{ target = \"final\", ssssssss = true }]\n";
    assert_eq!(keys(&schema), known(text, "`qqqqqqqq`"));
    assert_eq!(keys(&schema["$defs"]["JointTable"]), known(text, "`rrrrrrrr`"));
    assert_eq!(keys(&schema["$defs"]["PassTable"]), known(text, "`ssssssss`"));
}

#[test]
fn what_the_schema_refuses_the_parser_refuses() {
    let validator = validator();
    for text in [
        "plan = \"p\"\n[joints]\na = 9\n",
        "plan = \"p\"\n[joints.a]\ntarget = \"9 N·m\"\nkind = \"wheal\"\n",
        "plan = \"p\"\n[joints.a]\ntarget = \"9 N·m\"\nring = 65\n",
        "plan = \"p\"\n[joints.A]\ntarget = \"9 N·m\"\n",
        "plan = \"p\"\n[joints.a]\ntarget = \"9 N·m\"\ncrowfoot = { angle = \"90°\" }\n",
        "plan = 1\n[joints]\na = \"9 N·m\"\n",
        "[joints]\na = \"9 N·m\"\n",
    ] {
        assert!(!validator.is_valid(&as_json(text)), "{text}");
        assert!(clampbook::core::plan::parse(text).is_err(), "{text}");
    }
    let fine = "plan = \"p\"\nsource = \"s\"\n[joints]\na = \"9 N·m ±5 %\"\n";
    assert!(validator.is_valid(&as_json(fine)));
    good(fine);
}
