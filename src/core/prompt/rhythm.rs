//! What a prompt sounds like before its words: one table, for the page and for the computer's own speaker.
//!
//! Rhythms are told apart by how many tones and how long, not by pitch alone: who hears no high tones any more, or
//! hears them through a wall, still knows which it was.

use crate::core::prompt::Cue;
use serde::Serialize;

/// One tone of a rhythm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tone {
    /// When it begins, seconds from the rhythm's begin.
    pub start_s: f64,
    /// How long it lasts, seconds.
    pub length_s: f64,
    /// How high it is, hertz.
    pub hertz: f64,
}

/// What a cue sounds like.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rhythm {
    /// How loud, from 0 to 1.
    pub loudness: f64,
    /// Its tones, one after another.
    pub tones: &'static [Tone],
}

const fn tone(start_s: f64, length_s: f64, hertz: f64) -> Tone {
    Tone { start_s, length_s, hertz }
}

const ACCEPTED: &[Tone] = &[tone(0.0, 0.12, 1500.0)];
const MORE: &[Tone] = &[tone(0.0, 0.08, 700.0), tone(0.14, 0.08, 950.0)];
/// Two quick ones, where "over" is three long ones.
const REACHED: &[Tone] = &[tone(0.0, 0.07, 1900.0), tone(0.11, 0.07, 1900.0)];
const OVER: &[Tone] = &[tone(0.0, 0.25, 800.0), tone(0.27, 0.25, 1200.0), tone(0.54, 0.25, 800.0)];
const ATTENTION: &[Tone] = &[tone(0.0, 0.2, 520.0), tone(0.3, 0.2, 520.0)];

impl Cue {
    /// Every cue, the least urgent first.
    pub const ALL: [Self; 6] =
        [Self::Next, Self::Accepted, Self::More, Self::Reached, Self::Attention, Self::Over];

    /// What it sounds like; what comes next has no sound of its own.
    #[must_use]
    pub fn rhythm(self) -> Option<Rhythm> {
        let (loudness, tones) = match self {
            Self::Next => return None,
            Self::Accepted => (1.0, ACCEPTED),
            // Nothing is wrong yet: it must not startle.
            Self::More => (0.35, MORE),
            Self::Reached => (1.0, REACHED),
            Self::Attention => (1.0, ATTENTION),
            Self::Over => (1.0, OVER),
        };
        Some(Rhythm { loudness, tones })
    }
}

impl Rhythm {
    /// How long it lasts, seconds.
    #[must_use]
    pub fn length_s(&self) -> f64 {
        self.tones.iter().map(|tone| tone.start_s + tone.length_s).fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use crate::core::prompt::Cue;

    #[test]
    fn no_two_rhythms_are_alike_even_to_who_hears_no_pitch() {
        // How many tones, and how long each is, in steps that an ear tells apart.
        let told: Vec<Vec<u32>> = Cue::ALL
            .iter()
            .filter_map(|cue| cue.rhythm())
            .map(|one| one.tones.iter().map(|tone| (tone.length_s / 0.06).round() as u32).collect())
            .collect();
        assert_eq!(told.len(), 5);
        let apart = |a: &[u32], b: &[u32]| {
            a.len() != b.len() || a.iter().zip(b).any(|(a, b)| a.abs_diff(*b) >= 2)
        };
        let [accepted, more, reached, attention, over] = &told[..] else { unreachable!() };
        for (one, other) in [
            (reached, over),
            (reached, accepted),
            (reached, attention),
            (over, accepted),
            (over, attention),
            (over, more),
            (more, accepted),
            (more, attention),
        ] {
            assert!(apart(one, other), "{one:?} {other:?}");
        }
    }

    #[test]
    fn tones_follow_each_other_and_are_where_old_ears_hear_them() {
        for rhythm in Cue::ALL.iter().filter_map(|cue| cue.rhythm()) {
            for pair in rhythm.tones.windows(2) {
                assert!(pair[0].start_s + pair[0].length_s < pair[1].start_s, "{rhythm:?}");
            }
            assert!(rhythm.tones.iter().all(|tone| (500.0..=2500.0).contains(&tone.hertz)));
            assert!(rhythm.length_s() < 0.8, "{rhythm:?}");
        }
    }
}
