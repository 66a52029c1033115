//! What is written for the hand that holds the adapter: the set-point and cues, beside everything else, so that
//! nothing waits for them.

use super::deadline::{self, within};
use super::fault::{LinkError, refusal};
use super::link::{Link, write};
use super::table::Own;
use crate::adapter::guiding::{Guiding, Refused, Wish};
use crate::adapter::source::Guidance;
use crate::adapter::translate::{self, Hand as Abilities};
use crate::adapter::trouble::Trouble;
use crate::core::event::AdapterInfo;
use crate::core::guide::Cue;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use btleplug::api::{Characteristic, Peripheral as _};
use btleplug::platform::Peripheral;
use std::pin::Pin;

/// How something for the hand ended.
pub(super) enum Done {
    Written(Result<(), Refused>),
    Read(Option<Vec<u8>>),
    Cued(Result<(), LinkError>),
}

type Doing = Pin<Box<dyn Future<Output = Done> + Send>>;

/// The hand's side of a link.
pub(super) struct Hand {
    peripheral: Peripheral,
    set_point: Option<Characteristic>,
    control: Option<Characteristic>,
    guiding: Guiding,
    /// The newest cue that was wanted.
    cues: u64,
    doing: Option<Doing>,
}

impl Hand {
    pub(super) fn new(
        link: &Link,
        own: &Own,
        abilities: Abilities,
        info: &AdapterInfo,
        guidance: Guidance,
    ) -> Self {
        let mut guiding = Guiding::new(&link.serial, info.range.map(|(_, most)| most));
        guiding.aim_at(guidance.aim);
        Self {
            peripheral: link.peripheral.clone(),
            set_point: own.set_point.clone().filter(|_| abilities.set_point),
            control: own.control.clone().filter(|_| abilities.cue),
            guiding,
            // What was wanted before this link is over.
            cues: guidance.cue.map_or(0, |(number, _)| number),
            doing: None,
        }
    }

    /// How the adapter is to guide from now on.
    pub(super) fn guide(&mut self, guidance: Guidance) {
        self.guiding.aim_at(guidance.aim);
        if let Some((number, cue)) = guidance.cue.filter(|(number, _)| *number > self.cues) {
            self.cues = number;
            self.guiding.want_cue(cue);
        }
    }

    /// Torque stands on the drive.
    pub(super) fn felt(&mut self, torque: Torque) {
        self.guiding.felt(torque);
    }

    /// A status says whether torque stands on the drive.
    pub(super) fn status(&mut self, under_torque: bool) {
        self.guiding.status(under_torque);
    }

    /// A pull that ended just now reached this peak.
    pub(super) fn peaked(&mut self, peak: Torque) {
        self.guiding.peaked(peak);
    }

    /// Whether the adapter guides as it should.
    pub(super) fn guides(&self) -> bool {
        self.set_point.is_some() && self.guiding.guides()
    }

    pub(super) fn is_free(&self) -> bool {
        self.doing.is_none()
    }

    /// The cue to be asked for, once; while something else goes first, only one that cannot wait.
    pub(super) fn take_cue(&mut self, idle: bool) -> Option<Cue> {
        let cue = self.guiding.take_cue(idle);
        cue.filter(|_| self.control.is_some())
    }

    /// Begins to write a request for a cue.
    pub(super) fn ask(&mut self, octets: Vec<u8>) {
        let Some(control) = self.control.clone() else { return };
        let peripheral = self.peripheral.clone();
        self.doing = Some(Box::pin(async move {
            let call = write(&peripheral, &control, &octets);
            Done::Cued(within(deadline::CALL, "ask for a cue", call).await)
        }));
    }

    /// Begins what is to be done about the set-point, if anything is.
    pub(super) fn begin(&mut self, now: Stamp) {
        let Some(set_point) = self.set_point.clone() else { return };
        let Some(wish) = self.guiding.next(now) else { return };
        let octets = match wish {
            Wish::Guide { number, aim, seconds } => {
                translate::set_point(number, Some(&aim), seconds)
            }
            Wish::Withdraw { number } => translate::set_point(number, None, 0),
            Wish::ReadBack => None,
        };
        let peripheral = self.peripheral.clone();
        self.doing = Some(Box::pin(async move {
            match (wish, octets) {
                (Wish::ReadBack, _) => {
                    let call = peripheral.read(&set_point);
                    Done::Read(within(deadline::CALL, "read the set-point", call).await.ok())
                }
                (_, Some(octets)) => {
                    let call = write(&peripheral, &set_point, &octets);
                    Done::Written(match tokio::time::timeout(deadline::CALL, call).await {
                        Ok(outcome) => outcome.map_err(|error| refusal(&error)),
                        Err(_) => Err(Refused::Passing),
                    })
                }
                (_, None) => {
                    Done::Written(Err(Refused::For("it has no numbers for it".to_owned())))
                }
            }
        }));
    }

    /// When [`Hand::begin`] is due, if nothing else happens.
    pub(super) fn due(&self) -> Option<Stamp> {
        self.set_point.as_ref().and_then(|_| self.guiding.due())
    }

    /// What was begun has ended; never, if nothing was.
    pub(super) async fn done(&mut self) -> Done {
        let done = match &mut self.doing {
            Some(doing) => doing.await,
            None => std::future::pending().await,
        };
        self.doing = None;
        done
    }

    /// Takes in how a write or a read of the set-point ended; what the operator has to know of it.
    pub(super) fn written(&mut self, now: Stamp, outcome: Result<(), Refused>) -> Option<Trouble> {
        self.guiding.written(now, outcome)
    }

    /// Takes in what was read back.
    pub(super) fn read(&mut self, now: Stamp, octets: Option<&[u8]>) -> Option<Trouble> {
        let given = self.guiding.given();
        let agrees = octets
            .zip(given)
            .map(|(octets, (number, aim))| translate::is_in_force(octets, number, &aim));
        self.guiding.read(now, agrees)
    }
}
