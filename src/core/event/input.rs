//! What the core is told.

use crate::core::certificate::Certificate;
use crate::core::event::{Given, Mark};
use crate::core::signal::Description;
use crate::core::time::Stamp;
use crate::core::units::Torque;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Everything the tracker can be told, with its time.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// When it happened (for a reading: the time of its peak).
    pub at: Stamp,
    /// What happened.
    pub what: What,
}

/// The kinds of [`Input`].
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// An adapter and what it can tell.
    Adapter(AdapterInfo),
    /// One pull, reduced to its peak.
    Reading(Reading),
    /// What the trace shows of a reading that was told.
    Described(Described),
    /// How far the tool moved between two readings.
    Motion(Motion),
    /// The operator said something.
    Mark(Mark),
    /// A value that the plan left to be looked up.
    Given(Given),
    /// A radio link went or came back.
    Link(LinkChange),
    /// Readings are known to be missing for good.
    Gap(Gap),
    /// Nothing but time passed.
    Tick,
    /// The recording or the job has ended: nothing more will come.
    End,
}

/// An adapter and what it can tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AdapterInfo {
    /// Short id: in a recording the file's own, live the serial.
    pub id: String,
    /// Serial number.
    pub serial: String,
    /// Drive size as text, for example `1/2"`.
    pub drive: Option<String>,
    /// Smallest and largest torque it measures, as magnitudes.
    pub range: Option<(Torque, Torque)>,
    /// Half-width of the calibrated interval, per cent of reading.
    pub accuracy_pct: Option<f64>,
    /// What it reports.
    pub reports: Reports,
    /// The day on which it was due to be calibrated, by its newest certificate, if that had passed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overdue_since: Option<Date>,
    /// The newest of its certificates, if that was valid on the day when it was heard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<Box<Certificate>>,
}

impl AdapterInfo {
    /// Expanded uncertainty (k = 2) of what it tells at `peak`, per cent of that: by its certificate, where one is
    /// on record; otherwise, or where that has no points, what it states of itself. None where nothing is stated,
    /// and outside what its certificate covers.
    #[must_use]
    pub fn expanded_pct(&self, peak: Torque) -> Option<f64> {
        match &self.certificate {
            None => self.accuracy_pct,
            Some(certificate) if !certificate.covers(peak) => None,
            Some(certificate) if certificate.points.is_empty() => self.accuracy_pct,
            Some(certificate) => {
                let assessed = certificate.assess(peak)?;
                let share = assessed.uncertainty_nm / peak.nm().abs();
                share.is_finite().then_some(share * 100.0)
            }
        }
    }
}

/// What an adapter reports.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub struct Reports {
    /// One peak a pull.
    pub peak: bool,
    /// How far the drive turned.
    pub rotation: bool,
    /// Samples of the torque over time.
    pub trace: bool,
    /// How far the tool moved between pulls.
    pub motion: bool,
    /// It has a button.
    pub button: bool,
    /// A person typed its values: nothing was measured by it.
    #[serde(default, skip_serializing_if = "is_false")]
    pub typed: bool,
}

fn is_false(value: &bool) -> bool {
    !value
}

/// What an adapter says of one pull.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The adapter's short id, as in [`AdapterInfo::id`].
    pub adapter: String,
    /// Number of the reading within its adapter (and epoch).
    pub seq: u64,
    /// Highest torque of the pull, signed.
    pub peak: Torque,
    /// How far the drive turned while torque stood above 10 % of the peak, degrees, signed like torque.
    pub rotation_deg: Option<f64>,
    /// How long torque stood there, milliseconds.
    pub duration_ms: Option<f64>,
    /// What its trace shows, if there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub description: Option<Box<Description>>,
}

/// What the trace shows of a reading. It comes after the reading, once the pull is over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Described {
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading within its adapter (and epoch).
    pub seq: u64,
    /// What the trace shows.
    pub description: Box<Description>,
    /// What the adapter showed when it was nearest to nothing between the pull before and this one, if that was seen for
    /// long enough.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rest: Option<Torque>,
}

/// How far the tool head moved between two readings of one adapter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Motion {
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading it moved from.
    pub from_seq: u64,
    /// Number of the reading it moved to.
    pub to_seq: u64,
    /// How far.
    pub moved: Moved,
    /// One standard deviation an axis, millimetres.
    pub sd_mm: f64,
}

/// A distance in the plane square to the drive, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "by", rename_all = "kebab-case")]
pub enum Moved {
    /// Along two axes, as the operator facing the joint sees them.
    Axes {
        /// To the right.
        right_mm: f64,
        /// Against gravity.
        up_mm: f64,
    },
    /// By how much, in no known direction.
    Distance {
        /// Never negative.
        mm: f64,
    },
}

/// A change of a radio link.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LinkChange {
    /// The adapter's short id.
    pub adapter: String,
    /// What became of the link.
    pub state: LinkState,
}

/// State of a radio link.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LinkState {
    /// No data can arrive.
    Lost,
    /// Data has flowed.
    Back,
    /// The adapter said that it goes to sleep: normal.
    Asleep,
}

/// Readings known to be missing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gap {
    /// The adapter's short id.
    pub adapter: String,
    /// The adapter's boot, if it tells.
    pub epoch: Option<u32>,
    /// First missing number.
    pub first: u64,
    /// Last missing number.
    pub last: u64,
}
