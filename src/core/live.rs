//! Where everything stands just now, as plain data for whoever watches.

use crate::core::event::{JobId, LinkState, ReadingKey};
use crate::core::snapshot::Snapshot;
use crate::core::time::Stamp;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The daemon's state as others see it. A watcher may miss states in between, never the last one.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
pub struct Live {
    /// Counts changes, so that a watcher can tell old from new.
    pub revision: u64,
    /// The job under way.
    pub job: Option<JobId>,
    /// Where it stands.
    pub snapshot: Option<Snapshot>,
    /// The adapters listened to.
    pub adapters: Vec<AdapterState>,
    /// Why readings cannot be kept just now, if so.
    pub trouble: Option<String>,
    /// Readings kept since the start that belong to no job.
    pub loose: u64,
    /// How every link is, one for each adapter that is listened to over a radio.
    #[serde(default)]
    pub links: Vec<LinkHealth>,
}

/// How a link is.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
pub struct LinkHealth {
    /// What is listened to: a serial number, a name or an address.
    pub wanted: String,
    /// Serial number of the adapter, once it is known.
    pub serial: Option<String>,
    /// What is being done about the link.
    pub phase: LinkPhase,
    /// What ails it, and what to do about that.
    pub trouble: Option<String>,
    /// Why the link before this one ended.
    pub last_loss: Option<String>,
    /// How often data began to flow since the start.
    pub links: u32,
    /// When something last arrived.
    pub last_value: Option<Stamp>,
    /// The reading that was last kept.
    pub last_stored: Option<ReadingKey>,
    /// Readings found missing for good since the start.
    pub gaps: u64,
    /// Another program seems to listen, too.
    pub rival: bool,
    /// Address or name of the controller used.
    pub controller: Option<String>,
    /// Whether the system's Bluetooth service runs.
    pub service_runs: bool,
    /// Octets that one message of the link may have (ATT_MTU).
    pub mtu: Option<u16>,
    /// The adapter's battery, per cent.
    pub battery_pct: Option<u8>,
    /// Blocks of its trace that never came. A trace is for its shape; no reading is lost with it.
    #[serde(default)]
    pub trace_blocks_lost: u64,
    /// It guides the hand by what the next pull should reach.
    #[serde(default)]
    pub guides: bool,
}

/// What is being done about a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LinkPhase {
    /// The adapter is looked for, or being linked.
    #[default]
    Looking,
    /// Linked; whether data flows is told apart.
    Linked,
    /// The adapter said that it goes to sleep: normal.
    Asleep,
    /// The last attempt failed, the next one comes by itself.
    Waiting,
}

/// An adapter as the daemon knows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct AdapterState {
    /// Its short id.
    pub id: String,
    /// Serial number.
    pub serial: String,
    /// State of the link; none until data has flowed.
    pub link: Option<LinkState>,
}
