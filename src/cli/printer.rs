//! The only place that writes to standard output and standard error.
//!
//! Standard output is data, standard error is talk. Colour only on a terminal and never with
//! `NO_COLOR`; nothing is told by colour alone.
//!
//! What is said for people may hold words from outside, even from another screen: what would act on a terminal, or
//! hides or reorders, is shown as its code point. JSON and documents go out as they are.

use crate::report::visible::visible;
use serde::Serialize;
use std::fmt::Display;
use std::io::{self, IsTerminal, Write};

/// Where everything that is said goes.
#[derive(Debug, Clone, Copy)]
pub struct Printer {
    quiet: bool,
    colour_out: bool,
    colour_err: bool,
}

/// How a line of data sounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// As it should be.
    Good,
    /// Needs attention.
    Alarm,
    /// Neither.
    Plain,
}

impl Printer {
    /// A printer for this process. `quiet` keeps back talk, never data, warnings or errors.
    #[must_use]
    pub fn new(quiet: bool) -> Self {
        let wanted = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        Self {
            quiet,
            colour_out: wanted && io::stdout().is_terminal(),
            colour_err: wanted && io::stderr().is_terminal(),
        }
    }

    /// True if progress may be shown: somebody watches standard error and wants talk.
    #[must_use]
    pub fn shows_progress(self) -> bool {
        !self.quiet && io::stderr().is_terminal()
    }

    /// True if somebody reads the data in a terminal.
    #[must_use]
    pub fn is_watched(self) -> bool {
        io::stdout().is_terminal()
    }

    /// Help, in colour where that is wanted.
    pub fn styled(self, text: &clap::builder::StyledStr) -> io::Result<()> {
        let text = if self.colour_out { text.ansi().to_string() } else { text.to_string() };
        self.raw(text.as_bytes())
    }

    /// True if logs may be coloured.
    #[must_use]
    pub fn colours_logs(self) -> bool {
        self.colour_err
    }

    /// Where logs go.
    #[must_use]
    pub fn log_writer() -> fn() -> io::Stderr {
        io::stderr
    }

    /// One line of data.
    pub fn line(self, text: impl Display) -> io::Result<()> {
        self.toned(Tone::Plain, text)
    }

    /// One line of data, in a tone.
    pub fn toned(self, tone: Tone, text: impl Display) -> io::Result<()> {
        let text = visible(&text.to_string());
        let mut out = io::stdout().lock();
        let colour = match tone {
            _ if !self.colour_out => "",
            Tone::Good => "\x1b[32m",
            Tone::Alarm => "\x1b[1;31m",
            Tone::Plain => "",
        };
        if colour.is_empty() {
            writeln!(out, "{text}")?;
        } else {
            writeln!(out, "{colour}{text}\x1b[0m")?;
        }
        out.flush()
    }

    /// Data as it is, without a line end of ours.
    pub fn raw(self, bytes: &[u8]) -> io::Result<()> {
        let mut out = io::stdout().lock();
        out.write_all(bytes)?;
        out.flush()
    }

    /// Where more data goes than should be held at once.
    #[must_use]
    pub fn data(self) -> impl Write {
        io::stdout()
    }

    /// One JSON value on a line of its own.
    pub fn json<T: Serialize + ?Sized>(self, value: &T) -> io::Result<()> {
        let mut line = serde_json::to_vec(value).map_err(io::Error::other)?;
        line.push(b'\n');
        self.raw(&line)
    }

    /// Talk: progress, hints, what was done. Kept back when quiet.
    pub fn talk(self, text: impl Display) {
        if !self.quiet {
            self.say("", "", text);
        }
    }

    /// Something that the user should know although the work goes on.
    pub fn warning(self, text: impl Display) {
        self.say("warning: ", "\x1b[33m", text);
    }

    /// Why the work ended.
    pub fn error(self, text: impl Display) {
        self.say("error: ", "\x1b[1;31m", text);
    }

    /// One of several things that are wrong, already worded.
    pub fn plain_error(self, text: impl Display) {
        self.say("", "", text);
    }

    /// A question, however quiet: somebody waits to answer it on the same line.
    pub fn ask(self, text: impl Display) {
        let text = visible(&text.to_string());
        let mut err = io::stderr().lock();
        let _ = write!(err, "{text} ").and_then(|()| err.flush());
    }

    /// What the parser of the command line has to say: help, version or a usage error.
    pub fn usage(self, error: &clap::Error) -> io::Result<()> {
        let text = error.render();
        let coloured = if error.use_stderr() { self.colour_err } else { self.colour_out };
        let text = if coloured { text.ansi().to_string() } else { text.to_string() };
        if error.use_stderr() {
            io::stderr().lock().write_all(text.as_bytes())
        } else {
            self.raw(text.as_bytes())
        }
    }

    fn say(self, label: &str, colour: &str, text: impl Display) {
        let text = visible(&text.to_string());
        let mut err = io::stderr().lock();
        // If standard error is gone, there is nobody left to tell.
        let _ = if self.colour_err && !label.is_empty() {
            writeln!(err, "{colour}{label}\x1b[0m{text}")
        } else {
            writeln!(err, "{label}{text}")
        };
    }
}
