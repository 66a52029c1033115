//! One group of fasteners under the hands: pulls come from the physics of joint, hand and adapter.

use super::generator::adapter::Adapter;
use super::generator::hand::Intent;
use super::generator::joint::{Group, Joint};
use super::generator::pull::pull;
use super::generator::random::Chance;
use super::generator::{Curve, Known, STEPS_HZ};
use super::person::Person;

/// Samples before and after a pull, seconds.
const LEAD_S: f64 = 0.8;
const TAIL_S: f64 = 0.6;
/// Nobody goes on for ever with a joint that does not come up.
const MOST_SWINGS: usize = 9;
/// Nor with one that is tight already.
const MOST_TRIES: usize = 3;

/// What an adapter can tell of one pull.
#[derive(Debug, Clone, Default)]
pub struct Told {
    /// Time of the peak, seconds.
    pub at_s: f64,
    pub peak_nm: f64,
    pub rotation_deg: f64,
    pub duration_ms: f64,
    /// Time of the first sample, seconds.
    pub from_s: f64,
    pub torque: Vec<f64>,
    pub turned: Vec<f64>,
    /// What no adapter tells: figures of hand and joint.
    pub known: Known,
}

impl Told {
    /// Time at which the tool came to bear, and at which it was let go, seconds.
    pub fn within_s(&self, rate_hz: f64) -> (f64, f64) {
        (self.from_s + LEAD_S, self.from_s + self.torque.len() as f64 / rate_hz - TAIL_S)
    }
}

/// The bench: what all groups of one job share.
#[derive(Debug)]
pub struct Bench {
    pub chance: Chance,
    pub adapter: Adapter,
    pub person: Person,
    pub now_s: f64,
}

impl Bench {
    pub fn pause(&mut self, (least, most): (f64, f64)) -> f64 {
        let seconds = self.chance.ratio(least, most);
        self.now_s += seconds;
        seconds
    }

    /// Nuts as they are when the adapter first comes to them.
    pub fn joints(&mut self, group: &Group, members: u16) -> Vec<Joint> {
        let gun = self.person.gun;
        let fresh = |chance: &mut Chance| {
            let mut joint = Joint::of_group(group, chance);
            // By hand, or by a gun.
            let share = match gun {
                Some((level, spread)) => chance.around(level, spread).min(1.3),
                None => chance.even(0.0, 0.15),
            };
            joint.run_down(share * group.target_nm);
            joint
        };
        (0..members).map(|_| fresh(&mut self.chance)).collect()
    }

    /// Swings until torque is within the window; every swing is told.
    pub fn tighten(
        &mut self,
        joint: &mut Joint,
        group: &Group,
        target_nm: f64,
        low_nm: f64,
    ) -> Vec<Told> {
        let mut told = Vec::new();
        let short = self.chance.happens(self.person.stops_short);
        let mut stop = if short { target_nm * self.chance.even(0.72, 0.88) } else { 0.0 };
        for _ in 0..MOST_SWINGS {
            if stop == 0.0 {
                stop = self.stop(target_nm);
            }
            let (one, out_of_room) = self.one(joint, group, stop);
            let reached = one.peak_nm >= low_nm;
            told.push(one);
            if reached {
                break;
            }
            if !out_of_room {
                stop = 0.0;
            }
            joint.state.rested_s = self.pause(self.person.swing_pause_s);
        }
        told
    }

    /// A pull on a fastener that is tight already, and another if the hand let go too early.
    pub fn again(
        &mut self,
        joint: &mut Joint,
        group: &Group,
        target_nm: f64,
        at_once: bool,
    ) -> Vec<Told> {
        if !at_once {
            let settles = self.chance.even(0.0, 0.1);
            joint.settle(settles);
            joint.state.rested_s = 100.0;
        }
        let mut told = Vec::new();
        while told.len() < MOST_TRIES {
            let stop = self.stop(target_nm);
            let (one, _) = self.one(joint, group, stop);
            let reached = one.peak_nm >= target_nm * 0.92;
            told.push(one);
            if reached {
                break;
            }
            joint.state.rested_s = self.pause(self.person.swing_pause_s);
        }
        told
    }

    /// Turned back until it is slack.
    pub fn loosen(&mut self, joint: &mut Joint, group: &Group) -> Told {
        let mut intent =
            Intent::tighten(&self.person.hand, joint.state.held_nm * 1.3, &mut self.chance);
        intent.sign = -1.0;
        intent.patience_s = self.chance.even(0.8, 1.6);
        let outcome = pull(joint, group, &self.person.hand, &intent, &mut self.chance);
        joint.state.held_nm = 0.0;
        joint.state.turned_deg = joint.state.turned_deg.min(0.0);
        self.tell(&outcome.curve, outcome.known)
    }

    fn stop(&mut self, target_nm: f64) -> f64 {
        let hand = &self.person.hand;
        target_nm * (hand.over + hand.over_spread * self.chance.normal())
    }

    fn one(&mut self, joint: &mut Joint, group: &Group, stop_nm: f64) -> (Told, bool) {
        let hand = &self.person.hand;
        let mut intent = Intent::tighten(hand, stop_nm, &mut self.chance);
        if hand.clicks && self.chance.happens(0.8) {
            intent.clicks_at_nm = Some(stop_nm * self.chance.even(0.93, 0.99));
        }
        let outcome = pull(joint, group, hand, &intent, &mut self.chance);
        (self.tell(&outcome.curve, outcome.known), outcome.out_of_room)
    }

    fn tell(&mut self, curve: &Curve, known: Known) -> Told {
        let (adapter, chance) = (&self.adapter, &mut self.chance);
        let noise = |chance: &mut Chance| adapter.noise_nm * chance.normal();
        let rate_hz = adapter.rate_hz;
        let gyro = adapter.rotation.as_ref();
        let forward_only = gyro.is_some_and(|gyro| gyro.forward_only);
        let mut forward = Vec::with_capacity(curve.turned.len());
        let (mut sum, mut before) = (0.0_f32, 0.0_f32);
        for turned in &curve.turned {
            sum += (turned - before).max(0.0);
            before = *turned;
            forward.push(if forward_only { sum } else { *turned });
        }
        let mut told = Told { from_s: self.now_s - LEAD_S, known, ..Told::default() };
        let count = |seconds: f64| (seconds * rate_hz) as usize;
        let (lead, tail, length) = (count(LEAD_S), count(TAIL_S), count(curve.seconds()));
        for index in 0..lead + length + tail {
            let step = (index.saturating_sub(lead) as f64 / rate_hz * STEPS_HZ) as usize;
            let within = (lead..lead + length).contains(&index);
            let nm = if within {
                f64::from(curve.torque[step.min(curve.torque.len() - 1)])
            } else {
                0.0
            };
            let shown = nm * adapter.gain + adapter.zero_nm + noise(chance);
            told.torque.push(adapter.round(shown));
            let deg =
                if index < lead { 0.0 } else { f64::from(forward[step.min(forward.len() - 1)]) };
            let (noise_deg, quantum) =
                gyro.map_or((0.0, 0.1), |one| (one.noise_deg, one.quantum_deg));
            told.turned.push(((deg + noise_deg * chance.normal()) / quantum).round() * quantum);
        }
        let size = |nm: &f32| f64::from(nm.abs());
        let peak = curve.peak();
        let first = curve.torque.iter().position(|nm| size(nm) >= 0.1 * peak).unwrap_or(0);
        let last = curve.torque.iter().rposition(|nm| size(nm) >= 0.1 * peak).unwrap_or(0);
        let top = curve.torque.iter().position(|nm| size(nm) >= peak).unwrap_or(0);
        let sign = f64::from(curve.torque[top].signum());
        told.at_s = self.now_s + top as f64 / STEPS_HZ;
        told.peak_nm = adapter.round(sign * peak * adapter.gain + adapter.zero_nm + noise(chance));
        let noise_deg = gyro.map_or(0.0, |gyro| gyro.noise_deg) * chance.normal();
        let deg = f64::from(forward[last] - forward[first]) + noise_deg;
        told.rotation_deg = (deg * 10.0).round() / 10.0;
        told.duration_ms = (last - first) as f64 / STEPS_HZ * 1e3;
        self.now_s += curve.seconds();
        told
    }
}
