//! The `trace` lines of a recording, and which of their samples belong to which reading.

use std::rc::Rc;

use serde_json::Value;

use super::course::{LEAD_US, Point, Recorded, TAIL_US};

/// Samples that lie further apart than this are not of one pull.
const GAP_US: u64 = 500_000;
/// Torque below this share of the peak is no pull.
const THRESHOLD: f64 = 0.02;
/// Rates that are believed, in samples a second.
const RATES: std::ops::RangeInclusive<f64> = 1.0..=10_000.0;

/// One `trace` line.
struct Block {
    start_us: u64,
    rate: f64,
    /// In N·m.
    torques: Vec<f64>,
    /// In degrees, from the sample before the block.
    turned: Option<Vec<f64>>,
}

/// The trace of one adapter over a whole recording.
#[derive(Default)]
pub(crate) struct Track {
    blocks: Vec<Block>,
}

impl Track {
    /// Takes a line whose first sample is at `start_us`.
    pub(crate) fn add(&mut self, start_us: u64, line: &Value) -> Result<(), String> {
        let rate =
            line["rate_hz"].as_f64().filter(|rate| RATES.contains(rate)).ok_or_else(|| {
                format!("expected rate_hz from 1 to 10000, but found {}", line["rate_hz"])
            })?;
        let torques = numbers(line, "nm")?;
        if let Some(torque) = torques.iter().find(|torque| torque.abs() > 20_000.0) {
            return Err(format!("expected torques from -20000 to 20000 N·m, but found {torque}"));
        }
        let turned = match &line["deg"] {
            Value::Null => None,
            _ => Some(numbers(line, "deg")?),
        };
        if let Some(turned) = &turned
            && turned.len() != torques.len()
        {
            return Err(format!(
                "expected as many deg as nm, {}, but found {}",
                torques.len(),
                turned.len()
            ));
        }
        self.blocks.push(Block { start_us, rate, torques, turned });
        Ok(())
    }

    /// The samples of each pull, for the times of the readings in order; none where there are none.
    pub(crate) fn of_pulls(mut self, readings_us: &[u64]) -> Vec<Option<Rc<Recorded>>> {
        self.blocks.sort_by_key(|block| block.start_us);
        let points = self.points();
        let halfway = |a: Option<&u64>, b: u64| a.map(|a| a / 2 + b / 2);
        let windows = readings_us.iter().enumerate().map(|(n, &at)| {
            let before = n.checked_sub(1).and_then(|n| readings_us.get(n));
            let from = halfway(before, at).unwrap_or(0);
            let to = halfway(readings_us.get(n + 1), at).unwrap_or(u64::MAX);
            (from, at, to)
        });
        windows.map(|window| pull(&points, window).map(Rc::new)).collect()
    }

    /// All samples in order of time, in 0.01 N·m and, as a running sum, in 0.1°.
    fn points(&self) -> Vec<Point> {
        let mut points: Vec<Point> = Vec::new();
        let mut sum = 0.0;
        for block in &self.blocks {
            for (n, torque) in block.torques.iter().enumerate() {
                let us = block.start_us + (n as f64 * 1e6 / block.rate).round() as u64;
                let turned = block.turned.as_ref().and_then(|turned| turned.get(n));
                points.push(Point {
                    us,
                    torque: torque * 100.0,
                    turned: turned.map(|turned| (sum + turned) * 10.0),
                });
            }
            sum += block.turned.as_ref().and_then(|turned| turned.last()).unwrap_or(&0.0);
        }
        points.sort_by_key(|point| point.us);
        points
    }
}

/// The pull around `at`, no earlier than `from` and no later than `to`.
fn pull(points: &[Point], (from, at, to): (u64, u64, u64)) -> Option<Recorded> {
    let begin = points.partition_point(|point| point.us < from);
    let end = points.partition_point(|point| point.us <= to);
    let points = points.get(begin..end)?;
    let near = points.iter().position(|point| point.us + GAP_US / 2 >= at)?;
    if points.get(near)?.us > at + GAP_US / 2 {
        return None;
    }
    let joins = |pair: &[Point]| pair[1].us - pair[0].us <= GAP_US;
    let before = points[..=near].windows(2).rev().take_while(|pair| joins(pair)).count();
    let after = points[near..].windows(2).take_while(|pair| joins(pair)).count();
    let points = &points[near - before..=near + after];
    let peak = points.iter().map(|point| point.torque.abs()).fold(0.0, f64::max);
    let stands = |point: &&Point| point.torque.abs() >= peak * THRESHOLD;
    let pulled = (points.iter().find(stands)?.us, points.iter().rev().find(stands)?.us);
    let kept = |point: &&Point| point.us + LEAD_US >= pulled.0 && point.us <= pulled.1 + TAIL_US;
    let points: Vec<Point> = points.iter().filter(kept).copied().collect();
    (points.len() >= 2 && peak > 0.0).then(|| Recorded::new(points, pulled)).flatten()
}

fn numbers(line: &Value, key: &str) -> Result<Vec<f64>, String> {
    let wrong = || format!("expected a list of numbers '{key}', but found {}", line[key]);
    let list = line[key].as_array().filter(|list| !list.is_empty()).ok_or_else(wrong)?;
    list.iter().map(|value| value.as_f64().ok_or_else(wrong)).collect()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::course::{Course, Shape};
    use super::*;

    fn track(blocks: &[(u64, Value)]) -> Track {
        let mut track = Track::default();
        for (start_us, line) in blocks {
            track.add(*start_us, line).expect("a block");
        }
        track
    }

    /// Torque and rotation of a pull at each of some times since it began.
    fn course(recorded: &Option<Rc<Recorded>>, at_us: &[u64]) -> Vec<(i32, Option<i16>)> {
        let shape = Shape::Recorded(recorded.clone().expect("samples"));
        let course = Course { began_us: 0, shape };
        at_us
            .iter()
            .map(|&at| course.sample_at(at))
            .map(|s| (s.torque.raw(), s.rotation.tenths()))
            .collect()
    }

    #[test]
    fn each_reading_gets_the_samples_around_it_with_what_was_just_before_and_after() {
        let rest = vec![0.1; 80];
        let first: Vec<f64> = [&rest[..], &[20.0, 40.0, 60.0], &rest[..]].concat();
        let turns: Vec<f64> = (0..163).map(|n| f64::from(n).clamp(79.0, 83.0) / 10.0).collect();
        let blocks = [
            (10_000_000, json!({ "rate_hz": 10, "nm": [0.0, 30.0], "deg": [1.0, 4.0] })),
            (10_200_000, json!({ "rate_hz": 10, "nm": [50.0, 0.0], "deg": [2.0, 2.5] })),
            (5_000_000, json!({ "rate_hz": 100, "nm": first, "deg": turns })),
        ];
        let pulls = track(&blocks).of_pulls(&[5_820_000, 8_000_000, 10_200_000]);
        // 0.8 s of rest before, of which 0.3 s are kept; 0.1 s after.
        assert_eq!(
            course(&pulls[0], &[0, 300_000, 316_000, 320_000, 420_000, 430_000]),
            [
                (10, Some(0)),
                (2_000, Some(1)),
                (5_200, Some(3)),
                (6_000, Some(3)),
                (10, Some(4)),
                (0, Some(4))
            ]
        );
        assert_eq!(pulls[1], None);
        assert_eq!(
            course(&pulls[2], &[0, 50_000, 100_000, 150_000, 200_000, 300_000]),
            [
                (0, Some(0)),
                (1_500, Some(15)),
                (3_000, Some(30)),
                (4_000, Some(40)),
                (5_000, Some(50)),
                (0, Some(55))
            ]
        );
    }

    #[test]
    fn a_wrong_line_is_refused_with_what_was_expected() {
        let cases = [
            (json!({ "nm": [1] }), "expected rate_hz from 1 to 10000, but found null"),
            (json!({ "rate_hz": 50, "nm": [] }), "expected a list of numbers 'nm', but found []"),
            (
                json!({ "rate_hz": 50, "nm": [1, null] }),
                "expected a list of numbers 'nm', but found [1,null]",
            ),
            (
                json!({ "rate_hz": 50, "nm": [1, 1e9] }),
                "expected torques from -20000 to 20000 N·m, but found 1000000000",
            ),
            (
                json!({ "rate_hz": 50, "nm": [1, 2], "deg": [1] }),
                "expected as many deg as nm, 2, but found 1",
            ),
        ];
        for (line, message) in cases {
            assert_eq!(Track::default().add(0, &line), Err(message.to_owned()), "{line}");
        }
    }
}
