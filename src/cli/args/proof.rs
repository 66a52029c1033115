//! `audit …` and what keeps a journal: what can be typed of them.

use crate::core::language::Language;
use clap::{Args as ClapArgs, Subcommand};
use std::path::PathBuf;

/// `audit`
#[derive(Debug, ClapArgs)]
#[command(args_conflicts_with_subcommands = true)]
pub struct Audit {
    /// About keys instead
    #[command(subcommand)]
    pub verb: Option<AuditVerb>,
    /// JSON reports that are to belong to the journal
    #[arg(value_name = "REPORT.json")]
    pub reports: Vec<PathBuf>,
    /// Look at the signatures of the reports alone
    #[arg(long, requires = "reports")]
    pub without_journal: bool,
    /// The public key that must have signed the reports, hexadecimal
    #[arg(long, value_name = "KEY", requires = "reports")]
    pub signed_by: Option<String>,
    /// One JSON object
    #[arg(long)]
    pub json: bool,
}

/// `audit …`
#[derive(Debug, Subcommand)]
pub enum AuditVerb {
    /// Show the public half of the key that signs your reports; make one if there is none
    #[command(after_help = "Examples:\n  \
        clampbook audit key\n  \
        clampbook audit key --file bench.key\n\n\
        From then on every JSON report that you write is signed with it. Keep the file to yourself: whoever has\n\
        it can sign as you. Give the public key to whoever is to check your reports, by another way than the\n\
        reports.")]
    Key(KeyArgs),
}

/// `audit key`
#[derive(Debug, ClapArgs)]
pub struct KeyArgs {
    /// The file of the key [default: clampbook/report.key in the data folder of your account]
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// One JSON object
    #[arg(long)]
    pub json: bool,
}

/// `recheck …`
#[derive(Debug, Subcommand)]
pub enum RecheckVerb {
    /// List what waits to be pulled again
    #[command(
        after_help = "Examples:\n  clampbook recheck list\n  clampbook recheck list --all --json"
    )]
    List {
        /// Also what was done
        #[arg(long)]
        all: bool,
        /// One JSON object a line
        #[arg(long)]
        json: bool,
    },
    /// Write what waits as a calendar (iCalendar), a day each
    #[command(after_help = "Examples:\n  \
        clampbook recheck calendar --out rechecks.ics\n  \
        clampbook recheck calendar --out rechecks.ics --language de\n\n\
        Read it into any calendar; written again, the same days take the place of the old.")]
    Calendar {
        /// Write to this file instead of standard output
        #[arg(long, value_name = "FILE")]
        out: Option<PathBuf>,
        /// What the days say: en, de, es or fr
        #[arg(long, value_name = "LANGUAGE", default_value_t = Language::English)]
        language: Language,
    },
}

/// `backup`
#[derive(Debug, ClapArgs)]
pub struct Backup {
    /// The new file
    pub file: PathBuf,
    /// Overwrite a file of that name
    #[arg(long)]
    pub force: bool,
    /// One JSON object
    #[arg(long)]
    pub json: bool,
}

/// `export`
#[derive(Debug, ClapArgs)]
pub struct Export {
    /// Write to this file instead of standard output
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Overwrite a file of that name
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// `import`
#[derive(Debug, ClapArgs)]
pub struct Import {
    /// A file that `export` wrote; - is standard input
    pub file: PathBuf,
    /// One JSON object
    #[arg(long)]
    pub json: bool,
}
