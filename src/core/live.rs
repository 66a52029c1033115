//! Where everything stands just now, as plain data for whoever watches.

use crate::core::event::{JobId, LinkState};
use crate::core::snapshot::Snapshot;
use serde::{Deserialize, Serialize};

/// The daemon's state as others see it. A watcher may miss states in between, never the last one.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
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
}

/// An adapter as the daemon knows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AdapterState {
    /// Its short id.
    pub id: String,
    /// Serial number.
    pub serial: String,
    /// State of the link; none until data has flowed.
    pub link: Option<LinkState>,
}
