//! What the operator says.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What the operator said, and by what means.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    /// What was said.
    pub say: Say,
    /// By what means.
    pub origin: Origin,
}

/// What the operator can say. Names are the plan's own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "say", rename_all = "kebab-case")]
pub enum Say {
    /// I am at this fastener now.
    At {
        /// `group/member`.
        fastener: String,
    },
    /// This hold's condition is met.
    Confirm {
        /// The hold's name.
        hold: String,
        /// Why it holds now, where the opposite was told before.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        because: Option<String>,
    },
    /// This fastener was done without the adapter.
    Stated {
        /// `group/member`.
        fastener: String,
    },
    /// This fastener was opened or slackened.
    Opened {
        /// `group/member`.
        fastener: String,
    },
    /// Something that the plan does not name was opened, too: it must be closed again.
    AlsoOpened {
        /// A name of lower-case letters, digits and hyphens, `brake-hose-clip`.
        name: String,
    },
    /// This fastener stayed below its torque.
    Low {
        /// `group/member`.
        fastener: String,
    },
    /// A part of this fastener is spoiled: it needs a new one.
    Spoiled {
        /// `group/member`.
        fastener: String,
    },
    /// A figure that was measured by hand. Of something noted as found it is kept; of a hold it is held against
    /// what was found, and confirms the hold if it fits.
    Figure {
        /// What it is of: the name of a hold, or of something to be noted as found.
        of: String,
        /// The figure with its unit, `512 mm`.
        value: String,
    },
    /// This fastener is left out on purpose.
    Skip {
        /// `group/member`.
        fastener: String,
        /// Why.
        reason: String,
    },
    /// Takes back the last mark, or the last reading's assignment.
    Retract,
    /// A note for the record.
    Note {
        /// The text.
        text: String,
    },
}

/// By what means the operator spoke.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Origin {
    /// The command line.
    CommandLine,
    /// The page.
    Page,
    /// The adapter's button.
    Button,
    /// A recording.
    Recording,
    /// Typed among values, by a person or a device that poses as a keyboard.
    Typed,
    /// A foot pedal: one that the page was taught, or one that runs a command.
    Pedal,
}
