//! Sorts a job's entries by kind. Nothing is judged here.

use crate::core::certificate::Certificate;
use crate::core::event::{
    AdapterInfo, Described, Entry, Event, LinkChange, LinkState, Mark, PersonalField, Reading,
    ReadingKey, Say, Trace, Verdict, Warning,
};
use crate::core::photo::Photo;
use crate::core::plan::Plan;
use crate::core::time::Stamp;
use crate::core::units::TorqueUnit;
use crate::report::model::{
    CorrectionReport, GapReport, Inferred, JobReport, LinkBreak, LooseFact, MarkReport, Measured,
    Pause, Personal, PhotoReport, Pull, RecheckOf, RecheckReport, VehicleReport,
};
use crate::report::moment::Clockface;
use crate::report::words::Saying;
use crate::report::{ReportContext, ReportError};
use std::collections::{BTreeMap, BTreeSet};

/// A job's entries by kind, each kind oldest first.
pub(crate) struct Facts<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) plan_hash: &'a str,
    pub(crate) clockface: Clockface,
    pub(crate) job: JobReport,
    pub(crate) vehicle: VehicleReport,
    pub(crate) adapters: Vec<&'a AdapterInfo>,
    /// Adapters (by short id) with a reading that they did not number.
    pub(crate) unnumbered: BTreeSet<&'a str>,
    pub(crate) pulls: Vec<Pull>,
    pub(crate) marks: Vec<MarkReport>,
    pub(crate) photos: Vec<PhotoReport>,
    pub(crate) corrections: Vec<CorrectionReport>,
    /// The certificates on record, oldest first.
    pub(crate) certificates: Vec<&'a Certificate>,
    pub(crate) warnings: Vec<(u64, &'a Warning)>,
    pub(crate) link_breaks: Vec<LinkBreak>,
    pub(crate) rechecks: Vec<RecheckReport>,
    pub(crate) pauses: Vec<Pause>,
    pub(crate) gaps: Vec<GapReport>,
    pub(crate) loose: Vec<LooseFact>,
}

/// Sorts `entries`.
pub(crate) fn gather<'a>(
    entries: &'a [Entry],
    plan: &'a Plan,
    context: &ReportContext,
) -> Result<Facts<'a>, ReportError> {
    let mut ordered: Vec<&Entry> = entries.iter().collect();
    ordered.sort_by_key(|entry| entry.number);
    let ours = |entry: &&&Entry| entry.job == Some(context.job);

    let started = ordered.iter().filter(ours).find_map(|entry| match &entry.event {
        Event::JobStarted { plan_hash, uuid, .. } => Some((*entry, plan_hash, uuid)),
        _ => None,
    });
    let Some((start, plan_hash, uuid)) = started else {
        return Err(ReportError::NoSuchJob { job: context.job.0, entries: entries.len() });
    };
    let clockface = Clockface::new(context.time_zone.clone(), start.at);
    let mut facts = Facts {
        plan,
        plan_hash,
        job: JobReport {
            number: context.job.0,
            uuid: uuid.clone(),
            operator: personal(start, PersonalField::Operator, ""),
            started: clockface.moment(start.at),
            closed: None,
            open_reason: Personal::NotGiven,
            recheck_of: None,
        },
        vehicle: VehicleReport {
            text: personal(start, PersonalField::Vehicle, ""),
            vin: personal(start, PersonalField::Vin, ""),
            plate: personal(start, PersonalField::Plate, ""),
        },
        clockface,
        adapters: Vec::new(),
        unnumbered: BTreeSet::new(),
        pulls: Vec::new(),
        marks: Vec::new(),
        photos: Vec::new(),
        corrections: Vec::new(),
        certificates: certificates(&ordered),
        warnings: Vec::new(),
        link_breaks: Vec::new(),
        rechecks: Vec::new(),
        pauses: Vec::new(),
        gaps: Vec::new(),
        loose: Vec::new(),
    };

    let mut index = PullIndex::default();
    let mut down = BTreeMap::new();
    for entry in ordered.iter().filter(ours) {
        match &entry.event {
            Event::JobStarted { .. } => {}
            Event::Adapter(info) => facts.adapter(info),
            Event::Reading { key, at, at_error_us, reading }
            | Event::Claimed { key, at, at_error_us, reading, .. } => {
                if matches!(key, ReadingKey::Arrival { .. }) {
                    facts.unnumbered.insert(&reading.adapter);
                }
                let measured = facts.measured(key, *at, *at_error_us, reading);
                index.add(&mut facts.pulls, *at, measured);
            }
            Event::Described { at, described, .. } => {
                index.show(&mut facts.pulls, *at, described, entry.trace());
            }
            Event::Motion(_) | Event::Erased { .. } => {}
            Event::Verdict(verdict) => {
                let place = index.find(&mut facts.pulls, verdict, &facts.clockface);
                facts.pulls[place].inferred.push(inferred(verdict));
            }
            Event::Mark(mark) => {
                let said = facts.mark(entry, mark);
                facts.marks.push(said);
            }
            Event::Given(given) => facts.marks.push(MarkReport {
                entry: entry.number,
                at: facts.clockface.moment(entry.at),
                origin: given.origin,
                say: "value",
                fastener: None,
                hold: None,
                text: Personal::Given(given.line.clone()),
                by: screen(entry),
            }),
            Event::Warning(warning) => facts.warnings.push((entry.number, warning)),
            Event::Link(change) => facts.link(&mut down, entry.at, change),
            Event::Gap(gap) => facts.gaps.push(GapReport {
                at: facts.clockface.moment(entry.at),
                adapter: gap.adapter.clone(),
                epoch: gap.epoch,
                first: gap.first,
                last: gap.last,
            }),
            Event::JobParked { open } => facts.pauses.push(Pause {
                from: facts.clockface.moment(entry.at),
                until: None,
                open: open.clone(),
            }),
            Event::JobResumed => {
                let until = facts.clockface.moment(entry.at);
                if let Some(pause) = facts.pauses.last_mut() {
                    pause.until = Some(until);
                }
            }
            Event::Corrected { entry: corrects, field } => facts.correct(entry, *corrects, *field),
            Event::Certificate(_) => {}
            Event::Photo(photo) => facts.photos.push(pictured(&facts.clockface, entry, photo)),
            Event::RecheckOf { job, uuid } => {
                facts.job.recheck_of = Some(RecheckOf { number: job.0, uuid: uuid.clone() });
            }
            Event::RecheckDue { due } => {
                facts.rechecks = due
                    .iter()
                    .map(|due| RecheckReport {
                        group: due.group.clone(),
                        km: due.km,
                        by: due.by.map(|by| facts.clockface.moment(by)),
                        reminder: due.reminder.map(|at| facts.clockface.moment(at)),
                        in_plan: due.in_plan,
                    })
                    .collect();
            }
            Event::JobClosed { open_reason, .. } => {
                facts.job.closed = Some(facts.clockface.moment(entry.at));
                let reason = open_reason.as_deref().unwrap_or_default();
                facts.job.open_reason = personal(entry, PersonalField::Note, reason);
            }
        }
    }
    facts.loose(&ordered, start.number, context);
    Ok(facts)
}

impl<'a> Facts<'a> {
    /// The newest word of an adapter about itself takes the place of older ones.
    fn adapter(&mut self, info: &'a AdapterInfo) {
        match self.adapters.iter_mut().find(|known| known.id == info.id) {
            Some(known) => *known = info,
            None => self.adapters.push(info),
        }
    }

    /// What is right takes the place of what was said, which is kept.
    fn correct(&mut self, entry: &Entry, corrects: u64, field: PersonalField) {
        let text = personal(entry, field, "");
        let (name, place) = match field {
            PersonalField::Vehicle => ("vehicle", Some(&mut self.vehicle.text)),
            PersonalField::Vin => ("vin", Some(&mut self.vehicle.vin)),
            PersonalField::Plate => ("plate", Some(&mut self.vehicle.plate)),
            PersonalField::Operator => ("operator", Some(&mut self.job.operator)),
            PersonalField::Note
            | PersonalField::PlanText
            | PersonalField::Trace
            | PersonalField::Photo => ("note", None),
        };
        let before = place.map(|place| std::mem::replace(place, text.clone()));
        self.corrections.push(CorrectionReport {
            entry: entry.number,
            at: self.clockface.moment(entry.at),
            corrects,
            field: name,
            before,
            text,
        });
    }

    fn measured(
        &self,
        key: &ReadingKey,
        at: Stamp,
        at_error_us: Option<u32>,
        reading: &Reading,
    ) -> Measured {
        Measured {
            adapter: reading.adapter.clone(),
            seq: reading.seq,
            key: Some(key.clone()),
            typed: matches!(key, ReadingKey::Typed { .. }),
            at: self.clockface.moment(at),
            at_error_us,
            peak_nm: reading.peak.nm(),
            rotation_deg: reading.rotation_deg,
            duration_ms: reading.duration_ms,
            description: reading.description.clone(),
            trace: None,
        }
    }

    fn mark(&self, entry: &Entry, mark: &Mark) -> MarkReport {
        let full = |name: &str| {
            let known = self.plan.fastener(name);
            Some(known.map_or_else(|| name.to_owned(), |id| self.plan.fastener_name(id)))
        };
        let text = |plain: &str| personal(entry, PersonalField::Note, plain);
        let none = || Personal::NotGiven;
        let (say, fastener, hold, text) = match &mark.say {
            Say::At { fastener } => ("at", full(fastener), None, none()),
            Say::Confirm { hold, because } => {
                let because = because.as_ref().map_or_else(none, |reason| text(reason));
                ("confirm", None, Some(hold.clone()), because)
            }
            Say::Stated { fastener } => ("stated", full(fastener), None, none()),
            Say::Low { fastener } => ("low", full(fastener), None, none()),
            Say::Opened { fastener } => ("opened", full(fastener), None, none()),
            Say::AlsoOpened { name } => ("also-opened", None, Some(name.clone()), none()),
            Say::Spoiled { fastener } => ("spoiled", full(fastener), None, none()),
            Say::Figure { of, value } => {
                ("figure", None, Some(of.clone()), Personal::Given(value.clone()))
            }
            Say::Skip { fastener, reason } => ("skip", full(fastener), None, text(reason)),
            Say::Retract => ("retract", None, None, none()),
            Say::Note { text: note } => ("note", None, None, text(note)),
        };
        MarkReport {
            entry: entry.number,
            at: self.clockface.moment(entry.at),
            origin: mark.origin,
            say,
            fastener,
            hold,
            text,
            by: screen(entry),
        }
    }

    /// `down`: adapter → place of its break that has not ended, and when that began.
    fn link(
        &mut self,
        down: &mut BTreeMap<&'a str, (usize, Stamp)>,
        at: Stamp,
        change: &'a LinkChange,
    ) {
        let moment = self.clockface.moment(at);
        if let Some((place, since)) = down.remove(change.adapter.as_str()) {
            self.link_breaks[place].until = Some(moment.clone());
            self.link_breaks[place].seconds = Some(at.seconds_since(since));
        }
        if change.state == LinkState::Back {
            return;
        }
        down.insert(&change.adapter, (self.link_breaks.len(), at));
        self.link_breaks.push(LinkBreak {
            adapter: change.adapter.clone(),
            state: change.state,
            from: moment,
            until: None,
            seconds: None,
        });
    }

    /// What was recorded without a job between this job's start and its close.
    fn loose(&mut self, ordered: &[&Entry], start: u64, context: &ReportContext) {
        let close = ordered
            .iter()
            .find(|entry| {
                entry.job == Some(context.job) && matches!(entry.event, Event::JobClosed { .. })
            })
            .map_or(u64::MAX, |entry| entry.number);
        for entry in ordered {
            if entry.job.is_some() || !(start..close).contains(&entry.number) {
                continue;
            }
            let (at, text) = match &entry.event {
                Event::Reading { key, at, reading, .. } => {
                    let saying = match key {
                        ReadingKey::Typed { number } => {
                            Saying::new("loose-typed").text("number", number)
                        }
                        _ => Saying::new("loose-reading")
                            .text("number", reading.seq)
                            .text("adapter", &reading.adapter),
                    };
                    let unit = TorqueUnit::NewtonMetre;
                    (*at, saying.peak("peak", reading.peak.nm(), unit, None))
                }
                Event::Gap(gap) => {
                    let saying = Saying::new("loose-missing").text("adapter", &gap.adapter);
                    (entry.at, saying.text("first", gap.first).text("last", gap.last))
                }
                _ => continue,
            };
            self.loose.push(LooseFact { entry: entry.number, at: self.clockface.moment(at), text });
        }
    }
}

/// Finds the pull that a verdict speaks of.
#[derive(Default)]
struct PullIndex {
    places: BTreeMap<(String, u64), Vec<(Stamp, usize)>>,
}

impl PullIndex {
    fn add(&mut self, pulls: &mut Vec<Pull>, at: Stamp, measured: Measured) -> usize {
        let place = pulls.len();
        let name = (measured.adapter.clone(), measured.seq);
        self.places.entry(name).or_default().push((at, place));
        pulls.push(Pull { measured, inferred: Vec::new(), certified: None, zero_moved_nm: None });
        place
    }

    fn show(&self, pulls: &mut [Pull], at: Stamp, shown: &Described, trace: Option<Trace>) {
        let name = (shown.adapter.clone(), shown.seq);
        let known = self.places.get(&name).map_or(&[][..], Vec::as_slice);
        let exact = known.iter().rfind(|(made, _)| *made == at);
        if let Some((_, place)) = exact.or(known.last()) {
            let measured = &mut pulls[*place].measured;
            measured.description = Some(shown.description.clone());
            measured.trace = trace;
        }
    }

    /// Numbers start again with an adapter's boot, so the time decides; the newest of that number
    /// otherwise. A verdict without a reading makes a pull whose key is not known.
    fn find(&mut self, pulls: &mut Vec<Pull>, verdict: &Verdict, clockface: &Clockface) -> usize {
        let name = (verdict.adapter.clone(), verdict.seq);
        let known = self.places.get(&name).map_or(&[][..], Vec::as_slice);
        let exact = known.iter().rfind(|(at, _)| *at == verdict.at);
        if let Some((_, place)) = exact.or(known.last()) {
            return *place;
        }
        let measured = Measured {
            adapter: verdict.adapter.clone(),
            seq: verdict.seq,
            key: None,
            typed: false,
            at: clockface.moment(verdict.at),
            at_error_us: None,
            peak_nm: verdict.peak.nm(),
            rotation_deg: None,
            duration_ms: None,
            description: None,
            trace: None,
        };
        self.add(pulls, verdict.at, measured)
    }
}

fn certificates<'a>(ordered: &[&'a Entry]) -> Vec<&'a Certificate> {
    ordered
        .iter()
        .filter_map(|entry| match &entry.event {
            Event::Certificate(certificate) => Some(&**certificate),
            _ => None,
        })
        .collect()
}

fn inferred(verdict: &Verdict) -> Inferred {
    Inferred {
        step: verdict.step.clone(),
        pass: verdict.pass,
        fastener: verdict.fastener.clone(),
        confidence: verdict.confidence,
        basis: verdict.basis.clone(),
        interval_nm: verdict.interval.map(|(low, high)| (low.nm(), high.nm())),
        torque: verdict.torque,
        act: verdict.act,
        revised: verdict.revised && !verdict.surer,
    }
}

fn pictured(clockface: &Clockface, entry: &Entry, photo: &Photo) -> PhotoReport {
    let packed = personal(entry, PersonalField::Photo, "");
    PhotoReport {
        entry: entry.number,
        at: clockface.moment(entry.at),
        about: photo.about.clone(),
        media_type: photo.format.media_type(),
        octets: photo.octets,
        by: screen(entry),
        state: if matches!(packed, Personal::Given(_)) { "given" } else { "removed" },
        packed,
    }
}

/// Name of the screen that an entry was said on.
fn screen(entry: &Entry) -> Option<Personal> {
    let by = personal(entry, PersonalField::Operator, "");
    Some(by).filter(|by| *by != Personal::NotGiven)
}

/// Personal text of an entry; `plain` is what the event itself carries of it.
fn personal(entry: &Entry, field: PersonalField, plain: &str) -> Personal {
    match entry.personal.iter().find(|(kind, _)| *kind == field) {
        Some((_, Some(text))) => Personal::Given(text.clone()),
        Some((_, None)) => Personal::Removed,
        None if plain.is_empty() => Personal::NotGiven,
        None => Personal::Given(plain.to_owned()),
    }
}
