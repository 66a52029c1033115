//! What must be finished before what: `after`, and the circles in it.

use crate::core::plan::fault::{Code, Complaint, Faults, short};
use crate::core::plan::joint::Joint;
use crate::core::plan::section::Located;
use crate::core::plan::{Step, StepIndex, names};

/// The ends of the names of a joint with `sides = true`.
const SIDES: [&str; 2] = ["-left", "-right"];

/// The most steps in a plan.
pub(super) const MOST_STEPS: usize = 500;

/// A step with the joint it was made from.
struct Node {
    step: Step,
    joint: String,
    side: Option<&'static str>,
    at: usize,
    after: Vec<Located<String>>,
}

/// Makes steps of joints, each with the place of its name: both sides of those that have two, and every `after` an index.
/// `unread` are the names of joints that had faults of their own.
pub(super) fn link(
    joints: Vec<Joint>,
    unread: &[String],
    in_order: bool,
    faults: &mut Faults<'_>,
) -> Vec<(Step, usize)> {
    let mut nodes: Vec<Node> = joints.into_iter().flat_map(expand).collect();
    check_names(&nodes, faults);
    let edges: Vec<Vec<(usize, usize)>> = nodes
        .iter()
        .enumerate()
        .map(|(index, node)| resolve(index, node, &nodes, unread, in_order, faults))
        .collect();
    check_circles(&nodes, &edges, faults);
    for (node, edges) in nodes.iter_mut().zip(edges) {
        node.step.after = edges.into_iter().map(|(to, _)| StepIndex(to)).collect();
    }
    nodes.into_iter().map(|node| (node.step, node.at)).collect()
}

fn expand(joint: Joint) -> Vec<Node> {
    let Joint { step, at, after, sides, .. } = joint;
    let node = |side: Option<&'static str>| {
        let mut step = step.clone();
        let joint = step.group.clone();
        if let Some(side) = side {
            step.group.push_str(side);
            if let Some(title) = &mut step.title {
                title.push_str(if side == SIDES[0] { ", left" } else { ", right" });
            }
        }
        Node { step, joint, side, at, after: after.clone() }
    };
    if sides { SIDES.into_iter().map(|side| node(Some(side))).collect() } else { vec![node(None)] }
}

fn check_names(nodes: &[Node], faults: &mut Faults<'_>) {
    for (index, node) in nodes.iter().enumerate() {
        if nodes[..index].iter().any(|other| other.step.group == node.step.group) {
            faults.error(
                node.at,
                Complaint::new(
                    Code::Duplicate,
                    format!(
                        "expected each joint once, but found `{}` again, made by `sides`",
                        node.step.group
                    ),
                    "give one of the joints another name",
                ),
            );
        }
    }
    if let Some(node) = nodes.get(MOST_STEPS) {
        faults.error(node.at, too_many(nodes.len()));
    }
}

/// More joints than a plan may have.
pub(super) fn too_many(count: usize) -> Complaint {
    Complaint::new(
        Code::TooLarge,
        format!("expected at most {MOST_STEPS} joints, both sides counted, but found {count}"),
        "split the plan",
    )
}

/// The steps that `node` waits for, each once, with the place of the name.
fn resolve(
    index: usize,
    node: &Node,
    nodes: &[Node],
    unread: &[String],
    in_order: bool,
    faults: &mut Faults<'_>,
) -> Vec<(usize, usize)> {
    let mut edges: Vec<(usize, usize)> = Vec::new();
    for Located { value: name, at } in &node.after {
        let named = |other: &Node| {
            let side_fits = node.side.is_none() || other.side.is_none() || node.side == other.side;
            other.step.group == *name || (other.joint == *name && side_fits)
        };
        let found: Vec<usize> = (0..nodes.len()).filter(|&other| named(&nodes[other])).collect();
        let declared = unread.iter().any(|unread| {
            name == unread || SIDES.iter().any(|side| name.strip_suffix(side) == Some(unread))
        });
        if found.is_empty() && !declared {
            let mut known: Vec<&str> = nodes.iter().map(|node| node.joint.as_str()).collect();
            known.dedup();
            known.retain(|known| *known != node.joint);
            let remedy = match names::nearest(name, &known) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "write the name of a joint of this plan".to_owned(),
            };
            let message =
                format!("expected the name of a joint in `after`, but found `{}`", short(name));
            faults.error(*at, Complaint::new(Code::Unresolved, message, remedy));
        }
        for to in found {
            if in_order && to > index {
                let message = format!(
                    "expected a joint listed earlier, as `in-order = true` wants, but found `{}`",
                    short(name)
                );
                faults.error(
                    *at,
                    Complaint::new(Code::Cycle, message, "move it up, or set `in-order = false`"),
                );
            } else if edges.iter().all(|(known, _)| *known != to) {
                edges.push((to, *at));
            }
        }
    }
    edges
}

/// One fault for each circle. Steps that wait for nothing are taken away until only circles, and what
/// waits for them, are left; following `after` from any of those then leads into a circle.
fn check_circles(nodes: &[Node], edges: &[Vec<(usize, usize)>], faults: &mut Faults<'_>) {
    let mut free = vec![false; nodes.len()];
    loop {
        let next = (0..nodes.len()).find(|&n| !free[n] && edges[n].iter().all(|(to, _)| free[*to]));
        if let Some(next) = next {
            free[next] = true;
            continue;
        }
        let Some(start) = free.iter().position(|free| !free) else {
            return;
        };
        let mut walk = vec![start];
        let circle = loop {
            let here = walk[walk.len() - 1];
            let Some((to, at)) = edges[here].iter().find(|(to, _)| !free[*to]) else {
                return;
            };
            if let Some(first) = walk.iter().position(|step| step == to) {
                break (walk.split_off(first), *at);
            }
            walk.push(*to);
        };
        let (steps, at) = circle;
        let mut names: Vec<&str> = steps.iter().map(|&step| nodes[step].joint.as_str()).collect();
        names.push(names[0]);
        let message = match names.as_slice() {
            [name, _] => {
                format!("expected another joint in `after`, but found `{name}` waiting for itself")
            }
            names => format!(
                "expected joints that can follow one another, but found a circle: {}",
                names.join(" after ")
            ),
        };
        faults.error(at, Complaint::new(Code::Cycle, message, "take one `after` of these away"));
        for step in steps {
            free[step] = true;
        }
    }
}
