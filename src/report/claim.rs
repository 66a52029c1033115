//! A JSON report read back: which job and which state of the journal it claims to tell of, and whether
//! another telling of the same says anything else.

use crate::core::event::JobId;
use crate::core::time::Stamp;
use crate::report::json::FORMAT;
use crate::report::seal::MEMBER;
use serde_json::Value;
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
    #[error("expected a JSON report, but found text that is no JSON: {0}")]
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
    let document: Value =
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

/// Where two tellings of the same job differ, as paths with what `told` has and what `kept` has. What
/// depends on where and by which program a report was made is passed over, and so is what was erased since
/// or left out on purpose.
#[must_use]
pub fn differences(told: &Value, kept: &Value) -> Vec<String> {
    let mut found = Vec::new();
    compare("", told, kept, &mut found);
    found
}

/// Members that say where, when and by what a report was made.
const CIRCUMSTANCES: [&str; 6] =
    ["printed_at", "software_version", "version", "local", MEMBER, "redacted"];

fn compare(path: &str, told: &Value, kept: &Value, found: &mut Vec<String>) {
    match (told, kept) {
        (Value::Object(one), Value::Object(other)) => {
            if is_withheld(told) || is_withheld(kept) {
                return;
            }
            let mut names: Vec<&String> = one.keys().chain(other.keys()).collect();
            names.sort();
            names.dedup();
            for name in names {
                if CIRCUMSTANCES.contains(&name.as_str()) {
                    continue;
                }
                let path = format!("{path}/{name}");
                let value = |of: &serde_json::Map<String, Value>| of.get(name).cloned();
                compare(
                    &path,
                    &value(one).unwrap_or(Value::Null),
                    &value(other).unwrap_or(Value::Null),
                    found,
                );
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
        _ if told == kept => {}
        _ => found.push(format!("{path}: {} told, {} kept", short(told), short(kept))),
    }
}

/// A text about a person that is not there: erased, or left out.
fn is_withheld(value: &Value) -> bool {
    matches!(value["state"].as_str(), Some("removed" | "left-out"))
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
    use serde_json::json;

    #[test]
    fn what_differs_is_named_by_its_path_and_circumstances_are_not() {
        let told = json!({
            "printed_at": 1, "job": {"number": 1, "at": {"utc": "a", "local": "b"}},
            "vin": {"state": "given", "text": "X"}, "steps": [{"peak": 1.5}, {"peak": 2.0}]
        });
        let mut kept = told.clone();
        assert_eq!(differences(&told, &kept), Vec::<String>::new());
        kept["printed_at"] = json!(2);
        kept["job"]["at"]["local"] = json!("c");
        kept["vin"] = json!({"state": "removed"});
        assert_eq!(differences(&told, &kept), Vec::<String>::new());
        kept["steps"][1]["peak"] = json!(2.5);
        kept["steps"][0]["more"] = json!(true);
        assert_eq!(
            differences(&told, &kept),
            ["/steps/0/more: null told, true kept", "/steps/1/peak: 2.0 told, 2.5 kept"]
        );
    }
}
