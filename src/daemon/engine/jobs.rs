//! Starting, parking, resuming and closing jobs.

use crate::core::command::{Done, Refusal, StartJob, unique_name};
use crate::core::event::{AdapterInfo, Draft, Event, Input, JobId, PersonalField, What};
use crate::core::park::leaving;
use crate::core::rebuild::{self, rebuild};
use crate::core::recheck;
use crate::core::time::Stamp;
use crate::core::tracker::Tracker;
use crate::daemon::drafts;
use crate::daemon::engine::{Current, Engine, EngineError, Known, not_kept};
use crate::daemon::wake::Outcome;
use crate::journal::Reader;
use std::collections::BTreeMap;

/// Before anything was said.
const NEVER: Stamp = Stamp(i64::MIN);

/// Reads a job back; none if its entries do not begin with its start.
pub(super) fn take_up(reader: &Reader, job: JobId) -> Result<Option<Current>, EngineError> {
    let entries = reader.entries_of_job(job)?.into_iter().collect::<Result<Vec<_>, _>>()?;
    let mut told = BTreeMap::new();
    for entry in &entries {
        if let Event::Adapter(info) = &entry.event {
            told.insert(info.id.clone(), info.clone());
        }
    }
    let latest = entries
        .iter()
        .filter_map(|entry| rebuild::input(&entry.event, entry.at))
        .map(|input| input.at)
        .max();
    let spoken = entries.iter().filter(|entry| matches!(entry.event, Event::Mark(_)));
    let said = spoken.map(|entry| entry.at).max().unwrap_or(NEVER);
    Ok(rebuild(&entries).map(|tracker| {
        let latest = latest.unwrap_or_default();
        let mut current = Current { job, tracker, latest, said, told, latest_verdict: None };
        for entry in &entries {
            if let Event::Verdict(verdict) = &entry.event {
                current.note(verdict);
            }
        }
        current
    }))
}

/// The adapters of a job, without what is typed.
pub(super) fn listened_to(current: Option<&Current>) -> Vec<AdapterInfo> {
    let told = current.into_iter().flat_map(|current| current.told.values());
    told.filter(|info| !info.reports.typed).cloned().collect()
}

impl Engine {
    pub(super) fn start(
        &mut self,
        now: Stamp,
        start: StartJob,
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        let StartJob { plan, plan_text, plan_hash, vehicle, uuid } = start;
        let personal = [
            (PersonalField::PlanText, Some(plan_text)),
            (PersonalField::Vehicle, vehicle.text),
            (PersonalField::Vin, vehicle.vin),
            (PersonalField::Plate, vehicle.plate),
        ];
        let personal =
            personal.into_iter().filter_map(|(field, text)| Some((field, text?))).collect();
        self.begin(now, Event::JobStarted { plan, plan_hash, uuid }, personal, None)
    }

    /// Starts a job that pulls again what another one tightened. The vehicle is the same.
    pub(super) fn recheck(
        &mut self,
        now: Stamp,
        of: JobId,
        random: [u8; 16],
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        let reader = self.journal.reader();
        let overview = reader.job(of).map_err(not_kept)?.ok_or(Refusal::NoSuchJob(of))?;
        if overview.closed.is_none() {
            return Err(Refusal::NotClosed(of));
        }
        let entries = reader.entries_of_job(of).map_err(not_kept)?;
        let started = entries.into_iter().next().ok_or(Refusal::NoSuchJob(of))?;
        let started = started.map_err(|error| Refusal::NotKept(error.to_string()))?;
        let Event::JobStarted { plan, plan_hash, uuid } = started.event else {
            return Err(Refusal::NoSuchJob(of));
        };
        let plan = recheck::plan(&plan).ok_or(Refusal::NothingToRecheck(of))?;
        let same = [PersonalField::Vehicle, PersonalField::Vin, PersonalField::Plate];
        let personal = started
            .personal
            .into_iter()
            .filter(|(field, _)| same.contains(field))
            .filter_map(|(field, text)| Some((field, text?)))
            .collect();
        let event = Event::JobStarted { plan, plan_hash, uuid: unique_name(random) };
        self.begin(now, event, personal, Some(Event::RecheckOf { job: of, uuid }))
    }

    fn begin(
        &mut self,
        now: Stamp,
        started: Event,
        personal: Vec<(PersonalField, String)>,
        link: Option<Event>,
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        if let Some(job) = self.job() {
            return Err(Refusal::JobUnderWay(job));
        }
        let Event::JobStarted { plan, .. } = &started else {
            unreachable!("a job begins with its start; this is a bug");
        };
        let job = self.journal.reader().next_job().map_err(not_kept)?;
        let mut tracker = Tracker::new(plan.clone());
        let mut drafts =
            vec![Draft { at: now, job: Some(job), event: started, personal, raw: None }];
        drafts.extend(link.map(|link| drafts::plain(now, Some(job), link)));
        let mut told = BTreeMap::new();
        for Known { info, .. } in self.adapters.values() {
            let info = self.certified(now, info.clone()).map_err(not_kept)?;
            tracker.step(Input { at: now, what: What::Adapter(info.clone()) });
            drafts.push(drafts::plain(now, Some(job), Event::Adapter(info.clone())));
            told.insert(info.id.clone(), info);
        }
        self.journal.append(drafts).map_err(not_kept)?;
        self.current =
            Some(Current { job, tracker, latest: now, said: NEVER, told, latest_verdict: None });
        Ok((Done::Started { job }, Vec::new()))
    }

    pub(super) fn close(
        &mut self,
        now: Stamp,
        open_reason: Option<String>,
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        let current = self.current.clone().ok_or(Refusal::NoJob)?;
        let Current { job, mut tracker, latest, .. } = current;
        let at = latest.max(now);
        let effects = tracker.step(Input { at, what: What::End });
        let summary = tracker.summary();
        if !summary.complete && open_reason.is_none() {
            return Err(Refusal::StillOpen { open: summary.open });
        }
        let life_critical = leaving(&tracker).life_critical;
        let mut drafts = drafts::concluded(now, Some(job), &effects.conclusions);
        let due = recheck::due(tracker.plan(), &summary, at);
        if !due.is_empty() {
            drafts.push(drafts::plain(at, Some(job), Event::RecheckDue { due }));
        }
        drafts.push(Draft {
            at,
            job: Some(job),
            event: Event::JobClosed {
                open_reason: open_reason.as_ref().map(|_| String::new()),
                summary: summary.clone(),
            },
            personal: open_reason.map(|reason| (PersonalField::Note, reason)).into_iter().collect(),
            raw: None,
        });
        self.journal.append(drafts).map_err(not_kept)?;
        self.current = None;
        let outcomes = effects.conclusions.into_iter().map(Outcome::Concluded);
        Ok((Done::Closed { job, summary, life_critical }, outcomes.collect()))
    }

    pub(super) fn park(&mut self, now: Stamp) -> Result<(Done, Vec<Outcome>), Refusal> {
        let Some(Current { job, tracker, latest, .. }) = &self.current else {
            return Err(Refusal::NoJob);
        };
        let job = *job;
        let leaving = leaving(tracker);
        let event = Event::JobParked { open: leaving.open.clone() };
        let draft = drafts::plain((*latest).max(now), Some(job), event);
        self.journal.append(vec![draft]).map_err(not_kept)?;
        self.current = None;
        Ok((Done::Parked { job, leaving }, Vec::new()))
    }

    pub(super) fn resume(
        &mut self,
        now: Stamp,
        wanted: Option<JobId>,
    ) -> Result<(Done, Vec<Outcome>), Refusal> {
        if let Some(job) = self.job() {
            return Err(Refusal::JobUnderWay(job));
        }
        let reader = self.journal.reader();
        let jobs = reader.jobs().map_err(not_kept)?;
        let parked = jobs.iter().filter_map(|job| Some((job.parked?, job.id)));
        let (_, job) = parked
            .filter(|(_, job)| wanted.is_none_or(|wanted| wanted == *job))
            .max()
            .ok_or(Refusal::NotParked(wanted))?;
        let broken = |error: EngineError| Refusal::NotKept(error.to_string());
        let Some(mut current) = take_up(reader, job).map_err(broken)? else {
            return Err(Refusal::NotParked(Some(job)));
        };
        let at = current.latest.max(now);
        let mut drafts = vec![drafts::plain(at, Some(job), Event::JobResumed)];
        for Known { info, .. } in self.adapters.values() {
            if current.told.get(&info.id) != Some(info) {
                current.told.insert(info.id.clone(), info.clone());
                current.tracker.step(Input { at, what: What::Adapter(info.clone()) });
                drafts.push(drafts::plain(at, Some(job), Event::Adapter(info.clone())));
            }
        }
        current.latest = at;
        let leaving = leaving(&current.tracker);
        self.journal.append(drafts).map_err(not_kept)?;
        for info in listened_to(Some(&current)) {
            self.adapters.entry(info.id.clone()).or_insert_with(|| Known::new(info));
        }
        self.current = Some(current);
        Ok((Done::Resumed { job, leaving }, Vec::new()))
    }
}
