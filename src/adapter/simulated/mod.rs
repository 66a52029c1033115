//! A recording played as if its adapters were here, with faults of the link on wish.
//!
//! Guarantees: the simulated adapters keep their readings until they are released, and everything
//! goes through the same [`Session`](crate::adapter::session::Session) as with a real adapter; the
//! same recording, seed and pace say the same things in the same order.
//!
//! Deliberately absent: octets. Numbers are passed on as recorded, not rounded to a wire.

mod device;
mod fates;
mod player;

pub use player::Player;

use crate::adapter::port::{Closed, Port};
use crate::adapter::recording::{Recording, Unusable};
use crate::adapter::source::{SourceEvent, SourceIo};
use crate::adapter::spec::{Pace, SimulatedSpec};
use crate::core::time::Stamp;
use std::time::Duration;
use tokio::task::yield_now;
use tokio::time::{Instant, sleep, sleep_until};

/// A recording about to be played.
#[derive(Debug, Clone)]
pub struct Simulated {
    recording: Recording,
    spec: SimulatedSpec,
}

impl Simulated {
    /// Reads the recording.
    ///
    /// # Errors
    /// If it cannot be used at all; faulty lines are told while it is played.
    pub fn load(spec: &SimulatedSpec) -> Result<Self, Unusable> {
        let recording = Recording::load(&spec.file)?;
        Ok(Self { recording, spec: spec.clone() })
    }

    /// Plays it to its end, or until shutdown.
    pub async fn run(self, io: SourceIo) {
        // Nobody listens any more: there is nothing left to do.
        let _ = self.play(Port::new(io)).await;
    }

    async fn play(self, mut port: Port) -> Result<(), Closed> {
        let origin = origin(port.now(), &self.recording, self.spec.pace);
        let mut player = Player::new(&self.recording, origin, &self.spec, &port.io().known);
        // Counted from here, so that what takes long itself does not put off what comes after it.
        let begun = sleep(Duration::ZERO).deadline();
        while let Some(due) = player.next_at() {
            let shut_down = port.shut_down();
            let events = tokio::select! {
                biased;
                () = shut_down => return Err(Closed),
                stored = port.stored() => player.stored(&stored.key),
                () = wait(begun, due.seconds_since(origin), self.spec.pace) => player.advance(),
            };
            for event in events {
                port.tell(event).await?;
            }
        }
        port.tell(SourceEvent::Ended).await
    }
}

/// The moment at which the recording is said to have started, such that its end is said to be the
/// moment at which playing it ends: no reading lies in the future.
fn origin(start: Stamp, recording: &Recording, pace: Pace) -> Stamp {
    let end = recording.convert().inputs.last().map_or(0.0, |input| input.at.seconds());
    match pace {
        Pace::Fast => start + -end,
        Pace::Times(times) if times > 1.0 => start + -(end * (1.0 - 1.0 / times)),
        Pace::Times(_) => start,
    }
}

/// Until something is due that comes so many seconds after the recording's start.
async fn wait(begun: Instant, seconds: f64, pace: Pace) {
    match pace {
        Pace::Fast => yield_now().await,
        Pace::Times(times) => {
            let seconds = (seconds / times).max(0.0);
            sleep_until(begun + Duration::from_secs_f64(seconds)).await;
        }
    }
}
