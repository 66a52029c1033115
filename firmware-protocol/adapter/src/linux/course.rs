//! What one pull does to the drive over time: made from its peak, or as it was recorded.

use std::rc::Rc;

use clampbook_protocol::{Rotation, Sample, Torque};
use clampbook_reference_adapter::device::Seen;
use clampbook_reference_adapter::profile::Profile;

/// A trace begins so long before the pull, at most: so long is what was sampled before kept.
pub(crate) const LEAD_US: u64 = 300_000;
/// A trace goes on for so long after the torque is gone: only then has the pull ended.
pub(crate) const TAIL_US: u64 = 100_000;

/// One recorded sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point {
    /// Microseconds since the first sample.
    pub(crate) us: u64,
    /// In 0.01 N·m.
    pub(crate) torque: f64,
    /// In 0.1°, counted from the first sample.
    pub(crate) turned: Option<f64>,
}

/// The samples of one recorded pull.
#[derive(Debug, PartialEq)]
pub(crate) struct Recorded {
    /// In order of time, the first one at 0.
    points: Vec<Point>,
    /// From when to when the drive is under torque.
    pulled: (u64, u64),
    peak_us: u64,
}

impl Recorded {
    /// A pull of these samples, that is under torque from one time to another; none without a sample.
    pub(crate) fn new(mut points: Vec<Point>, pulled: (u64, u64)) -> Option<Self> {
        let first = *points.first()?;
        for point in &mut points {
            point.us = point.us.saturating_sub(first.us);
            point.turned = point.turned.zip(first.turned).map(|(turned, from)| turned - from);
        }
        let peak = points.iter().max_by(|a, b| a.torque.abs().total_cmp(&b.torque.abs()))?;
        let (from, to) = pulled;
        Some(Self {
            peak_us: peak.us,
            pulled: (from.saturating_sub(first.us), to.saturating_sub(first.us)),
            points,
        })
    }

    fn length_us(&self) -> u64 {
        self.points.last().map_or(0, |point| point.us)
    }

    fn rotates(&self) -> bool {
        self.points.iter().all(|point| point.turned.is_some())
    }

    /// A value at a time, on the straight line between the samples before and after it.
    fn at(&self, at_us: u64, value: impl Fn(&Point) -> f64) -> f64 {
        let next = self.points.partition_point(|point| point.us <= at_us);
        let before = self.points.get(next.saturating_sub(1));
        let (Some(before), Some(after)) = (before, self.points.get(next).or(before)) else {
            return 0.0;
        };
        let span = after.us.saturating_sub(before.us);
        let part = at_us.saturating_sub(before.us).min(span) as f64 / span.max(1) as f64;
        value(before) + (value(after) - value(before)) * part
    }
}

/// How the torque of a pull runs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Shape {
    Made { profile: Profile, rotation: Rotation },
    Recorded(Rc<Recorded>),
}

impl Shape {
    /// As recorded; otherwise made from what the reading will say.
    pub(crate) fn new(seen: &Seen, recorded: Option<Rc<Recorded>>) -> Self {
        recorded.map_or_else(
            || {
                let duration_ms = u32::from(seen.duration.millis().unwrap_or_default());
                let profile = Profile::new(seen.peak.raw(), duration_ms);
                Self::Made { profile, rotation: seen.rotation }
            },
            Self::Recorded,
        )
    }

    /// From its beginning to its end.
    pub(crate) fn length_us(&self) -> u64 {
        match self {
            Self::Made { profile, .. } => u64::from(profile.length_ms()) * 1_000,
            Self::Recorded(recorded) => recorded.length_us(),
        }
    }

    /// From its beginning to its peak.
    pub(crate) fn peak_us(&self) -> u64 {
        match self {
            Self::Made { profile, .. } => u64::from(profile.peak_ms()) * 1_000,
            Self::Recorded(recorded) => recorded.peak_us,
        }
    }

    /// True if it tells how far the drive turned.
    pub(crate) fn rotates(&self) -> bool {
        match self {
            Self::Made { rotation, .. } => *rotation != Rotation::NOT_KNOWN,
            Self::Recorded(recorded) => recorded.rotates(),
        }
    }

    /// From when to when the drive is under torque, since its beginning.
    fn pulled_us(&self) -> (u64, u64) {
        match self {
            Self::Made { .. } => (0, self.length_us()),
            Self::Recorded(recorded) => recorded.pulled,
        }
    }

    fn torque_at(&self, at_us: u64) -> i32 {
        match self {
            Self::Made { profile, .. } => profile.torque_at_us(at_us),
            Self::Recorded(recorded) => recorded.at(at_us, |point| point.torque).round() as i32,
        }
    }

    fn turned_at(&self, at_us: u64) -> Rotation {
        match self {
            Self::Made { profile, rotation } => {
                rotation.tenths().map_or(Rotation::NOT_KNOWN, |tenths| {
                    Rotation::from_tenths(profile.turned_at_us(at_us, tenths).into())
                })
            }
            Self::Recorded(recorded) if recorded.rotates() => {
                let turned = recorded.at(at_us, |point| point.turned.unwrap_or_default());
                Rotation::from_tenths(turned.round() as i32)
            }
            Self::Recorded(_) => Rotation::NOT_KNOWN,
        }
    }
}

/// A pull that has begun. Times are microseconds on this program's clock.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Course {
    pub(crate) began_us: u64,
    pub(crate) shape: Shape,
}

impl Course {
    /// When its last sample is over.
    pub(crate) fn end_us(&self) -> u64 {
        self.began_us + self.shape.length_us()
    }

    /// Torque at a time, or none where it is not under way.
    pub(crate) fn torque_at(&self, at_us: u64) -> Option<Torque> {
        let since = at_us.checked_sub(self.began_us)?;
        (since <= self.shape.length_us())
            .then(|| Torque::from_centinewton_metres(self.shape.torque_at(since)))
    }

    /// True while the hand pulls.
    pub(crate) fn is_pulled_at(&self, at_us: u64) -> bool {
        let (from, to) = self.shape.pulled_us();
        (self.began_us + from..self.began_us + to).contains(&at_us)
    }

    /// When its trace begins and ends.
    pub(crate) fn traced_us(&self) -> (u64, u64) {
        let (from, to) = self.shape.pulled_us();
        let begins = (self.began_us + from).saturating_sub(LEAD_US).min(self.began_us);
        (begins, (self.began_us + to + TAIL_US).max(self.end_us()))
    }

    /// The sample of its trace at a time: no torque before it and after it.
    pub(crate) fn sample_at(&self, at_us: u64) -> Sample {
        let since = at_us.saturating_sub(self.began_us).min(self.shape.length_us());
        Sample {
            torque: self.torque_at(at_us).unwrap_or(Torque::ZERO),
            rotation: self.shape.turned_at(since),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn recorded(points: &[(u64, f64, Option<f64>)]) -> Rc<Recorded> {
        let points =
            points.iter().map(|&(us, torque, turned)| Point { us, torque, turned }).collect();
        Rc::new(Recorded::new(points, (1_010_000, 1_030_000)).expect("samples"))
    }

    fn told(course: &Course, at_us: u64) -> (i32, Option<i16>) {
        let sample = course.sample_at(at_us);
        (sample.torque.raw(), sample.rotation.tenths())
    }

    #[test]
    fn a_recorded_pull_is_what_lies_on_the_line_between_its_samples() {
        let shape = Shape::Recorded(recorded(&[
            (1_000_000, 4.0, Some(70.0)),
            (1_010_000, 104.0, Some(90.0)),
            (1_030_000, -300.0, Some(90.0)),
        ]));
        let course = Course { began_us: 5_000_000, shape };
        assert_eq!((course.end_us(), course.shape.peak_us()), (5_030_000, 30_000));
        let cases = [
            (4_990_000, (0, Some(0))),
            (5_000_000, (4, Some(0))),
            (5_002_500, (29, Some(5))),
            (5_010_000, (104, Some(20))),
            (5_020_000, (-98, Some(20))),
            (5_030_000, (-300, Some(20))),
            (5_030_001, (0, Some(20))),
        ];
        for (at, expected) in cases {
            assert_eq!(told(&course, at), expected, "at {at}");
        }
        assert_eq!(
            [5_009_999, 5_010_000, 5_029_999, 5_030_000].map(|at| course.is_pulled_at(at)),
            [false, true, true, false]
        );
        assert_eq!(course.traced_us(), (4_710_000, 5_130_000));
    }

    #[test]
    fn a_recording_without_rotation_has_none_and_one_without_samples_is_none() {
        let shape = Shape::Recorded(recorded(&[(0, 1.0, Some(0.0)), (9, 2.0, None)]));
        assert!(!shape.rotates());
        assert_eq!(told(&Course { began_us: 0, shape }, 9), (2, None));
        assert_eq!(Recorded::new(Vec::new(), (0, 0)), None);
    }

    #[test]
    fn a_made_pull_has_the_peak_and_the_rotation_of_its_reading() {
        let mut seen = Seen {
            peak: Torque::from_centinewton_metres(-9_000),
            rotation: Rotation::from_tenths(-250),
            duration: clampbook_protocol::Duration::from_millis(1_000),
            moved: None,
        };
        let course = Course { began_us: 700_000, shape: Shape::new(&seen, None) };
        assert_eq!(told(&course, 700_000 + course.shape.peak_us()), (-9_000, Some(-250)));
        assert_eq!(told(&course, 600_000), (0, Some(0)));
        assert_eq!(told(&course, course.end_us() + 1), (0, Some(-250)));
        assert_eq!(course.traced_us(), (400_000, course.end_us() + TAIL_US));
        seen.rotation = Rotation::NOT_KNOWN;
        assert!(!Shape::new(&seen, None).rotates());
    }
}
