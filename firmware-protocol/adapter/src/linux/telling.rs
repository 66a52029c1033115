//! Tells what the hand sees, hears and presses: as events on standard output, and in the log, so that it can be
//! compared with what a host wanted.

use clampbook_protocol::{Button, Cue, SetPoint, Torque, Window};
use clampbook_reference_adapter::guide::{End, Refused, Shown};
use serde_json::{Value, json};

use super::answer;
use super::world::World;

/// What was told last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Told {
    shown: Shown,
    cue: Option<Cue>,
}

impl World {
    /// A set-point was written.
    pub(crate) fn tell_set_point(&self, written: Result<SetPoint, Refused>) {
        match written {
            Ok(set_point) => self.tell("set-point", details(&set_point)),
            Err(refused) => {
                let why = format!("{refused:?}").to_lowercase();
                self.tell("set-point-refused", json!({ "why": why, "error": refused.att_error() }));
            }
        }
    }

    /// The button was pressed.
    pub(crate) fn tell_press(&self, button: &Button) {
        let press = json!({
            "press": button.press.to_string(),
            "epoch": button.epoch,
            "counter": button.counter,
            "tick": button.at.0,
        });
        self.tell("button", press);
    }

    /// Tells what has changed of the guidance since this was last called.
    pub(crate) fn tell_guidance(&self) {
        let ended = self.device.borrow_mut().take_ended();
        if let Some((number, why)) = ended {
            let why = match why {
                End::Time => "time",
                End::Host => "host",
                End::Link => "link",
                End::Sleep => "sleep",
                End::Boot => "boot",
            };
            self.tell("set-point-ended", json!({ "number": number, "why": why }));
        }
        let now = {
            let device = self.device.borrow();
            Told { shown: device.guide().shown(), cue: device.guide().cue() }
        };
        let before = self.told.replace(now);
        if now.shown != before.shown {
            let shown = format!("{:?}", now.shown).to_lowercase();
            self.tell("guidance", json!({ "shown": shown }));
        }
        if now.cue != before.cue {
            let cue = now.cue.unwrap_or(Cue::Nothing).to_string();
            self.tell("cue", json!({ "cue": cue }));
        }
    }

    fn tell(&self, name: &str, details: Value) {
        self.keep.note(name, &details);
        answer::event(name, details);
    }
}

/// A set-point as events and the log have it: without a target, it guides no more.
pub(crate) fn details(set_point: &SetPoint) -> Value {
    let torque = |torque: Torque| torque.centinewton_metres().map(|t| f64::from(t) / 100.0);
    let of = |value: fn(&Window) -> Torque| set_point.window.as_ref().map(value).and_then(torque);
    let rotation = set_point.window.and_then(|window| window.rotation().tenths());
    json!({
        "number": set_point.number,
        "target_nm": of(Window::target),
        "low_nm": of(Window::low),
        "high_nm": of(Window::high),
        "rotation_deg": rotation.map(|tenths| f64::from(tenths) / 10.0),
        "seconds": set_point.seconds,
    })
}
