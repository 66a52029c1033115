//! What people and programs can ask of a running job, and what they get back.

use crate::core::event::{JobId, Mark, Say, Summary, Verdict, Warning};
use crate::core::park::Leaving;
use crate::core::photo::NewPhoto;
use crate::core::plan::{Fault, NoFigure, Plan, Vehicle, parse};
use crate::core::prompt::Words;
use crate::core::snapshot::Next;
use crate::core::typed::Typed;
use crate::core::units::{StatedTorque, TorqueUnit};
use serde::{Deserialize, Serialize};
use thiserror::Error;
use utoipa::ToSchema;

/// Stands before the name of something noted as found where it is asked for.
const AS_FOUND: &str = "as-found:";

/// Something asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Command {
    /// Start a job.
    Start(Box<StartJob>),
    /// Start a job that pulls again what another one tightened.
    Recheck {
        /// The other one.
        job: JobId,
        /// Makes the new job's name unique in the world.
        random: [u8; 16],
    },
    /// The operator said something.
    Mark(Mark),
    /// A photo was taken.
    Attach(Box<NewPhoto>),
    /// A line was typed.
    Type {
        /// What it says.
        line: Typed,
        /// For a number that names no unit.
        unit: Option<TorqueUnit>,
    },
    /// Put readings that belong to no job into the one under way.
    Claim {
        /// Numbers of the entries that keep them.
        entries: Vec<u64>,
    },
    /// Interrupt the job under way, to go on with it later.
    Park,
    /// Go on with a parked job.
    Resume {
        /// Which; otherwise the one parked last.
        job: Option<JobId>,
    },
    /// Close the job under way.
    Close {
        /// Why it is closed although something is open.
        open_reason: Option<String>,
    },
    /// Say again what was said last.
    Repeat,
    /// Ask an adapter that is listened to for something.
    Adapter {
        /// Its serial number, or what it is listened to as.
        adapter: String,
        /// What.
        ask: AdapterAsk,
    },
}

/// What can be asked of an adapter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "ask", rename_all = "kebab-case")]
pub enum AdapterAsk {
    /// Take the present torque as zero.
    Zero,
    /// Draw attention to itself.
    Identify {
        /// For so long; 0 ends it.
        seconds: u8,
    },
}

/// What a job is started from.
#[derive(Debug, Clone, PartialEq)]
pub struct StartJob {
    /// The checked plan.
    pub plan: Plan,
    /// The plan file's text.
    pub plan_text: String,
    /// SHA-256 of the plan file's octets, lower-case hexadecimal.
    pub plan_hash: String,
    /// What identifies the vehicle.
    pub vehicle: Vehicle,
    /// Unique in the world.
    pub uuid: String,
}

impl StartJob {
    /// What a job is started from, out of a plan file's text. `random` makes it unique in the world.
    ///
    /// # Errors
    /// Every fault of the plan, if it cannot be used.
    pub fn new(plan_text: String, random: [u8; 16]) -> Result<Self, Vec<Fault>> {
        let file = parse(&plan_text)?;
        Ok(Self {
            plan: file.plan,
            plan_text,
            plan_hash: file.hash,
            vehicle: file.vehicle,
            uuid: unique_name(random),
        })
    }
}

/// A name that is unique in the world (RFC 9562, version 4).
#[must_use]
pub fn unique_name(random: [u8; 16]) -> String {
    uuid::Builder::from_random_bytes(random).into_uuid().to_string()
}

/// What was done about a [`Command`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "done", rename_all = "kebab-case")]
pub enum Done {
    /// A job was started.
    Started {
        /// Its number.
        job: JobId,
    },
    /// A mark was kept.
    Marked {
        /// The job that it belongs to.
        job: JobId,
        /// What the operator must be told because of it.
        warnings: Vec<Warning>,
    },
    /// A photo was kept.
    Attached {
        /// The job that it belongs to.
        job: JobId,
        /// What it is of, as the plan names it.
        about: String,
    },
    /// A typed line was kept.
    Heard {
        /// The job that it belongs to; none for a value that came while none is under way.
        job: Option<JobId>,
        /// What was said, unless it was a value.
        said: Option<Say>,
        /// The value as typed.
        value: Option<StatedTorque>,
        /// What is concluded because of it.
        verdicts: Vec<Verdict>,
        /// What the operator must be told because of it.
        warnings: Vec<Warning>,
        /// What comes next.
        next: Option<Next>,
    },
    /// Readings were put into the job.
    Claimed {
        /// The job.
        job: JobId,
        /// How many.
        readings: u32,
        /// What the operator must be told because of them.
        warnings: Vec<Warning>,
    },
    /// The job is parked.
    Parked {
        /// Its number.
        job: JobId,
        /// What is left behind.
        leaving: Leaving,
    },
    /// The job is under way again.
    Resumed {
        /// Its number.
        job: JobId,
        /// What was left behind when it was parked, as it stands now.
        leaving: Leaving,
    },
    /// The job was closed.
    Closed {
        /// Its number.
        job: JobId,
        /// How it stood.
        summary: Summary,
        /// Open joints whose failure can cost a life: the vehicle must not move.
        #[serde(default)]
        life_critical: Vec<String>,
    },
    /// What was said last is said again.
    Repeated {
        /// What.
        words: Words,
    },
    /// An adapter took its present torque as zero.
    Zeroed {
        /// Its serial number.
        adapter: String,
        /// What it showed before, N·m; none if it does not know.
        offset_nm: Option<f64>,
    },
    /// An adapter draws attention to itself.
    Identifying {
        /// Its serial number.
        adapter: String,
        /// For so long.
        seconds: u8,
    },
}

/// Why nothing was done about a [`Command`].
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Refusal {
    /// There is no open job.
    #[error(
        "expected a job under way, but found none; start one with `clampbook job start PLAN`, or go on with a parked one: `clampbook job resume`"
    )]
    NoJob,
    /// Only one job at a time.
    #[error(
        "expected no job under way, but found job {}; go on with it later: `clampbook job park`, or end it: `clampbook job close`",
        .0.0
    )]
    JobUnderWay(JobId),
    /// That job cannot be gone on with.
    #[error(
        "expected a parked job, but found {}; `clampbook job list` shows which are parked",
        .0.map_or_else(|| "none".to_owned(), |job| format!("that job {} is not parked", job.0))
    )]
    NotParked(Option<JobId>),
    /// There is no such job.
    #[error("expected a job of the journal, but found no job {}; see `clampbook job list`", .0.0)]
    NoSuchJob(JobId),
    /// A job that was not closed has not tightened everything yet.
    #[error(
        "expected a closed job, but found that job {} is not closed; go on with it: `clampbook job resume`",
        .0.0
    )]
    NotClosed(JobId),
    /// Nothing of that job is to be pulled again.
    #[error(
        "expected something to pull again, but found that the plan of job {} asks for no recheck; write `recheck = \"80 km\"` into the plan",
        .0.0
    )]
    NothingToRecheck(JobId),
    /// A number without a unit, where nothing tells which is meant.
    #[error(
        "expected a unit behind the number, but found none; write it like `102.5 N·m`, or set one with --unit"
    )]
    NoUnit,
    /// More than any hand tool shows.
    #[error("expected at most 5000 N·m, but found {0}; look at the unit and at the decimal sign")]
    TooMuch(String),
    /// A number where the plan's value is asked for.
    #[error(
        "expected the value of {group}, which is still to be looked up, but found {typed}, which may be a pull; if it is the value, say so: `value {group} {typed}`; if it was a pull, give the value first and then claim the pull (`clampbook job claim --all`): it was kept without a job"
    )]
    ValueFirst {
        /// The joint whose value is asked for.
        group: String,
        /// What was typed.
        typed: String,
    },
    /// There is no question to answer.
    #[error(
        "expected a question that waits for `yes`, but found none; name the condition: `yes NAME`"
    )]
    NothingAsked,
    /// No fastener is due that a word without a name could mean.
    #[error(
        "expected a fastener that is due, but found {0}; name the one you mean: `done at NAME`"
    )]
    NotDue(String),
    /// There is no such loose reading.
    #[error(
        "expected a reading without a job, but found that entry {entry} {}; `clampbook job loose` lists them",
        .job.map_or_else(|| "is none".to_owned(), |job| format!("belongs to job {}", job.0))
    )]
    NotLoose {
        /// The entry asked for.
        entry: u64,
        /// The job that claimed it before.
        job: Option<JobId>,
    },
    /// The plan has no such name.
    #[error("expected {kind} of the plan, but found \"{name}\"{}", did_you_mean(nearest))]
    UnknownName {
        /// What kind of name was expected: "a fastener", "a hold".
        kind: &'static str,
        /// What was said.
        name: String,
        /// The plan's names that come nearest, best first.
        nearest: Vec<String>,
    },
    /// A value was not taken.
    #[error("{}", .0.join("\n"))]
    NotGiven(Vec<String>),
    /// Nothing can be put into a plan whose text is gone.
    #[error(
        "expected the plan's text, but found that this job has none (any more); note the value with `note`, and state the fastener as done"
    )]
    NoPlanText,
    /// What was also opened cannot be called so.
    #[error(
        "expected a new name of lower-case letters, digits and hyphens, but found \"{0}\"; write it like `hose-clip`"
    )]
    NoNewName(String),
    /// It would change nothing.
    #[error("{0}")]
    ChangesNothing(String),
    /// A figure that cannot be read.
    #[error("{0}")]
    NoFigure(NoFigure),
    /// Something is open.
    #[error(
        "expected nothing open, but found {}; finish it, or close with `clampbook job close --open REASON`",
        open.join(", ")
    )]
    StillOpen {
        /// The names, in plan order.
        open: Vec<String>,
    },
    /// Nothing was said that could be said again.
    #[error("expected something that was said, but found nothing yet")]
    NothingSaid,
    /// No such adapter is listened to.
    #[error(
        "expected an adapter that is listened to, but found \"{name}\"; {}",
        if known.is_empty() { "none is".to_owned() } else { format!("those are {}", known.join(", ")) }
    )]
    NoAdapter {
        /// What was asked for.
        name: String,
        /// What is listened to.
        known: Vec<String>,
    },
    /// The adapter cannot be reached just now.
    #[error("adapter {0} is asleep or out of reach; wake it and ask again")]
    AdapterAway(String),
    /// The adapter does not do it.
    #[error("adapter {adapter} did not do it: {reason}")]
    AdapterRefused {
        /// Its serial number.
        adapter: String,
        /// Why, and what can be done.
        reason: String,
    },
    /// The record could not be kept, so nothing was done.
    #[error("nothing was kept: {0}")]
    NotKept(String),
}

/// `say` with its names checked against the plan, and against those that can be confirmed `beside` it, and written as
/// the plan writes them.
///
/// # Errors
/// A name that nothing has, with those that come nearest; a figure that cannot be read.
pub fn resolve(plan: &Plan, beside: &[String], say: Say) -> Result<Say, Refusal> {
    let fastener = |name: String| match plan.fastener(&name) {
        Some(id) => Ok(plan.fastener_name(id)),
        None => Err(unknown("a fastener", name, plan.fasteners().map(|id| plan.fastener_name(id)))),
    };
    Ok(match say {
        Say::At { fastener: name } => Say::At { fastener: fastener(name)? },
        Say::Stated { fastener: name } => Say::Stated { fastener: fastener(name)? },
        Say::Low { fastener: name } => Say::Low { fastener: fastener(name)? },
        Say::Opened { fastener: name } => Say::Opened { fastener: fastener(name)? },
        Say::Skip { fastener: name, reason } => Say::Skip { fastener: fastener(name)?, reason },
        Say::Confirm { hold, because } => Say::Confirm {
            hold: asked(plan, beside, hold)?,
            because: because.filter(|reason| !reason.trim().is_empty()),
        },
        Say::AlsoOpened { name } if plan.is_new_name(&name) => Say::AlsoOpened { name },
        Say::AlsoOpened { name } => return Err(Refusal::NoNewName(name)),
        Say::Spoiled { fastener: name } => Say::Spoiled { fastener: fastener(name)? },
        Say::Figure { of, value } => match plan.figure(&of, &value) {
            Ok(_) => Say::Figure { of, value },
            Err(NoFigure::UnknownName(name)) => {
                return Err(unknown("a figure", name, plan.figure_names()));
            }
            Err(fault) => return Err(Refusal::NoFigure(fault)),
        },
        Say::Retract => Say::Retract,
        Say::Note { text } => Say::Note { text },
    })
}

/// What a photo is of, as the plan names it: a joint, one of its fasteners, or something noted as found.
pub fn pictured(plan: &Plan, name: &str) -> Result<String, Refusal> {
    let found = |name: &str| plan.around.as_found.iter().any(|fact| fact.name == name);
    if found(name) || plan.steps.iter().any(|step| step.group == name) {
        return Ok(name.to_owned());
    }
    if let Some(fact) = name.strip_prefix(AS_FOUND).filter(|fact| found(fact)) {
        return Ok(fact.to_owned());
    }
    if let Some(fastener) = plan.fastener(name) {
        return Ok(plan.fastener_name(fastener));
    }
    let groups = plan.steps.iter().map(|step| step.group.clone());
    let facts = plan.around.as_found.iter().map(|fact| fact.name.clone());
    Err(unknown("a joint, a fastener or a fact", name.to_owned(), groups.chain(facts)))
}

/// The name of a hold, or of something that is asked before closing, as the plan writes it.
fn asked(plan: &Plan, beside: &[String], name: String) -> Result<String, Refusal> {
    // Of adapters, and of what was opened beside it, the plan knows nothing.
    if beside.contains(&name) || plan.holds.iter().any(|hold| hold.name == name) {
        return Ok(name);
    }
    match plan.condition(&name) {
        Some(condition) => Ok(plan.condition_name(condition)),
        None if name.contains(':') => {
            let known = plan.condition_names().chain(beside.iter().cloned());
            Err(unknown("a condition", name, known))
        }
        None => {
            let holds = plan.holds.iter().map(|hold| hold.name.clone());
            Err(unknown("a hold", name, holds))
        }
    }
}

fn unknown(kind: &'static str, name: String, known: impl Iterator<Item = String>) -> Refusal {
    let mut scored: Vec<(f64, String)> =
        known.map(|known| (strsim::jaro_winkler(&name, &known), known)).collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    Refusal::UnknownName {
        kind,
        name,
        nearest: scored.into_iter().take(3).map(|(_, known)| known).collect(),
    }
}

fn did_you_mean(nearest: &[String]) -> String {
    if nearest.is_empty() {
        "; the plan has none".to_owned()
    } else {
        format!("; the nearest are {}", nearest.join(", "))
    }
}
