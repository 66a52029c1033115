//! A program of the system that speaks.

use crate::core::language::Language;
use crate::daemon::speaker::program;
use crate::daemon::speaker::work::Work;
use std::fmt;
use std::path::PathBuf;
use thiserror::Error;
use tokio::process::Command;

/// A program that speaks, and how it is told what.
struct Known {
    name: &'static str,
    /// What stands before the text. `LANGUAGE`, `PERCENT`, `INTENSITY` (from -100 to 100) and `SHARE` (up to 1) are
    /// replaced, in what is put to the text, too.
    arguments: &'static [&'static str],
    before: &'static str,
}

/// The best first.
const KNOWN: &[Known] = &[
    Known {
        name: "espeak-ng",
        arguments: &["-v", "LANGUAGE", "-s", "150", "-a", "PERCENT", "--"],
        before: "",
    },
    Known {
        name: "spd-say",
        arguments: &["--wait", "-l", "LANGUAGE", "-i", "INTENSITY", "--"],
        before: "",
    },
    Known { name: "say", arguments: &[], before: "[[volm SHARE]] " },
];

/// A voice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Voice {
    program: PathBuf,
    arguments: Vec<String>,
    before: String,
}

/// Nobody speaks.
#[derive(Debug, Error)]
pub enum SpeakerError {
    /// None of the known programs is there.
    #[error(
        "expected espeak-ng, spd-say or say on this machine, but found none; install one (on Debian: `apt install espeak-ng`), or name a command: --speak-with \"COMMAND\""
    )]
    NoProgram,
    /// The command has nothing in it.
    #[error(
        "expected a command that speaks its last argument, but found nothing; write it like --speak-with \"espeak-ng -v en\""
    )]
    Empty,
    /// The command's program is not there.
    #[error("expected a program named `{0}`, but found none; install it, or write its whole path")]
    NotFound(String),
}

impl Voice {
    /// The best voice of this machine, that loud, per cent.
    ///
    /// # Errors
    /// There is none.
    pub fn find(language: Language, volume: u8) -> Result<Self, SpeakerError> {
        let fill = |text: &str| {
            text.replace("LANGUAGE", language.code())
                .replace("PERCENT", &volume.to_string())
                .replace("INTENSITY", &(2 * i32::from(volume) - 100).to_string())
                .replace("SHARE", &format!("{:.2}", f64::from(volume) / 100.0))
        };
        let found = KNOWN.iter().find_map(|known| {
            let program = program(known.name)?;
            let arguments = known.arguments.iter().map(|one| fill(one)).collect();
            Some(Self { program, arguments, before: fill(known.before) })
        });
        found.ok_or(SpeakerError::NoProgram)
    }

    /// A voice of one's own: a program and its first arguments, divided by spaces; the text comes last.
    ///
    /// # Errors
    /// There is no such program.
    pub fn with(command: &str) -> Result<Self, SpeakerError> {
        let mut words = command.split_whitespace().map(str::to_owned);
        let name = words.next().ok_or(SpeakerError::Empty)?;
        let program = program(&name).ok_or(SpeakerError::NotFound(name))?;
        Ok(Self { program, arguments: words.collect(), before: String::new() })
    }

    /// Begins to say it.
    pub(super) fn say(&self, text: &str) -> Option<Work> {
        let mut command = Command::new(&self.program);
        command.args(&self.arguments).arg(format!("{}{text}", self.before));
        let begun = Work::begin(&mut command, None);
        begun.inspect_err(|error| tracing::warn!("{self} does not speak: {error}")).ok()
    }
}

impl fmt::Display for Voice {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.program.display().fmt(f)
    }
}
