//! What can be typed. Nothing here looks at files or decides anything.

mod job;
mod plan;
mod proof;

pub use job::{
    ClaimArgs, CorrectArgs, EraseArgs, JobVerb, MarkArgs, MarkVerb, TextName, VehicleArgs,
    WheelsArgs,
};
pub use plan::{PlanCheck, PlanImport, PlanNew, PlanShow, PlanVerb, SideName};
pub use proof::{Audit, AuditVerb, Backup, Export, Import, KeyArgs, RecheckVerb};

use crate::core::language::Language;
use crate::core::prompt::Talk;
use crate::core::units::TorqueUnit;
use clap::{Args as ClapArgs, CommandFactory, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use std::fmt::Write as _;
use std::path::PathBuf;

/// Listens to a digital torque adapter while you tighten by hand, checks every pull against the
/// plan, and keeps the record.
#[derive(Debug, Parser)]
#[command(
    name = "clampbook",
    version,
    disable_help_subcommand = true,
    after_help = "First steps:\n  \
        clampbook demo --fast                                  see a whole job without any hardware\n  \
        clampbook job wheels --studs 5 --target \"120 N·m\"      a job on wheels, at once\n  \
        clampbook plan new > corner.toml                       or a plan for more than wheels\n  \
        clampbook serve --adapter ble:NAME                     listen to an adapter, in a second terminal\n\n\
        More verbs: clampbook help more\n\
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
    pub verb: Option<Verb>,
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Listen to adapters, judge pulls, keep the journal, until Ctrl-C
    #[command(after_help = "Examples:\n  \
        clampbook serve\n  \
        clampbook serve --adapter ble:\"Adapter 0012\" --controller hci1\n  \
        clampbook serve --adapter sim:samples/recordings/second-evening.ndjson,speed=10\n  \
        clampbook serve --speak --language de\n  \
        clampbook serve --speak --speak-what alarms --speak-volume 60\n  \
        clampbook serve --lan\n  \
        clampbook serve --lan --tls\n\n\
        With --lan everything between phone and computer can be read and changed by others on the same network:\n\
        use one that is yours, or add --tls. Then the phone warns of a certificate that nobody vouches for; compare\n\
        its fingerprint with the one told here, once. Without --lan nobody on the network is answered.\n\
        The environment variable CLAMPBOOK_LOG sets how much is logged: error, warn, info, debug.")]
    #[command(display_order = 4)]
    Serve(Serve),
    /// Open the live page: a link that lets one screen in, once
    #[command(
        hide = true,
        display_order = 9,
        after_help = "Examples:\n  \
        clampbook page\n  \
        clampbook page --phone\n  \
        clampbook page --list\n  \
        clampbook page --shut-out 2\n\n\
        The daemon must run: clampbook serve, for a phone with --lan."
    )]
    Page(Page),
    /// Find adapters and keep those that are yours
    #[command(
        subcommand,
        after_help = "Examples:\n  \
        clampbook adapter scan\n  \
        clampbook adapter add\n  \
        clampbook adapter show\n  \
        clampbook adapter zero"
    )]
    #[command(display_order = 2)]
    Adapter(AdapterVerb),
    /// Write, check and show plans
    #[command(
        subcommand,
        after_help = "Examples:\n  \
        clampbook plan new --like front-strut --out corner.toml\n  \
        clampbook plan check corner.toml\n  \
        clampbook plan show corner.toml"
    )]
    #[command(display_order = 3)]
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
    #[command(display_order = 5)]
    Job(JobVerb),
    /// Take values from the keyboard: no adapter needed
    #[command(after_help = "Examples:\n  \
        clampbook typed\n  \
        clampbook typed --unit lbf·ft < values.txt\n\n\
        One a line:\n  \
        102.5               a torque, in the unit of the joint's own value (or of --unit)\n  \
        75 lbf·ft           a torque with its unit\n  \
        102.5 at wheel/3    a torque of the fastener named\n  \
        low, done           it stayed low; done with a wrench that shows nothing (also with `at NAME`)\n  \
        at wheel/3          I am at this fastener\n  \
        yes, yes NAME       what was asked is so\n  \
        undo, note TEXT, close\n\n\
        What is typed is your word: it is checked against the plan, and ends as stated, never as measured.")]
    #[command(display_order = 6)]
    Typed(TypedArgs),
    /// Write a job, as it was heard, as a recording
    #[command(after_help = "Examples:\n  \
        clampbook record > newest-job.ndjson\n  \
        clampbook record 4 --out job-4.ndjson\n  \
        clampbook record --loose --out no-job.ndjson")]
    #[command(hide = true, display_order = 10)]
    Record(Record),
    /// Run a recording through the rules, without adapter or journal
    #[command(after_help = "Examples:\n  \
        clampbook replay corner.toml job-4.ndjson\n  \
        clampbook replay corner.toml job-4.ndjson --json\n  \
        clampbook replay corner.toml job-4.ndjson --explain 17")]
    #[command(hide = true, display_order = 11)]
    Replay(Replay),
    /// Write the report of a job
    #[command(after_help = "Examples:\n  \
        clampbook report 4\n  \
        clampbook report 4 --out handover\n  \
        clampbook report 4 --text\n  \
        clampbook report 4 --csv pulls.csv\n  \
        clampbook report 4 --html customer.html --copy customer --redact --language de\n  \
        clampbook report --schema > report.schema.json")]
    #[command(display_order = 7)]
    Report(Report),
    /// Show what is to be pulled again, and by when
    #[command(
        subcommand,
        hide = true,
        display_order = 9,
        after_help = "Examples:\n  \
        clampbook recheck list\n  \
        clampbook recheck calendar --out rechecks.ics\n  \
        clampbook job start --recheck 4"
    )]
    Recheck(RecheckVerb),
    /// Find out whether the journal was edited, and whether reports belong to it
    #[command(
        hide = true,
        display_order = 15,
        after_help = "Examples:\n  \
        clampbook audit\n  \
        clampbook audit job-4/report.json\n  \
        clampbook audit --without-journal --signed-by KEY report.json\n  \
        clampbook audit key\n\n\
        Exit status: 0 everything fits, 1 something does not; the first entry that does not is named."
    )]
    Audit(Audit),
    /// Copy the journal to another file, also while it is written to
    #[command(
        hide = true,
        display_order = 16,
        after_help = "Examples:\n  \
        clampbook backup journal-may.sqlite\n  \
        clampbook --journal journal-may.sqlite audit"
    )]
    Backup(Backup),
    /// Write the whole journal as lines of JSON
    #[command(
        hide = true,
        display_order = 17,
        after_help = "Examples:\n  \
        clampbook export --out journal-may.ndjson\n  \
        clampbook export | gzip > journal-may.ndjson.gz"
    )]
    Export(Export),
    /// Add what an export holds and the journal does not
    #[command(
        hide = true,
        display_order = 18,
        after_help = "Examples:\n  \
        clampbook import journal-may.ndjson\n  \
        clampbook --journal other.sqlite import journal-may.ndjson\n\n\
        The chain in the export is verified, and all of it is added or nothing. Into an empty journal it goes as it\n\
        was, with its hashes; otherwise readings, jobs and what was said that are there already are not added again."
    )]
    Import(Import),
    /// Look through everything that must work, and say what to do about what does not
    #[command(
        hide = true,
        display_order = 14,
        after_help = "Examples:\n  \
        clampbook doctor\n  \
        clampbook doctor --json\n\n\
        Exit status: 0 all is well, 1 something is not."
    )]
    Doctor(Doctor),
    /// Play a whole job on simulated adapters: no hardware, no network
    #[command(after_help = "Examples:\n  \
        clampbook demo\n  \
        clampbook demo --fast --out somewhere")]
    #[command(display_order = 1)]
    Demo(Demo),
    /// The help of a verb; `help more` lists every verb
    #[command(after_help = "Examples:\n  clampbook help more\n  clampbook help job wheels")]
    #[command(display_order = 8)]
    Help {
        /// The verb, or `more`
        #[arg(value_name = "VERB")]
        words: Vec<String>,
    },
    /// Write what a shell needs to complete verbs and options
    #[command(
        after_help = "Example:\n  clampbook completions bash > ~/.local/share/bash-completion/completions/clampbook"
    )]
    #[command(hide = true, display_order = 12)]
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Write a manual page for every verb into a folder
    #[command(after_help = "Example:\n  clampbook man ~/.local/share/man/man1")]
    #[command(hide = true, display_order = 13)]
    Man {
        /// The folder; made if it is not there
        dir: PathBuf,
    },
}

/// The whole command line, with the verbs that the short help leaves out listed in the long one.
#[must_use]
pub fn command() -> clap::Command {
    let command = Args::command();
    let mut more = String::from("More verbs:\n");
    let mut hidden: Vec<_> = command.get_subcommands().filter(|verb| verb.is_hide_set()).collect();
    hidden.sort_by_key(|verb| verb.get_display_order());
    for verb in hidden {
        let about = verb.get_about().map(ToString::to_string).unwrap_or_default();
        let _ = writeln!(more, "  {:<12} {about}", verb.get_name());
    }
    let first = command.get_after_help().map(ToString::to_string).unwrap_or_default();
    command.after_long_help(format!("{more}\n{first}"))
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
    /// Keep what traces show, and not their samples
    #[arg(long)]
    pub no_traces: bool,
    /// Port on 127.0.0.1 [default: the one of last time, else any free one]
    #[arg(long)]
    pub port: Option<u16>,
    /// Answer this machine's network, too, and show how a phone is let in
    #[arg(long)]
    pub lan: bool,
    /// Encrypt what goes over the network, with a certificate of this journal's own, of which browsers warn
    #[arg(long, requires = "lan")]
    pub tls: bool,
    /// Encrypt it with this certificate (PEM, followed by those that vouch for it)
    #[arg(
        long,
        value_name = "FILE",
        requires = "lan",
        requires = "tls_key",
        conflicts_with = "tls"
    )]
    pub tls_certificate: Option<PathBuf>,
    /// The key that belongs to the certificate (PEM)
    #[arg(long, value_name = "FILE", requires = "tls_certificate")]
    pub tls_key: Option<PathBuf>,
    /// Speak with espeak-ng, spd-say or say, after a rhythm played by pw-play, paplay, aplay or afplay: whichever is there
    #[arg(long)]
    pub speak: bool,
    /// Speak with this command, which is given the text as its last argument
    #[arg(long, value_name = "COMMAND", conflicts_with = "speak")]
    pub speak_with: Option<String>,
    /// How loud rhythms and voice are, per cent; a command of --speak-with has its own voice, and how loud that is
    #[arg(long, value_name = "PERCENT", default_value_t = 100, value_parser = clap::value_parser!(u8).range(1..=100))]
    pub speak_volume: u8,
    /// What is spoken: everything, values (not what is next), or alarms; every rhythm sounds all the same
    #[arg(long, value_name = "WHAT", default_value_t = Talk::Everything)]
    pub speak_what: Talk,
    /// What is spoken: en, de, es or fr
    #[arg(long, value_name = "LANGUAGE", default_value_t = Language::English)]
    pub language: Language,
}

/// `page`
#[derive(Debug, ClapArgs)]
pub struct Page {
    /// For a phone or tablet on the same network: with a code to be read by its camera
    #[arg(long)]
    pub phone: bool,
    /// List the screens that are let in
    #[arg(long, conflicts_with = "phone")]
    pub list: bool,
    /// Shut this screen out, by its number
    #[arg(long, value_name = "N", conflicts_with_all = ["phone", "list"])]
    pub shut_out: Option<u32>,
    /// One JSON object
    #[arg(long)]
    pub json: bool,
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
    /// Find an adapter, pair with it, zero it, and keep it for `serve`
    ///
    /// Hold the adapter's button until it shows pairing mode first; that lasts for 60 s.
    #[command(after_help = "Examples:\n  \
        clampbook adapter add\n  \
        clampbook adapter add \"Adapter 0012\" --name half-inch\n  \
        clampbook adapter add sim:samples/recordings/second-evening.ndjson")]
    Add {
        /// Name, address or serial number; or sim:FILE [default: chosen from a list]
        adapter: Option<String>,
        /// What you call it [default: its serial number]
        #[arg(long, value_name = "TEXT")]
        name: Option<String>,
        /// How long to look
        #[arg(long, default_value_t = 8, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=600))]
        seconds: u16,
        /// Bluetooth controller, by address or name (hci0)
        #[arg(long, value_name = "ADDRESS|NAME")]
        controller: Option<String>,
        /// Leave its zero as it is
        #[arg(long)]
        no_zero: bool,
    },
    /// Show what an adapter tells of itself, and how its link is
    #[command(
        after_help = "Examples:\n  clampbook adapter show\n  clampbook adapter show half-inch --json"
    )]
    Show {
        /// Name, serial number or address [default: the only one]
        adapter: Option<String>,
        /// One JSON object
        #[arg(long)]
        json: bool,
    },
    /// Have an adapter draw attention to itself
    #[command(after_help = "Example:\n  clampbook adapter identify half-inch --seconds 20")]
    Identify {
        /// Name, serial number or address [default: the only one]
        adapter: Option<String>,
        /// For how long; 0 ends it
        #[arg(long, default_value_t = 10, value_name = "N")]
        seconds: u8,
    },
    /// Have an adapter take its present torque as zero
    #[command(after_help = "Example:\n  clampbook adapter zero half-inch")]
    Zero {
        /// Name, serial number or address [default: the only one]
        adapter: Option<String>,
    },
    /// Put the calibration certificate of an adapter on record, or list those that are
    ///
    /// Reports name it, and say of each pull how near it lies to a limit by the certificate's own figures. The
    /// method is the laboratory's text; nothing is called compliant with a standard.
    #[command(after_help = "Examples:\n  \
        clampbook adapter certificate --example > certificate.toml\n  \
        clampbook adapter certificate certificate.toml\n  \
        clampbook adapter certificate")]
    Certificate {
        /// The file with what the certificate says [default: list those on record]
        file: Option<PathBuf>,
        /// Show a certificate to be filled in
        #[arg(long, conflicts_with = "file")]
        example: bool,
        /// One JSON object a line
        #[arg(long)]
        json: bool,
    },
    /// Keep an adapter no longer; with --bond also unpair it from this computer
    #[command(
        after_help = "Examples:\n  clampbook adapter forget half-inch\n  clampbook adapter forget half-inch --bond"
    )]
    Forget {
        /// Name, serial number or address; or sim:FILE
        adapter: String,
        /// Remove the bond, and what else this computer remembers of it
        #[arg(long)]
        bond: bool,
    },
}

/// `typed`
#[derive(Debug, ClapArgs)]
pub struct TypedArgs {
    /// Unit of numbers without one [default: that of the joint's own value]
    #[arg(long, value_name = "UNIT")]
    pub unit: Option<TorqueUnit>,
    /// One JSON object a line
    #[arg(long)]
    pub json: bool,
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
    /// Show how the belief about the reading of this number came about, source by source; may be given more than once
    #[arg(long, value_name = "SEQ")]
    pub explain: Vec<u64>,
    /// The recording is of the recheck that the plan asks for
    #[arg(long)]
    pub recheck: bool,
    /// Draw the traces of the recording into this folder, one SVG file a tightening
    #[arg(long, value_name = "DIR")]
    pub plot: Option<PathBuf>,
}

/// `report`
#[derive(Debug, ClapArgs)]
pub struct Report {
    /// Number of the job
    #[arg(required_unless_present = "schema")]
    pub job: Option<u32>,
    /// Write report.html and report.json into this folder [default: job-N here]
    #[arg(long, value_name = "DIR", conflicts_with_all = ["html", "json", "pdf", "csv", "text"])]
    pub out: Option<PathBuf>,
    /// Write the HTML report to this file; - is standard output
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// Write the JSON report to this file; - is standard output
    #[arg(long, value_name = "FILE")]
    pub json: Option<PathBuf>,
    /// Write the report as PDF to this file (PDF/A-2a, PDF/UA-1); - is standard output
    #[arg(long, value_name = "FILE")]
    pub pdf: Option<PathBuf>,
    /// Write the pulls as a table to this file, one row a pull; - is standard output
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
    /// Write the report as plain text to this file [default: standard output]
    #[arg(long, value_name = "FILE", num_args = 0..=1, require_equals = true, default_missing_value = "-")]
    pub text: Option<PathBuf>,
    /// For whom: customer leaves out the course of the work (HTML, PDF and text)
    #[arg(long, value_enum, default_value_t = CopyName::Full, value_name = "WHO")]
    pub copy: CopyName,
    /// What HTML, PDF and text are written in: en, de, es or fr; JSON and CSV stay as programs read them
    #[arg(long, value_name = "LANGUAGE", default_value_t = Language::English)]
    pub language: Language,
    /// Leave out names, VIN, plate, notes, photos and what is said of the vehicle
    #[arg(long)]
    pub redact: bool,
    /// Write the JSON Schema of the JSON report to standard output
    #[arg(long, conflicts_with_all = ["job", "out", "html", "json", "pdf", "csv", "text"])]
    pub schema: bool,
    /// Sign JSON and PDF with the key in this file [default: that of `audit key`, if there is one]
    #[arg(long, value_name = "FILE")]
    pub key: Option<PathBuf>,
}

/// For whom a report is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum CopyName {
    /// Everything that is known
    Full,
    /// What stands out, and how every fastener ended
    Customer,
}

/// `doctor`
#[derive(Debug, ClapArgs)]
pub struct Doctor {
    /// One JSON object
    #[arg(long)]
    pub json: bool,
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
