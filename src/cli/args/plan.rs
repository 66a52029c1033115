//! `plan …`: what can be typed of plans.

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
    /// Report every fault of a plan, with file, line and column
    #[command(after_help = "Example:\n  clampbook plan check corner.toml")]
    Check {
        /// The plan file
        plan: PathBuf,
        /// One JSON object a fault
        #[arg(long)]
        json: bool,
    },
    /// Show what will be asked, in order
    #[command(after_help = "Example:\n  clampbook plan show corner.toml")]
    Show {
        /// The plan file
        plan: PathBuf,
        /// The plan as one JSON object
        #[arg(long)]
        json: bool,
    },
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
