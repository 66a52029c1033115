//! What was asked of a group, and what became of each of its fasteners.

use crate::core::event::{Act, Basis, Ending, ReadingKey, TorqueVerdict, Trace};
use crate::core::plan::{Identity, Pattern, Window};
use crate::core::signal::Description;
use crate::core::units::TorqueUnit;
use crate::report::moment::Moment;
use crate::report::words::Saying;
use serde::Serialize;
use utoipa::ToSchema;

/// A step: one group and its passes.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct StepReport {
    /// The group's name.
    pub group: String,
    /// Words for people.
    pub title: Option<String>,
    /// How the members lie.
    pub pattern: Pattern,
    /// Diameter of the ring in millimetres.
    pub pitch_circle_mm: Option<f64>,
    /// True if a failure can cost a life.
    pub life_critical: bool,
    /// What the group needs to count as done.
    pub identity: Identity,
    /// The parts were turned so that each fastener came to the hand.
    pub turned_to_reach: bool,
    /// A finished fastener must not be pulled again.
    pub no_recheck: bool,
    /// The thread tightens counter-clockwise.
    pub left_hand: bool,
    /// Where the values come from, in the author's words.
    pub source: Option<String>,
    /// Socket or bit.
    pub socket: Option<String>,
    /// Thread.
    pub thread: Option<String>,
    /// Thread condition the value was published for.
    pub condition: Option<String>,
    /// Notes of the plan.
    pub notes: Vec<String>,
    /// Groups that had to be finished first.
    pub after: Vec<String>,
    /// Names of holds before any pull of the step.
    pub holds: Vec<String>,
    /// The passes, in order.
    pub passes: Vec<PassReport>,
    /// Where the fasteners' positions come from, if that needs saying.
    #[schema(value_type = Option<String>)]
    pub position: Option<Saying>,
    /// The fasteners, by member.
    pub fasteners: Vec<FastenerReport>,
}

/// One round at one target.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct PassReport {
    /// Counted from 1.
    pub number: usize,
    /// What it is called.
    pub name: String,
    /// True if that tells more than what was expected.
    #[serde(skip)]
    pub named: bool,
    /// What was expected.
    pub expect: Expectation,
    /// The window, where there is one.
    pub window: Option<WindowReport>,
    /// Members in the order to be pulled.
    pub order: Vec<u16>,
    /// True if the order binds.
    pub ordered: bool,
    /// True if it only checks an earlier pass.
    pub check: bool,
    /// Names of holds for this pass alone.
    pub holds: Vec<String>,
}

/// What a pass expects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Expectation {
    /// A torque in its window.
    Window,
    /// No reading.
    ByHand,
    /// The operator's word: no figure is published.
    NoFigure,
    /// The value was never looked up.
    ToBeLookedUp,
}

/// A window, in the author's unit and in N·m, unrounded.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct WindowReport {
    /// The author's unit.
    pub unit: TorqueUnit,
    /// Target in `unit`, as written.
    pub target: f64,
    /// Target, N·m.
    pub target_nm: f64,
    /// Lowest torque that counts, N·m.
    pub low_nm: f64,
    /// Highest torque allowed, N·m; null where only a minimum is published.
    pub high_nm: Option<f64>,
    /// The plan's own, for its texts.
    #[serde(skip)]
    pub window: Window,
}

/// A fastener.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct FastenerReport {
    /// `group/member`.
    pub name: String,
    /// 1..=n.
    pub member: u16,
    /// How it ended (*inferred*; for `stated`, *stated*).
    pub ending: Ending,
    /// The same in words.
    #[schema(value_type = String)]
    pub ending_words: Saying,
    /// Probability that it was brought to its window and not loosened since, 0..=1 (*inferred*); null for what was
    /// only stated, and where none is on record.
    pub probability: Option<f64>,
    /// Its pulls, oldest first.
    pub pulls: Vec<Pull>,
    /// Pulls once taken for this fastener, and since taken for another.
    pub withdrawn: Vec<Withdrawn>,
}

/// One pull.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Pull {
    /// What the adapter says.
    pub measured: Measured,
    /// What was concluded, oldest first; the last stands, the others were revised.
    pub inferred: Vec<Inferred>,
    /// What the adapter's certificate says of it; null without one that was valid and reaches so far.
    pub certified: Option<Certified>,
    /// By how much its adapter's zero had moved since the job's first pull with it, N·m: the peak may be off by as much.
    /// Null where it had not by enough to be told, or nothing tells.
    pub zero_moved_nm: Option<f64>,
}

/// What a certificate says of a pull. The verdict is by the peak itself, at face value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct Certified {
    /// How much more than the torque the adapter tells there, N·m.
    pub error_nm: f64,
    /// Expanded uncertainty (k = 2) of the peak, not corrected for that error, N·m.
    pub uncertainty_nm: f64,
    /// The peak is in its window, and nearer to a limit than the uncertainty.
    pub close_to_limit: bool,
}

/// What an adapter says of a pull.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Measured {
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading.
    pub seq: u64,
    /// What identifies it; null if the reading itself is not among the entries.
    pub key: Option<ReadingKey>,
    /// A person typed it (*stated*): no adapter measured it.
    pub typed: bool,
    /// When its peak was.
    pub at: Moment,
    /// How far `at` can be off, microseconds, if known.
    pub at_error_us: Option<u32>,
    /// The peak.
    pub peak_nm: f64,
    /// How far the drive turned, degrees.
    pub rotation_deg: Option<f64>,
    /// How long torque stood, milliseconds.
    pub duration_ms: Option<f64>,
    /// What its trace shows, if there is one.
    #[schema(value_type = Option<Object>)]
    pub description: Option<Box<Description>>,
    /// The samples, for the drawing.
    #[serde(skip)]
    pub trace: Option<Trace>,
}

/// What was concluded of a pull.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Inferred {
    /// The step's name.
    pub step: Option<String>,
    /// The pass, from 1.
    pub pass: Option<u32>,
    /// The fastener's name.
    pub fastener: Option<String>,
    /// Probability that the pull belongs to that fastener, 0..=1.
    pub confidence: f64,
    /// The evidence.
    pub basis: Vec<Basis>,
    /// Within what the true peak lies with 95 % probability, N·m, as far as that can be told.
    pub interval_nm: Option<(f64, f64)>,
    /// How the peak compares with the window.
    pub torque: TorqueVerdict,
    /// What the pull was.
    pub act: Act,
    /// It took the place of an earlier conclusion.
    pub revised: bool,
}

/// A pull that was taken for another fastener first.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Withdrawn {
    /// When its peak was.
    pub at: Moment,
    /// The adapter's short id.
    pub adapter: String,
    /// Number of the reading.
    pub seq: u64,
    /// The fastener it is taken for now; null: none.
    pub now: Option<String>,
}

impl FastenerReport {
    /// The conclusion that stands for its last pull, with the pull.
    #[must_use]
    pub fn last_pull(&self) -> Option<(&Pull, &Inferred)> {
        self.pulls.iter().rev().find_map(|pull| Some((pull, pull.stands()?)))
    }
}

impl Pull {
    /// The conclusion that stands.
    #[must_use]
    pub fn stands(&self) -> Option<&Inferred> {
        self.inferred.last()
    }
}

impl StepReport {
    /// For each fastener, the place that it had, from 1, when the fasteners were last tightened: in the last
    /// pass that any of them was tightened in, by the pulls that stand.
    #[must_use]
    pub fn pulled(&self) -> Vec<Option<usize>> {
        let tightened = |fastener: &FastenerReport| {
            let pulls = fastener.pulls.iter().filter_map(|pull| {
                let stands = pull.stands().filter(|stands| stands.act == Act::Tighten)?;
                Some((stands.pass?, pull.measured.at.utc.clone()))
            });
            pulls.collect::<Vec<_>>()
        };
        let pulls: Vec<Vec<(u32, String)>> = self.fasteners.iter().map(tightened).collect();
        let last = pulls.iter().flatten().map(|(pass, _)| *pass).max();
        let first_of = |pulls: &Vec<(u32, String)>| {
            let of_pass = pulls.iter().filter(|(pass, _)| Some(*pass) == last);
            of_pass.map(|(_, at)| at.clone()).min()
        };
        let begun: Vec<Option<String>> = pulls.iter().map(first_of).collect();
        let mut order: Vec<&String> = begun.iter().flatten().collect();
        order.sort();
        let place = |at: &String| order.iter().position(|one| *one == at).map(|place| place + 1);
        begun.iter().map(|at| at.as_ref().and_then(place)).collect()
    }

    /// The window of a pass, counted from 1.
    #[must_use]
    pub fn window(&self, pass: Option<u32>) -> Option<&Window> {
        let index = usize::try_from(pass?).ok()?.checked_sub(1)?;
        Some(&self.passes.get(index)?.window.as_ref()?.window)
    }

    /// The unit that the step's author used.
    #[must_use]
    pub fn unit(&self) -> TorqueUnit {
        self.passes
            .iter()
            .find_map(|pass| pass.window.as_ref())
            .map_or(TorqueUnit::NewtonMetre, |window| window.unit)
    }
}
