//! Readings from an adapter that only tells its torque: a peak-hold on our side.
//!
//! Such an adapter numbers nothing and keeps nothing. What was not heard is lost, and nothing tells
//! that it was; readings are numbered on arrival and no claim of exactly once is made.

use crate::adapter::source::SourceEvent;
use crate::adapter::trouble::{Trouble, TroubleClass};
use crate::core::event::{AdapterInfo, LinkChange, LinkState, Reading, ReadingKey};
use crate::core::signal::{PeakHold, Pull};
use crate::core::time::Stamp;
use crate::core::units::Torque;

/// How late a value may arrive, microseconds: one 50 ms interval of a pull and the way here.
const DELIVERY_US: u32 = 150_000;

/// Everything heard of one adapter that only tells its torque, over all links.
#[derive(Debug, Clone)]
pub struct Live {
    info: AdapterInfo,
    told: bool,
    links: u32,
    /// Counts every pull of every link, so that a number means one pull.
    pulls: u64,
    link: Option<Link>,
}

#[derive(Debug, Clone)]
struct Link {
    since: Stamp,
    hold: PeakHold,
    arrivals: u32,
    flowing: bool,
}

impl Live {
    /// Nothing heard yet.
    #[must_use]
    pub fn new(info: AdapterInfo) -> Self {
        Self { info, told: false, links: 0, pulls: 0, link: None }
    }

    /// The link is up.
    pub fn connected(&mut self, now: Stamp) -> Vec<SourceEvent> {
        let mut events = Vec::new();
        if !std::mem::replace(&mut self.told, true) {
            events.push(SourceEvent::Adapter { at: now, info: self.info.clone() });
        }
        let message = if self.links == 0 {
            "tells only its present torque: a pull that is not heard is lost, and nothing tells so"
        } else {
            "was out of reach: pulls made meanwhile are lost"
        };
        events.push(SourceEvent::Trouble {
            at: now,
            trouble: Trouble {
                class: TroubleClass::Note,
                adapter: Some(self.info.id.clone()),
                message: message.to_owned(),
                next_step: "state by hand what was done without it".to_owned(),
            },
        });
        self.links = self.links.saturating_add(1);
        let hold = PeakHold::new(self.info.range.map(|(_, most)| most));
        self.link = Some(Link { since: now, hold, arrivals: 0, flowing: false });
        events
    }

    /// A value arrived.
    pub fn sample(&mut self, now: Stamp, torque: Torque) -> Vec<SourceEvent> {
        let mut events = Vec::new();
        let Some(link) = &mut self.link else { return events };
        if !std::mem::replace(&mut link.flowing, true) {
            let change = LinkChange { adapter: self.info.id.clone(), state: LinkState::Back };
            events.push(SourceEvent::Link { at: now, change });
        }
        let pull = link.hold.push(now, torque, None);
        events.push(SourceEvent::Live { at: now, adapter: self.info.id.clone(), torque });
        events.extend(pull.and_then(|pull| self.reading(&pull)));
        events
    }

    /// The link is down.
    pub fn disconnected(&mut self, now: Stamp) -> Vec<SourceEvent> {
        let mut events = Vec::new();
        let pull = self.link.as_mut().and_then(|link| link.hold.finish());
        events.extend(pull.and_then(|pull| self.reading(&pull)));
        if self.link.take().is_some_and(|link| link.flowing) {
            let change = LinkChange { adapter: self.info.id.clone(), state: LinkState::Lost };
            events.push(SourceEvent::Link { at: now, change });
        }
        events
    }

    fn reading(&mut self, pull: &Pull) -> Option<SourceEvent> {
        let link = self.link.as_mut()?;
        link.arrivals = link.arrivals.saturating_add(1);
        self.pulls += 1;
        Some(SourceEvent::Reading {
            key: ReadingKey::Arrival {
                serial: self.info.serial.clone(),
                connection: link.since.0,
                arrival: link.arrivals,
            },
            at: pull.at,
            at_error_us: Some(DELIVERY_US),
            reading: Reading {
                adapter: self.info.id.clone(),
                seq: self.pulls,
                peak: pull.peak,
                rotation_deg: pull.rotation_deg,
                duration_ms: Some(pull.duration_ms),
                description: None,
            },
            raw: None,
        })
    }
}
