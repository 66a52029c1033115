//! Rhythms on the computer's own speaker: small files that are made once, played by a program of the system.

use crate::core::prompt::{Cue, Rhythm};
use crate::daemon::speaker::program;
use crate::daemon::speaker::work::Work;
use etcetera::BaseStrategy;
use hound::{SampleFormat, WavSpec, WavWriter};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::TempDir;
use thiserror::Error;
use tokio::process::Command;

/// Programs that play a file, the best first, with what stands before its name.
const KNOWN: &[(&str, &[&str])] =
    &[("pw-play", &[]), ("paplay", &[]), ("aplay", &["-q"]), ("afplay", &[])];

const RATE_HZ: u32 = 22_050;
/// How far a tone at its loudest goes, of what a sample can hold.
const FULL: f64 = 0.6;
/// Edges that are not steep do not click, seconds.
const EDGE_S: f64 = 0.01;
/// A player that has not ended by then hangs; nothing waits for it.
const PATIENCE: Duration = Duration::from_secs(6);

/// There are no rhythms.
#[derive(Debug, Error)]
pub enum PlayerError {
    /// None of the known programs is there.
    #[error(
        "expected pw-play, paplay, aplay or afplay on this machine to play rhythms, but found none; install one (on Debian: `apt install alsa-utils`)"
    )]
    NoProgram,
    /// The rhythms cannot be written.
    #[error("expected to write the rhythms beside other files of this session, but found: {0}")]
    NotWritten(#[from] hound::Error),
}

/// Plays rhythms.
pub struct Player {
    /// Those that were found; the first is the one that plays.
    programs: Vec<(PathBuf, &'static [&'static str])>,
    /// The rhythms, as long as somebody may play them.
    files: TempDir,
}

impl Player {
    /// The players of this machine, that loud, per cent.
    ///
    /// # Errors
    /// There is none, or the rhythms cannot be written.
    pub fn find(volume: u8) -> Result<Self, PlayerError> {
        let found = KNOWN.iter().filter_map(|(name, arguments)| Some((program(name)?, *arguments)));
        Self::of(found.collect(), volume)
    }

    /// That program, which is given the file.
    ///
    /// # Errors
    /// The rhythms cannot be written.
    pub fn with(program: &Path, volume: u8) -> Result<Self, PlayerError> {
        Self::of(vec![(program.to_owned(), &[])], volume)
    }

    fn of(
        programs: Vec<(PathBuf, &'static [&'static str])>,
        volume: u8,
    ) -> Result<Self, PlayerError> {
        if programs.is_empty() {
            return Err(PlayerError::NoProgram);
        }
        let files = folder().map_err(hound::Error::from)?;
        for (cue, rhythm) in Cue::ALL.iter().filter_map(|cue| Some((*cue, cue.rhythm()?))) {
            write(&file(files.path(), cue), &rhythm, f64::from(volume) / 100.0)?;
        }
        Ok(Self { programs, files })
    }

    /// Begins to play the rhythm of a cue, if it has one.
    pub(super) fn play(&mut self, cue: Cue) -> Option<Work> {
        cue.rhythm()?;
        loop {
            let (program, arguments) = self.programs.first()?;
            let mut command = Command::new(program);
            command.args(*arguments).arg(file(self.files.path(), cue));
            match Work::begin(&mut command, Some(PATIENCE)) {
                Ok(work) => return Some(work),
                Err(error) => {
                    let failed = program.clone();
                    self.give_way(&failed, &error.to_string());
                }
            }
        }
    }

    /// Leaves the rhythms to the next player, because this one failed; unless that has happened already.
    pub(super) fn give_way(&mut self, failed: &Path, why: &str) {
        if self.programs.first().is_none_or(|(first, _)| first != failed) {
            return;
        }
        self.programs.remove(0);
        let then = match self.programs.first() {
            Some((next, _)) => format!("{} is tried next", next.display()),
            None => "words alone from now on".to_owned(),
        };
        tracing::warn!("{} plays no rhythm: {why}; {then}", failed.display());
    }
}

/// A folder that goes when the daemon does, where the system keeps what a session needs: in memory, if it can.
fn folder() -> std::io::Result<TempDir> {
    let runtime = etcetera::choose_base_strategy().ok().and_then(|strategy| strategy.runtime_dir());
    let mut builder = tempfile::Builder::new();
    builder.prefix("clampbook-rhythms-");
    match runtime.filter(|folder| folder.is_dir()) {
        Some(runtime) => builder.tempdir_in(runtime),
        None => builder.tempdir(),
    }
}

fn file(folder: &Path, cue: Cue) -> PathBuf {
    folder.join(match cue {
        Cue::Next => "next.wav",
        Cue::Accepted => "accepted.wav",
        Cue::More => "more.wav",
        Cue::Reached => "reached.wav",
        Cue::Attention => "attention.wav",
        Cue::Over => "over.wav",
    })
}

fn write(path: &Path, rhythm: &Rhythm, volume: f64) -> Result<(), hound::Error> {
    let spec = WavSpec {
        channels: 1,
        sample_rate: RATE_HZ,
        bits_per_sample: 16,
        sample_format: SampleFormat::Int,
    };
    let mut file = WavWriter::create(path, spec)?;
    let rate = f64::from(RATE_HZ);
    for index in 0..(rhythm.length_s() * rate).ceil() as u32 {
        let share = level(rhythm, f64::from(index) / rate) * volume;
        file.write_sample((share * f64::from(i16::MAX)) as i16)?;
    }
    file.finalize()
}

/// How far the sound goes at a moment, from -1 to 1: square waves, which a small speaker gives best.
fn level(rhythm: &Rhythm, at_s: f64) -> f64 {
    let sounds = |start_s: f64, length_s: f64| (start_s..start_s + length_s).contains(&at_s);
    let Some(tone) = rhythm.tones.iter().find(|tone| sounds(tone.start_s, tone.length_s)) else {
        return 0.0;
    };
    let within_s = at_s - tone.start_s;
    let edge = within_s.min(tone.length_s - within_s) / EDGE_S;
    let sign = if (within_s * tone.hertz).fract() < 0.5 { 1.0 } else { -1.0 };
    sign * edge.min(1.0) * FULL * rhythm.loudness
}

#[cfg(test)]
mod tests {
    use super::{Player, RATE_HZ, file};
    use crate::core::prompt::Cue;
    use hound::WavReader;
    use std::path::Path;

    #[test]
    fn files_sound_as_the_table_says_and_as_loud_as_asked() {
        let peak = |volume| {
            let player = Player::with(Path::new("/bin/true"), volume).unwrap();
            let mut loudest = Vec::new();
            for cue in Cue::ALL {
                let path = file(player.files.path(), cue);
                let Some(rhythm) = cue.rhythm() else {
                    assert!(!path.exists(), "{cue:?}");
                    continue;
                };
                let mut sound = WavReader::open(path).unwrap();
                let samples: Vec<i16> = sound.samples().map(Result::unwrap).collect();
                let length_s = samples.len() as f64 / f64::from(RATE_HZ);
                assert!((length_s - rhythm.length_s()).abs() < 0.001, "{cue:?} {length_s}");
                let at = |at_s: f64| samples[(at_s * f64::from(RATE_HZ)) as usize];
                for pair in rhythm.tones.windows(2) {
                    let gap = f64::midpoint(pair[0].start_s + pair[0].length_s, pair[1].start_s);
                    assert_eq!(at(gap), 0, "{cue:?} is quiet between its tones");
                }
                let turns = |from_s: f64, to_s: f64| {
                    let index = |at_s: f64| (at_s * f64::from(RATE_HZ)) as usize;
                    let part = &samples[index(from_s)..index(to_s).min(samples.len())];
                    part.windows(2).filter(|pair| pair[0] > 0 && pair[1] < 0).count() as f64
                };
                for tone in rhythm.tones {
                    let heard = turns(tone.start_s, tone.start_s + tone.length_s);
                    assert!((heard - tone.hertz * tone.length_s).abs() <= 1.5, "{cue:?} {heard}");
                }
                loudest.push(samples.iter().map(|one| one.unsigned_abs()).max().unwrap());
            }
            loudest
        };
        let (full, half) = (peak(100), peak(50));
        assert_eq!(full.len(), 5);
        for (full, half) in full.iter().zip(&half) {
            assert!((f64::from(*full) / f64::from(*half) - 2.0).abs() < 0.01, "{full} {half}");
        }
        // "More" is soft, beside "accepted".
        assert!(full[1] * 2 < full[0], "{full:?}");
    }
}
