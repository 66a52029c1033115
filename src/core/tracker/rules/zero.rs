//! What an adapter shows with nothing on it, as its trace tells: where that moves, the peaks that it tells are off by as
//! much.
//!
//! A zero creeps, or it jumps, as after a fall. A resting hand or a hanging ratchet looks like a jump for a while, but not
//! when the socket is lifted from one fastener to the next: a jump is told only once torque came nowhere near to nothing
//! on several such ways one after the other, and stood at the same each time.

use crate::core::event::{Act, WarningCode};
use crate::core::plan::Window;
use crate::core::signal::Description;
use crate::core::tracker::member::Partial;
use crate::core::tracker::pull::Seen;
use crate::core::tracker::rules::words;
use crate::core::tracker::scene::Scene;
use crate::core::tracker::state::{Placed, State};
use crate::core::tracker::warn::{About, Reason, Speaker};
use crate::core::units::Torque;

/// Ways from one fastener to another on which torque stood at the same.
const WAYS: usize = 3;
/// Share of the range from which a zero that has jumped is told, as one that creeps.
const LEAST_SHARE: f64 = 0.005;
/// What it stood at is the same within this share of it, or of the range.
const SAME_SHARE: f64 = 0.1;
const SAME_SHARE_OF_RANGE: f64 = 0.0015;
/// Nearer to nothing than this share of a jump, there was none.
const NEAR_SHARE: f64 = 0.5;

/// An adapter whose zero jumped.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::core::tracker) struct ZeroOff {
    /// Its short id.
    pub adapter: String,
    /// What it shows with nothing on it, N·m.
    pub nm: f64,
    /// The reading by which that became plain.
    since: usize,
    /// Fasteners that were inside their windows only by that.
    touched: Vec<usize>,
}

impl Scene {
    /// What an adapter shows too much, N·m.
    pub(in crate::core::tracker) fn zero_off(&self, adapter: &str) -> Option<f64> {
        self.zeros_off.iter().find(|one| one.adapter == adapter).map(|one| one.nm)
    }

    /// An adapter came near to nothing before a pull: its zero is right again.
    pub(in crate::core::tracker) fn put_right(&mut self, adapter: &str, rest_nm: Option<f64>) {
        let Some(rest) = rest_nm else { return };
        let right = |one: &ZeroOff| one.adapter == adapter && near(rest, one.nm);
        self.zeros_off.retain(|one| !right(one));
    }
}

fn near(rest_nm: f64, jump_nm: f64) -> bool {
    (rest_nm / jump_nm) < NEAR_SHARE
}

/// What a reading of `nm` comes to without the jump of its adapter's zero.
pub(in crate::core::tracker) fn without_jump(
    scene: &Scene,
    seen: &Seen,
    step: usize,
    nm: f64,
) -> Option<f64> {
    let off = seen.zero_off_nm?;
    Some(nm - scene.tightening(step, Torque::from_nm(off)))
}

impl State {
    /// Looks whether the latest reading makes it plain that its adapter's zero jumped.
    pub(in crate::core::tracker) fn mind_zero(&mut self) {
        let Some((nm, places)) = self.jump() else { return };
        let since = self.readings.len() - 1;
        let adapter = self.readings[since].reading.adapter.clone();
        let touched = places.iter().filter_map(|place| self.take_back(*place, nm)).collect();
        self.scene.doubt(&adapter);
        self.scene.zeros_off.push(ZeroOff { adapter, nm, since, touched });
    }

    /// By how much the zero of the latest reading's adapter jumped, and the readings that may have been made since: the
    /// first of them came before the ways did.
    fn jump(&self) -> Option<(f64, Vec<usize>)> {
        let latest = self.readings.last().filter(|latest| latest.rest_nm.is_some())?;
        let (id, range) = (&latest.reading.adapter, latest.seen.range?.1);
        let tells_peaks = self.scene.adapter(id).is_some_and(|one| one.reports.peak);
        if !tells_peaks || self.scene.zero_off(id).is_some() {
            return None;
        }
        let own = |place: &usize| self.readings[*place].reading.adapter == *id;
        let all: Vec<usize> = (0..self.readings.len()).filter(own).collect();
        let (before, ways) = all.split_at_checked(all.len().checked_sub(WAYS)?)?;
        let rest = |place: &usize| self.readings[*place].rest_nm;
        let rests = ways.iter().map(rest).collect::<Option<Vec<f64>>>()?;
        let mean = rests.iter().sum::<f64>() / rests.len() as f64;
        let within = (SAME_SHARE * mean.abs()).max(SAME_SHARE_OF_RANGE * range);
        let same = rests.iter().all(|rest| (rest - mean).abs() <= within);
        let right_before = before.iter().filter_map(rest).any(|rest| near(rest, mean));
        let elsewhere = |pair: &[usize]| {
            let [from, to] = [pair[0], pair[1]].map(|place| self.assignment(place).fastener);
            from.is_some() && to.is_some() && from != to
        };
        let from = before.last()?;
        let moved = elsewhere(&[*from, ways[0]]) && ways.windows(2).all(elsewhere);
        let plain = same && moved && right_before && mean.abs() > LEAST_SHARE * range;
        plain.then(|| (mean, [&[*from], ways].concat()))
    }

    /// The fastener that the reading in this place brought into its window only because the zero was off: it is not
    /// proved to be there.
    fn take_back(&mut self, place: usize, off_nm: f64) -> Option<usize> {
        let assignment = self.assignment(place);
        let fastener = assignment.fastener.filter(|_| assignment.act == Act::Tighten)?;
        let scene = &self.scene;
        let step = scene.step_of(fastener);
        let window = scene.window_for(fastener, assignment.pass)?.into_owned();
        let nm = scene.tightening(step, self.readings[place].reading.peak);
        let without = nm - scene.tightening(step, Torque::from_nm(off_nm));
        if self.readings[place].void || !only_by(&window, nm, without) {
            return None;
        }
        let low = without < window.low.nm();
        self.beliefs.for_all(|account| {
            let since = account.pulls;
            let member = &mut account.members[fastener];
            if member.peak_nm != Some(nm) {
                return;
            }
            if low {
                member.partial = Some(Partial { pass: assignment.pass, nm, since });
                member.next_pass = member.next_pass.min(assignment.pass);
            } else {
                member.kept.may_be_high = true;
            }
        });
        Some(fastener)
    }
}

/// True if a reading lies inside its window, and without the jump outside.
fn only_by(window: &Window, nm: f64, without: f64) -> bool {
    window.contains(Torque::from_nm(nm)) && !window.contains(Torque::from_nm(without))
}

impl Speaker<'_> {
    /// The adapter of this reading shows something else with nothing on it than at the job's first pull with it.
    pub(in crate::core::tracker) fn zero_moved(&mut self, index: usize) {
        let state = self.state;
        let placed = &state.readings[index];
        let adapter = &placed.reading.adapter;
        // Where peaks are found in the trace, its zero is taken off them.
        let tells_peaks = state.scene.adapter(adapter).is_some_and(|one| one.reports.peak);
        let its_own = |one: &&Placed| one.reading.adapter == *adapter;
        let first = state.readings.iter().filter(its_own).find_map(seen);
        let (Some(first), Some(now)) = (first, seen(placed).filter(|_| tells_peaks)) else {
            return;
        };
        let Some(moved) = now.zero_moved_since(first) else { return };
        let text = words::zero_moved(adapter, moved);
        let about = About { fastener: None, reading: Some(index) };
        self.say(Reason::Zero(adapter.clone()), WarningCode::AdapterSuspect, about, text);
    }

    /// By this reading it became plain that the zero of its adapter jumped.
    pub(in crate::core::tracker) fn zero_jumped(&mut self, index: usize) {
        let state = self.state;
        let Some(off) = state.scene.zeros_off.iter().find(|one| one.since == index) else { return };
        let touched: Vec<String> = off.touched.iter().map(|one| state.scene.name(*one)).collect();
        let text = words::zero_jumped(&off.adapter, off.nm, WAYS, &touched);
        let about = About { fastener: None, reading: Some(index) };
        self.say(Reason::Zero(off.adapter.clone()), WarningCode::AdapterSuspect, about, text);
    }

    /// Says that a reading is inside its window only because its adapter's zero jumped. True if it is.
    pub(in crate::core::tracker) fn only_by_zero(
        &mut self,
        index: usize,
        fastener: usize,
        window: &Window,
        nm: f64,
    ) -> bool {
        let scene = self.scene();
        let placed = &self.state.readings[index];
        let step = scene.step_of(fastener);
        let without = without_jump(scene, &placed.seen, step, nm);
        if !without.is_some_and(|without| only_by(window, nm, without)) {
            return false;
        }
        let about = self.named(index, fastener);
        let off = placed.seen.zero_off_nm.unwrap_or(0.0);
        let text =
            words::only_by_zero(scene, about.fastener, fastener, &placed.reading.adapter, nm, off);
        let code = WarningCode::AdapterSuspect;
        self.say(Reason::OfReading { code, index }, code, about, text);
        true
    }
}

fn seen(placed: &Placed) -> Option<&Description> {
    placed.reading.description.as_deref()
}
