//! What the operator confirms of a job beside the holds of its pulls: that what is tight is secured, that a part
//! is new, that what was put in is out. A job is not whole before each of them is confirmed.

use crate::core::plan::{By, FastenerId, Plan, SecuredBy, Step, StepIndex, Turn, names};

/// How the names of checks of adapters begin.
const CHECKED: &str = "checked:";

/// How a nut's grip on its thread is called.
const GRIP: &str = "prevailing";

/// A condition of closing. Its name is a word and what it is about, `secured:toe-link/1`, so that it is never the
/// name of a hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Condition {
    /// Something about one fastener, or about every one of its group.
    Joint {
        /// What.
        task: Task,
        /// The group's step.
        step: StepIndex,
        /// The member, from 1; none for all of them.
        member: Option<u16>,
    },
    /// Something on one of the job's own lists.
    Item {
        /// Which list.
        list: List,
        /// Its place in that list.
        index: usize,
    },
}

/// What is confirmed of a fastener.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Task {
    /// Pin, stake, lock or wire is in place.
    Secured,
    /// It was turned by its angle, which no adapter told.
    Turned,
    /// A new part is in: where it is used once, or in place of one that is spent.
    Renewed,
    /// Its nut's grip on the thread is nothing to be added, or was told with its figure.
    Grip,
    /// Its threads are in the condition that its value is for.
    Threads,
    /// It was looked at after something that may have hurt it, and is sound: of each fastener by itself.
    Sound,
}

/// The lists of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum List {
    /// What the job opens that has no torque.
    Opened,
    /// What was put in for the time being.
    PutIn,
    /// What is done before the job is closed.
    Closing,
    /// What is noted before anything is opened. It keeps no job open: later it is too late.
    AsFound,
}

impl Task {
    const ALL: [Self; 6] =
        [Self::Secured, Self::Turned, Self::Renewed, Self::Grip, Self::Threads, Self::Sound];

    const fn word(self) -> &'static str {
        match self {
            Self::Secured => "secured",
            Self::Turned => "turned",
            Self::Renewed => "new",
            Self::Grip => GRIP,
            Self::Threads => "threads",
            Self::Sound => "sound",
        }
    }

    /// True if one word may answer for a whole group.
    const fn has_one_answer(self) -> bool {
        !matches!(self, Self::Sound)
    }
}

impl List {
    const ALL: [Self; 4] = [Self::Opened, Self::PutIn, Self::Closing, Self::AsFound];

    const fn word(self) -> &'static str {
        match self {
            Self::Opened => "closed",
            Self::PutIn => "out",
            Self::Closing => "done",
            Self::AsFound => "noted",
        }
    }
}

impl Condition {
    /// The condition about one fastener.
    #[must_use]
    pub const fn of(task: Task, id: FastenerId) -> Self {
        Self::Joint { task, step: id.step, member: Some(id.member) }
    }

    /// The same of every fastener of the group.
    #[must_use]
    pub const fn of_group(self) -> Option<Self> {
        match self {
            Self::Joint { task, step, .. } => Some(Self::Joint { task, step, member: None }),
            Self::Item { .. } => None,
        }
    }
}

impl Plan {
    /// Everything of the job's own lists that must be confirmed, in the order of the file. What others do after the
    /// job keeps nothing open.
    pub fn items(&self) -> impl Iterator<Item = Condition> + '_ {
        let item = |list, index| Condition::Item { list, index };
        let opened = (0..self.around.opened.len()).map(move |index| item(List::Opened, index));
        let put_in = (0..self.around.temporary.len()).map(move |index| item(List::PutIn, index));
        let closing = self.around.closing.iter().enumerate();
        let ours = closing.filter(|(_, closing)| closing.by == By::Us);
        opened.chain(put_in).chain(ours.map(move |(index, _)| item(List::Closing, index)))
    }

    /// What is noted before anything is opened, in the order of the file.
    pub fn as_found(&self) -> impl Iterator<Item = Condition> + '_ {
        let item = |index| Condition::Item { list: List::AsFound, index };
        (0..self.around.as_found.len()).map(item)
    }

    /// True if something that was also opened may be called so: a name as the plan has them, and none of its own.
    #[must_use]
    pub fn is_new_name(&self, name: &str) -> bool {
        names::check(name).is_ok() && self.condition(&also_name(name)).is_none()
    }

    /// The names of all that may have to be confirmed, of whole groups and of each fastener.
    pub fn condition_names(&self) -> impl Iterator<Item = String> + '_ {
        let groups = self.steps.iter().enumerate().filter(|(_, step)| step.members > 1);
        let groups = groups.flat_map(move |(index, step)| {
            let tasks = Task::ALL.into_iter().filter(|task| task.has_one_answer());
            let tasks = tasks.filter(move |task| asked(step, *task));
            let group = move |task| Condition::Joint { task, step: StepIndex(index), member: None };
            tasks.map(move |task| self.condition_name(group(task)))
        });
        let of = move |id: FastenerId| {
            let its = move |task: &Task| asked(self.step(id.step), *task);
            let tasks = Task::ALL.into_iter().filter(its);
            tasks.map(move |task| self.condition_name(Condition::of(task, id)))
        };
        let items = self.items().chain(self.as_found());
        groups
            .chain(self.fasteners().flat_map(of))
            .chain(items.map(move |item| self.condition_name(item)))
    }

    /// The condition of that name. A group's name alone is all of its fasteners.
    #[must_use]
    pub fn condition(&self, name: &str) -> Option<Condition> {
        let (word, about) = name.split_once(':')?;
        if let Some(list) = List::ALL.into_iter().find(|list| list.word() == word) {
            let mut known = self
                .items()
                .chain(self.as_found())
                .filter(|one| matches!(one, Condition::Item { list: its, .. } if *its == list));
            let named = |one: &Condition| self.condition_name(*one) == name;
            return known.find(named);
        }
        let task = Task::ALL.into_iter().find(|task| task.word() == word)?;
        if let Some(id) = self.fastener(about) {
            return asked(self.step(id.step), task).then(|| Condition::of(task, id));
        }
        let step = self.steps.iter().position(|step| step.group == about)?;
        let one_answer = task.has_one_answer() || self.steps[step].members == 1;
        (one_answer && asked(&self.steps[step], task)).then_some(Condition::Joint {
            task,
            step: StepIndex(step),
            member: None,
        })
    }

    /// The name by which it is confirmed.
    #[must_use]
    pub fn condition_name(&self, condition: Condition) -> String {
        match condition {
            Condition::Joint { task, step, member: Some(member) } => {
                format!("{}:{}", task.word(), self.fastener_name(FastenerId { step, member }))
            }
            Condition::Joint { task, step, member: None } => {
                format!("{}:{}", task.word(), self.step(step).group)
            }
            Condition::Item { list, index } => {
                let name = match list {
                    List::Opened => &self.around.opened[index].name,
                    List::PutIn => &self.around.temporary[index].name,
                    List::Closing => &self.around.closing[index].name,
                    List::AsFound => &self.around.as_found[index].name,
                };
                format!("{}:{name}", list.word())
            }
        }
    }

    /// What the operator is asked.
    #[must_use]
    pub fn condition_text(&self, condition: Condition) -> String {
        let (task, step, member) = match condition {
            Condition::Joint { task, step, member } => (task, step, member),
            Condition::Item { list: List::Opened, index } => {
                return format!("{}: closed again?", self.around.opened[index].text);
            }
            Condition::Item { list: List::PutIn, index } => {
                return format!("{}: out again?", self.around.temporary[index].text);
            }
            Condition::Item { list: List::Closing, index } => {
                return self.around.closing[index].text.clone();
            }
            Condition::Item { list: List::AsFound, index } => {
                let fact = &self.around.as_found[index];
                return match fact.within_mm {
                    Some(_) => format!("{} Told (`figure {} \"512 mm\"`)?", fact.text, fact.name),
                    None => format!("{} Noted?", fact.text),
                };
            }
        };
        let its = self.step(step);
        let name = match member.filter(|_| its.members > 1) {
            Some(member) => self.fastener_name(FastenerId { step, member }),
            None => its.group.clone(),
        };
        match task {
            Task::Secured => {
                let question = its.rules.secures().map_or("Secured?", SecuredBy::question);
                let forward = match its.goes_forward_only() {
                    true => "on to the next slot, never back. ",
                    false => "",
                };
                format!("{name}: {forward}{question}")
            }
            Task::Turned => {
                let angles: Vec<String> =
                    its.angles().map(|degrees| format!("{degrees}°")).collect();
                format!("{name}: turned by {} after its torque?", angles.join(" and "))
            }
            Task::Grip => {
                format!(
                    "{name}: prevailing torque told (`figure {GRIP}:{name} \"9 N·m\"`), or none to add?"
                )
            }
            Task::Threads => {
                let question =
                    its.rules.lubrication.map_or("Threads as asked?", |it| it.question());
                format!("{name}: {question}")
            }
            Task::Sound => {
                format!("{name}: slackened, thread and seat looked at, and sound?")
            }
            Task::Renewed => match (its.rules.single_use.first(), its.rules.new_parts.as_slice()) {
                (Some(part), _) => format!("{name}: new {part} fitted?"),
                (None, []) => format!("{name}: new part fitted?"),
                (None, parts) => format!("{name}: new parts fitted ({})?", parts.join(", ")),
            },
        }
    }
}

impl Step {
    /// True if it is tightened forward to a slot and never turned back: a castle nut that adjusts no bearing.
    #[must_use]
    pub fn goes_forward_only(&self) -> bool {
        self.rules.castle.is_some() && self.back_off().is_none()
    }

    /// The pass that backs off.
    #[must_use]
    pub fn back_off(&self) -> Option<usize> {
        self.passes.iter().position(|pass| matches!(pass.turn, Some(Turn::BackOff { .. })))
    }

    /// By how much it is turned on after its torque, stage by stage, degrees.
    pub fn angles(&self) -> impl Iterator<Item = f64> + '_ {
        self.passes.iter().filter_map(|pass| match pass.turn {
            Some(Turn::Angle { degrees }) => Some(degrees),
            Some(Turn::BackOff { .. }) | None => None,
        })
    }
}

/// The name by which it is confirmed that something the plan does not name is closed again.
#[must_use]
pub fn also_name(opened: &str) -> String {
    format!("{}:{opened}", List::Opened.word())
}

/// What is asked then.
#[must_use]
pub fn also_text(opened: &str) -> String {
    format!("{}: closed again?", opened.replace('-', " "))
}

/// What is closed again by this name.
#[must_use]
pub fn closed_name(name: &str) -> Option<&str> {
    name.strip_prefix(List::Opened.word())?.strip_prefix(':')
}

/// The name by which it is confirmed that an adapter is right again after it was overloaded.
#[must_use]
pub fn check_name(adapter: &str) -> String {
    format!("{CHECKED}{adapter}")
}

/// What is asked then.
#[must_use]
pub fn check_text(adapter: &str) -> String {
    format!("Adapter {adapter}: zero right, and the same as a known torque?")
}

/// The adapter whose check has this name.
#[must_use]
pub fn checked_adapter(name: &str) -> Option<&str> {
    name.strip_prefix(CHECKED)
}

/// True if the plan lets this be asked of a joint.
fn asked(step: &Step, task: Task) -> bool {
    match task {
        Task::Secured => step.rules.secures().is_some(),
        Task::Turned => step.angles().next().is_some(),
        Task::Renewed => true,
        Task::Grip => step.rules.adds_grip(),
        Task::Threads => step.rules.lubrication.is_some(),
        Task::Sound => step.life_critical,
    }
}

/// The fastener whose grip is called so.
pub(super) fn grip_of(name: &str) -> Option<&str> {
    name.strip_prefix(GRIP)?.strip_prefix(':')
}
