//! What is said of one pull.

use crate::core::time::Stamp;
use crate::core::units::Torque;
use serde::{Deserialize, Serialize};

/// What one pull looked like, read from its trace.
///
/// Probabilities are of this stream alone: the plan has no say in them. What the pulls before it say is
/// in [`Description::among`]; of that, [`Acts::ln_tight_over_fresh`] knows at most the hand's usual pace.
/// Shares, slopes and turns are magnitudes along the pull; only torques are signed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Description {
    /// When torque rose for good.
    pub from: Stamp,
    /// When it was released.
    pub to: Stamp,
    /// The highest torque, and how sure it is.
    pub peak: Peak,
    /// How long torque stood above 10 % of the peak, milliseconds.
    pub duration_ms: f64,
    /// How far the drive turned meanwhile, degrees, signed like torque: as a reading states it.
    pub rotation_deg: Option<f64>,
    /// How torque rose.
    pub rise: Rise,
    /// Seconds after the peak at which torque was last at each of [`FALLEN`].
    #[serde(default)]
    pub fallen_s: [f64; FALLEN.len()],
    /// Where the parts came together, if that is in the pull.
    pub snug: Option<Snug>,
    /// Torque while the thread only ran, if the pull has such a part.
    pub prevailing: Option<Torque>,
    /// A sudden give on the way up: a click upstream, or a stopped thread that broke away.
    pub give: Option<Give>,
    /// How far the fastener itself turned. It holds only where the part does not turn.
    pub turned: Option<Turned>,
    /// Counts of what was irregular on the way.
    pub texture: Texture,
    /// What the pull was.
    pub act: Acts,
    /// What may be wrong with it.
    pub flags: Flags,
    /// How well it was seen.
    pub seen: Seen,
    /// How it stands to the pulls before it.
    pub among: Among,
}

/// How a pull stands to those before it in the same stream.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Among {
    /// Seconds from the release of the pull before to this rise.
    pub after_s: Option<f64>,
    /// Its peak as a ratio to that of the pull before; negative if that was the other way.
    pub to_before: Option<f64>,
    /// Its peak as a ratio to the highest of them.
    pub to_highest: Option<f64>,
    /// Torque a degree of the fastener itself, from half to nine tenths of the peak, as a ratio to what
    /// was usual in them.
    pub to_usual_slope: Option<f64>,
    /// Time from 60 % to 85 % of the peak, as a ratio to what pulls before it took that seemed to turn
    /// their fastener, by their own shape and at about the same torque.
    #[serde(default)]
    pub to_turning_pace: Option<f64>,
    /// The same to those that seemed to be on a fastener already tight.
    #[serde(default)]
    pub to_tight_pace: Option<f64>,
    /// The same to the fastest quarter of the peak that is usual in this stream, this pull among them: the
    /// pace of the hand against what stands still.
    #[serde(default)]
    pub to_fastest_pace: Option<f64>,
    /// How many of those that seemed to turn their fastener there were, as a sum of probabilities.
    #[serde(default)]
    pub seemed_turning: f64,
    /// How many of those that seemed to be on one already tight.
    #[serde(default)]
    pub seemed_tight: f64,
    /// Probability that the pull before was on a fastener already tight, by its own shape.
    #[serde(default)]
    pub before_tight: Option<f64>,
    /// The pull before, whichever way it went: what is wrong with a fastener shows in each pull of it.
    #[serde(default)]
    pub before: Option<Before>,
    /// Its pace beside those of the pulls before to about the same torque, if there are any.
    #[serde(default)]
    pub alike: Option<Alike>,
}

/// How a pull stands to those before to about the same torque: ratios to theirs.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Alike {
    /// How many there were.
    pub count: u32,
    /// Its peak, as a ratio to the middle and the highest of theirs.
    pub peak: [f64; 2],
    /// Time from 60 % to 85 % of the peak, as a ratio to the shortest, the middle and the longest.
    pub upper: [f64; 3],
    /// Time of the fastest quarter of the peak, as a ratio to the shortest and the middle.
    pub fastest: [f64; 2],
    /// Time of the slowest quarter of the peak, as a ratio to the middle and the longest.
    pub slowest: [f64; 2],
    /// Time from 5 % to 20 % of the peak, as a ratio to the shortest, the middle and the longest.
    #[serde(default)]
    pub foot: [f64; 3],
    /// Time from 85 % to 95 % of the peak, as a ratio to the middle and the longest.
    #[serde(default)]
    pub top: [f64; 2],
    /// Time above 90 % of the peak, as a ratio to the middle and the longest.
    #[serde(default)]
    pub held: [f64; 2],
}

/// What is remembered of one pull for the next.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Before {
    /// Its paces, as ratios of this pull's to them: from 5 % to 20 % of the peak, from 60 % to 85 %, from
    /// 85 % to 95 %, and the fastest and the slowest quarter.
    pub paces: [f64; 5],
    /// How long it was above 90 % of its peak, seconds.
    pub held_s: f64,
    /// [`Texture::level_s`].
    pub level_s: f64,
    /// [`Texture::sinking_s`].
    pub sinking_s: f64,
    /// [`Texture::plateau_slope`].
    pub plateau_slope: f64,
    /// [`Texture::plateau_waver`].
    pub plateau_waver: f64,
    /// [`Texture::roughness`].
    pub roughness: f64,
    /// [`Texture::given_back`].
    pub given_back: f64,
    /// [`Turned::upper_deg`].
    pub upper_deg: Option<f64>,
    /// [`Turned::late_deg`].
    pub late_deg: Option<f64>,
}

/// The highest torque of a pull. The adapter's own peak, where it sends one, is the measurement.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Peak {
    /// The estimate, signed, freed of what noise adds to a maximum.
    pub torque: Torque,
    /// When it was.
    pub at: Stamp,
    /// Lower end of the 95 % interval (the smaller magnitude), everything below included.
    pub low: Torque,
    /// Upper end of the 95 % interval (the larger magnitude).
    pub high: Torque,
    /// How far the samples before and after the highest lie below it, N·m.
    pub beside_nm: [f64; 2],
    /// The same of the [`AROUND`] samples around it, in order of time, N·m.
    #[serde(default)]
    pub around_nm: [f64; AROUND],
    /// Seconds around the highest sample for which torque stays within 2 %, 5 % and 10 % of it, along
    /// straight lines between the samples.
    #[serde(default)]
    pub within_s: [f64; 3],
    /// One standard uncertainty from noise and quantisation, N·m.
    pub noise_nm: f64,
    /// One standard uncertainty from samples that are too far apart, N·m.
    pub rate_nm: f64,
    /// One standard uncertainty of the zero, N·m.
    pub zero_nm: f64,
    /// One standard uncertainty of the adapter's certificate, N·m; 0 if none is known.
    pub certificate_nm: f64,
}

/// Samples around the highest that [`Peak::around_nm`] tells of, half of them before it.
pub const AROUND: usize = 6;

/// Shares of the peak at which [`Rise::reached_s`] was taken.
pub const LEVELS: [f64; 20] = [
    0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85,
    0.9, 0.95, 0.98,
];

/// Shares of the peak at which [`Description::fallen_s`] was taken.
pub const FALLEN: [f64; 6] = [0.95, 0.9, 0.8, 0.65, 0.5, 0.1];

/// The place in [`LEVELS`] of so many twentieths of the peak.
pub(super) const fn twentieths(count: usize) -> usize {
    count - 1
}

/// How torque rose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rise {
    /// Seconds before the peak at which torque first reached each of [`LEVELS`], falling.
    pub reached_s: [f64; LEVELS.len()],
    /// Slope of the steepest lasting part, N·m a second.
    pub slope_nm_per_s: f64,
    /// Slope of the linear part, N·m a degree of drive, if rotation is told.
    pub slope_nm_per_deg: Option<f64>,
    /// Seconds from snug (or from 10 % of the peak) to the peak.
    pub snug_to_peak_s: f64,
    /// Degrees of drive from there to the peak, freed of wind-up.
    pub snug_to_peak_deg: Option<f64>,
}

/// Where the parts came together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Snug {
    /// When.
    pub at: Stamp,
    /// At what torque.
    pub torque: Torque,
}

/// A sudden give on the way up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Give {
    /// What it looks like.
    pub kind: GiveKind,
    /// Torque just before it.
    pub torque: Torque,
    /// How far torque fell, as a share of `torque`.
    pub share: f64,
    /// How long it fell, milliseconds.
    pub fall_ms: f64,
}

/// Kinds of [`Give`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum GiveKind {
    /// A tool upstream that clicks.
    Click,
    /// A stopped thread that started again.
    BreakAway,
}

/// How far the fastener itself turned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Turned {
    /// Degrees between 10 % of the peak and the peak, freed of wind-up.
    pub deg: f64,
    /// Degrees between 5 % and 20 % of the peak, freed of wind-up.
    pub foot_deg: f64,
    /// Degrees between 10 % and half of the peak, freed of wind-up.
    pub early_deg: f64,
    /// Degrees between 50 % and 90 % of the peak, freed of wind-up.
    #[serde(default)]
    pub upper_deg: f64,
    /// Degrees between 85 % of the peak and the release, freed of wind-up.
    pub late_deg: f64,
    /// Degrees between the peak and the release.
    pub after_deg: f64,
    /// Degrees between the first and the last place at 95 % of the peak, freed of wind-up.
    #[serde(default)]
    pub near_deg: f64,
    /// Degrees that the drive turned while torque was let go, wind-up included.
    #[serde(default)]
    pub let_go_deg: f64,
    /// Degrees from 5 % of the peak to each of [`LEVELS`], freed of wind-up.
    #[serde(default)]
    pub reached_deg: [f64; LEVELS.len()],
    /// One standard uncertainty of `deg`, degrees.
    pub sd_deg: f64,
    /// Share of the peak at which it began to turn; 1 if it did not.
    pub began_share: f64,
    /// Wind-up that was taken off, degrees a N·m.
    pub wind_up_deg_per_nm: f64,
    /// Where that figure comes from.
    pub wind_up_from: WindUpFrom,
}

/// Where a wind-up comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum WindUpFrom {
    /// The plan names it.
    Named,
    /// How far the drive sprang back when torque was let go.
    Release,
    /// The stiffest part of the rise: it is at most this.
    Rise,
    /// Nothing of this pull tells: what bars and handles usually give.
    Usual,
}

/// Counts of what was irregular on the way.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Texture {
    /// Falls of torque between the first rise and the last release.
    pub falls: u32,
    /// The largest of them as a share of the torque just before it.
    pub largest_fall: f64,
    /// How long that one took, milliseconds.
    pub largest_fall_ms: f64,
    /// Mean of them, as the same share.
    pub usual_fall: f64,
    /// How often a second they came, if there were several.
    pub falls_hz: f64,
    /// Falls as of a thread that sticks and slips in turns: sudden, and above 40 % of the peak.
    #[serde(default)]
    pub teeth: u32,
    /// How much torque bends from sample to sample above 40 % of the peak and before the release, beyond
    /// the adapter's noise: root mean square of its second differences, as a share of the peak.
    #[serde(default)]
    pub roughness: f64,
    /// Longest time that torque stood nearly still above half of the peak, seconds.
    pub level_s: f64,
    /// How long torque sank slowly from the peak before it was let go, seconds.
    pub sinking_s: f64,
    /// How far it sank meanwhile, as a share of the peak.
    pub sunk: f64,
    /// Falls above 40 % of the peak that are as sudden as a tooth, of any depth that counts as a fall.
    #[serde(default)]
    pub sudden: u32,
    /// What torque fell from sample to sample above 40 % of the peak and before the release, beyond the
    /// adapter's noise: the sum, as a share of the peak.
    #[serde(default)]
    pub given_back: f64,
    /// Slope of the line through torque from where it first reached 90 % of the peak to the release,
    /// in peaks a second.
    #[serde(default)]
    pub plateau_slope: f64,
    /// How far torque wavers there about that line: root mean square, as a share of the peak.
    #[serde(default)]
    pub plateau_waver: f64,
    /// The same slope of the first and of the second half of the time above 95 % of the peak.
    #[serde(default)]
    pub top_slope: [f64; 2],
    /// The same waver of both.
    #[serde(default)]
    pub top_waver: [f64; 2],
}

/// What a pull was, as probabilities that sum to 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Acts {
    /// The fastener turned: it was not yet as tight as the pull.
    pub fresh: f64,
    /// It did not: it already held the torque.
    pub already_tight: f64,
    /// Counter-clockwise. Of a left-hand thread, which the trace cannot see, that is tightening.
    pub loosening: f64,
    /// A tug at nothing, or a try.
    pub trial: f64,
    /// ln of the likelihood of this trace if the fastener was already tight, less that if it was
    /// fresh: evidence without a prior, and without what came before and when.
    pub ln_tight_over_fresh: f64,
}

/// What may be wrong with a pull, each as a probability.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Flags {
    /// The socket or the hand slipped.
    pub slip: f64,
    /// The thread stuck and slipped in turns: slacken, clean, pull again.
    pub stick_slip: f64,
    /// Pulled too fast to trust: 20 % to 90 % of the peak in under a tenth of a second.
    pub snatch: f64,
    /// Turned on without a proper rise of torque.
    pub yielding: f64,
    /// Torque sank while the fastener turned on.
    pub thread_damage: f64,
    /// The bolt met the bottom of its hole, or the thread started askew.
    pub bottomed_or_crossed: f64,
    /// Blows of an impact tool.
    pub impact: f64,
    /// The true peak may lie between two samples.
    pub under_sampled: f64,
}

/// How well a pull was seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Seen {
    /// Samples a second.
    pub rate_hz: f64,
    /// Samples of the pull.
    pub samples: u32,
    /// Samples lost or spoiled within it.
    pub missing: u32,
    /// Samples at or beyond the end of the adapter's range.
    pub saturated: u32,
    /// The adapter's largest torque, N·m: stated, or what is usual.
    pub range_nm: f64,
    /// The zero taken off, N·m.
    pub zero_nm: f64,
    /// Noise of one sample, one standard deviation, N·m.
    pub noise_nm: f64,
}

/// Share of the range from which a zero that has moved is told.
const ZERO_MOVED_SHARE: f64 = 0.005;
/// So many times its own standard uncertainty, too: less is noise.
const ZERO_BEYOND_NOISES: f64 = 5.0;

impl Description {
    /// By how much the adapter's zero moved since the pull of `first`, N·m, if by enough to be told: half a per cent of
    /// its range, which is half of what a good one may be off by in all, and beyond the noise of both.
    #[must_use]
    pub fn zero_moved_since(&self, first: &Self) -> Option<f64> {
        let moved = self.seen.zero_nm - first.seen.zero_nm;
        let noise = ZERO_BEYOND_NOISES * self.peak.zero_nm.hypot(first.peak.zero_nm);
        let least = (ZERO_MOVED_SHARE * self.seen.range_nm).max(noise);
        (moved.abs() > least).then_some(moved)
    }

    /// The same pull, once the adapter has told its own peak: where that is higher than what the
    /// samples show, the samples missed the peak.
    #[must_use]
    pub fn beside(mut self, reported: Torque) -> Self {
        let (own, seen) = (reported.nm().abs(), self.peak.torque.nm().abs());
        if own.is_finite() && own > seen * (1.0 + super::constants::MISSED_SHARE) {
            self.flags.under_sampled = 1.0;
        }
        self
    }
}
