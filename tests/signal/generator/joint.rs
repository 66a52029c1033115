//! A threaded joint: what torque it takes to turn it further.

use super::random::Chance;
use std::f64::consts::TAU;

/// What is unusual about a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nature {
    Sound,
    /// Static friction well above sliding friction.
    Rough {
        grip: f64,
    },
    /// Yields at this torque, with this share of the slope left.
    Yields {
        at_nm: f64,
        slope: f64,
    },
    /// Strips at this torque; it then falls by so many N·m a degree.
    Strips {
        at_nm: f64,
        fall: f64,
    },
    /// Meets the bottom of its hole at this torque, from where the slope is so many times higher.
    Bottoms {
        at_nm: f64,
        slope: f64,
    },
    /// Askew in its thread: drags at this torque, growing by this many N·m a degree, with this
    /// relative waver.
    Crossed {
        drag_nm: f64,
        growth: f64,
        waver: f64,
    },
}

#[derive(Debug, Clone)]
pub struct Joint {
    pub target_nm: f64,
    /// N·m a degree in the linear part.
    pub stiffness: f64,
    /// Degrees over which the parts come together.
    pub toe_deg: f64,
    pub prevailing_nm: f64,
    pub nature: Nature,
    ripple: [(f64, f64, f64); 2],
    pub state: State,
}

/// Where the nut is.
#[derive(Debug, Clone, Copy)]
pub struct State {
    /// Degrees past first contact.
    pub turned_deg: f64,
    /// Torque at which it last stopped, N·m; what it holds.
    pub held_nm: f64,
    /// Seconds of rest since.
    pub rested_s: f64,
}

impl Joint {
    /// A sound joint like others of its group.
    pub fn of_group(group: &Group, chance: &mut Chance) -> Self {
        let ripple = |chance: &mut Chance| {
            (chance.even(0.0, group.ripple), chance.ratio(3.0, 25.0), chance.even(0.0, 6.3))
        };
        Self {
            target_nm: group.target_nm,
            stiffness: chance.around(group.stiffness, 0.12),
            toe_deg: chance.around(group.toe_deg, 0.4),
            prevailing_nm: if group.prevailing_nm > 0.0 {
                chance.around(group.prevailing_nm, 0.2)
            } else {
                0.0
            },
            nature: Nature::Sound,
            ripple: [ripple(chance), ripple(chance)],
            state: State { turned_deg: -chance.even(0.0, 25.0), held_nm: 0.0, rested_s: 1e3 },
        }
    }

    /// Torque needed to keep turning at `deg`, N·m.
    pub fn sliding_nm(&self, deg: f64) -> f64 {
        let waver: f64 = self
            .ripple
            .iter()
            .map(|(share, period, phase)| share * (deg / period * TAU + phase).sin())
            .sum();
        let clamp = self.clamp_nm(deg) + self.drag_nm(deg);
        (clamp * (1.0 + waver)).max(0.05)
    }

    fn drag_nm(&self, deg: f64) -> f64 {
        match self.nature {
            Nature::Crossed { drag_nm, growth, waver } => {
                let grown = drag_nm + growth * (deg + 30.0).max(0.0);
                self.prevailing_nm + grown * (1.0 + waver * (deg / 11.0).sin() * (deg / 3.7).cos())
            }
            _ => self.prevailing_nm,
        }
    }

    fn clamp_nm(&self, deg: f64) -> f64 {
        let elastic = |deg: f64, k: f64| {
            if deg <= 0.0 {
                0.0
            } else if deg < self.toe_deg {
                k * deg * deg / (2.0 * self.toe_deg)
            } else {
                k * (deg - self.toe_deg / 2.0)
            }
        };
        let k = self.stiffness;
        let sound = elastic(deg, k);
        match self.nature {
            Nature::Sound | Nature::Rough { .. } => sound,
            Nature::Crossed { .. } => 0.0,
            Nature::Yields { at_nm, slope } => {
                if sound > at_nm {
                    at_nm + (sound - at_nm) * slope
                } else {
                    sound
                }
            }
            Nature::Strips { at_nm, fall } => {
                if sound > at_nm {
                    (at_nm - (sound - at_nm) / k * fall).max(0.15 * at_nm)
                } else {
                    sound
                }
            }
            Nature::Bottoms { at_nm, slope } => {
                let soft = elastic(deg, k * 0.3);
                if soft > at_nm { at_nm + (soft - at_nm) / 0.3 * slope } else { soft }
            }
        }
    }

    /// Runs the nut down unseen until it holds `nm`.
    pub fn run_down(&mut self, nm: f64) {
        if nm < self.sliding_nm(self.state.turned_deg) {
            return;
        }
        while self.sliding_nm(self.state.turned_deg) < nm && self.state.turned_deg < 400.0 {
            self.state.turned_deg += 0.05;
        }
        self.state.held_nm = nm;
        self.state.rested_s = 1e3;
    }

    /// Embedding and relaxation: the torque that keeps it turning falls by this share.
    pub fn settle(&mut self, share: f64) {
        let keeps = self.sliding_nm(self.state.turned_deg) * (1.0 - share);
        while self.sliding_nm(self.state.turned_deg) > keeps && self.state.turned_deg > 0.0 {
            self.state.turned_deg -= 0.02;
        }
    }
}

/// Degrees from contact to target of the hardest joint.
const HARDEST_DEG: f64 = 12.0;

/// What the joints of a group have in common.
#[derive(Debug, Clone)]
pub struct Group {
    pub target_nm: f64,
    pub stiffness: f64,
    pub toe_deg: f64,
    pub prevailing_nm: f64,
    pub ripple: f64,
    /// Degrees a N·m of bars and socket between adapter and nut.
    pub wind_up: f64,
    /// Spread of the break-away around what was held, as a ratio's ln.
    pub grip_spread: f64,
    /// How long a nut takes to follow, seconds.
    pub lag_s: f64,
}

impl Group {
    pub fn any(range_nm: f64, wide: bool, chance: &mut Chance) -> Self {
        let target_nm = range_nm * chance.ratio(0.18, 0.85);
        let stretch = if wide { 1.5 } else { 1.0 };
        let prevails = chance.happens(0.35);
        Self {
            target_nm,
            // Even a hard joint turns by some degrees between contact and target.
            stiffness: chance
                .ratio(0.7 / stretch, 6.0 * stretch)
                .min(target_nm / HARDEST_DEG * stretch),
            toe_deg: chance.ratio(2.0, 20.0),
            prevailing_nm: if prevails { target_nm * chance.ratio(0.03, 0.2) } else { 0.0 },
            ripple: chance.even(0.0, 0.012 * stretch),
            wind_up: chance.ratio(0.5 / stretch, 4.0 * stretch) / target_nm,
            grip_spread: 0.075 * stretch,
            lag_s: chance.ratio(0.006, 0.03),
        }
    }
}
