//! The commands on standard input.

use std::path::PathBuf;
use std::time::Duration;

use clampbook_protocol::{Duration as PullDuration, Rotation, Torque, Travel};
use clampbook_reference_adapter::device::{Moved, Seen};

/// One command.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Command {
    Play { speed: f64 },
    Pull(Seen),
    Button(Press),
    DropLink(Duration),
    Skip(u16),
    Double(u16),
    LoseBlocks { count: u16, after: u16 },
    Delay(u16, Duration),
    Fill(u16, Seen),
    Elapse(Duration),
    Sleep(Duration),
    Wake,
    PowerOff,
    PowerOn,
    NewEpoch,
    Pairing(Duration),
    DeleteBonds,
    Log(Option<PathBuf>),
    Status,
    Quit,
}

/// How the button was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Press {
    Short,
    Long,
    Double,
}

/// One standard deviation of a motion that does not say it, in steps of 0.1 mm.
const USUAL_DEVIATION: u16 = 100;

/// Duration of a pull that does not say how long it took.
pub(crate) const USUAL_DURATION: PullDuration = PullDuration::from_millis(900);

/// One line as a command; the error is a sentence for the user.
pub(crate) fn parse(line: &str) -> Result<Command, String> {
    let mut words = line.split_whitespace();
    let verb = words.next().unwrap_or_default();
    let words: Vec<&str> = words.collect();
    let command = match (verb, words.as_slice()) {
        ("play", []) => Command::Play { speed: 1.0 },
        ("play", [speed]) => {
            let speed = keyed(speed, "speed")?;
            if !(0.1..=1000.0).contains(&speed) {
                return Err(format!("expected a speed from 0.1 to 1000, but found {speed}"));
            }
            Command::Play { speed }
        }
        ("pull", [peak, rest @ ..]) => Command::Pull(pull(peak, rest)?),
        ("button", ["short"]) => Command::Button(Press::Short),
        ("button", ["long"]) => Command::Button(Press::Long),
        ("button", ["double"]) => Command::Button(Press::Double),
        ("drop-link", []) => Command::DropLink(Duration::from_secs(1)),
        ("drop-link", [time]) => Command::DropLink(seconds(time, 3600.0)?),
        ("skip", [count]) => Command::Skip(count_of(count)?),
        ("double", [count]) => Command::Double(count_of(count)?),
        ("lose-blocks", [count]) => Command::LoseBlocks { count: count_of(count)?, after: 0 },
        ("lose-blocks", [count, after]) => {
            Command::LoseBlocks { count: count_of(count)?, after: count_of(after)? }
        }
        ("delay", [count]) => Command::Delay(count_of(count)?, Duration::from_secs(2)),
        ("delay", [count, time]) => Command::Delay(count_of(count)?, seconds(time, 60.0)?),
        ("fill", [count, peak]) => Command::Fill(count_of(count)?, pull(peak, &[])?),
        ("elapse", [time]) => Command::Elapse(seconds(time, 1e6)?),
        ("sleep", []) => Command::Sleep(Duration::from_secs(10)),
        ("sleep", [time]) => Command::Sleep(seconds(time, 3600.0)?),
        ("wake", []) => Command::Wake,
        ("power-off", []) => Command::PowerOff,
        ("power-on", []) => Command::PowerOn,
        ("new-epoch", []) => Command::NewEpoch,
        ("pairing", []) => Command::Pairing(Duration::from_secs(60)),
        ("pairing", [time]) => Command::Pairing(seconds(time, 60.0)?),
        ("delete-bonds", []) => Command::DeleteBonds,
        ("log", []) => Command::Log(None),
        ("log", [file]) => Command::Log(Some(file.into())),
        ("status", []) => Command::Status,
        ("quit", []) => Command::Quit,
        _ => {
            return Err(format!(
                "expected a command, but found '{}'; --help lists them",
                line.trim()
            ));
        }
    };
    Ok(command)
}

fn pull(peak: &str, rest: &[&str]) -> Result<Seen, String> {
    let mut pull = Seen {
        peak: Torque::from_centinewton_metres(hundredths(number(peak)?)?),
        rotation: Rotation::NOT_KNOWN,
        duration: USUAL_DURATION,
        moved: None,
    };
    let (mut right, mut up, mut distance, mut deviation) = (None, None, None, None);
    for word in rest {
        match word.split_once('=').map(|(key, _)| key) {
            Some("rotation") => pull.rotation = rotation(keyed(word, "rotation")?)?,
            Some("right") => right = Some(keyed(word, "right")?),
            Some("up") => up = Some(keyed(word, "up")?),
            Some("distance") => distance = Some(keyed(word, "distance")?),
            Some("sd") => deviation = Some(keyed(word, "sd")?),
            _ => pull.duration = duration(keyed(word, "duration")?)?,
        }
    }
    pull.moved = match (right, up, distance) {
        (None, None, None) => None,
        _ => Some(moved(right, up, distance, deviation)?),
    };
    Ok(pull)
}

/// A motion in millimetres: two axes, or a distance; and one standard deviation, if it is told.
pub(crate) fn moved(
    right: Option<f64>,
    up: Option<f64>,
    distance: Option<f64>,
    deviation: Option<f64>,
) -> Result<Moved, String> {
    let within = |value: f64, least: f64, most: f64| match (least..=most).contains(&value) {
        true => Ok(value.round()),
        false => Err(format!("expected {least} to {most} mm, but found {value}")),
    };
    let axis = |value| within(value, -32_000.0, 32_000.0).map(|mm| mm as i16);
    let travel = match (right, up, distance) {
        (Some(right), Some(up), None) => Travel::Vector { right: axis(right)?, up: axis(up)? },
        (None, None, Some(distance)) => {
            Travel::Distance { distance: within(distance, 0.0, 64_000.0)? as u16 }
        }
        _ => return Err("expected right and up, or a distance, but found others".to_owned()),
    };
    let deviation = match deviation {
        None => USUAL_DEVIATION,
        Some(mm) => (within(mm * 10.0, 0.0, 65_000.0)?) as u16,
    };
    Ok(Moved { travel, deviation })
}

/// Newton metres as 0.01 N·m.
pub(crate) fn hundredths(newton_metres: f64) -> Result<i32, String> {
    if newton_metres.abs() <= 20_000.0 {
        Ok((newton_metres * 100.0).round() as i32)
    } else {
        Err(format!("expected a torque from -20000 to 20000 N·m, but found {newton_metres}"))
    }
}

/// Degrees as a rotation.
pub(crate) fn rotation(degrees: f64) -> Result<Rotation, String> {
    if degrees.abs() <= 3_276.0 {
        Ok(Rotation::from_tenths((degrees * 10.0).round() as i32))
    } else {
        Err(format!("expected a rotation from -3276 to 3276 degrees, but found {degrees}"))
    }
}

/// Milliseconds as the duration of a pull.
pub(crate) fn duration(milliseconds: f64) -> Result<PullDuration, String> {
    if (0.0..=60_000.0).contains(&milliseconds) {
        Ok(PullDuration::from_millis(milliseconds.round() as u32))
    } else {
        Err(format!("expected a duration from 0 to 60000 ms, but found {milliseconds}"))
    }
}

fn number(word: &str) -> Result<f64, String> {
    word.parse()
        .ok()
        .filter(|n: &f64| n.is_finite())
        .ok_or_else(|| format!("expected a number, but found '{word}'"))
}

fn keyed(word: &str, key: &str) -> Result<f64, String> {
    match word.split_once('=') {
        Some((found, value)) if found == key => number(value),
        _ => Err(format!("expected {key}=NUMBER, but found '{word}'")),
    }
}

fn count_of(word: &str) -> Result<u16, String> {
    word.parse().map_err(|_| format!("expected a count from 0 to 65535, but found '{word}'"))
}

fn seconds(word: &str, longest: f64) -> Result<Duration, String> {
    let time = number(word.strip_suffix('s').unwrap_or(word))?;
    if (0.0..=longest).contains(&time) {
        Ok(Duration::from_secs_f64(time))
    } else {
        Err(format!("expected 0 to {longest} seconds, but found '{word}'"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_command_is_understood() {
        let pull = |peak, rotation, duration| {
            let peak = Torque::from_centinewton_metres(peak);
            Command::Pull(Seen { peak, rotation, duration, moved: None })
        };
        let moving = |travel, deviation| {
            Command::Pull(Seen {
                peak: Torque::from_centinewton_metres(8_000),
                rotation: Rotation::NOT_KNOWN,
                duration: USUAL_DURATION,
                moved: Some(Moved { travel, deviation }),
            })
        };
        let cases = [
            ("play", Command::Play { speed: 1.0 }),
            ("play speed=20", Command::Play { speed: 20.0 }),
            ("pull 165.2 rotation=31", pull(16_520, Rotation::from_tenths(310), USUAL_DURATION)),
            (
                "pull -38.004 duration=1200",
                pull(-3_800, Rotation::NOT_KNOWN, PullDuration::from_millis(1_200)),
            ),
            ("button long", Command::Button(Press::Long)),
            ("drop-link 3s", Command::DropLink(Duration::from_secs(3))),
            ("drop-link 0.5", Command::DropLink(Duration::from_millis(500))),
            ("  skip   2 ", Command::Skip(2)),
            ("double 1", Command::Double(1)),
            ("lose-blocks 4", Command::LoseBlocks { count: 4, after: 0 }),
            ("lose-blocks 4 2", Command::LoseBlocks { count: 4, after: 2 }),
            ("delay 3", Command::Delay(3, Duration::from_secs(2))),
            ("delay 1 0.2", Command::Delay(1, Duration::from_millis(200))),
            (
                "fill 2000 165",
                Command::Fill(
                    2_000,
                    Seen {
                        peak: Torque::from_centinewton_metres(16_500),
                        rotation: Rotation::NOT_KNOWN,
                        duration: USUAL_DURATION,
                        moved: None,
                    },
                ),
            ),
            ("pull 80 right=-40 up=57.4 sd=8.5", moving(Travel::Vector { right: -40, up: 57 }, 85)),
            ("pull 80 distance=70", moving(Travel::Distance { distance: 70 }, 100)),
            ("elapse 600s", Command::Elapse(Duration::from_secs(600))),
            ("delete-bonds", Command::DeleteBonds),
            ("pairing", Command::Pairing(Duration::from_secs(60))),
            ("log /tmp/a", Command::Log(Some("/tmp/a".into()))),
            ("quit", Command::Quit),
        ];
        for (line, command) in cases {
            assert_eq!(parse(line), Ok(command), "{line}");
        }
    }

    #[test]
    fn a_wrong_command_is_answered_with_what_was_expected() {
        let cases = [
            ("jump", "expected a command, but found 'jump'; --help lists them"),
            ("pull hard", "expected a number, but found 'hard'"),
            ("pull 1e9", "expected a torque from -20000 to 20000 N·m, but found 1000000000"),
            ("pull 10 torsion=3", "expected duration=NUMBER, but found 'torsion=3'"),
            ("pull 10 right=3", "expected right and up, or a distance, but found others"),
            ("pull 10 distance=-3", "expected 0 to 64000 mm, but found -3"),
            ("skip -1", "expected a count from 0 to 65535, but found '-1'"),
            ("pairing 61", "expected 0 to 60 seconds, but found '61'"),
            ("play speed=nan", "expected a number, but found 'nan'"),
        ];
        for (line, message) in cases {
            assert_eq!(parse(line), Err(message.to_owned()), "{line}");
        }
    }
}
