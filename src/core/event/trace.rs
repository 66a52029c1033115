//! Samples of torque over time, as they are kept.

use crate::core::signal::Block;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::ops::Range;

/// How hard to pack: the usual balance of time and size.
const LEVEL: u8 = 6;
/// The longest text that is unpacked, octets.
const LONGEST: usize = 64 << 20;

/// Evenly spaced samples of one adapter.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(remote = "Self")]
pub struct Trace {
    /// When the first sample was taken.
    pub start: Stamp,
    /// Samples a second.
    pub rate_hz: f64,
    /// The samples, clockwise positive. One that is missing is not a number, and `null` in JSON.
    #[serde(with = "samples")]
    pub torque: Vec<Torque>,
    /// How far the drive has turned, degrees, clockwise positive: as many as there are samples,
    /// counted from the last sample of the block before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turned_deg: Option<Vec<f64>>,
}

impl Serialize for Trace {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Self::serialize(self, to)
    }
}

/// What was written by others may be no trace at all.
impl<'de> Deserialize<'de> for Trace {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let trace = Self::deserialize(from)?;
        let turned = trace.turned_deg.as_ref().map_or(trace.torque.len(), Vec::len);
        if !(trace.rate_hz.is_finite() && trace.rate_hz > 0.0) {
            return Err(D::Error::custom("samples whose rate is not above zero"));
        }
        if turned != trace.torque.len() {
            return Err(D::Error::custom("another count of rotations than of samples"));
        }
        Ok(trace)
    }
}

impl Trace {
    /// The samples as they are read, N·m.
    #[must_use]
    pub fn samples_nm(&self) -> Vec<f32> {
        self.torque.iter().map(|torque| torque.nm() as f32).collect()
    }

    /// The same, to be read; `torque` is what [`Self::samples_nm`] gives.
    #[must_use]
    pub fn block<'a>(&'a self, torque: &'a [f32]) -> Block<'a> {
        Block {
            start: self.start,
            rate_hz: self.rate_hz,
            torque,
            turned_deg: self.turned_deg.as_deref(),
        }
    }

    /// When the sample at `index` was taken.
    #[must_use]
    pub fn time_of(&self, index: usize) -> Stamp {
        self.start + index as f64 / self.rate_hz
    }

    /// When the next sample would be due.
    #[must_use]
    pub fn end(&self) -> Stamp {
        self.time_of(self.torque.len())
    }

    /// Adds what follows. Samples that are missing in between are told as such.
    ///
    /// Gives it back if it does not follow: another rate, a start before the end, more than
    /// `longest_s` seconds missing, or rotation on one side only.
    pub fn join(&mut self, next: Self, longest_s: f64) -> Option<Self> {
        let missing_s = next.start - self.end();
        let follows = next.rate_hz == self.rate_hz
            && (-0.5 / self.rate_hz..longest_s).contains(&missing_s)
            && next.turned_deg.is_some() == self.turned_deg.is_some();
        if !follows {
            return Some(next);
        }
        let missing = (missing_s * self.rate_hz).round().max(0.0) as usize;
        let lost = std::iter::repeat_n(Torque::from_nm(f64::NAN), missing);
        self.torque.extend(lost.chain(next.torque));
        if let (Some(turned), Some(next)) = (&mut self.turned_deg, next.turned_deg) {
            let before = turned.last().copied().unwrap_or(0.0);
            turned.extend(std::iter::repeat_n(before, missing));
            turned.extend(next.iter().map(|deg| before + deg));
        }
        None
    }

    /// The same as a short text: JSON, deflated (RFC 1951), in base64 (RFC 4648 section 4).
    #[must_use]
    pub fn pack(&self) -> String {
        let json = serde_json::to_vec(self).expect("numbers are always JSON; this is a bug");
        STANDARD.encode(compress_to_vec(&json, LEVEL))
    }

    /// What was packed; none if it is not that, or unreasonably long.
    #[must_use]
    pub fn unpack(text: &str) -> Option<Self> {
        let octets = STANDARD.decode(text).ok()?;
        let json = decompress_to_vec_with_limit(&octets, LONGEST).ok()?;
        serde_json::from_slice(&json).ok()
    }

    /// The samples from `from` to `to`, if there are any.
    #[must_use]
    pub fn part(&self, from: Stamp, to: Stamp) -> Option<Self> {
        let index = |at: Stamp| ((at - self.start) * self.rate_hz).max(0.0);
        let first = index(from).floor() as usize;
        let last = (index(to).ceil() as usize).min(self.torque.len());
        (first < last).then(|| self.samples(first..last))
    }

    /// The stretches between missing samples, none of which misses any.
    pub fn stretches(&self) -> impl Iterator<Item = Self> {
        let mut first = 0;
        let ends = self.torque.chunk_by(|a, b| a.nm().is_nan() == b.nm().is_nan());
        ends.filter_map(move |part| {
            let samples = first..first + part.len();
            first = samples.end;
            (!part[0].nm().is_nan()).then(|| self.samples(samples))
        })
    }

    fn samples(&self, range: Range<usize>) -> Self {
        let turned_deg = self.turned_deg.as_ref().map(|turned| {
            let before = range.start.checked_sub(1).map_or(0.0, |index| turned[index]);
            turned[range.clone()].iter().map(|deg| deg - before).collect()
        });
        Self {
            start: self.time_of(range.start),
            rate_hz: self.rate_hz,
            torque: self.torque[range].to_vec(),
            turned_deg,
        }
    }
}

/// JSON has no way to write what is not a number.
mod samples {
    use crate::core::units::Torque;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    pub(super) fn serialize<S: Serializer>(
        torque: &[Torque],
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        let plain: Vec<Option<f64>> =
            torque.iter().map(|torque| Some(torque.nm()).filter(|nm| nm.is_finite())).collect();
        plain.serialize(serializer)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<Vec<Torque>, D::Error> {
        let plain = Vec::<Option<f64>>::deserialize(deserializer)?;
        Ok(plain.into_iter().map(|nm| Torque::from_nm(nm.unwrap_or(f64::NAN))).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::Trace;
    use crate::core::time::Stamp;
    use crate::core::units::Torque;

    fn trace(start_s: f64, nm: &[f64], turned_deg: Option<&[f64]>) -> Trace {
        Trace {
            start: Stamp::from_seconds(start_s),
            rate_hz: 100.0,
            torque: nm.iter().map(|nm| Torque::from_nm(*nm)).collect(),
            turned_deg: turned_deg.map(<[f64]>::to_vec),
        }
    }

    fn text(trace: &Trace) -> String {
        serde_json::to_string(trace).unwrap()
    }

    #[test]
    fn blocks_join_and_what_is_missing_between_them_is_told() {
        let mut whole = trace(1.0, &[1.0, 2.0], Some(&[0.5, 1.0]));
        assert_eq!(whole.join(trace(1.04, &[5.0, 6.0], Some(&[1.5, 2.0])), 1.0), None);
        assert_eq!(
            text(&whole),
            r#"{"start":1000000,"rate_hz":100.0,"torque":[1.0,2.0,null,null,5.0,6.0],"turned_deg":[0.5,1.0,1.0,1.0,2.5,3.0]}"#
        );
        let later = trace(3.0, &[1.0], Some(&[0.0]));
        assert_eq!(whole.join(later.clone(), 1.0), Some(later));
        let part = whole.part(Stamp::from_seconds(1.04), Stamp::from_seconds(9.0)).unwrap();
        assert_eq!(
            text(&part),
            r#"{"start":1040000,"rate_hz":100.0,"torque":[5.0,6.0],"turned_deg":[1.5,2.0]}"#
        );
        let read: Trace = serde_json::from_str(&text(&whole)).unwrap();
        assert_eq!(text(&read), text(&whole));
        let unpacked = Trace::unpack(&whole.pack()).unwrap();
        assert_eq!(text(&unpacked), text(&whole));
        assert_eq!(Trace::unpack("bm9uc2Vuc2U="), None);
        assert_eq!(Trace::unpack("!"), None);
        assert_eq!(whole.part(Stamp::from_seconds(2.0), Stamp::from_seconds(3.0)), None);
        let stretches: Vec<Trace> = whole.stretches().collect();
        assert_eq!(
            stretches,
            [
                trace(1.0, &[1.0, 2.0], Some(&[0.5, 1.0])),
                trace(1.04, &[5.0, 6.0], Some(&[1.5, 2.0])),
            ]
        );
    }
}
