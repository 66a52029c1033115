//! What to lay out the evening before: sockets, drives, holding tools, what stands between, new parts, what
//! goes on the threads, and values still to be looked up.

use crate::core::joint::Condition;
use crate::core::plan::{Expect, Plan, Step};
use serde::Serialize;
use std::fmt;

/// A thing and the joints that need it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Need {
    /// What.
    pub what: String,
    /// Names of the joints, in plan order.
    pub joints: Vec<String>,
}

/// Everything that a plan needs laid out. Each list is in plan order, each thing once.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Gathering {
    /// Sockets and bits.
    pub sockets: Vec<Need>,
    /// Squares that the sockets fit on.
    pub drives: Vec<Need>,
    /// What keeps the other side from turning.
    pub holding: Vec<Need>,
    /// Crowfoots, joints and extensions between adapter and fastener.
    pub between: Vec<Need>,
    /// New parts: what is bought for this job.
    pub new_parts: Vec<Need>,
    /// Parts that are used once, for which the plan names no new one.
    pub unnamed_parts: Vec<Need>,
    /// What goes on the threads.
    pub on_threads: Vec<Need>,
    /// What is put in and comes out again.
    pub put_in: Vec<Need>,
    /// Joints whose value is still to be looked up.
    pub to_look_up: Vec<String>,
    /// Joints that name no socket.
    pub no_socket: Vec<String>,
    /// Smallest and largest target, N·m: what the adapters must cover.
    pub range_nm: Option<(f64, f64)>,
}

/// What `plan` needs laid out.
#[must_use]
pub fn gather(plan: &Plan) -> Gathering {
    let mut all = Gathering::default();
    for step in &plan.steps {
        let rules = &step.rules;
        let name = &step.group;
        match &step.socket {
            Some(socket) => need(&mut all.sockets, socket, name),
            None if expects_tool(step) => all.no_socket.push(name.clone()),
            None => {}
        }
        if let Some(drive) = &rules.drive {
            need(&mut all.drives, drive, name);
        }
        if let Some(tool) = &rules.hold_with {
            need(&mut all.holding, tool, name);
        }
        for what in between(step) {
            need(&mut all.between, &what, name);
        }
        for part in &rules.new_parts {
            need(&mut all.new_parts, part, name);
        }
        if rules.new_parts.is_empty() {
            for part in &rules.single_use {
                need(&mut all.unnamed_parts, part, name);
            }
        }
        for what in on_threads(step) {
            need(&mut all.on_threads, &what, name);
        }
        if step.passes.iter().any(|pass| pass.expect == Expect::ToBeLookedUp) {
            all.to_look_up.push(name.clone());
        }
        for window in step.passes.iter().filter_map(|pass| match &pass.expect {
            Expect::Window(window) => Some(window),
            Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
        }) {
            let nm = window.target.nm();
            let (least, most) = all.range_nm.unwrap_or((nm, nm));
            all.range_nm = Some((least.min(nm), most.max(nm)));
        }
    }
    for item in &plan.around.temporary {
        need(&mut all.put_in, &item.text, &item.name);
    }
    all
}

/// True if a tool is put on it: a joint that is only said to be done may need none.
fn expects_tool(step: &Step) -> bool {
    step.passes.iter().any(|pass| !matches!(pass.expect, Expect::ByHand | Expect::NoFigure))
}

fn between(step: &Step) -> Vec<String> {
    let fixture = &step.rules.fixture;
    let mut found = Vec::new();
    if let Some(offset) = fixture.offset {
        let size = step.socket.as_ref().map_or(String::new(), |size| format!(" {size}"));
        found.push(format!(
            "crowfoot{size}, {} mm, set to {}°",
            offset.offset_mm, offset.angle_degrees
        ));
    }
    found.extend(fixture.universal.map(|_| "universal joint".to_owned()));
    found.extend(
        fixture
            .bars
            .iter()
            .map(|bar| format!("extension {} mm, {} mm thick", bar.length_mm, bar.diameter_mm)),
    );
    found
}

fn on_threads(step: &Step) -> Vec<String> {
    let rules = &step.rules;
    let locker = rules.locker.as_ref().map(|locker| match &locker.product {
        Some(product) => format!("thread locker: {product}"),
        None => "thread locker".to_owned(),
    });
    let other = match rules.lubrication {
        Some(Condition::ThreadLocker) if locker.is_none() => Some("thread locker".to_owned()),
        Some(condition @ (Condition::LightOil | Condition::Paste)) => Some(condition.to_string()),
        Some(Condition::Dry | Condition::AsSupplied | Condition::ThreadLocker) | None => None,
    };
    locker.into_iter().chain(other).collect()
}

fn need(list: &mut Vec<Need>, what: &str, joint: &str) {
    match list.iter_mut().find(|need| need.what == what) {
        Some(need) => need.joints.push(joint.to_owned()),
        None => list.push(Need { what: what.to_owned(), joints: vec![joint.to_owned()] }),
    }
}

/// For a person with a box to fill.
impl fmt::Display for Gathering {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let lists = [
            ("Sockets and bits", &self.sockets),
            ("Drives", &self.drives),
            ("To hold with", &self.holding),
            ("Between adapter and fastener", &self.between),
            ("New parts", &self.new_parts),
            ("Used once, no new part named", &self.unnamed_parts),
            ("On the threads", &self.on_threads),
            ("Put in for the time being", &self.put_in),
        ];
        let mut first = true;
        for (title, list) in lists.into_iter().filter(|(_, list)| !list.is_empty()) {
            if !std::mem::take(&mut first) {
                writeln!(f)?;
            }
            writeln!(f, "{title}")?;
            for need in list {
                writeln!(f, "   {}: {}", need.what, need.joints.join(", "))?;
            }
        }
        if let Some((least, most)) = self.range_nm {
            if !first {
                writeln!(f)?;
            }
            writeln!(f, "Adapters for {least:.1} to {most:.1} N·m")?;
        }
        for (title, list) in
            [("Still to be looked up", &self.to_look_up), ("No socket named", &self.no_socket)]
        {
            if !list.is_empty() {
                writeln!(f, "{title}: {}", list.join(", "))?;
            }
        }
        Ok(())
    }
}
