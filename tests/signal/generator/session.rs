//! An evening's work as a stream of samples, with the truth beside it.

use super::adapter::Adapter;
use super::hand::{Hand, Intent};
use super::joint::{Group, Joint, Nature};
use super::pull::{Outcome, pull};
use super::random::Chance;
use super::{Act, Curve, Degree, Faults, Known, STEPS_HZ, Truth, knocks};

/// What is generated.
#[derive(Debug, Clone, Copy, Default)]
pub struct Wishes {
    pub rotation: bool,
    /// Wider than the ranges that joints, hands and adapters are said to have.
    pub wide: bool,
    /// More joints have a fault than in any evening: to learn the faults from.
    pub troubled: bool,
}

/// Share of the joints that have a fault.
const FAULTY: f64 = 0.16;
const FAULTY_TROUBLED: f64 = 0.6;

/// A stream of samples.
#[derive(Debug, Clone)]
pub struct Session {
    pub adapter: Adapter,
    /// Not a number where a sample is missing.
    pub torque: Vec<f64>,
    /// Cumulative from the start, degrees, where the adapter tells it.
    pub turned: Option<Vec<f64>>,
    pub truths: Vec<Truth>,
}

/// What is known of a curve beside its samples.
struct Facts {
    act: Act,
    held: f64,
    turned_deg: f64,
    faults: Faults,
    known: Known,
}

impl Facts {
    fn of(act: Act) -> Self {
        let (faults, known) = (Faults::default(), Known::default());
        Self { act, held: 0.0, turned_deg: 0.0, faults, known }
    }
}

struct Making {
    chance: Chance,
    adapter: Adapter,
    hand: Hand,
    torque: Vec<f64>,
    turned: Vec<f64>,
    truths: Vec<Truth>,
    zero_nm: f64,
    turned_deg: f64,
    /// Turned forward in all, and where the drive was last.
    forward_deg: f64,
    seen_deg: f64,
    /// Share of the joints that have a fault.
    faulty: f64,
}

impl Session {
    pub fn seeded(seed: u64, wishes: Wishes) -> Self {
        let mut chance = Chance::seeded(seed);
        let adapter = Adapter::any(wishes.rotation, wishes.wide, &mut chance);
        let hand = Hand::any(wishes.wide, &mut chance);
        let zero_nm = adapter.zero_nm;
        let mut making = Making {
            chance,
            adapter,
            hand,
            torque: Vec::new(),
            turned: Vec::new(),
            truths: Vec::new(),
            zero_nm,
            turned_deg: 0.0,
            forward_deg: 0.0,
            seen_deg: 0.0,
            faulty: if wishes.troubled { FAULTY_TROUBLED } else { FAULTY },
        };
        let lead = making.chance.even(0.4, 4.0);
        making.pause(lead);
        for _ in 0..2 {
            let group = Group::any(making.adapter.range_nm, wishes.wide, &mut making.chance);
            making.group(&group);
        }
        let turned = making.adapter.rotation.is_some().then_some(making.turned);
        Self { adapter: making.adapter, torque: making.torque, turned, truths: making.truths }
    }
}

impl Making {
    fn group(&mut self, group: &Group) {
        let members = self.chance.even(3.0, 8.0) as usize;
        let mut done = Vec::new();
        for _ in 0..members {
            let mut joint = Joint::of_group(group, &mut self.chance);
            if self.chance.happens(self.faulty) {
                joint.nature = self.nature(&joint);
            }
            let unseen = if self.chance.happens(0.35) {
                0.0
            } else if self.chance.happens(0.12) {
                self.chance.even(0.95, 1.3)
            } else {
                self.chance.even(0.0, 0.8)
            };
            joint.run_down(unseen * group.target_nm);
            self.tighten(&mut joint, group);
            self.between();
            done.push(joint);
        }
        if self.chance.happens(0.6) {
            for joint in &mut done {
                if self.chance.happens(0.7) && !is_spoiled(joint) {
                    let settles = self.chance.even(0.0, 0.1);
                    joint.settle(settles);
                    joint.state.rested_s = 100.0;
                    self.one_pull(joint, group, None);
                    self.between();
                }
            }
        }
        let loosens = self.chance.happens(0.35);
        if let Some(joint) = done.first_mut().filter(|_| loosens) {
            self.loosen(joint, group);
        }
        if self.chance.happens(0.35) {
            self.try_out();
        }
    }

    fn nature(&mut self, joint: &Joint) -> Nature {
        let chance = &mut self.chance;
        let target = joint.target_nm;
        match chance.even(0.0, 5.0) as usize {
            0 => Nature::Rough { grip: chance.even(0.14, 0.35) },
            1 => Nature::Yields {
                at_nm: target * chance.even(0.6, 0.9),
                slope: chance.even(0.0, 0.12),
            },
            2 => Nature::Strips {
                at_nm: target * chance.even(0.5, 0.95),
                fall: joint.stiffness * chance.ratio(0.15, 0.6),
            },
            3 => Nature::Bottoms {
                at_nm: target * chance.even(0.05, 0.3),
                slope: chance.even(2.5, 6.0),
            },
            _ => Nature::Crossed {
                drag_nm: target * chance.even(0.15, 0.4),
                growth: target * chance.ratio(0.001, 0.006),
                waver: chance.even(0.05, 0.15),
            },
        }
    }

    /// Swings until the target is reached, perhaps in two goes, perhaps once more by habit.
    fn tighten(&mut self, joint: &mut Joint, group: &Group) {
        let short = self.chance.happens(0.2);
        if short {
            let stop = group.target_nm * self.chance.even(0.72, 0.94);
            self.swings(joint, group, stop);
            self.swing_pause();
        }
        let over = self.hand.over + self.hand.over_spread * self.chance.normal();
        self.swings(joint, group, group.target_nm * over);
        let habit = self.hand.habit;
        if self.chance.happens(habit) && !is_spoiled(joint) {
            let again = self.chance.ratio(0.35, 1.5);
            self.pause(again);
            joint.state.rested_s = again;
            self.one_pull(joint, group, None);
        }
    }

    fn swings(&mut self, joint: &mut Joint, group: &Group, stop_nm: f64) {
        // Nobody goes on for ever with a joint that does not come up.
        let most = if is_spoiled(joint) { 3 } else { 9 };
        for _ in 0..most {
            let outcome = self.one_pull(joint, group, Some(stop_nm));
            if !outcome.out_of_room {
                break;
            }
            let back = knocks::back_swing(&mut self.chance);
            self.add(&back, None);
            let quick = self.chance.even(0.15, 1.0);
            self.pause(quick);
            joint.state.rested_s += quick + 0.4;
        }
    }

    fn one_pull(&mut self, joint: &mut Joint, group: &Group, stop_nm: Option<f64>) -> Outcome {
        let over = self.hand.over + self.hand.over_spread * self.chance.normal();
        let stop_nm = stop_nm.unwrap_or(group.target_nm * over);
        let mut intent = Intent::tighten(&self.hand, stop_nm, &mut self.chance);
        if self.chance.happens(0.02) {
            intent.slips_at_nm = Some(stop_nm * self.chance.even(0.4, 0.95));
        }
        if self.hand.clicks && self.chance.happens(0.8) {
            intent.clicks_at_nm = Some(stop_nm * self.chance.even(0.93, 0.99));
        }
        let hurried = self.chance.happens(0.02);
        if hurried {
            intent.rise_s = self.chance.even(0.04, 0.12);
            intent.jerked = true;
        }
        let before = joint.state;
        let outcome = pull(joint, group, &self.hand, &intent, &mut self.chance);
        let held = before.held_nm / outcome.peak_nm.max(0.1);
        let after = joint.state.turned_deg;
        let beyond_deg = |nm: f64| after - beyond(joint, nm).max(before.turned_deg);
        let mut faults = Faults {
            slip: outcome.slipped.into(),
            stick_slip: stuck(&outcome),
            odd: hurried || outcome.slipped || joint.nature != Nature::Sound,
            ..Faults::default()
        };
        match joint.nature {
            Nature::Sound | Nature::Rough { .. } => {}
            Nature::Yields { at_nm, .. } => {
                let deg = if outcome.peak_nm > at_nm * 0.98 { beyond_deg(at_nm) } else { 0.0 };
                faults.yielding = Degree::of(deg > 10.0, deg > 1.0);
            }
            Nature::Strips { at_nm, fall } => {
                let share = fall * beyond_deg(at_nm) / at_nm;
                faults.thread_damage = Degree::of(share > 0.2, share > 0.02);
            }
            Nature::Bottoms { at_nm, .. } => {
                let met = outcome.peak_nm > at_nm * 1.5 && before.held_nm < at_nm;
                let went_on = outcome.peak_nm > at_nm && outcome.turned_deg > 0.5;
                faults.bottomed_or_crossed = Degree::of(met, went_on);
            }
            Nature::Crossed { .. } => {
                let deg = outcome.turned_deg;
                faults.bottomed_or_crossed = Degree::of(deg > 15.0, deg > 2.0);
            }
        }
        let gave = [faults.yielding, faults.thread_damage, faults.bottomed_or_crossed];
        let gave = gave.contains(&Degree::Full);
        let act = if held >= 0.93 && !gave { Act::Tight } else { Act::Fresh };
        let (turned_deg, known) = (outcome.turned_deg, outcome.known);
        self.add(&outcome.curve, Some(Facts { act, held, turned_deg, faults, known }));
        outcome
    }

    fn loosen(&mut self, joint: &mut Joint, group: &Group) {
        let mut intent = Intent::tighten(&self.hand, joint.state.held_nm * 1.3, &mut self.chance);
        intent.sign = -1.0;
        intent.patience_s = self.chance.even(0.8, 1.6);
        let outcome = pull(joint, group, &self.hand, &intent, &mut self.chance);
        let turned_deg = -outcome.turned_deg;
        let faults = Faults { stick_slip: stuck(&outcome), ..Faults::default() };
        let facts = Facts { held: 1.0, turned_deg, faults, ..Facts::of(Act::Loosen) };
        self.add(&outcome.curve, Some(facts));
        self.between();
    }

    fn try_out(&mut self) {
        let range_nm = self.adapter.range_nm;
        if self.chance.happens(0.25) {
            let curve = knocks::impact(range_nm * self.chance.even(0.2, 0.8), &mut self.chance);
            let faults = Faults { impact: Degree::Full, ..Faults::default() };
            self.add(&curve, Some(Facts { faults, ..Facts::of(Act::Trial) }));
        } else if self.chance.happens(0.5) {
            let curve = knocks::tug(range_nm, &mut self.chance);
            self.add(&curve, Some(Facts::of(Act::Trial)));
        } else {
            let mut group = Group::any(range_nm, false, &mut self.chance);
            group.target_nm = range_nm * self.chance.ratio(0.08, 0.7);
            let mut joint = Joint::of_group(&group, &mut self.chance);
            let mut intent = Intent::tighten(&self.hand, group.target_nm, &mut self.chance);
            intent.fixed = true;
            let outcome = pull(&mut joint, &group, &self.hand, &intent, &mut self.chance);
            self.add(&outcome.curve, Some(Facts { held: 1.0, ..Facts::of(Act::Trial) }));
        }
        self.between();
    }

    /// On to the next nut; sometimes something happens on the way.
    fn between(&mut self) {
        self.swing_pause();
        let range_nm = self.adapter.range_nm;
        let curve = match self.chance.even(0.0, 12.0) as usize {
            0 => knocks::bump(range_nm, &mut self.chance),
            1 => knocks::drop(range_nm, &mut self.chance),
            2 => knocks::rest(range_nm, &mut self.chance),
            _ => return,
        };
        self.add(&curve, None);
        let rest = self.chance.even(0.3, 2.0);
        self.pause(rest);
    }

    fn swing_pause(&mut self) {
        let (least, most) = self.hand.pause_s;
        let seconds = self.chance.ratio(least, most);
        self.pause(seconds);
    }

    fn pause(&mut self, seconds: f64) {
        for _ in 0..(seconds * self.adapter.rate_hz) as usize {
            self.sample(0.0, self.turned_deg);
        }
    }

    /// Adds a curve to the stream.
    fn add(&mut self, curve: &Curve, facts: Option<Facts>) {
        let rate_hz = self.adapter.rate_hz;
        let began_s = self.torque.len() as f64 / rate_hz;
        let base_deg = self.turned_deg;
        let offset = self.chance.even(0.0, 1.0);
        let count = ((curve.seconds() * rate_hz) - offset).max(0.0) as usize;
        for index in 0..count {
            let at = (index as f64 + offset) / rate_hz * STEPS_HZ;
            let (low, share) = (at as usize, at.fract());
            let high = (low + 1).min(curve.torque.len() - 1);
            let mix = |values: &[f32]| {
                f64::from(values[low]) * (1.0 - share) + f64::from(values[high]) * share
            };
            let nm = mix(&curve.torque);
            self.sample(nm, base_deg + mix(&curve.turned));
        }
        self.turned_deg = base_deg + f64::from(curve.turned.last().copied().unwrap_or(0.0));
        let Some(Facts { act, held, turned_deg, mut faults, known }) = facts else { return };
        let peak = curve.peak();
        let above = |share: f64| {
            let level = (peak * share) as f32;
            let first = curve.torque.iter().position(|nm| nm.abs() >= level).unwrap_or(0);
            let last = curve.torque.iter().rposition(|nm| nm.abs() >= level).unwrap_or(0);
            (first as f64 / STEPS_HZ, last as f64 / STEPS_HZ)
        };
        let (from, to) = above(0.1);
        let snatch = !faults.impact.is_full() && above(0.9).0 - above(0.2).0 < 0.1;
        faults.snatch = snatch.into();
        let samples = near_peak_s(curve) * rate_hz;
        faults.under_sampled = Degree::of(samples < 1.0, samples < 1.5);
        let sign = if act == Act::Loosen { -1.0 } else { 1.0 };
        self.truths.push(Truth {
            from_s: began_s + from - offset / rate_hz,
            to_s: began_s + to - offset / rate_hz,
            peak_nm: peak * sign,
            shown_nm: peak * sign * self.adapter.gain,
            act,
            held,
            turned_deg,
            faults,
            faint: peak < 0.05 * self.adapter.range_nm,
            known,
        });
    }

    fn sample(&mut self, nm: f64, turned_deg: f64) {
        let adapter = &self.adapter;
        let minutes = 1.0 / adapter.rate_hz / 60.0;
        self.zero_nm += self.chance.normal() * adapter.drift_nm * minutes.sqrt();
        let noise = self.chance.normal() * adapter.noise_nm;
        let shown = adapter.round(nm * adapter.gain + self.zero_nm + noise);
        let hole = adapter.holes > 0.0 && self.chance.happens(adapter.holes);
        self.torque.push(if hole { f64::NAN } else { shown });
        if let Some(gyro) = &adapter.rotation {
            let seconds = self.turned.len() as f64 / adapter.rate_hz;
            let noise = self.chance.normal() * gyro.noise_deg;
            let seen = turned_deg + gyro.drift_deg_s * seconds;
            self.forward_deg += (seen - self.seen_deg).max(0.0);
            self.seen_deg = seen;
            let told = if gyro.forward_only { self.forward_deg } else { seen } + noise;
            self.turned.push((told / gyro.quantum_deg).round() * gyro.quantum_deg);
        }
    }
}

/// How much a rough thread stuck and slipped.
fn stuck(outcome: &Outcome) -> Degree {
    Degree::of(outcome.teeth >= 3, outcome.teeth > 0)
}

/// True for a joint that never comes up as it should.
fn is_spoiled(joint: &Joint) -> bool {
    !matches!(joint.nature, Nature::Sound | Nature::Rough { .. })
}

/// Seconds for which torque stays within 2 % of its peak around it.
fn near_peak_s(curve: &Curve) -> f64 {
    let level = (curve.peak() * 0.98) as f32;
    let sizes = || curve.torque.iter().map(|nm| nm.abs());
    let top = sizes().enumerate().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(at, _)| at);
    let before = curve.torque[..top].iter().rev().take_while(|nm| nm.abs() >= level).count();
    let after = curve.torque[top..].iter().take_while(|nm| nm.abs() >= level).count();
    (before + after) as f64 / STEPS_HZ
}

/// Degrees at which a sound joint of the same kind would reach `nm`.
fn beyond(joint: &Joint, nm: f64) -> f64 {
    nm / joint.stiffness + joint.toe_deg / 2.0
}
