//! What a joint asks beside its torque: parts, tools, condition, and what comes after.

use crate::core::decision::Rule;
use crate::core::fixture::{Bar, Effect, NotVerifiable, Offset, UniversalJoint};
use crate::core::joint::{Condition, Grade, Seat, SlotPitch, Thread};
use crate::core::plan::Interval;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What a plan says of a joint beside its torque. Nothing in it where the plan says nothing.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Rules {
    /// The thread, if the plan names one that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thread: Option<Thread>,
    /// The strength of the bolt, if it is one that is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grade: Option<Grade>,
    /// What it bears on.
    #[serde(skip_serializing_if = "is_default")]
    pub seat: Seat,
    /// What sort of joint it is.
    #[serde(skip_serializing_if = "is_default")]
    pub kind: Kind,
    /// The condition of the threads that the value was published for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lubrication: Option<Condition>,
    /// No impact tool.
    #[serde(skip_serializing_if = "is_default")]
    pub by_hand_only: bool,
    /// The square of the socket, as written: `1/2"`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drive: Option<String>,
    /// What keeps the other side from turning: a key in the stud, a spanner on the head.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hold_with: Option<String>,
    /// Which side is turned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turned: Option<Turned>,
    /// Whether the adapter gets there.
    #[serde(skip_serializing_if = "is_default")]
    pub access: Access,
    /// What stands between adapter and fastener.
    #[serde(skip_serializing_if = "is_default")]
    pub fixture: Fixture,
    /// A castle nut, and how far it is from slot to slot. It goes forward to the next slot, never back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub castle: Option<SlotPitch>,
    /// A nut that grips its thread.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub prevailing: Option<Prevailing>,
    /// Thread locker goes on.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub locker: Option<Locker>,
    /// Parts that are used once.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub single_use: Vec<String>,
    /// Parts that are bought for this joint.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub new_parts: Vec<String>,
    /// What secures it once it is tight.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub secured_by: Option<SecuredBy>,
    /// When and how it is checked again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub recheck: Option<Recheck>,
    /// How its verdicts are reached.
    #[serde(skip_serializing_if = "is_default")]
    pub acceptance: Rule,
}

/// What sort of joint: what its torque is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Parts are clamped together.
    #[default]
    Clamp,
    /// A wheel on its hub.
    Wheel,
    /// A pivot or a ball joint: a small torque may be right.
    Pivot,
    /// A bearing is adjusted.
    Bearing,
    /// A plug or a drain.
    Plug,
    /// A sensor.
    Sensor,
    /// Into plastic.
    Plastic,
    /// The bolt is meant to yield.
    TorqueToYield,
}

/// Which side of a joint is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Turned {
    /// The nut.
    Nut,
    /// The head of the bolt.
    Head,
}

/// Whether adapter and socket get to the fastener.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, JsonSchema, ToSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Access {
    /// They do.
    #[default]
    Fits,
    /// The stack of adapter and socket is too long.
    TooLong,
    /// The key that holds the stud stands where the socket would.
    KeyInTheWay,
}

/// What stands between adapter and fastener.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Fixture {
    /// A crowfoot or another offset.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset: Option<Offset>,
    /// A universal joint.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub universal: Option<UniversalJoint>,
    /// Extension bars.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub bars: Vec<Bar>,
}

/// How a prevailing torque is reckoned with. Authorities differ, so a plan says.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Prevailing {
    /// Whether it is added to the published value.
    pub mode: PrevailingMode,
    /// Whether the nut may be used again.
    pub reuse: Reuse,
}

/// What is done with a measured prevailing torque.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PrevailingMode {
    /// The published value has it in already.
    #[default]
    AsPublished,
    /// It is measured and added.
    AddMeasured,
    /// It is measured, and added if it is at least a third of the published value.
    AddIfAThird,
}

/// Whether a prevailing-torque nut may be used again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Reuse {
    /// Once only.
    #[default]
    Single,
    /// As long as it still grips.
    Limited,
    /// Without limit.
    Unlimited,
}

/// Thread locker.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Locker {
    /// Which, as written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<String>,
    /// Minutes from putting it on within which the joint may still be pulled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub working_minutes: Option<f64>,
}

/// What keeps a tight joint tight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SecuredBy {
    /// A split pin, legs bent.
    Pin,
    /// The collar is staked into the groove.
    Stake,
    /// A lock plate, tab or cage.
    Lock,
    /// Wire.
    Wire,
}

/// A later look at a joint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Recheck {
    /// How.
    pub method: RecheckMethod,
    /// When, in the author's words: `cold, after 80 km`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub when: Option<String>,
    /// The distance and the time in those words.
    #[serde(default, skip_serializing_if = "Interval::is_none")]
    pub after: Interval,
}

/// How a joint is checked again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RecheckMethod {
    /// Brought to its torque without slackening.
    #[default]
    PullToTorque,
    /// Slackened first.
    BackOffAndPull,
    /// Not at all.
    None,
}

impl Rules {
    /// True if the plan says nothing.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        *self == Self::default()
    }

    /// What must be in place once it is tight: what the plan says, and a pin in every castle nut.
    #[must_use]
    pub fn secures(&self) -> Option<SecuredBy> {
        self.secured_by.or(self.castle.map(|_| SecuredBy::Pin))
    }

    /// True if what its nut grips the thread with may have to be added to the torque.
    #[must_use]
    pub fn adds_grip(&self) -> bool {
        self.prevailing.is_some_and(|nut| nut.mode != PrevailingMode::AsPublished)
    }

    /// True if it has a part that must not be tightened a second time.
    #[must_use]
    pub fn is_used_once(&self) -> bool {
        let nut = self.prevailing.is_some_and(|nut| nut.reuse == Reuse::Single);
        nut || !self.single_use.is_empty() || self.kind == Kind::TorqueToYield
    }
}

impl Fixture {
    /// What it does to a reading.
    ///
    /// # Errors
    /// A pull with it proves nothing about the torque at the fastener.
    pub fn effect(&self) -> Result<Effect, NotVerifiable> {
        let offset = self.offset.map_or(Ok(Effect::NONE), |offset| offset.effect())?;
        let bent = self.universal.map_or(Ok(Effect::NONE), UniversalJoint::effect)?;
        Ok(offset.and(bent))
    }
}

impl SecuredBy {
    /// What the operator is asked.
    #[must_use]
    pub const fn question(self) -> &'static str {
        match self {
            Self::Pin => "Pin in, legs bent?",
            Self::Stake => "Collar staked into the groove?",
            Self::Lock => "Lock in place, tabs bent?",
            Self::Wire => "Wired, pulling tight?",
        }
    }
}

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}
