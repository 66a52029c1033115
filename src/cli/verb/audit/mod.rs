//! `audit`: whether the journal was edited, and whether reports belong to it.

mod key;
mod papers;

use crate::cli::access::{Access, failure, open_reader};
use crate::cli::args::{Audit, AuditVerb};
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::{Printer, Tone};
use crate::cli::progress::Progress;
use crate::cli::verb::audit::papers::{Paper, Sealed};
use crate::journal::audit::{Testimony, Unfit};
use crate::journal::head::{self, Head};
use crate::journal::{Reader, chain};
use crate::report::{claim, json};
use crate::web;
use serde::Serialize;
use std::path::Path;

/// What an audit found.
#[derive(Debug, Serialize)]
struct Findings {
    /// Nothing was found that does not fit.
    holds: bool,
    journal: String,
    /// How many entries the chain holds, from the first on.
    entries: u64,
    /// Hash of the last of them.
    head: String,
    /// How many personal texts were erased, as the journal says.
    erased_texts: u64,
    /// The first entry that does not fit.
    first_unfit: Option<Named>,
    /// Earlier heads and what they say, the file beside the journal first.
    heads: Vec<Heard>,
    reports: Vec<Belongs>,
}

#[derive(Debug, Serialize)]
struct Named {
    entry: u64,
    why: String,
}

#[derive(Debug, Serialize)]
struct Heard {
    from: String,
    /// How many entries there were.
    entries: Option<u64>,
    agrees: bool,
    says: String,
}

#[derive(Debug, Serialize)]
struct Belongs {
    #[serde(flatten)]
    sealed: Sealed,
    job: u32,
    /// It says what the journal says.
    belongs: bool,
    says: String,
    /// Where it says something else.
    differences: Vec<String>,
}

/// Runs the verb.
///
/// # Errors
/// Something does not fit, or cannot be read.
pub fn run(args: &Audit, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    if let Some(AuditVerb::Key(key)) = &args.verb {
        return key::run(key, printer);
    }
    let papers =
        args.reports.iter().map(|file| Paper::read(file)).collect::<Result<Vec<_>, _>>()?;
    let seals: Vec<Sealed> =
        papers.iter().map(|paper| paper.sealed(args.signed_by.as_deref())).collect();
    if args.without_journal {
        return papers::tell(&seals, args.json, printer);
    }
    let access = Access::find(journal)?;
    access.check_readable()?;
    let findings = look(access.journal(), &papers, seals, printer)?;
    if args.json {
        printer.json(&findings)?;
    } else {
        tell(&findings, printer)?;
    }
    match findings.trouble() {
        None => Ok(Done::Fine),
        Some(trouble) => Err(Failure::Failed(trouble)),
    }
}

fn look(
    journal: &Path,
    papers: &[Paper],
    seals: Vec<Sealed>,
    printer: Printer,
) -> Result<Findings, Failure> {
    let unreadable =
        |error: &dyn std::error::Error| Failure::failed("the journal cannot be read", error);
    // The file beside the journal first: it may lag behind the chain, but not run ahead of it.
    let files = head::read_all(journal).map_err(|error| unreadable(&error))?;
    let reader = open_reader(journal)?;
    let length = reader.head().map_err(|error| unreadable(&error))?.length;
    let known = files.iter().filter_map(|(_, said)| said.as_ref().ok().copied());
    let heads: Vec<Head> = known.chain(papers.iter().map(|paper| paper.head)).collect();
    let progress = Progress::bar(printer, length);
    let audit = reader
        .audit(&heads, &mut |number| progress.at(number))
        .map_err(|error| unreadable(&error))?;
    drop(progress);

    let mut said = audit.heads.iter();
    let mut heard: Vec<Heard> = Vec::new();
    for (file, read) in &files {
        let from = file.display().to_string();
        heard.push(match read {
            Ok(head) => testimony(from, *head, said.next()),
            Err(error) => Heard { from, entries: None, agrees: false, says: error.to_string() },
        });
    }
    let mut reports = Vec::new();
    for ((paper, sealed), says) in papers.iter().zip(seals).zip(said) {
        heard.push(testimony(sealed.file.clone(), paper.head, Some(says)));
        reports.push(belongs(&reader, paper, sealed, *says)?);
    }
    let first_unfit = audit.unfit().map(|unfit| Named {
        entry: unfit.number(),
        why: match &unfit {
            Unfit::Chain(fault) => fault.to_string(),
            Unfit::Head { says, .. } => says.to_string(),
        },
    });
    let mut findings = Findings {
        holds: false,
        journal: journal.display().to_string(),
        entries: audit.chain.sound.length,
        head: chain::hex(&audit.chain.sound.hash),
        erased_texts: audit.chain.erased,
        first_unfit,
        heads: heard,
        reports,
    };
    findings.holds = findings.trouble().is_none();
    Ok(findings)
}

fn testimony(from: String, head: Head, says: Option<&Testimony>) -> Heard {
    let says = says.copied().unwrap_or(Testimony::Unreached);
    Heard {
        from,
        entries: Some(head.length),
        agrees: says == Testimony::Agrees,
        says: says.to_string(),
    }
}

/// Whether a report says what the journal said when it was made.
fn belongs(
    reader: &Reader,
    paper: &Paper,
    sealed: Sealed,
    says: Testimony,
) -> Result<Belongs, Failure> {
    let claim = &paper.claim;
    let job = claim.job.0;
    let foreign = |says: String| Belongs {
        sealed: sealed.clone(),
        job,
        belongs: false,
        says,
        differences: Vec::new(),
    };
    if says != Testimony::Agrees {
        return Ok(foreign(format!("the journal does not have its head: {says}")));
    }
    let kept = web::report_as_of(reader, claim.job, claim.length, claim.printed_at);
    let kept = match kept {
        Ok(kept) => kept,
        Err(problem) if problem.status == 404 => {
            return Ok(foreign(format!("the journal has no job {job}")));
        }
        Err(problem) => return Err(failure(problem)),
    };
    // Held against a redacted report, the journal has to leave out the same.
    let kept = if claim.document["redacted"] == true { kept.redacted() } else { kept };
    let kept = serde_json::from_str(&json::render(&kept))
        .map_err(|error| Failure::failed("the report cannot be made again", &error))?;
    let differences = claim::differences(&claim.document, &kept);
    let version = env!("CARGO_PKG_VERSION");
    let says = match (differences.len(), claim.software_version == version) {
        (0, _) => "says what the journal says".to_owned(),
        (n, true) => format!("says something else than the journal in {n} places"),
        (n, false) => format!(
            "says something else than the journal in {n} places; it was made by version {}, this is {version}: \
             compare with that one before you conclude anything",
            claim.software_version
        ),
    };
    Ok(Belongs { sealed, job, belongs: differences.is_empty(), says, differences })
}

impl Findings {
    /// What does not fit, in a sentence.
    fn trouble(&self) -> Option<String> {
        if let Some(Named { entry, why }) = &self.first_unfit {
            return Some(format!("the journal does not hold from entry {entry} on: {why}"));
        }
        if let Some(heard) = self.heads.iter().find(|heard| !heard.agrees) {
            return Some(format!("{}: {}", heard.from, heard.says));
        }
        self.reports.iter().find_map(|report| {
            let file = &report.sealed.file;
            match (&report.sealed.trouble, report.belongs) {
                (Some(trouble), _) => Some(format!("{file}: {trouble}")),
                (None, false) => Some(format!("{file}: {}", report.says)),
                (None, true) => None,
            }
        })
    }
}

/// More differences than anybody reads.
const MOST_DIFFERENCES: usize = 10;

fn tell(findings: &Findings, printer: Printer) -> Result<(), Failure> {
    printer.line(format_args!("journal  {}", findings.journal))?;
    printer.line(format_args!("entries  {} fit, from the first on", findings.entries))?;
    printer.line(format_args!("head     {}", findings.head))?;
    if findings.erased_texts > 0 {
        let count = findings.erased_texts;
        let line = format!("erased   {count} texts about people, as the journal itself says");
        printer.line(line)?;
    }
    if let Some(Named { why, .. }) = &findings.first_unfit {
        printer.toned(Tone::Alarm, format_args!("DOES NOT FIT: {why}"))?;
    }
    for heard in &findings.heads {
        let tone = if heard.agrees { Tone::Good } else { Tone::Alarm };
        let entries = match heard.entries {
            Some(entries) => format!("saw {entries} entries: "),
            None => String::new(),
        };
        printer.toned(tone, format_args!("witness  {} {entries}{}", heard.from, heard.says))?;
    }
    for report in &findings.reports {
        let tone = if report.belongs { Tone::Good } else { Tone::Alarm };
        let Sealed { file, says, .. } = &report.sealed;
        printer.toned(
            tone,
            format_args!("report   {file}, job {}: {}; {says}", report.job, report.says),
        )?;
        if let Some(digest) = &report.sealed.digest {
            printer.line(format_args!("         digest {digest}"))?;
        }
        for difference in report.differences.iter().take(MOST_DIFFERENCES) {
            printer.line(format_args!("         {difference}"))?;
        }
        if let Some(more) = report.differences.len().checked_sub(MOST_DIFFERENCES + 1) {
            printer.line(format_args!("         and {} more", more + 1))?;
        }
    }
    printer.line("")?;
    for line in meaning(findings) {
        printer.line(line)?;
    }
    Ok(())
}

/// What it proves, and what not.
fn meaning(findings: &Findings) -> Vec<&'static str> {
    let mut lines = Vec::new();
    if findings.holds {
        lines.push(
            "What this shows: no entry was changed, taken out, put in or moved since it was written, as long as \
             nobody wrote the whole chain anew from that entry on.",
        );
    }
    if findings.heads.is_empty() {
        lines.push(
            "There is no head file and no report to compare with: entries cut off the end cannot be found without \
             one, nor can a chain that was written anew as a whole.",
        );
    } else {
        lines.push(
            "Entries cut off the end, and a chain written anew, are found against the newest head above. A head \
             that was out of the reach of whoever edits says more than the file beside the journal: keep a report, \
             or its last hash, somewhere else.",
        );
    }
    lines.push(
        "What it does not show: that what was written was true, who wrote it, or that the computer's clock was right.",
    );
    lines
}
