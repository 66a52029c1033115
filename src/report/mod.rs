//! What is handed over: the facts of one job as one document, in HTML, JSON, CSV and plain text.
//!
//! Guarantees: pure (no input or output, no clock); nothing from outside reaches a page unescaped;
//! every fact says whether it was *measured*, *inferred* or *stated*; what could not be known is said.
//!
//! Deliberately absent: judgement. Endings come from the tracker's [`Summary`], verdicts from the
//! entries; here they are only put in order and into words. Nothing here is ever called safe.
//!
//! [`Report::build`] makes the document, which speaks no language; [`html::render`] and [`plain::render`]
//! write it out in that of its reader, [`json::render`] and [`table::render`] in English, for programs.

pub mod html;
pub mod json;

mod assemble;
mod certificate;
pub mod claim;
mod gather;
pub mod model;
pub mod moment;
pub mod number;
mod outcome;
pub mod plain;
pub mod plot;
mod redact;
pub mod schema;
pub mod seal;
pub mod table;
pub mod visible;
pub mod words;
mod zero;

use crate::core::event::{Entry, JobId, Summary};
use crate::core::plan::Plan;
use crate::core::time::Stamp;
use jiff::tz::TimeZone;
pub use model::Report;

/// What a report needs beside the entries.
#[derive(Debug, Clone)]
pub struct ReportContext {
    /// When the report is made (microseconds since the Unix epoch).
    pub printed_at: Stamp,
    /// Where local time is taken from.
    pub time_zone: TimeZone,
    /// The program that makes it.
    pub software_version: String,
    /// Length of the journal's chain, and the hash of its last entry.
    pub chain_head: (u64, [u8; 32]),
    /// The job to report on.
    pub job: JobId,
}

/// How much a document tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Extent {
    /// Everything that is known.
    #[default]
    Full,
    /// What stands out, how every fastener ended and its last pull, without the course of the work.
    Customer,
}

/// Why no report can be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReportError {
    /// The job's start is not among the entries.
    #[error(
        "expected the start of job {job} among {entries} entries, but found none; \
         check the number of the job, and give every entry of it"
    )]
    NoSuchJob {
        /// The job asked for.
        job: u32,
        /// How many entries were given.
        entries: usize,
    },
    /// The summary is not of this job's plan.
    #[error(
        "expected a summary that says how '{fastener}' ended, but found none; \
         rebuild the summary from this job's own entries"
    )]
    SummaryLacks {
        /// The fastener without an ending.
        fastener: String,
    },
    /// The summary speaks of something the plan has not.
    #[error(
        "expected a summary of this job's plan, but found '{fastener}' in it; \
         rebuild the summary from this job's own entries"
    )]
    SummaryStrange {
        /// The name that the plan has not.
        fastener: String,
    },
}

impl Report {
    /// The report on one job.
    ///
    /// `entries` may be in any order and may hold other jobs' entries, which are passed over. Entries
    /// without a job are reported as loose if they lie between the job's start and its close.
    /// `plan` is the job's with the values that were given while it was under way, `summary` how the job stands
    /// after the last of the entries.
    ///
    /// # Errors
    /// The job's start is missing, or `summary` belongs to another plan.
    pub fn build(
        entries: &[Entry],
        plan: &Plan,
        summary: &Summary,
        context: &ReportContext,
    ) -> Result<Self, ReportError> {
        let facts = gather::gather(entries, plan, context)?;
        assemble::assemble(facts, summary, context)
    }
}
