//! The lines of a recording as JSON has them, and their checks in both directions.

use super::fault::Fault;
use super::limits::{
    FASTEST_HZ, LARGEST_DEG, LARGEST_MM, LARGEST_NM, LONGEST_MS, LONGEST_SECONDS, sequence, stamp,
    within,
};
use super::line::{Button, Header, Item, Press};
use crate::core::event::{
    AdapterInfo, Given, GivenStep, LinkChange, LinkState, Mark, Motion, Moved, Origin, Reading,
    Reports, Say, Trace,
};
use crate::core::units::Torque;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize};

/// Name of the format, as the header states it.
pub(super) const FORMAT: &str = "clampbook-recording";
/// Version of the format, as the header states it.
pub(super) const VERSION: u64 = 1;

#[derive(Serialize, Deserialize)]
struct HeaderLine {
    format: String,
    version: u64,
    started: jiff::Timestamp,
}

/// What decides whether the rest of a header may be read at all.
#[derive(Deserialize)]
struct HeaderIdentity {
    format: String,
    version: u64,
}

#[derive(Serialize, Deserialize)]
struct AdapterLine {
    t: f64,
    adapter: String,
    serial: String,
    #[serde(deserialize_with = "present_or_null")]
    drive: Option<String>,
    #[serde(deserialize_with = "present_or_null")]
    range_nm: Option<[f64; 2]>,
    #[serde(deserialize_with = "present_or_null")]
    accuracy_pct: Option<f64>,
    reports: Vec<String>,
}

#[derive(Serialize, Deserialize)]
struct ReadingLine {
    t: f64,
    adapter: String,
    seq: u64,
    peak_nm: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    rotation_deg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    duration_ms: Option<f64>,
    /// How long before the start of the recording the peak was: a reading from the adapter's memory.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    before_start_s: Option<f64>,
}

#[derive(Serialize, Deserialize)]
struct TraceLine {
    t: f64,
    adapter: String,
    rate_hz: f64,
    nm: Vec<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    deg: Option<Vec<f64>>,
}

#[derive(Serialize, Deserialize)]
struct MotionLine {
    t: f64,
    adapter: String,
    from_seq: u64,
    to_seq: u64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    right_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    up_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    distance_mm: Option<f64>,
    sd_mm: f64,
}

#[derive(Serialize, Deserialize)]
struct ButtonLine {
    t: f64,
    adapter: String,
    press: Press,
}

#[derive(Serialize, Deserialize)]
struct MarkLine {
    t: f64,
    #[serde(flatten)]
    say: Say,
}

#[derive(Serialize, Deserialize)]
struct GivenLine {
    t: f64,
    line: String,
    steps: Vec<GivenStep>,
}

#[derive(Serialize, Deserialize)]
struct LinkLine {
    t: f64,
    adapter: String,
    state: LinkState,
}

/// Reads a line of a kind that is used; `None` for a kind that is not.
pub(super) fn parse(kind: &str, text: &[u8]) -> Result<Option<Item>, Fault> {
    let item = match kind {
        "header" => Item::Header(header(text)?),
        "adapter" => adapter(object(kind, text)?)?,
        "reading" => reading(object(kind, text)?)?,
        "trace" => trace(object(kind, text)?)?,
        "motion" => motion(object(kind, text)?)?,
        "button" => {
            let line: ButtonLine = object(kind, text)?;
            Item::Button(Button { at: stamp(line.t)?, adapter: line.adapter, press: line.press })
        }
        "mark" => {
            let line: MarkLine = object(kind, text)?;
            Item::Mark {
                at: stamp(line.t)?,
                mark: Mark { say: line.say, origin: Origin::Recording },
            }
        }
        "given" => {
            let line: GivenLine = object(kind, text)?;
            let given = Given { line: line.line, steps: line.steps, origin: Origin::Recording };
            Item::Given { at: stamp(line.t)?, given }
        }
        "link" => {
            let line: LinkLine = object(kind, text)?;
            Item::Link {
                at: stamp(line.t)?,
                change: LinkChange { adapter: line.adapter, state: line.state },
            }
        }
        _ => {
            object::<serde::de::IgnoredAny>(kind, text)?;
            return Ok(None);
        }
    };
    Ok(Some(item))
}

/// Writes a line as JSON, without its line end.
///
/// # Errors
/// The fault for which [`parse`] would refuse the line.
pub(super) fn emit(item: &Item) -> Result<String, Fault> {
    let (kind, text) = match item {
        Item::Header(header) => (
            "header",
            json(
                "header",
                HeaderLine { format: FORMAT.to_owned(), version: VERSION, started: header.started },
            ),
        ),
        Item::Adapter { at, info } => {
            let line = AdapterLine {
                t: at.seconds(),
                adapter: info.id.clone(),
                serial: info.serial.clone(),
                drive: info.drive.clone(),
                range_nm: info.range.map(|(low, high)| [low.nm(), high.nm()]),
                accuracy_pct: info.accuracy_pct,
                reports: report_names(info.reports),
            };
            ("adapter", json("adapter", line))
        }
        Item::Reading { at, reading } => {
            let early = at.0 < 0;
            let line = ReadingLine {
                t: if early { 0.0 } else { at.seconds() },
                adapter: reading.adapter.clone(),
                seq: reading.seq,
                peak_nm: reading.peak.nm(),
                rotation_deg: reading.rotation_deg,
                duration_ms: reading.duration_ms,
                before_start_s: early.then(|| -at.seconds()),
            };
            ("reading", json("reading", line))
        }
        Item::Trace { adapter, trace } => {
            let line = TraceLine {
                t: trace.start.seconds(),
                adapter: adapter.clone(),
                rate_hz: trace.rate_hz,
                nm: trace.torque.iter().map(|torque| torque.nm()).collect(),
                deg: trace.turned_deg.clone(),
            };
            ("trace", json("trace", line))
        }
        Item::Motion { at, motion } => {
            let (right_mm, up_mm, distance_mm) = match motion.moved {
                Moved::Axes { right_mm, up_mm } => (Some(right_mm), Some(up_mm), None),
                Moved::Distance { mm } => (None, None, Some(mm)),
            };
            let line = MotionLine {
                t: at.seconds(),
                adapter: motion.adapter.clone(),
                from_seq: motion.from_seq,
                to_seq: motion.to_seq,
                right_mm,
                up_mm,
                distance_mm,
                sd_mm: motion.sd_mm,
            };
            ("motion", json("motion", line))
        }
        Item::Button(button) => {
            let line = ButtonLine {
                t: button.at.seconds(),
                adapter: button.adapter.clone(),
                press: button.press,
            };
            ("button", json("button", line))
        }
        Item::Mark { at, mark } => {
            let line = MarkLine { t: at.seconds(), say: mark.say.clone() };
            ("mark", json("mark", line))
        }
        Item::Given { at, given } => {
            let Given { line, steps, .. } = given.clone();
            ("given", json("given", GivenLine { t: at.seconds(), line, steps }))
        }
        Item::Link { at, change } => {
            let line =
                LinkLine { t: at.seconds(), adapter: change.adapter.clone(), state: change.state };
            ("link", json("link", line))
        }
    };
    // One set of rules for both directions: what would be refused on reading is never written.
    parse(kind, text.as_bytes())?;
    Ok(text)
}

fn header(text: &[u8]) -> Result<Header, Fault> {
    let identity: HeaderIdentity = object("header", text)?;
    if identity.format != FORMAT {
        return Err(Fault::WrongFormat { found: identity.format });
    }
    if identity.version != VERSION {
        return Err(Fault::WrongVersion { found: identity.version });
    }
    let line: HeaderLine = object("header", text)?;
    Ok(Header { started: line.started })
}

fn adapter(line: AdapterLine) -> Result<Item, Fault> {
    let range = match line.range_nm {
        None => None,
        Some([low, high]) => {
            within("range_nm", low, 0.0, LARGEST_NM)?;
            within("range_nm", high, 0.0, LARGEST_NM)?;
            if low > high {
                return Err(Fault::RangeReversed { low, high });
            }
            Some((Torque::from_nm(low), Torque::from_nm(high)))
        }
    };
    if let Some(percent) = line.accuracy_pct {
        within("accuracy_pct", percent, 0.0, 100.0)?;
    }
    let mut reports = Reports::default();
    for name in &line.reports {
        match name.as_str() {
            "peak" => reports.peak = true,
            "rotation" => reports.rotation = true,
            "trace" => reports.trace = true,
            "motion" => reports.motion = true,
            "button" => reports.button = true,
            "typed" => reports.typed = true,
            // The format may grow: an ability nobody here knows is no fault.
            _ => {}
        }
    }
    Ok(Item::Adapter {
        at: stamp(line.t)?,
        info: AdapterInfo {
            overdue_since: None,
            certificate: None,
            id: line.adapter,
            serial: line.serial,
            drive: line.drive,
            range,
            accuracy_pct: line.accuracy_pct,
            reports,
        },
    })
}

fn reading(line: ReadingLine) -> Result<Item, Fault> {
    let mut at = stamp(line.t)?;
    if let Some(early) = line.before_start_s {
        at = at + -within("before_start_s", early, 0.0, LONGEST_SECONDS)?;
    }
    sequence("seq", line.seq)?;
    within("peak_nm", line.peak_nm, -LARGEST_NM, LARGEST_NM)?;
    if let Some(deg) = line.rotation_deg {
        within("rotation_deg", deg, -LARGEST_DEG, LARGEST_DEG)?;
    }
    if let Some(ms) = line.duration_ms {
        within("duration_ms", ms, 0.0, LONGEST_MS)?;
    }
    Ok(Item::Reading {
        at,
        reading: Reading {
            adapter: line.adapter,
            seq: line.seq,
            peak: Torque::from_nm(line.peak_nm),
            rotation_deg: line.rotation_deg,
            duration_ms: line.duration_ms,
            description: None,
        },
    })
}

fn trace(line: TraceLine) -> Result<Item, Fault> {
    let start = stamp(line.t)?;
    within("rate_hz", line.rate_hz, 1e-3, FASTEST_HZ)?;
    for nm in &line.nm {
        within("nm", *nm, -LARGEST_NM, LARGEST_NM)?;
    }
    if let Some(deg) = &line.deg {
        if deg.len() != line.nm.len() {
            return Err(Fault::Lengths { nm: line.nm.len(), deg: deg.len() });
        }
        for deg in deg {
            within("deg", *deg, -LARGEST_DEG, LARGEST_DEG)?;
        }
    }
    let torque = line.nm.into_iter().map(Torque::from_nm).collect();
    let trace = Trace { start, rate_hz: line.rate_hz, torque, turned_deg: line.deg };
    Ok(Item::Trace { adapter: line.adapter, trace })
}

fn motion(line: MotionLine) -> Result<Item, Fault> {
    let moved = match (line.right_mm, line.up_mm, line.distance_mm) {
        (Some(right), Some(up), _) => Moved::Axes {
            right_mm: within("right_mm", right, -LARGEST_MM, LARGEST_MM)?,
            up_mm: within("up_mm", up, -LARGEST_MM, LARGEST_MM)?,
        },
        (_, _, Some(distance)) => {
            Moved::Distance { mm: within("distance_mm", distance, 0.0, LARGEST_MM)? }
        }
        _ => return Err(Fault::NoDistance),
    };
    Ok(Item::Motion {
        at: stamp(line.t)?,
        motion: Motion {
            adapter: line.adapter,
            from_seq: sequence("from_seq", line.from_seq)?,
            to_seq: sequence("to_seq", line.to_seq)?,
            moved,
            sd_mm: within("sd_mm", line.sd_mm, 0.0, LARGEST_MM)?,
        },
    })
}

fn report_names(reports: Reports) -> Vec<String> {
    [
        (reports.peak, "peak"),
        (reports.rotation, "rotation"),
        (reports.trace, "trace"),
        (reports.motion, "motion"),
        (reports.button, "button"),
        (reports.typed, "typed"),
    ]
    .into_iter()
    .filter(|(reported, _)| *reported)
    .map(|(_, name)| name.to_owned())
    .collect()
}

/// The line as `T`, with the JSON reader's complaint turned into a [`Fault`].
fn object<T: DeserializeOwned>(kind: &str, text: &[u8]) -> Result<T, Fault> {
    serde_json::from_slice(text).map_err(|error| fault(kind, &error))
}

/// What the JSON reader's complaint means for the operator.
pub(super) fn fault(kind: &str, error: &serde_json::Error) -> Fault {
    let full = error.to_string();
    let reason = match full.rfind(" at line ") {
        Some(end) => full[..end].to_owned(),
        None => full,
    };
    if error.is_syntax() || error.is_eof() {
        return Fault::NotJson { column: error.column(), reason };
    }
    let missing = reason.strip_prefix("missing field `").and_then(|rest| rest.strip_suffix('`'));
    match missing {
        Some(key) => Fault::MissingKey { kind: kind.to_owned(), key: key.to_owned() },
        None => Fault::WrongValue { kind: kind.to_owned(), reason },
    }
}

/// A key that must be there, but may say `null` when the adapter does not tell.
fn present_or_null<'de, D, T>(deserializer: D) -> Result<Option<T>, D::Error>
where
    D: Deserializer<'de>,
    T: Deserialize<'de>,
{
    Option::deserialize(deserializer)
}

#[derive(Serialize)]
struct Tagged<T> {
    kind: &'static str,
    #[serde(flatten)]
    body: T,
}

fn json<T: Serialize>(kind: &'static str, body: T) -> String {
    serde_json::to_string(&Tagged { kind, body })
        .expect("plain keys and numbers always become JSON; this is a bug")
}
