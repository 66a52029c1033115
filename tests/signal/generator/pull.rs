//! One pull: the hand turns the handle, the handle winds up, the nut follows, sticks and breaks away.

use super::hand::{Hand, Intent};
use super::joint::{Group, Joint, Nature};
use super::random::Chance;
use super::{Curve, Known, STEPS_HZ};
use std::f64::consts::TAU;

/// What came of a pull.
#[derive(Debug, Clone)]
pub struct Outcome {
    pub curve: Curve,
    pub peak_nm: f64,
    pub turned_deg: f64,
    /// It stopped for want of room, not because torque was reached.
    pub out_of_room: bool,
    /// How often a rough thread let torque drop by [`TOOTH`] and more, above [`HIGH`] of the peak.
    pub teeth: usize,
    /// The socket slipped.
    pub slipped: bool,
    pub known: Known,
}

/// Share of the torque by which a tooth drops at least, and share of the peak above which it is felt.
const TOOTH: f64 = 0.05;
const HIGH: f64 = 0.4;

/// The hand's phases.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Phase {
    Pulling,
    Stopping,
    Holding { until_s: f64 },
    Releasing { since_s: f64, from_deg: f64 },
}

pub fn pull(
    joint: &mut Joint,
    group: &Group,
    hand: &Hand,
    intent: &Intent,
    chance: &mut Chance,
) -> Outcome {
    let dt = 1.0 / STEPS_HZ;
    let wind_up = group.wind_up;
    let give = hand.give_deg / joint.target_nm;
    let compliance = wind_up + give;
    // A fresh joint is at the target after `rise_s`; the same hand goes as fast on any other.
    let span = intent.stop_nm.min(joint.target_nm) * (1.0 / joint.stiffness + compliance);
    let pace = span / intent.rise_s;
    let most_deg_s = compliance * joint.target_nm / hand.gather_s;
    let speed_up_s = chance.ratio(0.03, 0.12);
    let slow_down_s = chance.ratio(0.02, 0.07);
    let foresight = chance.around(1.0, 0.25);
    let uneven = [
        (chance.even(0.5, 1.5), chance.even(0.0, 6.3)),
        (chance.even(1.5, 4.0), chance.even(0.0, 6.3)),
    ];
    let phase_of_tremor = chance.even(0.0, 6.3);
    let grip = chance.around(1.0, group.grip_spread);
    let loosening_share = chance.even(0.70, 0.86);
    let started_at = joint.state.turned_deg;
    let held_before_nm = joint.state.held_nm;

    let mut curve = Curve::default();
    let (mut hand_deg, mut speed, mut t) = (0.0_f64, 0.0_f64, 0.0_f64);
    let mut nut_deg = 0.0_f64;
    let mut moving = joint.state.held_nm <= 0.0;
    let mut still_s = 0.0;
    let mut torque = 0.0_f64;
    let (mut phase, mut slip_deg) = (Phase::Pulling, 0.0);
    // Where it last broke away, and where those began that dropped.
    let (mut broke_nm, mut teeth_nm) = (f64::INFINITY, Vec::new());
    let (mut slips_at, mut clicks_at) = (intent.slips_at_nm, intent.clicks_at_nm);
    let mut click_left_deg = 0.0_f64;
    let mut peak_nm = 0.0_f64;
    let mut out_of_room = false;
    let mut first_move = true;
    loop {
        let rate_before = torque;
        // The hand.
        let wobble: f64 = uneven.iter().map(|(hz, phase)| (TAU * hz * t + phase).sin()).sum();
        let wanted = pace * (1.0 + hand.uneven * wobble * 0.7).max(0.1);
        match phase {
            Phase::Pulling => speed += (wanted - speed) * dt / speed_up_s,
            Phase::Stopping => speed -= speed * dt / slow_down_s,
            Phase::Holding { .. } => speed = 0.0,
            Phase::Releasing { since_s, from_deg } => {
                let share = ((t - since_s) / intent.release_s).min(1.0);
                let eased = share * share * (3.0 - 2.0 * share);
                hand_deg = from_deg * (1.0 - eased) + (nut_deg + slip_deg) * eased;
                speed = 0.0;
            }
        }
        // Muscles take their time, whatever the pace wanted.
        let held_back = if moving || intent.jerked { speed } else { speed.min(most_deg_s) };
        hand_deg += held_back * dt;
        let shake = 1.0 + hand.tremor * (TAU * hand.tremor_hz * t + phase_of_tremor).sin();
        let drawn = (hand_deg - nut_deg - slip_deg - click_left_deg).max(0.0);
        torque = drawn / compliance * shake;
        // The nut.
        if !intent.fixed {
            let along = |deg: f64| {
                let at = started_at + deg * intent.sign;
                joint.sliding_nm(at) * if intent.sign < 0.0 { loosening_share } else { 1.0 }
            };
            let slides_at = along(nut_deg);
            if !moving {
                let rest = 1.0 - (-joint.state.rested_s / 1.5).exp();
                let holds = if first_move {
                    let held = held_before_nm * (1.0 + (grip - 1.0) * rest);
                    held * if intent.sign < 0.0 { loosening_share } else { 1.0 }
                } else if let Nature::Rough { grip } = joint.nature {
                    slides_at * (1.0 + grip)
                } else {
                    slides_at
                };
                moving = torque > holds.max(slides_at);
                if moving {
                    broke_nm = torque;
                }
                still_s = 0.0;
            }
            if moving {
                first_move = false;
                let step = 0.05;
                let slope = ((along(nut_deg + step) - slides_at) / step).max(-0.9 / compliance);
                // What grips lets go at once.
                let rough = matches!(joint.nature, Nature::Rough { .. });
                let lag_s = if rough { group.lag_s * 0.2 } else { group.lag_s };
                let share = 1.0 - (-dt / lag_s).exp();
                let moved = share * (torque - slides_at) / (slope + 1.0 / compliance).max(0.02);
                nut_deg += moved.clamp(0.0, 900.0 * dt);
                // A rough thread grips again as soon as the wind-up is spent.
                let slow = match joint.nature {
                    Nature::Rough { grip } => torque - slides_at < 0.25 * grip * slides_at,
                    _ => moved <= 0.0,
                };
                still_s = if slow { still_s + dt } else { 0.0 };
                if still_s > if rough { 0.004 } else { 0.05 } {
                    moving = false;
                    let pulled = !matches!(phase, Phase::Releasing { .. });
                    if rough && pulled && torque < broke_nm * (1.0 - TOOTH) {
                        teeth_nm.push(broke_nm);
                    }
                }
            }
        }
        if slips_at.is_some_and(|nm| torque > nm) {
            slips_at = None;
            slip_deg += drawn * chance.even(0.75, 1.0);
        }
        if clicks_at.is_some_and(|nm| torque > nm) {
            clicks_at = None;
            click_left_deg = drawn * chance.even(0.12, 0.3);
        }
        click_left_deg *= 1.0 - dt / 0.02;
        peak_nm = peak_nm.max(torque);
        curve.push(torque * intent.sign, (nut_deg + slip_deg + wind_up * torque) * intent.sign);
        // What the hand does next.
        let gaining = (torque - rate_before) / dt;
        let room = nut_deg + slip_deg + compliance * torque > hand.swing_deg;
        match phase {
            Phase::Pulling => {
                let foreseen = torque + gaining.max(0.0) * slow_down_s * foresight;
                if foreseen >= intent.stop_nm || room || t > intent.patience_s {
                    out_of_room = room && foreseen < intent.stop_nm;
                    phase = Phase::Stopping;
                }
            }
            Phase::Stopping if speed < 0.03 * pace => {
                phase = Phase::Holding { until_s: t + intent.hold_s };
            }
            Phase::Holding { until_s } if t >= until_s => {
                phase = Phase::Releasing { since_s: t, from_deg: hand_deg };
            }
            Phase::Releasing { since_s, .. } if t > since_s + intent.release_s + 0.05 => break,
            _ => {}
        }
        t += dt;
    }
    if !intent.fixed {
        joint.state.turned_deg = started_at + nut_deg * intent.sign;
        if !first_move || held_before_nm <= 0.0 {
            joint.state.held_nm = if intent.sign > 0.0 {
                joint.sliding_nm(joint.state.turned_deg).max(0.0)
            } else {
                0.0
            };
        }
        joint.state.rested_s = 0.0;
    }
    let gathered = if intent.jerked { pace } else { pace.min(most_deg_s) };
    let known = Known {
        stuck_nm_s: gathered / compliance,
        turning_nm_s: pace / (1.0 / joint.stiffness + compliance),
        toe_nm: joint.stiffness * joint.toe_deg / 2.0,
        prevailing_nm: joint.prevailing_nm,
        uneven: hand.uneven,
        grip_spread: group.grip_spread,
        stiffness: joint.stiffness,
        compliance,
        stop_nm: intent.stop_nm,
        hold_s: intent.hold_s,
        release_s: intent.release_s,
    };
    let slipped = slip_deg > 0.0;
    let teeth = teeth_nm.iter().filter(|nm: &&f64| **nm > HIGH * peak_nm).count();
    Outcome { curve, peak_nm, turned_deg: nut_deg, out_of_room, teeth, slipped, known }
}
