//! How long to wait before the next attempt at a link: for ever, but never in a hurry.

use super::fault::LinkClass;
use std::time::Duration;

/// Attempts after which the class no longer matters.
const SHORT_ATTEMPTS: u32 = 3;
const LONGEST_S: f64 = 60.0;
/// The wait before an adapter, or the computer's own Bluetooth, is looked for again.
const LOOK_AGAIN: Duration = Duration::from_secs(4);
/// The wait varies by so much either way, so that two hosts do not keep colliding.
const JITTER: f64 = 0.2;

/// Counts attempts without data.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Backoff {
    failures: u32,
}

impl Backoff {
    /// Data has flowed: the next failure is a first one again.
    pub fn flowed(&mut self) {
        self.failures = 0;
    }

    /// Attempts in a row without data.
    #[must_use]
    pub fn failures(&self) -> u32 {
        self.failures
    }

    /// The wait after one more failure. `chance` is a number from 0 to 1.
    pub fn failed(&mut self, class: LinkClass, chance: f64) -> Duration {
        self.failures = self.failures.saturating_add(1);
        let short_s = match class {
            LinkClass::Retryable => 0.25,
            // To look for the adapter takes a while by itself, and to ask the own computer costs nothing: waits
            // that grow would only keep waiting who has woken the adapter or switched Bluetooth on.
            LinkClass::Rescan
            | LinkClass::NoController
            | LinkClass::ControllerOff
            | LinkClass::NoService => return LOOK_AGAIN,
            // Nothing changes before the operator has done something.
            LinkClass::NeedsPairing
            | LinkClass::NoPermission
            | LinkClass::WrongAdapter
            | LinkClass::Unsupported
            | LinkClass::StaleTable => return Duration::from_secs_f64(LONGEST_S / 4.0),
        };
        let seconds = if self.failures <= SHORT_ATTEMPTS {
            short_s
        } else {
            let doublings = (self.failures - SHORT_ATTEMPTS).min(16);
            let grown = f64::from(1_u32 << doublings) / 2.0;
            let varied = grown * (1.0 - JITTER + 2.0 * JITTER * chance.clamp(0.0, 1.0));
            varied.max(short_s).min(LONGEST_S)
        };
        Duration::from_secs_f64(seconds)
    }
}
