//! Every vector of `vectors/` is parsed to its text and fields, and emitted to its octets again.

mod fields;

use std::fmt::Display;
use std::fs;
use std::path::Path;

use clampbook_protocol::{
    Announcement, Button, Calibration, Capability, ControlAnswer, ControlRequest, Motion,
    PresentationFormat, Reading, RecordRequest, RecordResponse, SetPoint, Status, Torque,
    TraceBlock, Versioned,
};
use fields::Fields;
use serde_json::{Map, Value, json};

/// What the codec makes of some octets.
type Read = fn(&[u8]) -> Outcome;

const FILES: [(&str, Read); 15] = [
    ("announcement", |octets| versioned(Announcement::parse(octets), |m| m.emit().to_vec())),
    ("button", |octets| versioned(Button::parse(octets), |m| m.emit().to_vec())),
    ("calibration", |octets| versioned(Calibration::parse(octets), |m| m.emit().to_vec())),
    ("capability", |octets| versioned(Capability::parse(octets), |m| m.emit().to_vec())),
    ("control_answer", control_answer),
    ("control_request", control_request),
    ("motion", |octets| versioned(Motion::parse(octets), |m| m.emit().to_vec())),
    ("presentation_format", |octets| {
        plain(PresentationFormat::parse(octets), |m| m.emit().to_vec())
    }),
    ("reading", |octets| versioned(Reading::parse(octets), |m| m.emit().to_vec())),
    ("record_request", record_request),
    ("record_response", record_response),
    ("set_point", |octets| versioned(SetPoint::parse(octets), |m| m.emit().to_vec())),
    ("status", |octets| versioned(Status::parse(octets), |m| m.emit().to_vec())),
    ("torque", |octets| plain(Torque::parse(octets), |m| m.emit().to_vec())),
    ("trace", |octets| versioned(TraceBlock::parse(octets), trace_octets)),
];

/// What became of some octets: the keys that a vector states, and the octets emitted again.
struct Outcome {
    stated: Value,
    emitted: Option<Vec<u8>>,
}

fn known<T: Display + Fields>(message: &T, emitted: Vec<u8>) -> Outcome {
    Outcome {
        stated: json!({ "text": message.to_string(), "fields": message.fields() }),
        emitted: Some(emitted),
    }
}

fn refused(error: &impl Display) -> Outcome {
    Outcome { stated: json!({ "error": error.to_string() }), emitted: None }
}

fn plain<T: Display + Fields, E: Display>(
    parsed: Result<T, E>,
    emit: impl Fn(&T) -> Vec<u8>,
) -> Outcome {
    match parsed {
        Ok(message) => known(&message, emit(&message)),
        Err(error) => refused(&error),
    }
}

fn versioned<T: Display + Fields, E: Display>(
    parsed: Result<Versioned<'_, T>, E>,
    emit: impl Fn(&T) -> Vec<u8>,
) -> Outcome {
    match parsed {
        Ok(Versioned::Known(message)) => known(&message, emit(&message)),
        Ok(Versioned::Unknown { version, octets }) => Outcome {
            stated: json!({ "unknown": { "version": version } }),
            emitted: Some(octets.to_vec()),
        },
        Err(error) => refused(&error),
    }
}

fn unknown_op(message: &impl Display, op: u8, emitted: Vec<u8>) -> Outcome {
    Outcome {
        stated: json!({ "text": message.to_string(), "unknown": { "op": op } }),
        emitted: Some(emitted),
    }
}

fn control_answer(octets: &[u8]) -> Outcome {
    match ControlAnswer::parse(octets) {
        Ok(message @ ControlAnswer::Unknown { op, .. }) => {
            unknown_op(&message, op, message.emit().to_vec())
        }
        parsed => plain(parsed, |message| message.emit().to_vec()),
    }
}

fn control_request(octets: &[u8]) -> Outcome {
    match ControlRequest::parse(octets) {
        Ok(message @ ControlRequest::Unknown { op, .. }) => {
            unknown_op(&message, op, message.emit().to_vec())
        }
        Err(error) => {
            let mut outcome = refused(&error);
            if let Some(op) = octets.first() {
                let answer = ControlAnswer::Refused {
                    request: *op,
                    reason: clampbook_protocol::Reason::InvalidParameter,
                };
                outcome.stated["answer"] = hex(&answer.emit()).into();
            }
            outcome
        }
        parsed => plain(parsed, |message| message.emit().to_vec()),
    }
}

fn record_request(octets: &[u8]) -> Outcome {
    match RecordRequest::parse(octets) {
        Err(refusal) => Outcome {
            stated: json!({
                "error": refusal.to_string(),
                "answer": hex(&refusal.response().emit()),
            }),
            emitted: None,
        },
        parsed => plain(parsed, |message| message.emit().to_vec()),
    }
}

fn record_response(octets: &[u8]) -> Outcome {
    match RecordResponse::parse(octets) {
        Ok(message @ RecordResponse::Unknown { op, .. }) => {
            unknown_op(&message, op, message.emit().to_vec())
        }
        parsed => plain(parsed, |message| message.emit().to_vec()),
    }
}

fn trace_octets(block: &TraceBlock<'_>) -> Vec<u8> {
    let mut buffer = [0; TraceBlock::MOST];
    let octets = block.emit(&mut buffer).expect("a block that was read fits");
    octets.to_vec()
}

fn hex(octets: &[u8]) -> String {
    octets.iter().map(|octet| format!("{octet:02x}")).collect()
}

fn octets_of(hex: &str) -> Vec<u8> {
    assert!(hex.len().is_multiple_of(2), "{hex}: half an octet");
    (0..hex.len())
        .step_by(2)
        .map(|at| u8::from_str_radix(&hex[at..at + 2], 16).expect("hexadecimal digits"))
        .collect()
}

/// The whole vector as it would be written from what the codec makes of its octets.
fn as_written(vector: &Map<String, Value>, outcome: Outcome) -> Value {
    let mut written = json!({ "name": vector["name"], "octets": vector["octets"] });
    for (key, value) in outcome.stated.as_object().expect("an object") {
        written[key] = value.clone();
    }
    written
}

fn check(file: &str, read: Read, vector: &Map<String, Value>) {
    let name = vector["name"].as_str().expect("a name");
    let octets = octets_of(vector["octets"].as_str().expect("octets"));
    let outcome = read(&octets);
    let emitted = outcome.emitted.clone();
    assert_eq!(as_written(vector, outcome), Value::Object(vector.clone()), "{file}: {name}");
    let Some(emitted) = emitted else { return };
    // Octets that a later minor version appended to a capability are not looked at.
    let kept = if file == "capability" && vector.contains_key("fields") {
        &octets[..Capability::LENGTH]
    } else {
        &octets[..]
    };
    assert_eq!(hex(&emitted), hex(kept), "{file}: {name}");
}

fn folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/vectors"))
}

fn load(file: &str) -> Value {
    let path = folder().join(file).with_extension("json");
    let text = fs::read_to_string(&path).expect("the file of vectors is there");
    serde_json::from_str(&text).expect("the file of vectors is JSON")
}

#[test]
fn every_vector_reads_as_it_is_written_and_is_emitted_to_its_octets() {
    for (file, read) in FILES {
        let vectors = load(file);
        let vectors = vectors["vectors"].as_array().expect("a list of vectors");
        let kinds = |key| vectors.iter().filter(|vector| vector.get(key).is_some()).count();
        assert!(kinds("fields") >= 3, "{file}: expected three vectors or more that are read");
        assert!(kinds("error") >= 2, "{file}: expected two vectors or more that are refused");
        for vector in vectors {
            check(file, read, vector.as_object().expect("a vector is an object"));
        }
    }
}

#[test]
fn every_file_of_vectors_is_tested() {
    let mut found: Vec<String> = fs::read_dir(folder())
        .expect("the folder of vectors is there")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "json"))
        .map(|path| path.file_stem().expect("a name").to_string_lossy().into_owned())
        .collect();
    found.sort();
    let tested: Vec<&str> = FILES.iter().map(|(file, _)| *file).collect();
    assert_eq!(found, tested);
}
