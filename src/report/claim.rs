//! A JSON report read back: which job and which state of the journal it claims to tell of, and whether
//! another telling of the same says anything else.

use crate::core::event::JobId;
use crate::core::time::Stamp;
use crate::report::json::FORMAT;
use serde::de::{self, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::Value;
use std::fmt;
use thiserror::Error;

/// What a JSON report claims.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// The job it tells of.
    pub job: JobId,
    /// The job's name that is unique in the world.
    pub uuid: String,
    /// How long the chain was.
    pub length: u64,
    /// Hash of its last entry, lower-case hexadecimal.
    pub head: String,
    /// When it was made.
    pub printed_at: Stamp,
    /// The program that made it.
    pub software_version: String,
    /// All of it.
    pub document: Value,
}

/// Why a text is no JSON report.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ClaimError {
    /// It is no JSON.
    #[error(
        "expected a JSON report, but found text that is no JSON: {0}; it was cut off or is something else: find a copy, or make one with `clampbook report JOB --json FILE`"
    )]
    NoJson(String),
    /// It is JSON of another kind.
    #[error(
        "expected a JSON report, but found {0}; make one with `clampbook report JOB --json FILE`"
    )]
    NoReport(String),
}

/// Reads a JSON report back.
///
/// # Errors
/// It is none.
pub fn read(text: &str) -> Result<Claim, ClaimError> {
    let Once(document) =
        serde_json::from_str(text).map_err(|error| ClaimError::NoJson(error.to_string()))?;
    if document["format"] != FORMAT {
        return Err(ClaimError::NoReport("JSON of another kind".to_owned()));
    }
    let lacking = |what: &str| ClaimError::NoReport(format!("one without {what}"));
    let text =
        |value: &Value, what: &str| value.as_str().map(str::to_owned).ok_or_else(|| lacking(what));
    let number = document["job"]["number"].as_u64().and_then(|number| u32::try_from(number).ok());
    let printed = text(&document["printed_at"]["utc"], "the time when it was made")?;
    let printed: jiff::Timestamp =
        printed.parse().map_err(|_| lacking("the time when it was made"))?;
    Ok(Claim {
        job: JobId(number.ok_or_else(|| lacking("the number of its job"))?),
        uuid: text(&document["job"]["uuid"], "the name of its job")?,
        length: document["chain"]["length"]
            .as_u64()
            .ok_or_else(|| lacking("the chain's length"))?,
        head: text(&document["chain"]["head"], "the chain's last hash")?.to_lowercase(),
        printed_at: Stamp(printed.as_microsecond()),
        software_version: text(&document["software_version"], "the version of its program")?,
        document,
    })
}

/// JSON in which no object has two members of one name: a reader of the text could believe the first, and a
/// program the last.
struct Once(Value);

impl<'de> Deserialize<'de> for Once {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(OnceVisitor).map(Self)
    }
}

struct OnceVisitor;

impl<'de> Visitor<'de> for OnceVisitor {
    type Value = Value;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("JSON")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut sequence: A) -> Result<Value, A::Error> {
        let mut members = Vec::new();
        while let Some(Once(member)) = sequence.next_element()? {
            members.push(member);
        }
        Ok(Value::Array(members))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut members = serde_json::Map::new();
        while let Some((name, Once(member))) = map.next_entry::<String, Once>()? {
            if members.contains_key(&name) {
                return Err(de::Error::custom(format_args!("`{name}` twice in one object")));
            }
            members.insert(name, member);
        }
        Ok(Value::Object(members))
    }
}

/// Where two tellings of the same job differ, as paths with what `told` has and what `kept` has. Only what
/// may differ is passed over: by which program, in which time zone and with which signature a report was
/// made, and texts about people that were erased since. `kept` has to be redacted if `told` is.
#[must_use]
pub fn differences(told: &Value, kept: &Value) -> Vec<String> {
    let mut found = Vec::new();
    compare("", told, kept, &mut found);
    found
}

/// Members of the document itself that say by what it was made.
const CIRCUMSTANCES: [&str; 2] = ["/software_version", "/signature"];

fn compare(path: &str, told: &Value, kept: &Value, found: &mut Vec<String>) {
    if told == kept || was_erased_since(told, kept) || is_in_another_zone(told, kept) {
        return;
    }
    match (told, kept) {
        (Value::Object(one), Value::Object(other)) => {
            let mut names: Vec<&String> = one.keys().chain(other.keys()).collect();
            names.sort();
            names.dedup();
            for name in names {
                let path = format!("{path}/{name}");
                if CIRCUMSTANCES.contains(&path.as_str()) {
                    continue;
                }
                if let Some(about) = path.strip_prefix("/photos/")
                    && about.ends_with("/state")
                    && about.matches('/').count() == 1
                    && was_photo_erased_since(&told[name], &kept[name])
                {
                    continue;
                }
                compare(&path, &told[name], &kept[name], found);
            }
        }
        (Value::Array(one), Value::Array(other)) => {
            if one.len() != other.len() {
                found.push(format!("{path}: {} told, {} kept", one.len(), other.len()));
            }
            for (index, (told, kept)) in one.iter().zip(other).enumerate() {
                compare(&format!("{path}/{index}"), told, kept, found);
            }
        }
        _ => found.push(format!("{path}: {} told, {} kept", short(told), short(kept))),
    }
}

/// True if the journal no longer has a text about a person that was told, or left out, when it still had it.
fn was_erased_since(told: &Value, kept: &Value) -> bool {
    let (Value::Object(one), Value::Object(other)) = (told, kept) else { return false };
    if other.len() != 1 || kept["state"] != "removed" {
        return false;
    }
    match (one.len(), told["state"].as_str()) {
        (1, Some("left-out")) => true,
        (2, Some("given")) => told["text"].is_string(),
        _ => false,
    }
}

fn was_photo_erased_since(told: &Value, kept: &Value) -> bool {
    kept == "removed" && (told == "given" || told == "left-out")
}

/// True if both are one moment, and only the local time is told with another offset.
fn is_in_another_zone(told: &Value, kept: &Value) -> bool {
    let (Value::Object(one), Value::Object(other)) = (told, kept) else { return false };
    let at = |value: &Value| value.as_str()?.parse::<jiff::Timestamp>().ok();
    one.len() == 2
        && other.len() == 2
        && told["utc"] == kept["utc"]
        && at(&kept["utc"])
            .is_some_and(|utc| at(&told["local"]) == Some(utc) && at(&kept["local"]) == Some(utc))
}

fn short(value: &Value) -> String {
    const MOST: usize = 60;
    let text = value.to_string();
    match text.char_indices().nth(MOST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::differences;
    use serde_json::{Value, json};

    fn told() -> serde_json::Value {
        json!({
            "format": "clampbook-report", "version": 1, "redacted": false, "software_version": "1",
            "printed_at": {"utc": "2031-04-02T08:00:00.000000Z", "local": "2031-04-02T10:00:00+02:00"},
            "vehicle": {"vin": {"state": "given", "text": "X"}, "text": {"state": "not-given"}},
            "photos": [{"entry": 7, "state": "given", "by": {"state": "given", "text": "bay"}}],
            "steps": [{"peak": 1.5, "state": "given"}, {"peak": 2.0, "local": "a", "version": 3}]
        })
    }

    #[test]
    fn what_depends_on_where_and_by_what_a_report_was_made_and_what_was_erased_since_is_no_difference()
     {
        let told = told();
        let mut kept = told.clone();
        kept["software_version"] = json!("2");
        kept["signature"] = json!({"value": "00"});
        kept["printed_at"]["local"] = json!("2031-04-02T04:00:00-04:00");
        kept["vehicle"]["vin"] = json!({"state": "removed"});
        kept["photos"][0]["state"] = json!("removed");
        kept["photos"][0]["by"] = json!({"state": "removed"});
        assert_eq!(differences(&told, &kept), Vec::<String>::new());
    }

    #[test]
    fn every_forgery_is_named_by_its_place() {
        let kept = told();
        let removed = json!({"state": "removed"});
        for (place, forged, named) in [
            ("/steps/1/peak", json!(2.5), "/steps/1/peak: 2.5 told, 2.0 kept"),
            ("/steps/0/more", json!(true), "/steps/0/more: true told, null kept"),
            (
                "/steps/0/state",
                json!("removed"),
                "/steps/0/state: \"removed\" told, \"given\" kept",
            ),
            (
                "/steps/0/state",
                json!("left-out"),
                "/steps/0/state: \"left-out\" told, \"given\" kept",
            ),
            ("/steps/1/state", json!("removed"), "/steps/1/state: \"removed\" told, null kept"),
            ("/state", json!("removed"), "/state: \"removed\" told, null kept"),
            ("/steps/1/local", json!("b"), "/steps/1/local: \"b\" told, \"a\" kept"),
            ("/steps/1/version", json!(4), "/steps/1/version: 4 told, 3 kept"),
            ("/steps/1/redacted", json!(true), "/steps/1/redacted: true told, null kept"),
            ("/steps/1/signature", json!("s"), "/steps/1/signature: \"s\" told, null kept"),
            ("/steps/1/printed_at", json!("s"), "/steps/1/printed_at: \"s\" told, null kept"),
            ("/version", json!(2), "/version: 2 told, 1 kept"),
            ("/redacted", json!(true), "/redacted: true told, false kept"),
            ("/steps", removed.clone(), "/steps: {\"state\":\"removed\"} told, "),
            ("/steps/0", removed.clone(), "/steps/0/peak: null told, 1.5 kept"),
            ("/vehicle", removed.clone(), "/vehicle/state: \"removed\" told, null kept"),
            ("/vehicle/vin", removed, "/vehicle/vin/state: \"removed\" told, \"given\" kept"),
            (
                "/vehicle/vin",
                json!({"state": "left-out"}),
                "/vehicle/vin/state: \"left-out\" told, ",
            ),
            ("/vehicle/vin/text", json!("Y"), "/vehicle/vin/text: \"Y\" told, \"X\" kept"),
            (
                "/photos/0/state",
                json!("removed"),
                "/photos/0/state: \"removed\" told, \"given\" kept",
            ),
            ("/printed_at/local", json!("2031-04-02T11:00:00+02:00"), "/printed_at/local: "),
            ("/printed_at/local", json!("soon"), "/printed_at/local: \"soon\" told, "),
        ] {
            let mut told = kept.clone();
            let (parent, name) = place.rsplit_once('/').unwrap();
            match told.pointer_mut(parent).unwrap() {
                Value::Array(members) => members[name.parse::<usize>().unwrap()] = forged,
                object => object[name] = forged,
            }
            let found = differences(&told, &kept);
            assert!(found.iter().any(|one| one.starts_with(named)), "{place}: {found:?}");
        }
    }

    #[test]
    fn what_was_erased_was_a_text_and_nothing_else() {
        let mut kept = told();
        kept["vehicle"]["vin"] = json!({"state": "removed"});
        for forged in
            [json!({"state": "not-given"}), json!({"state": "given"}), json!("X"), json!(null)]
        {
            let mut told = kept.clone();
            told["vehicle"]["vin"] = forged.clone();
            assert!(!differences(&told, &kept).is_empty(), "{forged}");
        }
    }

    #[test]
    fn a_report_that_says_a_thing_twice_is_none() {
        let text = r#"{"format": "clampbook-report", "steps": [{"peak": 93.0, "peak": 91.0}]}"#;
        let said = super::read(text).unwrap_err().to_string();
        assert!(said.contains("`peak` twice in one object"), "{said}");
    }
}
