//! Where everything stands just now, as plain data for whoever watches.

use crate::core::event::{JobId, LinkState, ReadingKey, Verdict};
use crate::core::prompt::Prompt;
use crate::core::snapshot::{GroupState, Next, Snapshot};
use crate::core::time::Stamp;
use crate::core::units::Torque;
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
    /// Torque on the drives just now, one for each adapter that tells it. For a screen, never for a verdict.
    #[serde(default)]
    pub torque: Vec<TorqueNow>,
    /// What was concluded last of a pull of the job.
    #[serde(default)]
    pub latest: Option<Verdict>,
    /// What was said to the operator last, oldest first; a few.
    #[serde(default)]
    pub prompts: Vec<Prompt>,
    /// The moment at which this was so.
    #[serde(default)]
    pub now: Stamp,
}

/// Torque on a drive just now.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TorqueNow {
    /// The adapter's short id.
    pub adapter: String,
    /// When it was measured.
    pub at: Stamp,
    /// The torque, N·m, signed.
    pub nm: f64,
    /// The pull that is on; none between pulls.
    pub pull: Option<PullNow>,
}

/// A pull that is on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct PullNow {
    /// The highest torque of it so far, N·m in the tightening direction.
    pub peak_nm: f64,
    /// It has come near enough to the target to be stopped.
    pub reached: bool,
    /// It has gone above the highest torque allowed.
    pub over: bool,
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

/// A pull is on from this torque up, N·m, or from [`BEGINS_SHARE`] of the target if that is more.
const BEGINS_NM: f64 = 4.0;
/// See [`BEGINS_NM`]: below a twelfth of the target a hand is only finding its grip.
const BEGINS_SHARE: f64 = 1.0 / 12.0;
/// It is over below this share of what it begins at, so that it does not flicker.
const ENDS_SHARE: f64 = 0.5;
/// Hands overshoot by a few per cent, so that they are stopped a little early.
const REACHED_SHARE: f64 = 0.97;

impl Live {
    /// The group that the next pull is expected in.
    #[must_use]
    pub fn next_group(&self) -> Option<&GroupState> {
        let snapshot = self.snapshot.as_ref()?;
        let name = match snapshot.next.as_ref()? {
            Next::Pull { fastener, .. } | Next::State { fastener } => {
                fastener.rsplit_once('/').map_or(fastener.as_str(), |(group, _)| group)
            }
            Next::LookUp { group } => group,
            Next::Confirm { .. } => return None,
        };
        snapshot.groups.iter().find(|group| group.name == name)
    }

    /// True while a pull is on, as far as adapters tell their torque.
    #[must_use]
    pub fn is_pulling(&self) -> bool {
        self.torque.iter().any(|torque| torque.pull.is_some())
    }

    /// Takes in the torque on the drive of `adapter`.
    pub fn feel(&mut self, at: Stamp, adapter: &str, torque: Torque) {
        let before = self.torque.iter().find(|known| known.adapter == adapter);
        let pull = self.pull_at(before.and_then(|known| known.pull), torque.nm());
        let now = TorqueNow { adapter: adapter.to_owned(), at, nm: torque.nm(), pull };
        match self.torque.iter_mut().find(|known| known.adapter == adapter) {
            Some(known) => *known = now,
            None => self.torque.push(now),
        }
    }

    fn pull_at(&self, before: Option<PullNow>, nm: f64) -> Option<PullNow> {
        let group = self.next_group();
        let asked = group.and_then(|group| group.asked.as_ref());
        let begins = asked.map_or(BEGINS_NM, |asked| BEGINS_NM.max(asked.target_nm * BEGINS_SHARE));
        let least = if before.is_some() { begins * ENDS_SHARE } else { begins };
        // What is not a number is no pull.
        if nm.abs().total_cmp(&least).is_lt() || !nm.is_finite() {
            return None;
        }
        let tightening = if group.is_some_and(|group| group.left_hand) { -nm } else { nm };
        let peak_nm = before.map_or(tightening, |before| before.peak_nm.max(tightening));
        let reached =
            |target_nm: f64, low_nm: f64| peak_nm >= low_nm.max(target_nm * REACHED_SHARE);
        Some(PullNow {
            peak_nm,
            reached: asked.is_some_and(|asked| reached(asked.target_nm, asked.low_nm)),
            over: asked.and_then(|asked| asked.high_nm).is_some_and(|high_nm| peak_nm > high_nm),
        })
    }
}

#[cfg(test)]
mod tests {
    use crate::core::live::{Live, PullNow};
    use crate::core::plan::{Access, Pattern};
    use crate::core::snapshot::{Asked, GroupState, Next, Snapshot};
    use crate::core::time::Stamp;
    use crate::core::units::{Torque, TorqueUnit};

    fn live(left_hand: bool) -> Live {
        let group = GroupState {
            name: "hub".to_owned(),
            title: None,
            pattern: Pattern::Single,
            socket: None,
            left_hand,
            turned: None,
            hold_with: None,
            by_hand_only: false,
            access: Access::Fits,
            pass: 1,
            passes: 1,
            order: vec![1],
            asked: Some(Asked {
                unit: TorqueUnit::NewtonMetre,
                unit_nm: 1.0,
                target: 120.0,
                limits: "108.0–132.0 N·m".to_owned(),
                target_nm: 120.0,
                low_nm: 108.0,
                high_nm: Some(132.0),
            }),
            members: Vec::new(),
        };
        let next = Next::Pull {
            fastener: "hub/1".to_owned(),
            pass: 1,
            passes: 1,
            target: "120 N·m".to_owned(),
        };
        let snapshot = Snapshot {
            plan: "one".to_owned(),
            next: Some(next),
            groups: vec![group],
            holds: Vec::new(),
            open: Vec::new(),
            warnings: Vec::new(),
        };
        Live { snapshot: Some(snapshot), ..Live::default() }
    }

    #[test]
    fn a_pull_is_on_from_its_rise_to_its_release_and_remembers_its_peak() {
        for (left_hand, sign) in [(false, 1.0), (true, -1.0)] {
            let mut live = live(left_hand);
            let mut told = Vec::new();
            for nm in [0.2, 9.0, 11.0, 100.0, 117.0, 131.0, 133.0, 90.0, 6.0, 4.0, 8.0] {
                live.feel(Stamp(0), "LK-1", Torque::from_nm(nm * sign));
                told.push(live.torque[0].pull);
            }
            let on = |peak_nm, reached, over| Some(PullNow { peak_nm, reached, over });
            assert_eq!(
                told,
                [
                    None,
                    None,
                    on(11.0, false, false),
                    on(100.0, false, false),
                    on(117.0, true, false),
                    on(131.0, true, false),
                    on(133.0, true, true),
                    on(133.0, true, true),
                    on(133.0, true, true),
                    None,
                    None,
                ]
            );
        }
    }

    #[test]
    fn what_is_no_number_ends_a_pull() {
        let mut live = live(false);
        for nm in [50.0, f64::NAN] {
            live.feel(Stamp(0), "LK-1", Torque::from_nm(nm));
        }
        assert!(!live.is_pulling());
    }
}
