//! `job …`: what can be typed of jobs.

use clap::{ArgGroup, Args as ClapArgs, Subcommand, ValueEnum};
use std::path::PathBuf;

/// `job …`
#[derive(Debug, Subcommand)]
pub enum JobVerb {
    /// Start a job from a plan
    #[command(after_help = "Examples:\n  \
        clampbook job start corner.toml\n  \
        clampbook job start corner.toml --plate \"ORV 4417\"\n  \
        clampbook job start --recheck 4")]
    Start {
        /// The plan file
        #[arg(required_unless_present = "recheck", conflicts_with = "recheck")]
        plan: Option<PathBuf>,
        /// Pull again what this closed job tightened, as far as its plan asks for that
        #[arg(long, value_name = "JOB", conflicts_with_all = ["vin", "plate"])]
        recheck: Option<u32>,
        /// Whose job it is
        #[command(flatten)]
        vehicle: VehicleArgs,
        /// The new job as one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Start a job on wheels alone, without a plan file
    #[command(after_help = "Examples:\n  \
        clampbook job wheels --studs 5 --target \"120 N·m\"\n  \
        clampbook job wheels --studs 6 --target \"165 N·m\" --wheels 4 --source \"owner's handbook, page 212\"\n  \
        clampbook job wheels --studs 6 --target \"120 lbf·ft ±5 %\" --names front-left,front-right\n\n\
        Each wheel: snug by hand, then the star at the target with the tyre just touching, then a check round.\n\
        For anything else, write a plan: clampbook plan new")]
    Wheels(WheelsArgs),
    /// List the jobs of the journal: the newest 50, the oldest of them first
    #[command(after_help = "Examples:\n  \
        clampbook job list\n  \
        clampbook job list --page 2\n  \
        clampbook job list --all --json")]
    List {
        /// An older page; 1 is the newest
        #[arg(long, value_name = "N", default_value_t = 1, conflicts_with = "all", value_parser = clap::value_parser!(u32).range(1..))]
        page: u32,
        /// All of them
        #[arg(long)]
        all: bool,
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
    #[command(after_help = "Examples:\n  \
        clampbook job mark at wheel/3\n  \
        clampbook job mark confirm ride-height\n  \
        clampbook job mark stated sensor-screw/1\n  \
        clampbook job mark skip bar-link/2 --reason \"new nut is missing\"\n  \
        clampbook job mark retract\n  \
        clampbook job mark --pedal confirm ride-height")]
    Mark(MarkArgs),
    /// List the readings that belong to no job
    #[command(after_help = "Example:\n  clampbook job loose")]
    Loose {
        /// One JSON object a line
        #[arg(long)]
        json: bool,
    },
    /// Put readings that belong to no job into the one under way
    #[command(after_help = "Examples:\n  \
        clampbook job claim 12,13,17\n  \
        clampbook job claim --since 17:30\n  \
        clampbook job claim --all")]
    Claim(ClaimArgs),
    /// Keep what is right beside what was said wrong; nothing is overwritten
    #[command(after_help = "Examples:\n  \
        clampbook job correct 4 --vin ORV4NE0DR4Y000007\n  \
        clampbook job correct 4 --entry 31 --note \"that was the left one\"")]
    Correct(CorrectArgs),
    /// Erase texts about a person or their vehicle for good
    #[command(after_help = "Examples:\n  \
        clampbook job erase 4\n  \
        clampbook job erase 4 --only vin,operator --yes\n\n\
        What was measured and concluded stays, and the chain stays whole; an entry says that texts were erased.")]
    Erase(EraseArgs),
    /// Interrupt the job under way, to go on with it later
    #[command(after_help = "Example:\n  clampbook job park\n\n\
        Says what is open, what is only started, and what to buy. Readings that come meanwhile belong to no job.")]
    Park {
        /// One JSON object
        #[arg(long)]
        json: bool,
    },
    /// Go on with a parked job
    #[command(after_help = "Examples:\n  clampbook job resume\n  clampbook job resume 4")]
    Resume {
        /// Number of the job [default: the one parked last]
        job: Option<u32>,
        /// One JSON object
        #[arg(long)]
        json: bool,
    },
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

/// `job mark`
#[derive(Debug, ClapArgs)]
pub struct MarkArgs {
    /// What is said
    #[command(subcommand)]
    pub verb: MarkVerb,
    /// A foot pedal runs this command: keep what is said as the pedal's
    #[arg(long)]
    pub pedal: bool,
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
    #[command(after_help = "Examples:\n  \
        clampbook job mark confirm ride-height\n  \
        clampbook job mark confirm secured:toe-link\n  \
        clampbook job mark confirm threads:hub-nut --because \"wiped clean, dried\"")]
    Confirm {
        /// The hold, as the plan names it, or what is asked before closing
        hold: String,
        /// Why, where the opposite was told before
        #[arg(long, value_name = "REASON")]
        because: Option<String>,
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
    /// This fastener stayed below its torque
    #[command(after_help = "Example:\n  clampbook job mark low wheel/3")]
    Low {
        /// group/member, as the plan names it
        fastener: String,
    },
    /// Something that the plan does not name was opened, too
    #[command(after_help = "Example:\n  clampbook job mark also-opened hose-clip")]
    AlsoOpened {
        /// A name of lower-case letters, digits and hyphens
        name: String,
    },
    /// A part of this fastener is spoiled: it needs a new one
    #[command(after_help = "Example:\n  clampbook job mark spoiled arm-pivot/1")]
    Spoiled {
        /// group/member, as the plan names it
        fastener: String,
    },
    /// A length that you measured: as found, or of a hold
    #[command(after_help = "Examples:\n  \
        clampbook job mark figure hub-to-arch \"512 mm\"\n  \
        clampbook job mark figure ride-height \"511 mm\"")]
    Figure {
        /// The hold, or what is noted as found, as the plan names it
        of: String,
        /// The length with its unit
        value: String,
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
    /// The value of a joint that the plan left open (`"?"`), now that it was looked up
    #[command(after_help = "Examples:\n  \
        clampbook job mark value slide-pins \"26 N·m\"\n  \
        clampbook job mark value bar-link \"46 N·m ±10 %\"")]
    Value {
        /// The joint, as the plan names it
        joint: String,
        /// Its torque with the unit, and its own tolerance if you like, as in a plan; `none` if none is published
        torque: String,
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

/// Which vehicle a new job is done on.
#[derive(Debug, ClapArgs)]
pub struct VehicleArgs {
    /// The vehicle's identification number [default: what the plan says]
    #[arg(long, value_name = "VIN")]
    pub vin: Option<String>,
    /// The vehicle's registration plate [default: what the plan says]
    #[arg(long, value_name = "PLATE")]
    pub plate: Option<String>,
}

/// `job wheels`
#[derive(Debug, ClapArgs)]
pub struct WheelsArgs {
    /// Studs of each wheel
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(2..=64))]
    pub studs: u16,
    /// Torque with its unit, and its own tolerance if you like, as in a plan
    #[arg(long, value_name = "TORQUE")]
    pub target: String,
    /// How many wheels [default: 1, or as many as there are names]
    #[arg(long, value_name = "N", conflicts_with = "names", value_parser = clap::value_parser!(u8).range(1..=4))]
    pub wheels: Option<u8>,
    /// Names of the wheels
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',', num_args = 1)]
    pub names: Vec<String>,
    /// Where the torque comes from
    #[arg(long, value_name = "TEXT")]
    pub source: Option<String>,
    /// When to pull them again; the maker's distance, if he states one [default: 80 km, 14 days]
    #[arg(long, value_name = "DISTANCE")]
    pub recheck: Option<String>,
    /// How far from the target still counts [default: ±10 %]
    #[arg(long, value_name = "TOLERANCE")]
    pub tolerance: Option<String>,
    /// Whose wheels
    #[command(flatten)]
    pub vehicle: VehicleArgs,
    /// The new job as one JSON object
    #[arg(long)]
    pub json: bool,
}

/// `job correct`
#[derive(Debug, ClapArgs)]
#[group(skip)]
#[command(group = ArgGroup::new("right").required(true).multiple(true).args(["vehicle", "vin", "plate", "operator", "note"]))]
pub struct CorrectArgs {
    /// Number of the job
    pub job: u32,
    /// What the vehicle is
    #[arg(long, value_name = "TEXT")]
    pub vehicle: Option<String>,
    /// Its identification number
    #[arg(long, value_name = "VIN")]
    pub vin: Option<String>,
    /// Its registration plate
    #[arg(long, value_name = "PLATE")]
    pub plate: Option<String>,
    /// Who worked
    #[arg(long, value_name = "NAME")]
    pub operator: Option<String>,
    /// What is right, in words
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
    /// The entry that the note is about, as the JSON report numbers them [default: the start of the job]
    #[arg(long, value_name = "N", requires = "note")]
    pub entry: Option<u64>,
}

/// `job erase`
#[derive(Debug, ClapArgs)]
pub struct EraseArgs {
    /// Number of the job
    pub job: u32,
    /// Only these, and the plan's text if it says them, too [default: all]
    #[arg(long, value_enum, value_name = "WHAT,WHAT", value_delimiter = ',', num_args = 1)]
    pub only: Vec<TextName>,
    /// Do not ask
    #[arg(long)]
    pub yes: bool,
}

/// What can be erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum TextName {
    /// What the plan says of the vehicle
    Vehicle,
    /// Its identification number
    Vin,
    /// Its registration plate
    Plate,
    /// Who worked
    Operator,
    /// Notes and reasons
    Notes,
    /// The plan file's text
    Plan,
    /// Samples of pulls
    Traces,
    /// Photos
    Photos,
}

impl TextName {
    /// As it is typed.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Vehicle => "vehicle",
            Self::Vin => "vin",
            Self::Plate => "plate",
            Self::Operator => "operator",
            Self::Notes => "notes",
            Self::Plan => "plan",
            Self::Traces => "traces",
            Self::Photos => "photos",
        }
    }
}

/// `job claim`
#[derive(Debug, ClapArgs)]
#[group(skip)]
#[command(group = ArgGroup::new("which").required(true).args(["numbers", "since", "all"]))]
pub struct ClaimArgs {
    /// Numbers as `job loose` lists them
    #[arg(value_name = "NUMBERS", value_delimiter = ',')]
    pub numbers: Vec<u64>,
    /// Those since then: 17:30, or 2026-05-16T17:30
    #[arg(long, value_name = "TIME")]
    pub since: Option<String>,
    /// All of them
    #[arg(long)]
    pub all: bool,
    /// One JSON object
    #[arg(long)]
    pub json: bool,
}
