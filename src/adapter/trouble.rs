//! What can go wrong with a source, in words for the operator.

use std::fmt;

/// What went wrong, what it means, and what to do next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// What kind.
    pub class: TroubleClass,
    /// The adapter concerned, as far as it is known: serial, name or address.
    pub adapter: Option<String>,
    /// What happened.
    pub message: String,
    /// What the operator can do; empty if nothing is needed.
    pub next_step: String,
}

/// Kinds of [`Trouble`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TroubleClass {
    /// The computer has no usable Bluetooth controller, or the one chosen is absent.
    NoController,
    /// The controller is switched off. It is never switched on behind the operator's back.
    ControllerOff,
    /// The adapter is not heard.
    NotHeard,
    /// The link could not be made or kept; it is tried again.
    LinkFailed,
    /// The adapter asks for an encrypted, bonded link and there is no bond.
    NeedsPairing,
    /// Another adapter answered than the one that was asked for.
    WrongAdapter,
    /// The adapter speaks a protocol that this program does not.
    Unsupported,
    /// The table of services is empty or does not fit: an old copy may be remembered.
    StaleTable,
    /// The adapter sent something that breaks its own protocol; it was kept aside.
    BadData,
    /// Readings arrive faster than they are taken.
    Backlog,
    /// A line of a recording cannot be used.
    Recording,
    /// Something worth knowing, nothing wrong.
    Note,
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(adapter) = &self.adapter {
            write!(f, "adapter {adapter}: ")?;
        }
        f.write_str(&self.message)?;
        if !self.next_step.is_empty() {
            write!(f, "; {}", self.next_step)?;
        }
        Ok(())
    }
}
