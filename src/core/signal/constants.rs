//! Every tuned figure of the reading of pulls, with unit and reason.
//!
//! Weights of the probabilities are in `weights.rs` and `fitted.trees`: they are fitted, these are judged.

// ---- The stream -------------------------------------------------------------------------------

/// N·m. No hand and no adapter reaches it: such a sample is spoiled.
pub(super) const ABSURD_NM: f64 = 20_000.0;
/// Degrees a second. A hand spins a free ratchet at some 2 000; beyond this a rotation is spoiled.
pub(super) const ABSURD_DEG_PER_S: f64 = 20_000.0;
/// Degrees. Rotation is summed on this grid, so that sums do not depend on the size of blocks.
pub(super) const ROTATION_GRID_DEG: f64 = 1e-6;
/// Seconds. Stamps of blocks jitter by a radio interval or a rounded millisecond.
pub(super) const CLOCK_SLACK_S: f64 = 0.005;
/// Seconds of blocks behind what was read, after which the adapter's clock is taken to have restarted.
pub(super) const RESTART_S: f64 = 1.0;
/// Seconds. A hole longer than this ends a pull: a release and a new rise fit into it.
pub(super) const BLIND_S: f64 = 0.3;
/// Samples. The same as a bound on the work that one block can cause.
pub(super) const BLIND_SAMPLES: u64 = 1_024;
/// Spoiled samples in a row after which they are reported without waiting for a good one.
pub(super) const REPORT_EVERY: u32 = 1_000;
/// Samples of a pull that are kept: 8 s at 2 000 Hz, almost three minutes at 100 Hz.
pub(super) const STRETCH_SAMPLES: usize = 16_384;
/// Seconds before a pull that are kept with it: the foot of the rise is below the start.
pub(super) const LEAD_S: f64 = 0.15;
/// Samples of that at least, and at most: where they are far apart, fewer tell no zero.
pub(super) const LEAD_LEAST_SAMPLES: usize = 64;
pub(super) const LEAD_SAMPLES: usize = 256;

// ---- Zero -------------------------------------------------------------------------------------

/// N·m. What an adapter of unknown range is taken to reach: a common half-inch tool.
pub(super) const USUAL_RANGE_NM: f64 = 200.0;
/// Seconds. Long enough that the sway of a hand is seen, short enough to fit between two swings.
pub(super) const ZERO_WINDOW_S: f64 = 0.5;
/// Samples. Fewer tell nothing of the noise.
pub(super) const ZERO_LEAST_SAMPLES: u32 = 16;
/// Share of the range. Beyond it, what rests on the tool is a hand, not a zero.
pub(super) const ZERO_BAND_SHARE: f64 = 0.01;
/// Share of the range. Uncertainty of a zero that was never seen: what adapters are let drift.
pub(super) const ZERO_FIRST_SHARE: f64 = 0.002;
/// How far a new zero moves the one in use: drift is slow, and a mean of two wanders less than one.
pub(super) const ZERO_GAIN: f64 = 0.5;
/// A stretch is steady if it wavers by no more than this multiple of the adapter's own noise.
pub(super) const STEADY_FACTOR: f64 = 1.5;
/// Share of the range. No adapter is quieter than its quantum; keeps the factor above from locking.
pub(super) const NOISE_FLOOR_SHARE: f64 = 0.000_1;
/// Samples and share of the range: when half of the lead before a pull is steady enough to lend a zero.
pub(super) const LEAD_STEADY_SAMPLES: usize = 4;
pub(super) const LEAD_STEADY_SHARE: f64 = 0.004;

// ---- Where a pull begins and ends ----------------------------------------------------------------

/// N·m. Pawl drag is 0.2 to 1 N·m, and a hand finding its grip does not reach 2.
pub(super) const START_FLOOR_NM: f64 = 2.0;
/// Share of the range. On an adapter of a few N·m the floor above would hide pulls.
pub(super) const START_FLOOR_SHARE: f64 = 0.03;
/// Share of the range, for coarse adapters.
pub(super) const START_SHARE_OF_RANGE: f64 = 0.01;
/// Standard deviations of the noise: one false start in some millions of samples.
pub(super) const START_NOISES: f64 = 5.0;
/// A pull ends below this share of the torque at which it began.
pub(super) const END_SHARE_OF_START: f64 = 0.5;
/// A pull also ends below this share of its peak, so that a hand resting on the handle ends it.
pub(super) const END_SHARE_OF_PEAK: f64 = 0.1;
/// Seconds. Blows of an impact tool come at 10 Hz and more, so that they stay one pull; the return of
/// a ratchet takes longer.
pub(super) const QUIET_S: f64 = 0.11;
/// A hand that rests below this share of the peak, for so many seconds, has let go. A thread that
/// strips or comes loose turns on at a low torque, too, but not for longer than a swing.
pub(super) const LOW_SHARE: f64 = 0.3;
pub(super) const RESTED_S: f64 = 2.0;
/// A hand resting on the handle begins a new pull only above this multiple of its torque.
pub(super) const RESTING_FACTOR: f64 = 1.5;
/// Seconds of torque against the pull that end it: a handle that springs back is over sooner.
pub(super) const REVERSED_S: f64 = 0.03;
/// Seconds. Nobody pulls longer; what still stands then is a weight.
pub(super) const LONGEST_S: f64 = 60.0;
/// Two humps are two pulls if torque between them sinks below this share of the lower one, for so
/// many seconds below half of it, and was let go in no less than so many: a socket slips faster.
pub(super) const VALLEY_SHARE: f64 = 0.35;
pub(super) const VALLEY_S: f64 = 0.18;
pub(super) const LET_GO_S: f64 = 0.05;
/// Seconds above a tenth of the peak. Bumps and falling tools are over sooner, a snatch is not.
pub(super) const KNOCK_S: f64 = 0.075;
/// Start torques. What stays below is a hand on the handle.
pub(super) const LEAST_STARTS: f64 = 1.5;
/// A low torque that stands still for this share of its time and this many seconds is a weight.
pub(super) const REST_SHARE_OF_RANGE: f64 = 0.05;
pub(super) const REST_LEVEL_SHARE: f64 = 0.5;
pub(super) const REST_S: f64 = 0.8;

// ---- Shape ----------------------------------------------------------------------------------------

/// Seconds of samples averaged to see the shape: a third of the fastest give.
pub(super) const SMOOTH_S: f64 = 0.01;
/// A reported peak higher than the samples by this share means that they missed it.
pub(super) const MISSED_SHARE: f64 = 0.02;
/// Seconds over which a slope is taken: a hand's force does not change sooner.
pub(super) const SLOPE_SPAN_S: f64 = 0.04;
/// Seconds a hand takes at most to let go of the whole peak; what sinks more slowly is no release.
pub(super) const RELEASE_S: f64 = 0.8;
/// Share of the peak a second: torque that changes more slowly stands still.
pub(super) const LEVEL_SLOPE_SHARE: f64 = 0.12;
/// Prevailing torque: seconds it lasts at least, its most as a share of the peak, its spread.
pub(super) const PREVAILING_S: f64 = 0.3;
pub(super) const PREVAILING_MOST: f64 = 0.6;
pub(super) const PREVAILING_SPREAD: f64 = 0.25;

// ---- Peak -----------------------------------------------------------------------------------------

/// Seconds. Tremor (6 to 12 Hz) is torque that the fastener did get: no wider average.
pub(super) const PEAK_WIDEST_S: f64 = 0.06;
/// Share of the peak below which no sample can be the highest but for noise.
pub(super) const PEAK_BAND: f64 = 0.05;
/// Standard deviations by which a wider estimate may differ from a narrower one.
pub(super) const ADMITTED_SPREADS: f64 = 1.5;
/// Neighbouring averages share samples: they have less chance than independent ones.
pub(super) const PEAK_BIAS: f64 = 1.0;
/// What choosing a width adds to the noise of the width chosen.
pub(super) const PEAK_INFLATION: f64 = 1.4;
/// Two-sided 95 % of the normal distribution.
pub(super) const NORMAL_95: f64 = 1.96;
/// A certificate states a 95 % interval (k = 2).
pub(super) const CERTIFICATE_COVERAGE: f64 = 2.0;

// ---- Falls ----------------------------------------------------------------------------------------

/// Share of the peak, and multiple of the noise, that torque must fall to count: above hand tremor.
pub(super) const FALL_SHARE: f64 = 0.03;
pub(super) const FALL_NOISES: f64 = 6.0;
/// A click drops 10 to 30 % in 5 to 30 ms and is seen at 200 Hz and more.
pub(super) const CLICK_LEAST: f64 = 0.1;
pub(super) const CLICK_MOST: f64 = 0.4;
pub(super) const CLICK_MOST_S: f64 = 0.032;
pub(super) const CLICK_RATE_HZ: f64 = 190.0;
/// A stopped thread drops 3 to 20 % in 20 to 150 ms and rises again.
pub(super) const BREAK_LEAST: f64 = 0.03;
pub(super) const BREAK_MOST: f64 = 0.25;
pub(super) const BREAK_MOST_S: f64 = 0.16;
/// Share of the peak above which a thread that sticks is felt; below it the parts still settle.
pub(super) const ROUGH_FROM: f64 = 0.4;
/// A saw-tooth of a thread that sticks drops by a tenth and more, of which samples may cut off a third; at once: seconds, and samples where those are too few.
pub(super) const TOOTH_LEAST: f64 = 0.06;
pub(super) const TOOTH_S: f64 = 0.025;
pub(super) const TOOTH_SAMPLES: usize = 2;
/// Multiple of the noise that torque must fall between two samples to have fallen: the noise of both.
pub(super) const GIVEN_NOISES: f64 = 2.0;
/// Seconds over which torque is seen to stand or to sink.
pub(super) const SINKING_SPAN_S: f64 = 0.1;

// ---- Rotation -------------------------------------------------------------------------------------

/// Degrees at full torque: middle of what bars and handles give (0.5 to 4), and its relative spread.
pub(super) const USUAL_WIND_UP_DEG: f64 = 1.5;
pub(super) const USUAL_WIND_UP_SPREAD: f64 = 0.6;
/// Degrees. One reading of rotation: tenths, and the wobble of a hand.
pub(super) const ANGLE_NOISE_DEG: f64 = 0.2;
/// Degrees that the drive must spring back for it to be told from that.
pub(super) const RELEASE_LEAST_DEG: f64 = 0.3;
/// Share of the peak over which the stiffest part of the rise is taken.
pub(super) const STIFF_SPAN: f64 = 0.15;
/// Degrees, and share of the whole turn, after which a fastener is seen to have begun to turn.
pub(super) const BEGAN_DEG: f64 = 0.8;
pub(super) const BEGAN_SHARE: f64 = 0.1;

// ---- Probabilities ----------------------------------------------------------------------------------

/// Seconds. A shorter time is not resolved at any rate read here; keeps logarithms finite.
pub(super) const LEAST_S: f64 = 0.002;
/// A pull the other way that loosens nothing, and the reverse: a handle that springs, a wrong sign.
pub(super) const LOOSENING_DOUBT: f64 = 0.000_5;
/// A snatch rises from 20 % to 90 % in less than this, seconds.
pub(super) const SNATCH_S: f64 = 0.1;
/// Spread of the time measured, as a ratio's ln, beside half a sample.
pub(super) const SNATCH_LN_SPREAD: f64 = 0.03;

// ---- Tightenings ------------------------------------------------------------------------------------

/// Seconds from a release to the next rise. Under a car 5 to 20 s pass between swings, so that time
/// alone tells only at both ends: nobody changes the socket over in the shortest, and few go on with
/// the same nut after the longest.
pub(super) const JOIN_ALWAYS_S: f64 = 1.0;
pub(super) const JOIN_USUAL_S: f64 = 8.0;
pub(super) const JOIN_NEVER_S: f64 = 60.0;
/// A pull below this share of the next one was probably its beginning.
pub(super) const JOIN_PEAK_SHARE: f64 = 0.95;
/// Probability of being wrong up to which a tightening counts as told from its neighbours.
pub(super) const JOIN_DOUBT: f64 = 0.05;
/// Seconds by which a reading's time may lie beside its pull: rounding of the ticks, a late sample.
pub(super) const READING_SLACK_S: f64 = 0.1;

// ---- Among the pulls before ---------------------------------------------------------------------------

/// Pulls remembered: a wheel and its second round.
pub(super) const REMEMBERED: usize = 12;
/// Pulls needed before anything counts as usual.
pub(super) const USUAL_LEAST: usize = 3;
/// Share of them below what counts as usual. Rechecks turn little: the usual slope is below the middle.
pub(super) const USUAL_SLOPE: f64 = 0.4;
/// Share of the fastest paces below what counts as usual: a few pulls are jerked, and are no measure.
pub(super) const USUAL_FASTEST: f64 = 0.25;
/// ln of a ratio of peaks within which pulls count as of one kind of joint: another size is turned at
/// another pace, and so is a first swing that stops half-way.
pub(super) const ALIKE_LN: f64 = 0.35;
/// ln of a ratio of peaks within which pulls are to about the same torque: one set-point and what hands make
/// of it, a first go that stopped short included.
pub(super) const NEAR_LN: f64 = 0.35;
/// Pulls that a usual pace must outweigh: one alone may have been hurried.
pub(super) const USUAL_DOUBT: f64 = 0.5;
/// Share of the peak from which a turn began late, and its spread: a stopped thread breaks away at 85 to
/// 115 % of what it holds.
pub(super) const BEGAN_LATE: f64 = 0.82;
pub(super) const BEGAN_LATE_SPREAD: f64 = 0.03;
/// ln of degrees from which more turn tells more: below it is the noise of the drive.
pub(super) const TURNED_LN_DEG: f64 = 0.7;
/// ln of odds. Torque over time alone is no surer than this: hands differ.
pub(super) const MOST_SHAPE: f64 = 5.0;
/// ln of a ratio of peaks: two pulls to the same click differ by less.
pub(super) const SAME_LN: f64 = 0.05;
/// Seconds, and their spread: the second pull of a habit comes before anybody can move on.
pub(super) const QUICK_S: f64 = 2.0;
pub(super) const QUICK_SPREAD_S: f64 = 0.3;
/// ln of a ratio of peaks from which a pull goes on where another stopped, and seconds within which it
/// does: swings under a car are 5 to 20 s apart.
pub(super) const RISING_LN: f64 = 0.04;
pub(super) const SOON_S: f64 = 25.0;

// ---- What a stream may claim ----------------------------------------------------------------------------

/// N·m. No adapter for nuts reaches less.
pub(super) const LEAST_RANGE_NM: f64 = 0.5;
/// Degrees a N·m and per cent of reading. A source that claims more is not believed at all.
pub(super) const MOST_WIND_UP: f64 = 1.0;
pub(super) const MOST_ACCURACY_PCT: f64 = 100.0;
