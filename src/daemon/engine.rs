//! Joins the journal and the job under way: what was heard becomes facts on the disk.
//!
//! Guarantees: a reading, and what is concluded of it, are committed in one transaction before anything
//! is said of them; when the commit fails, the state is as before and the same thing can be heard again;
//! a reading that is kept already changes nothing.
//!
//! Deliberately absent: threads, channels, time of its own.

mod claim;
mod given;
mod hand;
mod jobs;
mod typed;

use crate::core::certificate::{Certificate, Standing};
use crate::core::command::{Command, Done, Refusal, pictured, resolve};
use crate::core::event::{
    AdapterInfo, Conclusion, Draft, Event, Input, JobId, LinkChange, LinkState, Mark,
    PersonalField, Verdict, Warning, What,
};
use crate::core::live::{AdapterState, Live};
use crate::core::photo::{NewPhoto, Photo};
use crate::core::time::Stamp;
use crate::core::tracker::Tracker;
use crate::core::wording;
use crate::daemon::drafts;
use crate::daemon::wake::{Heard, HeardDescription, HeardReading, Outcome, Wake};
use crate::journal::{EntryError, Journal, JournalError};
use std::collections::BTreeMap;
use std::path::Path;
use thiserror::Error;

/// Why an engine cannot start.
#[derive(Debug, Error)]
pub enum EngineError {
    /// The journal cannot be used.
    #[error(transparent)]
    Journal(#[from] JournalError),
    /// The job under way cannot be understood.
    #[error("the job under way cannot be taken up again: {0}")]
    Entry(#[from] EntryError),
}

/// The journal and the job under way.
#[derive(Debug)]
pub struct Engine {
    journal: Journal,
    current: Option<Current>,
    adapters: BTreeMap<String, Known>,
    trouble: Option<String>,
    loose: u64,
    revision: u64,
    keeps_traces: bool,
    /// The operator was told that nothing is asked, and nothing has happened since.
    told_nothing_asked: bool,
    /// Name of the screen whose wish is being fulfilled.
    by: Option<String>,
}

#[derive(Debug, Clone)]
struct Current {
    job: JobId,
    tracker: Tracker,
    /// When the newest of what the tracker was told happened.
    latest: Stamp,
    /// When the operator spoke last.
    said: Stamp,
    /// What the job was last told of each adapter.
    told: BTreeMap<String, AdapterInfo>,
    /// What was concluded of the pull that came last.
    latest_verdict: Option<Verdict>,
}

impl Current {
    /// When a pull was that is heard now and may have been up to `error_us` later than `at`. A clock that cannot tell
    /// whether it came before the operator's last word accuses nobody of pulling too early.
    fn heard_at(&self, at: Stamp, error_us: Option<u32>) -> Stamp {
        let latest = Stamp(at.0.saturating_add(i64::from(error_us.unwrap_or(0))));
        if (at..=latest).contains(&self.said) { self.said } else { at }
    }

    /// Takes note of a verdict; one that is revised only counts for the pull that came last.
    fn note(&mut self, verdict: &Verdict) {
        let key = |verdict: &Verdict| (verdict.adapter.clone(), verdict.seq, verdict.at);
        let is_same = self.latest_verdict.as_ref().is_some_and(|last| key(last) == key(verdict));
        if !verdict.revised || is_same {
            self.latest_verdict = Some(verdict.clone());
        }
    }
}

#[derive(Debug)]
struct Known {
    info: AdapterInfo,
    link: Option<LinkState>,
    /// When it was pulled with last, since this program started.
    pulled: Option<Stamp>,
}

impl Known {
    fn new(info: AdapterInfo) -> Self {
        Self { info, link: None, pulled: None }
    }
}

impl Engine {
    /// Opens the journal for writing and takes up the job that was under way.
    ///
    /// # Errors
    /// The journal cannot be used, or belongs to another process; or the job's facts cannot be read.
    pub fn open(path: &Path) -> Result<Self, EngineError> {
        let journal = Journal::open_writer(path)?;
        let reader = journal.reader();
        let mut adapters = BTreeMap::new();
        let current = match reader.open_job()? {
            None => None,
            Some(job) => {
                let kept = jobs::take_up(reader, job)?;
                for info in jobs::listened_to(kept.as_ref()) {
                    adapters.insert(info.id.clone(), Known::new(info));
                }
                kept
            }
        };
        Ok(Self {
            journal,
            current,
            adapters,
            trouble: None,
            loose: 0,
            revision: 0,
            keeps_traces: true,
            told_nothing_asked: false,
            by: None,
        })
    }

    /// From now on keeps what traces show, and not their samples.
    pub fn forget_traces(&mut self) {
        self.keeps_traces = false;
    }

    /// Takes in one thing and says what is to be done about it.
    pub fn handle(&mut self, wake: Wake) -> Vec<Outcome> {
        self.revision += 1;
        match wake {
            Wake::Heard(now, heard) => self.hear(now, heard),
            Wake::Asked(now, command, by) => {
                self.by = by;
                let outcomes = self.answer(now, command);
                self.by = None;
                outcomes
            }
            Wake::Tick(now) => self.tick(now),
        }
    }

    /// Where everything stands.
    #[must_use]
    pub fn live(&self) -> Live {
        let latest = self.current.as_ref().and_then(|current| current.latest_verdict.clone());
        let snapshot = self.current.as_ref().map(|current| current.tracker.snapshot());
        let wording = snapshot.as_ref().map(|snapshot| wording::of(snapshot, latest.as_ref()));
        Live {
            revision: self.revision,
            job: self.current.as_ref().map(|current| current.job),
            snapshot,
            wording: wording.unwrap_or_default(),
            adapters: self
                .adapters
                .values()
                .map(|known| AdapterState {
                    id: known.info.id.clone(),
                    serial: known.info.serial.clone(),
                    link: known.link,
                })
                .collect(),
            trouble: self.trouble.clone(),
            loose: self.loose,
            latest,
            ..Live::default()
        }
    }

    /// The journal, for looking things up.
    #[must_use]
    pub fn journal(&self) -> &Journal {
        &self.journal
    }

    fn hear(&mut self, now: Stamp, heard: Heard) -> Vec<Outcome> {
        let result = match heard {
            Heard::Adapter(info) => self.hear_adapter(now, info),
            Heard::Reading(reading) => self.hear_reading(now, reading),
            Heard::Described(heard) => self.hear_description(now, heard),
            // Of readings that belong to no job nobody asks how they lie.
            Heard::Motion(_) if self.current.is_none() => Ok(Vec::new()),
            Heard::Motion(motion) => self.keep(
                now,
                What::Motion(motion.clone()),
                Event::Motion(motion),
                Vec::new(),
            ),
            Heard::Link(change) => self.hear_link(now, change),
            Heard::Gap(gap) => self.keep(now, What::Gap(gap.clone()), Event::Gap(gap), Vec::new()),
            Heard::Mark(_) if self.current.is_none() => Ok(vec![Outcome::Trouble(
                "what the operator said was not kept, because no job is under way; start one with `clampbook job start PLAN`"
                    .to_owned(),
            )]),
            Heard::Mark(mark) => self.keep_mark(now, mark),
            Heard::Press(press) => self.pressed(now, press),
        };
        match result {
            Ok(mut outcomes) => {
                self.trouble = None;
                outcomes.insert(0, Outcome::Kept);
                outcomes
            }
            Err(error @ JournalError::NotKeepable { .. }) => {
                vec![Outcome::Refused(error.to_string())]
            }
            Err(error) => {
                self.trouble = Some(error.to_string());
                vec![Outcome::NotKept(error.to_string())]
            }
        }
    }

    fn hear_adapter(
        &mut self,
        now: Stamp,
        info: AdapterInfo,
    ) -> Result<Vec<Outcome>, JournalError> {
        let info = self.certified(now, info)?;
        if self.adapters.get(&info.id).is_some_and(|known| known.info == info) {
            return Ok(Vec::new());
        }
        let outcomes =
            self.keep(now, What::Adapter(info.clone()), Event::Adapter(info.clone()), Vec::new())?;
        match self.adapters.get_mut(&info.id) {
            Some(known) => known.info = info,
            None => drop(self.adapters.insert(info.id.clone(), Known::new(info))),
        }
        Ok(outcomes)
    }

    /// What an adapter says of itself, with what its newest certificate adds today.
    fn certified(&self, now: Stamp, info: AdapterInfo) -> Result<AdapterInfo, JournalError> {
        let listed = self.journal.reader().certificates_as_of(u64::MAX)?;
        let certificates = listed.into_iter().flatten().filter_map(|entry| match entry.event {
            Event::Certificate(one) if one.serial == info.serial => Some(one),
            _ => None,
        });
        let newest = certificates.max_by_key(|one| one.date);
        let standing = |one: &Certificate| now.day().map(|today| one.standing(today));
        let overdue_since = newest
            .as_deref()
            .filter(|one| standing(one) == Some(Standing::Overdue))
            .map(|one| one.due);
        let certificate = newest.filter(|one| standing(one) == Some(Standing::Valid));
        Ok(AdapterInfo { overdue_since, certificate, ..info })
    }

    fn hear_reading(
        &mut self,
        now: Stamp,
        heard: HeardReading,
    ) -> Result<Vec<Outcome>, JournalError> {
        if self.journal.reader().find(&heard.key)?.is_some() {
            return Ok(vec![Outcome::Again(heard.key)]);
        }
        let HeardReading { key, at, at_error_us, reading, raw } = heard;
        let at = self.current.as_ref().map_or(at, |current| current.heard_at(at, at_error_us));
        let draft = Draft {
            at: now,
            job: self.job(),
            event: Event::Reading { key, at, at_error_us, reading: reading.clone() },
            personal: Vec::new(),
            raw,
        };
        let loose = self.current.is_none();
        let what = What::Reading(reading.clone());
        let before = self.snapshot();
        let mut outcomes = self.commit(vec![draft], vec![Input { at, what }])?;
        outcomes.extend(self.pulled(now, at, &reading, before, &outcomes));
        if loose {
            self.loose += 1;
            outcomes.push(Outcome::Loose(reading));
        }
        Ok(outcomes)
    }

    /// What the trace shows of a reading is kept where the reading is; once.
    fn hear_description(
        &mut self,
        now: Stamp,
        heard: HeardDescription,
    ) -> Result<Vec<Outcome>, JournalError> {
        let HeardDescription { key, at, described, trace } = heard;
        let Some(kept) = self.journal.reader().find(&key)? else {
            return Ok(Vec::new());
        };
        let entry = self.journal.reader().entry(kept)?.and_then(Result::ok);
        let at = match entry.as_ref().map(|entry| &entry.event) {
            Some(Event::Reading { at, .. } | Event::Claimed { at, .. }) => *at,
            _ => at,
        };
        let job = entry.and_then(|entry| entry.job);
        let trace = trace.filter(|_| self.keeps_traces).map(|trace| trace.pack());
        let personal = trace.into_iter().map(|text| (PersonalField::Trace, text)).collect();
        let what = What::Described(described.clone());
        let event = Event::Described { key, at, described };
        let draft = Draft { at: now, job, event, personal, raw: None };
        // The job may have ended meanwhile.
        let inputs =
            if job.is_some() && job == self.job() { vec![Input { at, what }] } else { vec![] };
        self.commit(vec![draft], inputs)
    }

    fn hear_link(&mut self, now: Stamp, change: LinkChange) -> Result<Vec<Outcome>, JournalError> {
        let known = self.adapters.get(&change.adapter).map(|known| known.link);
        if known == Some(Some(change.state)) {
            return Ok(Vec::new());
        }
        let outcomes = match self.current {
            Some(_) => {
                self.keep(now, What::Link(change.clone()), Event::Link(change.clone()), Vec::new())?
            }
            None => Vec::new(),
        };
        if let Some(known) = self.adapters.get_mut(&change.adapter) {
            known.link = Some(change.state);
        }
        Ok(outcomes)
    }

    fn answer(&mut self, now: Stamp, command: Command) -> Vec<Outcome> {
        match self.obey(now, command) {
            Ok((done, mut outcomes)) => {
                outcomes.push(Outcome::Answer(Ok(done)));
                outcomes
            }
            Err(refusal) => vec![Outcome::Answer(Err(refusal))],
        }
    }

    fn obey(&mut self, now: Stamp, command: Command) -> Result<(Done, Vec<Outcome>), Refusal> {
        match command {
            Command::Start(start) => self.start(now, *start),
            Command::Recheck { job, random } => self.recheck(now, job, random),
            Command::Mark(mark) => {
                let job = self.job().ok_or(Refusal::NoJob)?;
                let outcomes = self.keep_checked_mark(now, mark)?;
                let warnings = warnings_in(&outcomes);
                Ok((Done::Marked { job, warnings }, outcomes))
            }
            Command::Attach(photo) => self.attach(now, *photo),
            Command::Park => self.park(now),
            Command::Resume { job } => self.resume(now, job),
            Command::Type { line, unit } => self.typed(now, line, unit),
            Command::Claim { entries } => self.claim(now, &entries),
            Command::Close { open_reason } => self.close(now, open_reason),
            // An engine has no voice: whoever has one answers.
            Command::Repeat => Err(Refusal::NothingSaid),
            // An engine has a journal and no adapters: whoever has them answers.
            Command::Adapter { adapter, .. } => {
                Err(Refusal::NoAdapter { name: adapter, known: Vec::new() })
            }
        }
    }

    fn tick(&mut self, now: Stamp) -> Vec<Outcome> {
        let Some(before) = self.current.clone() else {
            return Vec::new();
        };
        match self.commit(Vec::new(), vec![Input { at: now, what: What::Tick }]) {
            Ok(outcomes) => outcomes,
            Err(error) => {
                self.current = Some(before);
                vec![Outcome::Trouble(error.to_string())]
            }
        }
    }

    fn keep_checked_mark(&mut self, now: Stamp, mark: Mark) -> Result<Vec<Outcome>, Refusal> {
        let Some(current) = &self.current else {
            return Err(Refusal::NoJob);
        };
        let tracker = &current.tracker;
        let say = resolve(tracker.plan(), &tracker.names_beside(), mark.say)?;
        if let Some(why) = tracker.refuses(&say) {
            return Err(Refusal::ChangesNothing(why));
        }
        // A clock that was set back must not put what is said now before what was said already.
        let at = current.latest.max(now);
        self.keep_mark(at, Mark { say, ..mark }).map_err(not_kept)
    }

    /// Keeps a photo; the photo itself goes beside the chain.
    fn attach(&mut self, now: Stamp, new: NewPhoto) -> Result<(Done, Vec<Outcome>), Refusal> {
        let current = self.current.as_ref().ok_or(Refusal::NoJob)?;
        let about = pictured(current.tracker.plan(), &new.photo.about)?;
        let (job, at) = (current.job, current.latest.max(now));
        let event = Event::Photo(Photo { about: about.clone(), ..new.photo });
        let personal = vec![(PersonalField::Photo, new.packed)];
        let draft = Draft { at, job: Some(job), event, personal, raw: None };
        let outcomes = self.commit(vec![draft], Vec::new()).map_err(not_kept)?;
        Ok((Done::Attached { job, about }, outcomes))
    }

    /// Keeps a mark; what people wrote freely goes beside the chain.
    fn keep_mark(&mut self, now: Stamp, mark: Mark) -> Result<Vec<Outcome>, JournalError> {
        self.told_nothing_asked = false;
        let said = mark.say.clone();
        let (say, words) = drafts::without_words(mark.say);
        let kept = Mark { say, ..mark };
        let personal = words.map(|words| (PersonalField::Note, words));
        let mut outcomes = self.keep(
            now,
            What::Mark(kept.clone()),
            Event::Mark(kept),
            personal.into_iter().collect(),
        )?;
        outcomes.insert(0, Outcome::Marked(now, said));
        Ok(outcomes)
    }

    /// Keeps a fact that happened at `at`, and what follows from it.
    fn keep(
        &mut self,
        at: Stamp,
        what: What,
        event: Event,
        personal: Vec<(PersonalField, String)>,
    ) -> Result<Vec<Outcome>, JournalError> {
        let draft = Draft { at, job: self.job(), event, personal, raw: None };
        self.commit(vec![draft], vec![Input { at, what }])
    }

    /// Steps the job with every input in order, commits everything at once, and takes the step back if that fails.
    fn commit(
        &mut self,
        mut drafts: Vec<Draft>,
        inputs: Vec<Input>,
    ) -> Result<Vec<Outcome>, JournalError> {
        let before = self.current.clone();
        let now = drafts.first().map(|draft| draft.at);
        let mut outcomes = Vec::new();
        if let Some(name) = &self.by {
            drafts::sign(&mut drafts, name);
        }
        for input in inputs {
            let Some(current) = &mut self.current else {
                break;
            };
            let at = now.unwrap_or(input.at);
            current.latest = current.latest.max(input.at);
            if matches!(input.what, What::Mark(_)) {
                current.said = current.said.max(input.at);
            }
            if let What::Adapter(info) = &input.what {
                current.told.insert(info.id.clone(), info.clone());
            }
            let effects = current.tracker.step(input);
            for conclusion in &effects.conclusions {
                if let Conclusion::Verdict(verdict) = conclusion {
                    current.note(verdict);
                }
            }
            drafts.extend(drafts::concluded(at, Some(current.job), &effects.conclusions));
            outcomes.extend(effects.conclusions.into_iter().map(Outcome::Concluded));
            outcomes.extend(effects.wake_at.map(Outcome::WakeAt));
        }
        if drafts.is_empty() {
            return Ok(outcomes);
        }
        match self.journal.append(drafts) {
            Ok(appended) => {
                outcomes.extend(appended.head_file_error.map(|error| {
                    Outcome::Trouble(format!(
                        "the head file beside the journal could not be renewed: {error}"
                    ))
                }));
                Ok(outcomes)
            }
            Err(error) => {
                self.current = before;
                Err(error)
            }
        }
    }

    fn job(&self) -> Option<JobId> {
        self.current.as_ref().map(|current| current.job)
    }
}

fn warnings_in(outcomes: &[Outcome]) -> Vec<Warning> {
    outcomes
        .iter()
        .filter_map(|outcome| match outcome {
            Outcome::Concluded(Conclusion::Warning(warning)) => Some(warning.clone()),
            _ => None,
        })
        .collect()
}

fn not_kept(error: JournalError) -> Refusal {
    Refusal::NotKept(error.to_string())
}
