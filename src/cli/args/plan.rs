//! `plan …`: what can be typed of plans.

use crate::core::units::TorqueUnit;
use clap::{Args, Subcommand, ValueEnum};
use std::path::PathBuf;

/// `plan …`
#[derive(Debug, Subcommand)]
pub enum PlanVerb {
    /// Write a new plan: commented, from a skeleton, or from an old job
    #[command(after_help = "Examples:\n  \
        clampbook plan new > corner.toml\n  \
        clampbook plan new --list\n  \
        clampbook plan new --like front-strut --out corner.toml\n  \
        clampbook plan new --like front-strut --values values.txt --source \"sheet 12-07\" --out corner.toml\n  \
        clampbook plan new --like wheels --set front-left-wheel=\"6 × 165 N·m\" > wheels.toml\n  \
        clampbook plan new --from 4 --mirror right --out other-side.toml\n\n\
        Values, one a line, typed or pasted:\n  \
        hub-nut 228 N·m\n  \
        Caliper bracket: 75 lbf·ft ±8 %\n  \
        front-left-wheel 6 × 165 N·m     how many of them, too\n  \
        slide-pins ?                     still to be looked up\n  \
        disc-screw -                     not in this plan")]
    New(Box<PlanNew>),
    /// Report every fault and every doubt of a plan, with file, line and column
    #[command(after_help = "Examples:\n  \
        clampbook plan check corner.toml\n  \
        clampbook plan check corner.toml --adapter small.toml --adapter large.toml\n  \
        clampbook plan check --explain high-for-thread\n  \
        clampbook plan check --explain")]
    Check(PlanCheck),
    /// Show what will be asked, in order
    #[command(after_help = "Examples:\n  \
        clampbook plan show corner.toml\n  \
        clampbook plan show corner.toml --gather\n  \
        clampbook plan show corner.toml --text > whole.toml")]
    Show(PlanShow),
    /// Say what a plan asks otherwise than another, joint by joint
    #[command(after_help = "Example:\n  clampbook plan diff corner.toml corner-new.toml")]
    Diff {
        /// The plan to compare with
        from: PathBuf,
        /// The plan that may differ
        to: PathBuf,
        /// One JSON object a difference
        #[arg(long)]
        json: bool,
    },
    /// Write a plan from a table, one joint a row
    #[command(after_help = "Examples:\n  \
        clampbook plan import-csv values.csv --source \"sheet 12-07\" --out corner.toml\n  \
        clampbook plan import-csv values.csv --unit lbf·ft --column Where=joint --column \"How tight\"=torque\n\n\
        Columns are known by their headings: joint, torque (with its unit in the cell, in the heading or in\n\
        a column `unit`), min, max, tolerance, count, pattern, order, angle, after, title, socket, drive,\n\
        thread, class, condition, lubrication, hold-with, single-use, new-parts, recheck, source, notes.")]
    ImportCsv(PlanImport),
    /// Print the JSON Schema of plans, for an editor that completes and checks
    #[command(after_help = "Example:\n  clampbook plan schema > plan.schema.json")]
    Schema,
}

/// `plan check`
#[derive(Debug, Args)]
pub struct PlanCheck {
    /// The plan file
    #[arg(required_unless_present = "explain")]
    pub plan: Option<PathBuf>,
    /// An adapter's sheet: can it prove what the plan asks? May be given again
    #[arg(long, value_name = "SHEET")]
    pub adapter: Vec<PathBuf>,
    /// Say what a code means; without one, list them all
    #[arg(long, value_name = "CODE", num_args = 0..=1, default_missing_value = "", conflicts_with = "plan")]
    pub explain: Option<String>,
    /// One JSON object a fault
    #[arg(long)]
    pub json: bool,
}

/// `plan show`
#[derive(Debug, Args)]
pub struct PlanShow {
    /// The plan file
    pub plan: PathBuf,
    /// What to lay out before the work: sockets, parts, what goes on threads
    #[arg(long)]
    pub gather: bool,
    /// The text of the plan with all that it includes, as a job would keep it
    #[arg(long, conflicts_with_all = ["gather", "json"])]
    pub text: bool,
    /// One JSON object
    #[arg(long)]
    pub json: bool,
}

/// `plan import-csv`
#[derive(Debug, Args)]
pub struct PlanImport {
    /// The table, as CSV: commas, semicolons or tabs
    pub table: PathBuf,
    /// What the plan is called [default: the name of the file]
    #[arg(long, value_name = "TEXT")]
    pub name: Option<String>,
    /// What a column is that is headed otherwise; may be given again
    #[arg(long = "column", value_name = "HEADING=WHAT")]
    pub columns: Vec<String>,
    /// The unit of numbers that have none
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<TorqueUnit>,
    /// Tolerance of every joint that states none, like "±8 %"
    #[arg(long, value_name = "TOLERANCE", allow_hyphen_values = true)]
    pub tolerance: Option<String>,
    /// Where the values come from
    #[arg(long, value_name = "TEXT")]
    pub source: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "TEXT")]
    pub vehicle: Option<String>,
    /// Write to this new file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Overwrite the file
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// `plan new`
#[derive(Debug, Args)]
#[command(group = clap::ArgGroup::new("base").args(["like", "from"]))]
pub struct PlanNew {
    /// Show the skeletons, one a line
    #[arg(long, conflicts_with_all = ["like", "from", "out"])]
    pub list: bool,
    /// Start from this skeleton
    #[arg(long, value_name = "NAME")]
    pub like: Option<String>,
    /// Start from the plan of this job
    #[arg(long, value_name = "JOB")]
    pub from: Option<u32>,
    /// Make it for this side of the vehicle
    #[arg(long, value_name = "SIDE", requires = "base")]
    pub mirror: Option<SideName>,
    /// A joint's value; may be given again
    #[arg(long = "set", value_name = "JOINT=VALUE", requires = "base")]
    pub set: Vec<String>,
    /// Values from this file, one a line; - is standard input, up to its end or a line with only a dot
    #[arg(long, value_name = "FILE", requires = "base")]
    pub values: Option<PathBuf>,
    /// Leave this joint out; may be given again
    #[arg(long, value_name = "JOINT", requires = "base")]
    pub without: Vec<String>,
    /// Tolerance of every joint that states none, like "±8 %"
    #[arg(long, value_name = "TOLERANCE", requires = "base", allow_hyphen_values = true)]
    pub tolerance: Option<String>,
    /// Where the values come from
    #[arg(long, value_name = "TEXT", requires = "base")]
    pub source: Option<String>,
    /// The vehicle
    #[arg(long, value_name = "TEXT", requires = "base")]
    pub vehicle: Option<String>,
    /// Write to this new file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Overwrite the file
    #[arg(long, requires = "out")]
    pub force: bool,
    /// Do not ask whether the values were read rightly
    #[arg(long, short)]
    pub yes: bool,
}

/// A side of the vehicle, as seated.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum SideName {
    /// Left.
    Left,
    /// Right.
    Right,
}
