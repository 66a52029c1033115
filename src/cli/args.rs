//! What can be typed. Nothing here looks at files or decides anything.

use clap::{Args as ClapArgs, Parser, Subcommand};
use std::path::PathBuf;

/// Listens to a digital torque adapter while you tighten by hand, checks every pull against the
/// plan, and keeps the record.
#[derive(Debug, Parser)]
#[command(
    name = "clampbook",
    version,
    disable_help_subcommand = true,
    after_help = "First steps:\n  \
        clampbook demo --fast                    see a whole job without any hardware\n  \
        clampbook plan new > corner.toml         write down what must be tightened\n  \
        clampbook plan check corner.toml\n  \
        clampbook serve --adapter ble:NAME       listen to an adapter\n  \
        clampbook job start corner.toml          in a second terminal\n\n\
        Exit status: 0 fine, 1 failed, 2 bad usage or input, 3 something is left open."
)]
pub struct Args {
    /// The journal to use [default: clampbook/journal.sqlite in the data folder of your account]
    #[arg(long, global = true, value_name = "PATH", env = "CLAMPBOOK_JOURNAL")]
    pub journal: Option<PathBuf>,
    /// Say less on standard error
    #[arg(long, short, global = true)]
    pub quiet: bool,
    /// What to do
    #[command(subcommand)]
    pub verb: Verb,
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Listen to adapters, judge pulls, keep the journal, until Ctrl-C
    #[command(after_help = "Examples:\n  \
        clampbook serve\n  \
        clampbook serve --adapter ble:\"Adapter 0012\" --controller hci1\n  \
        clampbook serve --adapter sim:samples/recordings/second-evening.ndjson,speed=10\n\n\
        The environment variable CLAMPBOOK_LOG sets how much is logged: error, warn, info, debug.")]
    Serve(Serve),
    /// Find adapters and keep those that are yours
    #[command(
        subcommand,
        after_help = "Examples:\n  \
        clampbook adapter scan\n  \
        clampbook adapter add ble:\"Adapter 0012\"\n  \
        clampbook adapter list --json"
    )]
    Adapter(AdapterVerb),
    /// Write, check and show plans
    #[command(
        subcommand,
        after_help = "Examples:\n  \
        clampbook plan new > corner.toml\n  \
        clampbook plan check corner.toml\n  \
        clampbook plan show corner.toml"
    )]
    Plan(PlanVerb),
    /// Start, look at, mark and close jobs
    #[command(
        subcommand,
        after_help = "Examples:\n  \
        clampbook job start corner.toml\n  \
        clampbook job show\n  \
        clampbook job mark at wheel/3\n  \
        clampbook job close"
    )]
    Job(JobVerb),
    /// Write a job, as it was heard, as a recording
    #[command(after_help = "Examples:\n  \
        clampbook record > newest-job.ndjson\n  \
        clampbook record 4 --out job-4.ndjson\n  \
        clampbook record --loose --out no-job.ndjson")]
    Record(Record),
    /// Run a recording through the rules, without adapter or journal
    #[command(after_help = "Examples:\n  \
        clampbook replay corner.toml job-4.ndjson\n  \
        clampbook replay corner.toml job-4.ndjson --json")]
    Replay(Replay),
    /// Write the report of a job
    #[command(after_help = "Examples:\n  \
        clampbook report 4\n  \
        clampbook report 4 --out handover\n  \
        clampbook report 4 --html - > job-4.html")]
    Report(Report),
    /// Play a whole job on simulated adapters: no hardware, no network
    #[command(after_help = "Examples:\n  \
        clampbook demo\n  \
        clampbook demo --fast --out somewhere")]
    Demo(Demo),
}

/// `serve`
#[derive(Debug, ClapArgs)]
pub struct Serve {
    /// Adapter to listen to: ble:NAME or sim:FILE; may be given again [default: those kept by `adapter add`]
    #[arg(long = "adapter", value_name = "SPEC")]
    pub adapters: Vec<String>,
    /// Bluetooth controller, by address or name (hci0)
    #[arg(long, value_name = "ADDRESS|NAME")]
    pub controller: Option<String>,
    /// Port on 127.0.0.1 [default: any free one]
    #[arg(long, default_value_t = 0, hide_default_value = true)]
    pub port: u16,
}

/// `adapter …`
#[derive(Debug, Subcommand)]
pub enum AdapterVerb {
    /// Look around for adapters that announce themselves
    #[command(after_help = "Example:\n  clampbook adapter scan --seconds 20")]
    Scan {
        /// How long to look
        #[arg(long, default_value_t = 8, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=600))]
        seconds: u16,
        /// Bluetooth controller, by address or name (hci0)
        #[arg(long, value_name = "ADDRESS|NAME")]
        controller: Option<String>,
        /// One JSON object a line
        #[arg(long)]
        json: bool,
    },
    /// Show the adapters that `serve` listens to when it is told no other
    #[command(after_help = "Example:\n  clampbook adapter list")]
    List {
        /// One JSON object a line
        #[arg(long)]
        json: bool,
    },
    /// Keep an adapter for `serve`
    #[command(after_help = "Example:\n  clampbook adapter add ble:\"Adapter 0012\"")]
    Add {
        /// ble:NAME or sim:FILE
        spec: String,
    },
}

/// `plan …`
#[derive(Debug, Subcommand)]
pub enum PlanVerb {
    /// Write a commented starter plan to standard output
    #[command(after_help = "Example:\n  clampbook plan new > corner.toml")]
    New,
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

/// `job …`
#[derive(Debug, Subcommand)]
pub enum JobVerb {
    /// Start a job from a plan
    #[command(after_help = "Example:\n  clampbook job start corner.toml")]
    Start {
        /// The plan file
        plan: PathBuf,
        /// The new job as one JSON object
        #[arg(long)]
        json: bool,
    },
    /// List the jobs of the journal
    #[command(after_help = "Example:\n  clampbook job list --json")]
    List {
        /// One JSON object a line
        #[arg(long)]
        json: bool,
    },
    /// Show where a job stands
    #[command(after_help = "Examples:\n  clampbook job show\n  clampbook job show 4 --json")]
    Show {
        /// Number of the job [default: the one under way, else the newest]
        job: Option<u32>,
        /// One JSON object
        #[arg(long)]
        json: bool,
    },
    /// Say something about the job under way
    #[command(
        subcommand,
        after_help = "Examples:\n  \
        clampbook job mark at wheel/3\n  \
        clampbook job mark confirm ride-height\n  \
        clampbook job mark stated sensor-screw/1\n  \
        clampbook job mark skip bar-link/2 --reason \"new nut is missing\"\n  \
        clampbook job mark retract"
    )]
    Mark(MarkVerb),
    /// Close the job under way; refused with status 3 while something is open
    #[command(after_help = "Examples:\n  \
        clampbook job close\n  \
        clampbook job close --open \"wheel goes on tomorrow\"")]
    Close {
        /// Close although something is open, and say why
        #[arg(long, value_name = "REASON")]
        open: Option<String>,
    },
}

/// `job mark …`
#[derive(Debug, Clone, Subcommand)]
pub enum MarkVerb {
    /// I am at this fastener now
    #[command(after_help = "Example:\n  clampbook job mark at wheel/3")]
    At {
        /// group/member, as the plan names it
        fastener: String,
    },
    /// The condition of this hold is met
    #[command(after_help = "Example:\n  clampbook job mark confirm ride-height")]
    Confirm {
        /// The hold, as the plan names it
        hold: String,
    },
    /// This fastener was done without the adapter
    #[command(after_help = "Example:\n  clampbook job mark stated sensor-screw/1")]
    Stated {
        /// group/member, as the plan names it
        fastener: String,
    },
    /// This fastener was opened or slackened
    #[command(after_help = "Example:\n  clampbook job mark opened arm-pivot/1")]
    Opened {
        /// group/member, as the plan names it
        fastener: String,
    },
    /// This fastener is left out on purpose
    #[command(
        after_help = "Example:\n  clampbook job mark skip bar-link/2 --reason \"nut missing\""
    )]
    Skip {
        /// group/member, as the plan names it
        fastener: String,
        /// Why
        #[arg(long)]
        reason: String,
    },
    /// A note for the record
    #[command(after_help = "Example:\n  clampbook job mark note \"cam bolt was seized\"")]
    Note {
        /// The text
        text: String,
    },
    /// Take back the last mark, or the assignment of the last reading
    #[command(after_help = "Example:\n  clampbook job mark retract")]
    Retract,
}

/// `record`
#[derive(Debug, ClapArgs)]
pub struct Record {
    /// Number of the job [default: the one under way, else the newest]
    #[arg(conflicts_with = "loose")]
    pub job: Option<u32>,
    /// The readings that belong to no job, instead
    #[arg(long)]
    pub loose: bool,
    /// Write to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// `replay`
#[derive(Debug, ClapArgs)]
pub struct Replay {
    /// The plan file
    pub plan: PathBuf,
    /// The recording, newline-delimited JSON
    pub recording: PathBuf,
    /// One JSON object a line: verdicts, warnings, and a summary last
    #[arg(long)]
    pub json: bool,
}

/// `report`
#[derive(Debug, ClapArgs)]
pub struct Report {
    /// Number of the job
    pub job: u32,
    /// Write report.html and report.json into this folder [default: job-N here]
    #[arg(long, value_name = "DIR", conflicts_with_all = ["html", "json"])]
    pub out: Option<PathBuf>,
    /// Write the HTML report to this file; - is standard output
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// Write the JSON report to this file; - is standard output
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
}

/// `demo`
#[derive(Debug, ClapArgs)]
pub struct Demo {
    /// Which faults the simulated radio makes (even: links are lost, too); the outcome stays the same
    #[arg(long, default_value_t = 1, value_name = "N")]
    pub seed: u64,
    /// Folder for journal.sqlite, report.html and report.json
    #[arg(long, value_name = "DIR", default_value = "clampbook-demo")]
    pub out: PathBuf,
    /// Do not wait between pulls
    #[arg(long)]
    pub fast: bool,
}
