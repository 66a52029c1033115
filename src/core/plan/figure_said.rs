//! A figure that the operator measured by hand, read as the plan means it.

use crate::core::joint;
use crate::core::plan::conditions::grip_of;
use crate::core::plan::{Condition, FastenerId, Plan, StepIndex, Task, measure};
use crate::core::units::{StatedTorque, Torque};
use thiserror::Error;

/// A figure that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Figure {
    /// Of something noted as found.
    Found {
        /// Its place in the plan's list.
        index: usize,
        /// Millimetres; none for what is no length.
        mm: Option<f64>,
    },
    /// Of the grip of a prevailing-torque nut.
    Grip {
        /// Which.
        fastener: FastenerId,
        /// Its torque.
        torque: Torque,
    },
    /// Of the threads of a joint: what is on them.
    Threads {
        /// Which joint.
        step: StepIndex,
        /// What they are.
        found: joint::Condition,
    },
    /// Of a hold.
    Hold {
        /// Its place in the plan's holds.
        index: usize,
        /// Millimetres.
        mm: f64,
    },
}

/// Why a figure cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NoFigure {
    /// Nothing in the plan has this name.
    #[error(
        "expected the name of a hold, of something noted as found, of a nut's grip, or of a joint's threads, but found \"{0}\""
    )]
    UnknownName(String),
    /// It is no torque.
    #[error("expected a torque like `9 N·m` for {of}, but found \"{value}\"")]
    NoTorque {
        /// What it was to be of.
        of: String,
        /// What was said.
        value: String,
    },
    /// It is no condition of threads.
    #[error(
        "expected one of dry, as-supplied, light-oil, paste and thread-locker for {of}, but found \"{value}\""
    )]
    NoCondition {
        /// What it was to be of.
        of: String,
        /// What was said.
        value: String,
    },
    /// It is no length.
    #[error("expected a length like `512 mm` for {of}, but found \"{value}\"")]
    NoLength {
        /// What it was to be of.
        of: String,
        /// What was said.
        value: String,
    },
}

impl Plan {
    /// The names of all that a figure can be told of.
    pub fn figure_names(&self) -> impl Iterator<Item = String> + '_ {
        let holds = self.holds.iter().map(|known| known.name.clone());
        let facts = self.around.as_found.iter().map(|known| known.name.clone());
        let of_joints = self.condition_names().filter(|name| {
            grip_of(name).is_some()
                || matches!(
                    self.condition(name),
                    Some(Condition::Joint { task: Task::Threads, .. })
                )
        });
        holds.chain(facts).chain(of_joints)
    }

    /// Reads a figure that was said.
    ///
    /// # Errors
    /// Nothing in the plan is called so, or a length is asked and this is none.
    pub fn figure(&self, of: &str, value: &str) -> Result<Figure, NoFigure> {
        let length = || {
            let read = measure::millimetres(value).ok().filter(|mm| mm.is_finite() && *mm > 0.0);
            read.ok_or_else(|| NoFigure::NoLength { of: of.to_owned(), value: value.to_owned() })
        };
        if let Some(index) = self.around.as_found.iter().position(|fact| fact.name == of) {
            let is_length = self.around.as_found[index].within_mm.is_some();
            let mm = if is_length { Some(length()?) } else { None };
            return Ok(Figure::Found { index, mm });
        }
        if let Some(fastener) = grip_of(of).and_then(|name| self.fastener(name)) {
            let stated: Option<StatedTorque> = value.parse().ok();
            let torque = stated.map(|stated| stated.torque()).filter(|torque| torque.nm() >= 0.0);
            return match torque {
                Some(torque) => Ok(Figure::Grip { fastener, torque }),
                None => Err(NoFigure::NoTorque { of: of.to_owned(), value: value.to_owned() }),
            };
        }
        if let Some(Condition::Joint { task: Task::Threads, step, .. }) = self.condition(of) {
            let found = joint::Condition::ALL.into_iter().find(|one| one.is_called(value));
            return match found {
                Some(found) => Ok(Figure::Threads { step, found }),
                None => Err(NoFigure::NoCondition { of: of.to_owned(), value: value.to_owned() }),
            };
        }
        match self.holds.iter().position(|hold| hold.name == of) {
            Some(index) => Ok(Figure::Hold { index, mm: length()? }),
            None => Err(NoFigure::UnknownName(of.to_owned())),
        }
    }
}
