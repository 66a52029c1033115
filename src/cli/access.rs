//! Reaching a journal: through its daemon if one runs, else directly.

use crate::cli::outcome::Failure;
use crate::cli::remote::Remote;
use crate::core::command::{Command, Done, Refusal};
use crate::core::event::{JobId, Mark};
use crate::core::units::TorqueUnit;
use crate::daemon::clock;
use crate::daemon::engine::{Engine, EngineError};
use crate::daemon::wake::{Outcome, Wake};
use crate::journal::{Journal, JournalError, Reader};
use crate::web::{
    self, ClaimRequest, CloseRequest, JobRow, JobState, LooseRow, MarkRequest, Problem,
    ResumeRequest, StartRequest, TypedRequest,
};
use etcetera::BaseStrategy;
use std::path::{Path, PathBuf};

/// A way to a journal.
#[derive(Debug)]
pub struct Access {
    journal: PathBuf,
    daemon: Option<Remote>,
}

/// What is asked of a job.
#[derive(Debug)]
pub enum Ask {
    /// Start one from a plan file's text.
    Start(StartRequest),
    /// Start one that pulls again what this one tightened.
    Recheck(JobId),
    /// Keep a mark.
    Mark(Mark),
    /// Keep a typed line.
    Type {
        /// As typed.
        line: String,
        /// For a number that names no unit.
        unit: Option<TorqueUnit>,
    },
    /// Put readings without a job into the one under way.
    Claim(Vec<u64>),
    /// Park the one under way.
    Park,
    /// Go on with a parked one: this, or the one parked last.
    Resume(Option<JobId>),
    /// Close the one under way.
    Close(Option<String>),
}

/// The journal to use: the one named, or the account's own.
///
/// # Errors
/// The account has no data folder.
pub fn journal_path(named: Option<&Path>) -> Result<PathBuf, Failure> {
    if let Some(path) = named {
        return Ok(path.to_owned());
    }
    let strategy = etcetera::choose_base_strategy().map_err(|error| {
        Failure::input(
            "expected a data folder for this account; name a journal with --journal",
            &error,
        )
    })?;
    Ok(strategy.data_dir().join("clampbook").join("journal.sqlite"))
}

impl Access {
    /// Looks for the journal's daemon.
    ///
    /// # Errors
    /// The account has no data folder.
    pub fn find(named: Option<&Path>) -> Result<Self, Failure> {
        let journal = journal_path(named)?;
        let daemon = Remote::find(&journal);
        Ok(Self { journal, daemon })
    }

    /// True if a daemon answers for the journal.
    #[must_use]
    pub fn has_daemon(&self) -> bool {
        self.daemon.is_some()
    }

    /// The daemon of the journal.
    ///
    /// # Errors
    /// None answers.
    pub fn daemon(&self) -> Result<&Remote, Failure> {
        self.daemon.as_ref().ok_or_else(|| {
            Failure::Input(
                "expected the daemon of this journal, but nobody answers; start it in a second terminal: `clampbook serve`"
                    .to_owned(),
            )
        })
    }

    /// Where the journal is.
    #[must_use]
    pub fn journal(&self) -> &Path {
        &self.journal
    }

    /// Asks for something to be done.
    ///
    /// # Errors
    /// It was refused, or could not be kept.
    pub fn ask(&self, ask: Ask) -> Result<Done, Failure> {
        match (&self.daemon, ask) {
            (Some(daemon), Ask::Start(start)) => daemon.post("/v1/jobs", &start),
            (Some(daemon), Ask::Recheck(job)) => {
                daemon.post(&format!("/v1/jobs/{}/recheck", job.0), &())
            }
            (Some(daemon), Ask::Mark(Mark { say, origin })) => {
                daemon.post("/v1/jobs/current/marks", &MarkRequest { say, origin })
            }
            (Some(daemon), Ask::Type { line, unit }) => {
                daemon.post("/v1/typed", &TypedRequest { line, unit })
            }
            (Some(daemon), Ask::Claim(entries)) => {
                daemon.post("/v1/jobs/current/claim", &ClaimRequest { entries })
            }
            (Some(daemon), Ask::Park) => daemon.post("/v1/jobs/current/park", &()),
            (Some(daemon), Ask::Resume(job)) => {
                let job = job.map(|JobId(job)| job);
                daemon.post("/v1/jobs/resume", &ResumeRequest { job })
            }
            (Some(daemon), Ask::Close(open_reason)) => {
                daemon.post("/v1/jobs/current/close", &CloseRequest { open_reason })
            }
            (None, ask) => {
                // Only a job or a value begins a journal.
                let begins = matches!(ask, Ask::Start(_) | Ask::Type { .. });
                if !begins && !self.journal.exists() {
                    return Err(missing(&self.journal));
                }
                let command = match ask {
                    Ask::Start(start) => {
                        let start = web::start_job(start).map_err(failure)?;
                        Command::Start(Box::new(start))
                    }
                    Ask::Recheck(job) => Command::Recheck { job, random: rand::random() },
                    Ask::Mark(mark) => Command::Mark(mark),
                    Ask::Type { line, unit } => {
                        let line = web::read_typed(&line).map_err(failure)?;
                        Command::Type { line, unit }
                    }
                    Ask::Claim(entries) => Command::Claim { entries },
                    Ask::Park => Command::Park,
                    Ask::Resume(job) => Command::Resume { job },
                    Ask::Close(open_reason) => Command::Close { open_reason },
                };
                self.command(command)
            }
        }
    }

    /// The jobs of the journal, oldest first.
    ///
    /// # Errors
    /// The journal cannot be read.
    pub fn jobs(&self) -> Result<Vec<JobRow>, Failure> {
        match &self.daemon {
            Some(daemon) => daemon.get("/v1/jobs"),
            None => {
                self.check_readable()?;
                web::jobs(&self.journal).map_err(failure)
            }
        }
    }

    /// A page of the jobs, the newest page being 1, and how many pages there are.
    ///
    /// # Errors
    /// The journal cannot be read.
    pub fn jobs_page(&self, page: u32) -> Result<(Vec<JobRow>, u32), Failure> {
        self.check_readable()?;
        web::jobs_page(&self.journal, page).map_err(failure)
    }

    /// The readings that belong to no job, oldest first.
    ///
    /// # Errors
    /// The journal cannot be read.
    pub fn loose(&self) -> Result<Vec<LooseRow>, Failure> {
        match &self.daemon {
            Some(daemon) => daemon.get("/v1/loose"),
            None => {
                self.check_readable()?;
                web::loose(&self.journal).map_err(failure)
            }
        }
    }

    /// Where a job stands.
    ///
    /// # Errors
    /// The journal cannot be read, or has no such job.
    pub fn job(&self, job: JobId) -> Result<JobState, Failure> {
        match &self.daemon {
            Some(daemon) => daemon.get(&format!("/v1/jobs/{}", job.0)),
            None => {
                self.check_readable()?;
                web::job(&self.journal, job).map_err(failure)
            }
        }
    }

    /// The job named; otherwise the one under way, or else the newest.
    ///
    /// # Errors
    /// The journal cannot be read, or has no jobs.
    pub fn job_or_newest(&self, named: Option<u32>) -> Result<JobId, Failure> {
        if let Some(job) = named {
            return Ok(JobId(job));
        }
        self.check_readable()?;
        match web::newest(&self.journal).map_err(failure)? {
            Some(job) => Ok(job),
            None => Err(Failure::Input(
                "expected a job in the journal, but found none; start one with `clampbook job start PLAN`"
                    .to_owned(),
            )),
        }
    }

    /// Whether the journal can be read at all.
    ///
    /// # Errors
    /// It cannot; then it is said whether another one should be named, or something is broken.
    pub fn check_readable(&self) -> Result<(), Failure> {
        open_reader(&self.journal).map(drop)
    }

    fn command(&self, command: Command) -> Result<Done, Failure> {
        let mut engine = open_engine(&self.journal)?;
        let answer = engine
            .handle(Wake::Asked(clock::now(), command, None))
            .into_iter()
            .find_map(|outcome| match outcome {
                Outcome::Answer(answer) => Some(answer),
                _ => None,
            })
            .expect("every command is answered; this is a bug");
        answer.map_err(refused)
    }
}

/// The journal at `path` open for writing, with the job under way.
///
/// # Errors
/// It cannot be used, or belongs to another process.
pub fn open_engine(path: &Path) -> Result<Engine, Failure> {
    Engine::open(path).map_err(|error| match &error {
        EngineError::Journal(journal) => unusable(journal),
        EngineError::Entry(_) => Failure::failed("the journal cannot be used", &error),
    })
}

/// The journal at `path` open for reading.
///
/// # Errors
/// There is none, or it cannot be read.
pub fn open_reader(path: &Path) -> Result<Reader, Failure> {
    Reader::open(path).map_err(|error| unusable(&error))
}

/// The journal at `path` open for adding to, without the job under way.
///
/// # Errors
/// It cannot be used, or belongs to another process.
pub fn open_journal(path: &Path) -> Result<Journal, Failure> {
    if !path.exists() {
        return Err(missing(path));
    }
    make_journal(path)
}

/// The same, and made if there is none.
///
/// # Errors
/// It cannot be used, or belongs to another process.
pub fn make_journal(path: &Path) -> Result<Journal, Failure> {
    Journal::open_writer(path).map_err(|error| unusable(&error))
}

fn missing(path: &Path) -> Failure {
    unusable(&JournalError::Missing { path: path.to_owned() })
}

/// Something that is no journal is unusable input; everything else is a failure.
fn unusable(error: &JournalError) -> Failure {
    match error {
        JournalError::Missing { .. } | JournalError::NotAJournal { .. } => {
            Failure::Input(error.to_string())
        }
        _ => Failure::failed("the journal cannot be used", error),
    }
}

/// A refusal as the command line ends with it.
pub fn refused(refusal: Refusal) -> Failure {
    let message = refusal.to_string();
    match refusal {
        Refusal::StillOpen { .. } => Failure::StillOpen(message),
        Refusal::NoJob
        | Refusal::JobUnderWay(_)
        | Refusal::NotParked(_)
        | Refusal::NoSuchJob(_)
        | Refusal::NotClosed(_)
        | Refusal::NothingToRecheck(_)
        | Refusal::NoUnit
        | Refusal::TooMuch(_)
        | Refusal::ValueFirst { .. }
        | Refusal::NothingAsked
        | Refusal::NotDue(_)
        | Refusal::NotGiven(_)
        | Refusal::NoPlanText
        | Refusal::NotLoose { .. }
        | Refusal::NothingSaid
        | Refusal::NoFigure(_)
        | Refusal::NoNewName(_)
        | Refusal::ChangesNothing(_)
        | Refusal::UnknownName { .. } => Failure::Input(message),
        Refusal::NoAdapter { .. } => Failure::Input(message),
        Refusal::AdapterAway(_) | Refusal::AdapterRefused { .. } | Refusal::NotKept(_) => {
            Failure::Failed(message)
        }
    }
}

/// A problem as the command line ends with it.
pub fn failure(problem: Problem) -> Failure {
    let message =
        if problem.faults.is_empty() { problem.detail } else { problem.faults.join("\n") };
    match problem.status {
        400..=499 => Failure::Input(message),
        _ => Failure::Failed(message),
    }
}
