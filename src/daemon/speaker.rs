//! The daemon's own voice: a program of the system that speaks.
//!
//! Guarantees: at most one prompt waits; nothing but what cuts in is said while a pull is on; what is over
//! silences whatever is being said, and waits for nothing. A voice that fails or complains is told of, once, and
//! stops nothing.
//!
//! Deliberately absent: what is said. That is the core's.

use crate::core::language::Language;
use crate::core::live::Live;
use crate::core::prompt::Waiting;
use std::env;
use std::path::PathBuf;
use std::process::Stdio;
use std::sync::Arc;
use std::time::Duration;
use thiserror::Error;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::process::{Child, Command};
use tokio::sync::watch;
use tokio::task::JoinHandle;
use tokio::time::timeout;

/// Programs that are looked for, the best first, with what stands before the text. `LANGUAGE` is replaced.
const KNOWN: &[(&str, &[&str])] = &[
    ("espeak-ng", &["-v", "LANGUAGE", "-s", "150", "--"]),
    ("spd-say", &["--wait", "-l", "LANGUAGE", "--"]),
    ("say", &[]),
];

/// How long a complaint of a voice that has ended may take to get here.
const LAST_WORDS: Duration = Duration::from_millis(200);

/// A voice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Speaker {
    program: PathBuf,
    arguments: Vec<String>,
    language: Language,
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

impl Speaker {
    /// The best voice of this machine.
    ///
    /// # Errors
    /// There is none.
    pub fn find(language: Language) -> Result<Self, SpeakerError> {
        let found = KNOWN.iter().find_map(|(name, arguments)| {
            let arguments = arguments.iter().map(|one| one.replace("LANGUAGE", language.code()));
            Some(Self { program: program(name)?, arguments: arguments.collect(), language })
        });
        found.ok_or(SpeakerError::NoProgram)
    }

    /// A voice of one's own: a program and its first arguments, divided by spaces; the text comes last.
    ///
    /// # Errors
    /// There is no such program.
    pub fn with(command: &str, language: Language) -> Result<Self, SpeakerError> {
        let mut words = command.split_whitespace().map(str::to_owned);
        let name = words.next().ok_or(SpeakerError::Empty)?;
        let program = program(&name).ok_or(SpeakerError::NotFound(name))?;
        Ok(Self { program, arguments: words.collect(), language })
    }

    /// The program that speaks.
    #[must_use]
    pub fn program(&self) -> &std::path::Path {
        &self.program
    }

    /// Speaks until nothing more can come.
    pub async fn run(self, mut live: watch::Receiver<Arc<Live>>) {
        let mut waiting = Waiting::default();
        let mut heard = live.borrow().prompts.last().map_or(0, |last| last.number);
        let mut speaking: Option<Speaking> = None;
        let mut has_complained = false;
        loop {
            let is_pulling = {
                let live = live.borrow_and_update();
                for prompt in live.prompts.iter().filter(|prompt| prompt.number > heard) {
                    if prompt.cue.is_spoken() {
                        waiting.offer(prompt.clone());
                    }
                }
                heard = live.prompts.last().map_or(heard, |last| last.number);
                live.is_pulling()
            };
            if waiting.is_over() {
                // Dropped, it is ended.
                speaking = None;
            }
            if speaking.is_none()
                && let Some(prompt) = waiting.take(is_pulling)
            {
                speaking = self.speak(prompt.words.in_language(self.language));
            }
            tokio::select! {
                changed = live.changed() => if changed.is_err() {
                    return;
                },
                complaint = ended(&mut speaking) => {
                    speaking = None;
                    if let Some(complaint) = complaint
                        && !std::mem::replace(&mut has_complained, true)
                    {
                        tracing::warn!(
                            "{} complains: {complaint}; perhaps nothing was heard",
                            self.program.display()
                        );
                    }
                }
            }
        }
    }

    fn speak(&self, text: &str) -> Option<Speaking> {
        let mut command = Command::new(&self.program);
        command.args(&self.arguments).arg(text).kill_on_drop(true);
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped());
        command
            .spawn()
            .map(Speaking::new)
            .inspect_err(|error| {
                tracing::warn!("{} does not speak: {error}", self.program.display());
            })
            .ok()
    }
}

/// A voice at work.
struct Speaking {
    child: Child,
    /// The last line that it complained with.
    complaint: JoinHandle<Option<String>>,
}

impl Speaking {
    fn new(mut child: Child) -> Self {
        let told = child.stderr.take();
        let complaint = tokio::spawn(async move {
            let mut lines = BufReader::new(told?).lines();
            let mut last = None;
            while let Ok(Some(line)) = lines.next_line().await {
                last = Some(line).filter(|line| !line.trim().is_empty()).or(last);
            }
            last
        });
        Self { child, complaint }
    }
}

/// Waits for its end, and gives what it complained of. A program without a sound card may well end as if all
/// were right.
async fn ended(speaking: &mut Option<Speaking>) -> Option<String> {
    let Some(Speaking { child, complaint }) = speaking else {
        return std::future::pending().await;
    };
    let status = match child.wait().await {
        Ok(status) => status,
        Err(error) => return Some(error.to_string()),
    };
    let told = timeout(LAST_WORDS, complaint).await.ok().and_then(Result::ok).flatten();
    told.or_else(|| (!status.success()).then(|| status.to_string()))
}

/// The program of that name or path.
fn program(name: &str) -> Option<PathBuf> {
    if name.contains(std::path::MAIN_SEPARATOR) {
        return Some(PathBuf::from(name)).filter(|path| path.is_file());
    }
    let folders = env::var_os("PATH")?;
    env::split_paths(&folders).map(|folder| folder.join(name)).find(|path| path.is_file())
}
