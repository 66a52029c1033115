//! How a verb ends, and the exit status that says so.

use crate::cli::put;
use std::error::Error;
use std::fmt;
use std::io;
use std::process::ExitCode;

/// A verb did what it was asked to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// Nothing more to say: status 0.
    Fine,
    /// Something of the plan is left open: status 3.
    LeftOpen,
}

/// A verb could not do what it was asked to.
#[derive(Debug)]
pub enum Failure {
    /// What was typed or given cannot be used: status 2.
    Input(String),
    /// As [`Failure::Input`], and everything has been said already.
    InputReported,
    /// It went wrong: status 1.
    Failed(String),
    /// A job cannot be closed, because something is open: status 3.
    StillOpen(String),
    /// Whoever read our output has gone: status 0, nothing to say.
    PipeClosed,
}

impl Failure {
    /// Unusable input: what was being done, and the chain of causes.
    pub fn input(context: impl fmt::Display, cause: &dyn Error) -> Self {
        Self::Input(chain(context, cause))
    }

    /// A failure: what was being done, and the chain of causes.
    pub fn failed(context: impl fmt::Display, cause: &dyn Error) -> Self {
        Self::Failed(chain(context, cause))
    }

    /// The words for a person; none if there is nothing to say.
    #[must_use]
    pub fn message(&self) -> Option<&str> {
        match self {
            Self::Input(message) | Self::Failed(message) | Self::StillOpen(message) => {
                Some(message)
            }
            Self::InputReported | Self::PipeClosed => None,
        }
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::PipeClosed
        } else {
            Self::Failed(format!(
                "expected to write the output, but found: {error}; {}",
                put::helps(&error)
            ))
        }
    }
}

/// The exit status of a verb that ended so.
#[must_use]
pub fn exit_code(result: &Result<Done, Failure>) -> ExitCode {
    ExitCode::from(match result {
        Ok(Done::Fine) | Err(Failure::PipeClosed) => 0,
        Err(Failure::Failed(_)) => 1,
        Err(Failure::Input(_) | Failure::InputReported) => 2,
        Ok(Done::LeftOpen) | Err(Failure::StillOpen(_)) => 3,
    })
}

fn chain(context: impl fmt::Display, cause: &dyn Error) -> String {
    let mut text = format!("{context}: {cause}");
    let mut next = cause.source();
    while let Some(cause) = next {
        let cause_text = cause.to_string();
        if !text.ends_with(&cause_text) {
            text.push_str(": ");
            text.push_str(&cause_text);
        }
        next = cause.source();
    }
    text
}
