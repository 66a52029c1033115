//! Reads what one adapter did from a recording: its `adapter`, `reading`, `button`, `trace` and `motion` lines.

use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

use clampbook_protocol::{Drive, Rotation, Torque};
use clampbook_reference_adapter::device::{Moved, Seen};
use serde_json::Value;

use super::course::Recorded;
use super::script::{self, Press, USUAL_DURATION};
use super::traced::Track;

/// What one adapter of a recording did, in order of time.
#[derive(Debug, Default, PartialEq)]
pub(crate) struct Recording {
    pub(crate) serial: Option<String>,
    /// Smallest and largest torque of the range, in 0.01 N·m.
    pub(crate) range: Option<(i32, i32)>,
    pub(crate) drive: Option<Drive>,
    /// Half-width of the calibrated interval, in percent of the reading.
    pub(crate) accuracy_pct: Option<f64>,
    pub(crate) acts: Vec<Act>,
    /// Lines that could not be used, with their number.
    pub(crate) faults: Vec<String>,
}

/// One thing done, at a time since the recording began.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Act {
    pub(crate) at: Duration,
    /// The number of a reading, in the recording.
    pub(crate) seq: Option<u64>,
    pub(crate) what: What,
}

/// What was done.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum What {
    /// A pull, and its samples where they were recorded.
    Pull(Seen, Option<Rc<Recorded>>),
    Press(Press),
}

/// Reads `file`, as the adapter `wanted` or else as the first one in it.
pub(crate) fn read(file: &Path, wanted: Option<&str>) -> Result<Recording, String> {
    let text = std::fs::read_to_string(file)
        .map_err(|e| format!("expected a recording, but {} cannot be read: {e}", file.display()))?;
    parse(&text, wanted)
}

fn parse(text: &str, wanted: Option<&str>) -> Result<Recording, String> {
    let mut wanted = wanted.map(str::to_owned);
    let mut recording = Recording::default();
    let mut track = Track::default();
    let mut moves = Vec::new();
    for (index, line) in text.lines().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let fault = match serde_json::from_str(line) {
            Ok(value) => take(&value, &mut wanted, &mut recording, &mut track, &mut moves).err(),
            Err(error) => Some(format!("expected a JSON object, but found: {error}")),
        };
        if let Some(fault) = fault {
            recording.faults.push(format!("line {}: {fault}", index + 1));
        }
    }
    if recording.acts.is_empty() {
        let whose = wanted.as_deref().unwrap_or("any adapter");
        let faults = recording.faults.join("; ");
        return Err(format!("expected readings of {whose}, but found none; {faults}"));
    }
    recording.acts.sort_by_key(|act| act.at);
    give_samples(&mut recording.acts, track);
    give_moves(&mut recording, moves);
    Ok(recording)
}

/// Gives each pull the samples that were recorded of it.
fn give_samples(acts: &mut [Act], track: Track) {
    let pulls = acts.iter_mut().filter_map(|act| match &mut act.what {
        What::Pull(_, recorded) => Some((microseconds(act.at), recorded)),
        What::Press(_) => None,
    });
    let (times, places): (Vec<u64>, Vec<_>) = pulls.unzip();
    for (place, recorded) in places.into_iter().zip(track.of_pulls(&times)) {
        *place = recorded;
    }
}

/// How the tool came from one reading to another, by their numbers.
struct Move {
    from: u64,
    to: u64,
    moved: Moved,
}

/// Gives each pull how the tool came to it from the one before; an adapter follows its tool no further.
fn give_moves(recording: &mut Recording, moves: Vec<Move>) {
    for Move { from, to, moved } in moves {
        let pulls = recording.acts.iter_mut().filter(|act| act.seq.is_some());
        let mut before = None;
        let mut given = false;
        for act in pulls {
            if let What::Pull(seen, _) = &mut act.what
                && (before, act.seq) == (Some(from), Some(to))
            {
                seen.moved = Some(moved);
                given = true;
            }
            before = act.seq;
        }
        if !given {
            let fault = format!(
                "motion from {from} to {to}: expected two readings that follow each other, but found none"
            );
            recording.faults.push(fault);
        }
    }
}

fn microseconds(time: Duration) -> u64 {
    u64::try_from(time.as_micros()).unwrap_or(u64::MAX)
}

fn take(
    line: &Value,
    wanted: &mut Option<String>,
    recording: &mut Recording,
    track: &mut Track,
    moves: &mut Vec<Move>,
) -> Result<(), String> {
    let kind = string(line, "kind")?;
    if !["adapter", "reading", "button", "trace", "motion"].contains(&kind) {
        return Ok(());
    }
    let adapter = string(line, "adapter")?;
    if wanted.get_or_insert_with(|| adapter.to_owned()) != adapter {
        return Ok(());
    }
    let at = number(line, "t")?;
    let at = Duration::try_from_secs_f64(at)
        .map_err(|_| format!("expected t from 0, but found {at}"))?;
    let what = match kind {
        "adapter" => {
            recording.serial = line["serial"].as_str().map(str::to_owned);
            recording.drive = line["drive"].as_str().and_then(drive);
            recording.accuracy_pct = line["accuracy_pct"].as_f64();
            if let (Some(low), Some(high)) =
                (line["range_nm"][0].as_f64(), line["range_nm"][1].as_f64())
            {
                recording.range = Some((script::hundredths(low)?, script::hundredths(high)?));
            }
            return Ok(());
        }
        "trace" => return track.add(microseconds(at), line),
        "motion" => {
            let (right, up) = (optional(line, "right_mm")?, optional(line, "up_mm")?);
            let distance = optional(line, "distance_mm")?;
            let moved = script::moved(right, up, distance, optional(line, "sd_mm")?)?;
            moves.push(Move { from: count(line, "from_seq")?, to: count(line, "to_seq")?, moved });
            return Ok(());
        }
        "button" => What::Press(match string(line, "press")? {
            "short" => Press::Short,
            "long" => Press::Long,
            "double" => Press::Double,
            other => return Err(format!("expected short, long or double, but found '{other}'")),
        }),
        _ => {
            let peak = script::hundredths(number(line, "peak_nm")?)?;
            let seen = Seen {
                peak: Torque::from_centinewton_metres(peak),
                rotation: optional(line, "rotation_deg")?
                    .map_or(Ok(Rotation::NOT_KNOWN), script::rotation)?,
                duration: optional(line, "duration_ms")?
                    .map_or(Ok(USUAL_DURATION), script::duration)?,
                moved: None,
            };
            What::Pull(seen, None)
        }
    };
    let seq = matches!(what, What::Pull(..)).then(|| line["seq"].as_u64()).flatten();
    recording.acts.push(Act { at, seq, what });
    Ok(())
}

/// The square drive that a text such as `1/2 in` names.
fn drive(text: &str) -> Option<Drive> {
    let size = text.split_whitespace().next()?;
    Some(match size.trim_end_matches('"') {
        "1/4" => Drive::QUARTER_INCH,
        "3/8" => Drive::THREE_EIGHTHS_INCH,
        "1/2" => Drive::HALF_INCH,
        "3/4" => Drive::THREE_QUARTERS_INCH,
        "1" => Drive::ONE_INCH,
        _ => return None,
    })
}

fn string<'l>(line: &'l Value, key: &str) -> Result<&'l str, String> {
    line[key].as_str().ok_or_else(|| format!("expected a text '{key}', but found {}", line[key]))
}

fn number(line: &Value, key: &str) -> Result<f64, String> {
    line[key].as_f64().ok_or_else(|| format!("expected a number '{key}', but found {}", line[key]))
}

fn count(line: &Value, key: &str) -> Result<u64, String> {
    line[key].as_u64().ok_or_else(|| format!("expected a count '{key}', but found {}", line[key]))
}

fn optional(line: &Value, key: &str) -> Result<Option<f64>, String> {
    match &line[key] {
        Value::Null => Ok(None),
        _ => number(line, key).map(Some),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"
{"kind":"header","format":"clampbook-recording","version":1,"started":"2031-05-04T09:00:00Z"}
{"kind":"adapter","t":0,"adapter":"large","serial":"L-40-280","drive":"1/2 in","range_nm":[40,280],"accuracy_pct":1,"reports":["peak"]}
{"kind":"adapter","t":0,"adapter":"small","serial":"S-12-60","drive":"3/8 in","range_nm":[12,60],"accuracy_pct":2,"reports":["peak"]}
{"kind":"reading","t":9.5,"adapter":"large","seq":2,"peak_nm":165.2,"rotation_deg":31,"duration_ms":1200}
{"kind":"reading","t":4,"adapter":"large","seq":1,"peak_nm":80}
{"kind":"reading","t":5,"adapter":"small","seq":1,"peak_nm":21}
{"kind":"truth","t":4,"seq":1,"adapter":"large","fastener":"wheel/1","act":"tighten"}
{"kind":"button","t":10,"adapter":"large","press":"short"}
{"kind":"reading","t":11,"adapter":"large","seq":3}
not json
"#;

    #[test]
    fn one_adapters_acts_are_read_in_order_and_bad_lines_are_named() {
        let recording = parse(TEXT, None).expect("a recording");
        let act = |ms, seq, what| Act { at: Duration::from_millis(ms), seq, what };
        let pull = |peak, rotation, duration| {
            let peak = Torque::from_centinewton_metres(peak);
            What::Pull(Seen { peak, rotation, duration, moved: None }, None)
        };
        assert_eq!(
            recording,
            Recording {
                serial: Some("L-40-280".to_owned()),
                range: Some((4_000, 28_000)),
                drive: Some(Drive::HALF_INCH),
                accuracy_pct: Some(1.0),
                acts: vec![
                    act(4_000, Some(1), pull(8_000, Rotation::NOT_KNOWN, USUAL_DURATION)),
                    act(
                        9_500,
                        Some(2),
                        pull(
                            16_520,
                            Rotation::from_tenths(310),
                            clampbook_protocol::Duration::from_millis(1_200)
                        )
                    ),
                    act(10_000, None, What::Press(Press::Short)),
                ],
                faults: vec![
                    "line 10: expected a number 'peak_nm', but found null".to_owned(),
                    "line 11: expected a JSON object, but found: expected ident at line 1 column 2"
                        .to_owned(),
                ],
            }
        );
    }

    #[test]
    fn a_pull_gets_the_samples_that_were_recorded_of_it() {
        let trace = r#"{"kind":"trace","t":9.3,"adapter":"large","rate_hz":10,"nm":[2,80,165.1,4]}
{"kind":"trace","t":3.9,"adapter":"small","rate_hz":10,"nm":[2,80]}
{"kind":"trace","t":3.9,"adapter":"large","rate_hz":0,"nm":[2,80]}"#;
        let recording = parse(&format!("{TEXT}{trace}"), None).expect("a recording");
        let traced: Vec<bool> =
            recording.acts.iter().map(|act| matches!(act.what, What::Pull(_, Some(_)))).collect();
        assert_eq!(traced, [false, true, false]);
        assert_eq!(
            recording.faults.last().map(String::as_str),
            Some("line 14: expected rate_hz from 1 to 10000, but found 0")
        );
    }

    #[test]
    fn a_pull_gets_the_motion_from_the_pull_before_it() {
        let motion = r#"{"kind":"motion","t":9.5,"adapter":"large","from_seq":1,"to_seq":2,"right_mm":40,"up_mm":-57.4,"sd_mm":8}
{"kind":"motion","t":5,"adapter":"small","from_seq":1,"to_seq":2,"distance_mm":40,"sd_mm":8}
{"kind":"motion","t":11,"adapter":"large","from_seq":1,"to_seq":3,"distance_mm":40,"sd_mm":8}
{"kind":"motion","t":11,"adapter":"large","from_seq":2,"to_seq":3,"sd_mm":8}"#;
        let recording = parse(&format!("{TEXT}{motion}"), None).expect("a recording");
        let moved: Vec<Option<Moved>> = recording
            .acts
            .iter()
            .filter_map(|act| match act.what {
                What::Pull(seen, _) => Some(seen.moved),
                What::Press(_) => None,
            })
            .collect();
        let travel = clampbook_protocol::Travel::Vector { right: 40, up: -57 };
        assert_eq!(moved, [None, Some(Moved { travel, deviation: 80 })]);
        let faults = [
            "line 15: expected right and up, or a distance, but found others",
            "motion from 1 to 3: expected two readings that follow each other, but found none",
        ];
        assert_eq!(recording.faults[2..], faults);
    }

    #[test]
    fn another_adapter_can_be_chosen_and_none_at_all_is_an_error() {
        let small = parse(TEXT, Some("small")).expect("a recording");
        assert_eq!((small.serial.as_deref(), small.acts.len()), (Some("S-12-60"), 1));
        let error = parse("{\"kind\":\"note\"}", Some("x")).expect_err("no readings");
        assert_eq!(error, "expected readings of x, but found none; ");
    }
}
