//! From samples of torque to pulls, and to what each pull looked like.
//!
//! Two finders, both without a clock and without taking memory for a sample:
//!
//! - [`PeakHold`]: a live torque value in, one reading a pull out. For adapters that tell only their
//!   present torque, a few times a second.
//! - [`PullFinder`]: a trace in, of 50 to 2 000 samples a second, in blocks of any size; out come
//!   pulls with a [`Description`] each: peak with its interval, rise, turn, and probabilities of
//!   what the pull was and of what may be wrong with it. Zeros taken, bumps and nonsense come out
//!   as well ([`Found`]).
//!
//! ```
//! use clampbook::core::signal::{Block, Found, PullFinder, Source};
//! use clampbook::core::time::Stamp;
//! use clampbook::core::units::Torque;
//!
//! let hump = |i: u32| 120.0 * (f64::from(i) / 100.0 * std::f64::consts::PI).sin().max(0.0);
//! let torque: Vec<f32> = (0..150).map(|i| hump(i) as f32).collect();
//! let mut finder = PullFinder::new(Source {
//!     range_max: Some(Torque::from_nm(280.0)),
//!     accuracy_pct: Some(1.0),
//!     wind_up_deg_per_nm: None,
//! });
//! let mut pulls = Vec::new();
//! let mut note = |found| {
//!     if let Found::Pull(description) = found {
//!         pulls.push(description);
//!     }
//! };
//! let block = Block { start: Stamp(0), rate_hz: 100.0, torque: &torque, turned_deg: None };
//! finder.feed(&block, &mut note);
//! finder.finish(&mut note);
//! assert_eq!(pulls.len(), 1);
//! ```
//!
//! Whoever reads a stream keeps one finder an adapter, feeds it every block in order of arrival, and
//! calls [`PullFinder::finish`] when the stream ends. A pull comes out with the block that ends it,
//! some tenths of a second after its release. Where the adapter sends a reading of its own, its peak
//! is the measurement; [`Description::beside`] compares the two. [`same_pull`] says which
//! description belongs to which reading.
//!
//! A probability is of this trace alone. [`Acts::ln_tight_over_fresh`] is the evidence without a
//! prior; where rotation was told it is already in it, and must not be counted a second time.
//!
//! Every tuned figure is in `constants.rs`, every fitted weight in `weights.rs` and
//! `fitted.trees`.

mod acts;
mod block;
mod boosted;
mod clock;
mod constants;
mod description;
mod falls;
mod finder;
mod flags;
pub mod inputs;
mod judges;
mod lanes;
mod lead;
pub(in crate::core) mod logistic;
mod memory;
mod peak;
mod peak_hold;
mod read;
mod rise;
mod rough;
mod stretch;
mod tightening;
mod turning;
mod turns;
mod under_way;
mod weights;
mod zero;

pub use block::{Block, LEAST_RATE_HZ, MOST_RATE_HZ, Nonsense, Source};
pub use description::{
    AROUND, Acts, Alike, Among, Before, Description, FALLEN, Flags, Give, GiveKind, LEVELS, Peak,
    Rise, Seen, Snug, Texture, Turned, WindUpFrom,
};
pub use finder::{Found, PullFinder};
pub use peak_hold::{PeakHold, Pull};
pub use tightening::{Tightening, Tightenings, same_pull};
