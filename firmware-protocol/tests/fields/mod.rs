//! The fields of each message as the vectors name them.

use clampbook_protocol::{
    Announcement, Button, Calibration, Capability, ControlAnswer, ControlRequest, Drive, Motion,
    PresentationFormat, Press, Reading, RecordRequest, RecordResponse, Selection, SetPoint, State,
    Status, Torque, TraceBlock, Travel, Zero,
};
use serde_json::{Value, json};

/// A message told as the object `fields` of a vector.
pub(crate) trait Fields {
    /// The fields.
    fn fields(&self) -> Value;
}

/// The names of the bits that are set, as a list.
fn names(flags: impl ToString) -> Value {
    match flags.to_string().as_str() {
        "none" => json!([]),
        text => text.split('+').collect(),
    }
}

impl Fields for Torque {
    fn fields(&self) -> Value {
        json!({ "torque": self.centinewton_metres() })
    }
}

impl Fields for PresentationFormat {
    fn fields(&self) -> Value {
        json!({
            "format": self.format,
            "exponent": self.exponent,
            "unit": self.unit,
            "namespace": self.namespace,
            "description": self.description,
        })
    }
}

impl Fields for Announcement {
    fn fields(&self) -> Value {
        json!({ "flags": names(self.flags) })
    }
}

impl Fields for Capability {
    fn fields(&self) -> Value {
        json!({
            "major": Self::MAJOR,
            "minor": self.minor,
            "levels": names(self.levels),
            "drive": (self.drive != Drive::NOT_KNOWN).then_some(self.drive.0),
            "features": names(self.features),
            "range_least": self.range_least,
            "range_most": self.range_most,
            "accuracy": self.accuracy,
            "capacity": self.capacity,
            "trace_rate": self.trace_rate,
        })
    }
}

impl Fields for Calibration {
    fn fields(&self) -> Value {
        let date = |date: clampbook_protocol::Date| date.year_month_day().map(|_| date.to_string());
        json!({
            "done": date(self.done),
            "due": date(self.due),
            "pulls": self.pulls,
            "overloads": self.overloads,
            "flags": names(self.flags),
        })
    }
}

impl Fields for Reading {
    fn fields(&self) -> Value {
        json!({
            "epoch": self.key.epoch.get(),
            "sequence": self.key.sequence.get(),
            "tick": self.at.0,
            "peak": self.peak.centinewton_metres(),
            "rotation": self.rotation.tenths(),
            "duration": self.duration.millis(),
            "flags": names(self.flags),
        })
    }
}

impl Fields for Status {
    fn fields(&self) -> Value {
        let state = match self.state {
            State::Other(raw) => raw.into(),
            state => Value::from(state.to_string()),
        };
        let zero = match self.zero {
            Zero::Other(raw) => raw.into(),
            zero => Value::from(zero.to_string()),
        };
        json!({
            "epoch": self.epoch.get(),
            "now": self.now.0,
            "newest": self.newest.map(|sequence| sequence.get()),
            "lowest_held": self.lowest_held.map(|sequence| sequence.get()),
            "held": self.held,
            "battery": self.battery.percent(),
            "state": state,
            "zero": zero,
            "flags": names(self.flags),
        })
    }
}

impl Fields for RecordRequest {
    fn fields(&self) -> Value {
        let (request, selection) = match self {
            Self::Report(selection) => ("report", selection),
            Self::Count(selection) => ("count", selection),
            Self::Release(key) => {
                return json!({
                    "request": "release",
                    "epoch": key.epoch.get(),
                    "sequence": key.sequence.get(),
                });
            }
            Self::Abort => return json!({ "request": "abort" }),
        };
        let one = |selection: &str, key: &clampbook_protocol::Key| {
            json!({
                "request": request,
                "selection": selection,
                "epoch": key.epoch.get(),
                "sequence": key.sequence.get(),
            })
        };
        match selection {
            Selection::All => json!({ "request": request, "selection": "all" }),
            Selection::First => json!({ "request": request, "selection": "first" }),
            Selection::Last => json!({ "request": request, "selection": "last" }),
            Selection::UpTo(key) => one("up to", key),
            Selection::From(key) => one("from", key),
            Selection::Range { epoch, first, last } => json!({
                "request": request,
                "selection": "range",
                "epoch": epoch.get(),
                "first": first.get(),
                "last": last.get(),
            }),
        }
    }
}

impl Fields for RecordResponse<'_> {
    fn fields(&self) -> Value {
        match self {
            Self::Count(count) => json!({ "count": count }),
            Self::Ended { request, code } => json!({ "request": request, "code": code.raw() }),
            Self::Unknown { .. } => Value::Null,
        }
    }
}

impl Fields for ControlRequest<'_> {
    fn fields(&self) -> Value {
        match self {
            Self::Zero => json!({ "request": "zero" }),
            Self::Identify { seconds } => json!({ "request": "identify", "seconds": seconds }),
            Self::StayAwake { minutes } => json!({ "request": "stay awake", "minutes": minutes }),
            Self::Cue(_) => json!({ "request": "cue", "cue": self.emit()[1] }),
            Self::Unknown { .. } => Value::Null,
        }
    }
}

impl Fields for ControlAnswer<'_> {
    fn fields(&self) -> Value {
        match self {
            Self::Zeroed { offset } => {
                json!({ "answer": "zeroed", "offset": offset.centinewton_metres() })
            }
            Self::Done { request } => json!({ "answer": "done", "request": request }),
            Self::Refused { request, reason } => {
                json!({ "answer": "refused", "request": request, "reason": reason.raw() })
            }
            Self::Unknown { .. } => Value::Null,
        }
    }
}

impl Fields for TraceBlock<'_> {
    fn fields(&self) -> Value {
        let samples: Vec<Value> = self
            .samples()
            .map(|sample| json!([sample.torque.centinewton_metres(), sample.rotation.tenths()]))
            .collect();
        json!({
            "block": self.block,
            "tick": self.start.0,
            "flags": names(self.flags),
            "samples": samples,
        })
    }
}

impl Fields for SetPoint {
    fn fields(&self) -> Value {
        let window = self.window.map(|window| {
            json!({
                "target": window.target().centinewton_metres(),
                "low": window.low().centinewton_metres(),
                "high": window.high().centinewton_metres(),
                "rotation": window.rotation().tenths(),
            })
        });
        json!({ "number": self.number, "window": window, "seconds": self.seconds })
    }
}

impl Fields for Button {
    fn fields(&self) -> Value {
        let press = match self.press {
            Press::Other(raw) => raw.into(),
            press => Value::from(press.to_string()),
        };
        json!({
            "epoch": self.epoch.get(),
            "counter": self.counter,
            "tick": self.at.0,
            "press": press,
        })
    }
}

impl Fields for Motion {
    fn fields(&self) -> Value {
        let mut fields = json!({
            "epoch": self.epoch.get(),
            "from": self.from.get(),
            "to": self.to.get(),
            "deviation": self.deviation,
        });
        match self.travel {
            Travel::Vector { right, up } => {
                fields["right"] = right.into();
                fields["up"] = up.into();
            }
            Travel::Distance { distance } => fields["distance"] = distance.into(),
        }
        fields
    }
}
