//! The passes of a joint, from its target and its `passes`.

use crate::core::plan::draft::{self, Draft};
use crate::core::plan::fault::{Code, Complaint, Faults};
use crate::core::plan::figure::{Amount, Figure, Limits};
use crate::core::plan::holds::Holds;
use crate::core::plan::section::{Located, Value};
use crate::core::plan::tolerance::Tolerance;
use crate::core::plan::{Expect, Pass, Turn, Window};
use crate::core::units::StatedTorque;

/// How loosely an early pass is judged that states no limits of its own, per cent of its own target.
pub(super) const LOOSE_PER_CENT: f64 = 25.0;

/// What the passes of a joint have in common.
pub(super) struct Group<'g> {
    pub(super) name: &'g str,
    pub(super) at: usize,
    /// Nothing if the pattern could not be read.
    pub(super) members: Option<u16>,
    pub(super) order: Vec<u16>,
    pub(super) ordered: bool,
    pub(super) target: Option<Located<Figure>>,
    /// False if target or pattern had faults: the passes are then only looked at for their own.
    pub(super) readable: bool,
    pub(super) tolerance: Tolerance,
    pub(super) no_recheck: bool,
}

/// The passes, and whether the common tolerance made the window of the last.
pub(super) struct Passes {
    pub(super) list: Vec<Pass>,
    pub(super) lean_on_tolerance: bool,
    /// True if one of them turns by an angle: such a joint is never pulled again.
    pub(super) angled: bool,
}

/// Reads the passes. Nothing, and at least one fault, if they make no sense.
pub(super) fn read(
    group: &Group<'_>,
    value: Option<&Value<'_>>,
    holds: &mut Holds,
    faults: &mut Faults<'_>,
) -> Option<Passes> {
    let drafts = match value {
        None => vec![Draft::plain(group.at, Figure::Final)],
        Some(value) => draft::read(group, value, holds, faults)?,
    };
    if !group.readable {
        return None;
    }
    match build(group, &drafts) {
        Ok(passes) => Some(passes),
        Err(complaints) => {
            for (at, complaint) in complaints {
                faults.error(at, complaint);
            }
            None
        }
    }
}

fn build(group: &Group<'_>, drafts: &[Draft]) -> Result<Passes, Vec<(usize, Complaint)>> {
    let tightening = |draft: &Draft| {
        !matches!(
            draft.figure,
            Figure::ByHand | Figure::Check | Figure::Angle(_) | Figure::BackOff(_)
        )
    };
    let by_hand_only = group.target.as_ref().is_some_and(|target| target.value == Figure::ByHand);
    let Some(last) = drafts.iter().rposition(|draft| tightening(draft) || by_hand_only) else {
        return Err(vec![(
            drafts.first().map_or(group.at, |draft| draft.at),
            passes_fault(
                "expected a pass at the target, but found none".to_owned(),
                "add `\"final\"` behind the last pass",
            ),
        )]);
    };
    let (target, lean_on_tolerance) = target(group, &drafts[last]).map_err(|fault| vec![fault])?;
    let angled = drafts.iter().any(|draft| matches!(draft.figure, Figure::Angle(_)));
    let mut passes = Vec::new();
    let mut complaints = Vec::new();
    for (index, draft) in drafts.iter().enumerate() {
        let between = drafts.get(index..last).unwrap_or_default();
        let spot = Spot { index, last, backed_off: between.iter().any(Draft::is_back_off), angled };
        match expect(group, draft, &spot, &target) {
            Ok(expect) => passes.push(pass(group, draft, expect)),
            Err(complaint) => complaints.push((draft.at, complaint)),
        }
    }
    if complaints.is_empty() {
        Ok(Passes { list: passes, lean_on_tolerance, angled })
    } else {
        Err(complaints)
    }
}

/// What the last tightening pass expects, from the joint's target and from that pass, and whether the
/// group's tolerance made its window.
fn target(group: &Group<'_>, last: &Draft) -> Result<(Expect, bool), (usize, Complaint)> {
    let own_limits = last.tolerance.is_some()
        || matches!(&last.figure, Figure::Amount(amount) if amount.limits != Limits::Unsaid);
    let (at, figure) = match (&group.target, &last.figure) {
        (None, figure) => (last.at, figure),
        (Some(target), Figure::Final | Figure::ByHand) => (target.at, &target.value),
        (Some(target), figure) if agree(&target.value, figure) => {
            (last.at, if own_limits { figure } else { &target.value })
        }
        (Some(target), _) => {
            return Err((
                last.at,
                passes_fault(
                    format!(
                        "expected the last pass at the target{}, but found another",
                        amount_text(&target.value)
                    ),
                    "make the last pass `\"final\"`, or correct the target",
                ),
            ));
        }
    };
    match figure {
        Figure::ByHand => Ok((Expect::ByHand, false)),
        Figure::None => Ok((Expect::NoFigure, false)),
        Figure::LookUp => Ok((Expect::ToBeLookedUp, false)),
        Figure::Amount(amount) => window(amount, last.tolerance.as_ref(), &group.tolerance)
            .map(|window| {
                let leans = amount.limits == Limits::Unsaid && last.tolerance.is_none();
                (Expect::Window(window), leans)
            })
            .map_err(|complaint| (at, complaint)),
        Figure::Final
        | Figure::Check
        | Figure::Share(_)
        | Figure::Angle(_)
        | Figure::BackOff(_) => Err((
            last.at,
            Complaint::new(
                Code::Missing,
                format!("expected a target for `{}`, but found none", group.name),
                "add `target = \"228 N·m\"`; `\"?\"` if it is still to be looked up, `\"none\"` if none is published",
            ),
        )),
    }
}

/// Where a pass stands among the others.
struct Spot {
    index: usize,
    /// The pass at the target.
    last: usize,
    /// True if one between it and the target backs off.
    backed_off: bool,
    /// True if any turns by an angle.
    angled: bool,
}

fn expect(
    group: &Group<'_>,
    draft: &Draft,
    &Spot { index, last, backed_off, angled }: &Spot,
    target: &Expect,
) -> Result<Expect, Complaint> {
    let torque = matches!(draft.figure, Figure::Amount(_) | Figure::Share(_) | Figure::Final);
    if draft.tolerance.is_some() && !torque {
        return Err(Complaint::new(
            Code::Tolerance,
            "expected a tolerance only in a pass with a torque, but found it in another",
            "remove it; a check pass is held to the window of the target",
        ));
    }
    if index == last {
        return Ok(target.clone());
    }
    let final_window = match target {
        Expect::Window(window) => Some(window),
        Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
    };
    let early = |amount: &Amount| {
        // What is backed off again, to adjust a bearing, may be tighter than the target.
        let most = final_window.filter(|_| !backed_off);
        early_window(amount, draft.tolerance.as_ref(), most).map(Expect::Window)
    };
    match &draft.figure {
        Figure::ByHand => Ok(Expect::ByHand),
        Figure::None => Ok(Expect::NoFigure),
        Figure::LookUp => Ok(Expect::ToBeLookedUp),
        Figure::Check if index < last => Err(passes_fault(
            "expected a check behind the pass at the target, but found it earlier".to_owned(),
            "move `\"check\"` to the end",
        )),
        Figure::Check if group.no_recheck || angled => Err(passes_fault(
            "expected no check pass where nothing may be pulled again, but found one".to_owned(),
            "remove the check pass: pulling again would break what has cured or been turned to its angle",
        )),
        Figure::Check => Ok(target.clone()),
        Figure::Final => Err(passes_fault(
            "expected one pass at the target, but found another before it".to_owned(),
            "give the earlier pass a torque or a share like `\"50 %\"`, or write `\"check\"` for a round after",
        )),
        Figure::Share(per_cent) => match final_window {
            Some(window) => early(&Amount {
                stated: StatedTorque {
                    value: (window.stated.value * per_cent * 1e7).round() / 1e9,
                    unit: window.stated.unit,
                },
                limits: Limits::Unsaid,
            }),
            None if *target == Expect::ToBeLookedUp => Ok(Expect::ToBeLookedUp),
            None => Err(passes_fault(
                format!("expected a target to take {per_cent} % of, but found none"),
                "give the joint a target, or this pass a torque",
            )),
        },
        Figure::Amount(amount) => early(amount),
        Figure::BackOff(_) if index > last => Err(passes_fault(
            "expected a pass that backs off before the last torque, but found it behind".to_owned(),
            "add the torque that the bearing is set to, like `\"final\"`",
        )),
        Figure::BackOff(_) => Ok(Expect::ByHand),
        Figure::Angle(_) if index < last => Err(passes_fault(
            "expected a turn by angle behind the pass at the target, but found it earlier"
                .to_owned(),
            "put the torque first, the angles last",
        )),
        Figure::Angle(_) => monitor(draft),
    }
}

/// What a turn by angle must end in: its torque window, or nothing that a reading could show.
fn monitor(draft: &Draft) -> Result<Expect, Complaint> {
    match draft.monitor.as_ref().map(|monitor| &monitor.value) {
        None => Ok(Expect::NoFigure),
        Some(Figure::Amount(amount)) if amount.limits != Limits::Unsaid => {
            amount.window(&Tolerance::per_cent(LOOSE_PER_CENT)).map(Expect::Window)
        }
        Some(_) => Err(passes_fault(
            "expected both ends of the torque for `monitor`, but found another figure".to_owned(),
            "write it like `110..180 N·m`, or leave it out",
        )),
    }
}

/// The window of a pass before the last: loose unless it says otherwise, and never above the final target.
fn early_window(
    amount: &Amount,
    tolerance: Option<&Tolerance>,
    last: Option<&Window>,
) -> Result<Window, Complaint> {
    let too_high = |last: &Window| {
        passes_fault(
            format!(
                "expected an early pass of at most {}, but found {}",
                last.stated, amount.stated
            ),
            "put the passes in rising order, the target last",
        )
    };
    if let Some(last) = last
        && amount.stated.torque() > last.target
        && !same(&amount.stated, &last.stated)
    {
        return Err(too_high(last));
    }
    let mut window = window(amount, tolerance, &Tolerance::per_cent(LOOSE_PER_CENT))?;
    let loose = tolerance.is_none() && amount.limits == Limits::Unsaid;
    if let (true, Some(last)) = (loose, last) {
        let most = if window.target > last.target { window.target } else { last.target };
        window.high = window.high.map(|high| if high > most { most } else { high });
    }
    Ok(window)
}

fn window(
    amount: &Amount,
    own: Option<&Tolerance>,
    fallback: &Tolerance,
) -> Result<Window, Complaint> {
    match own {
        Some(_) if amount.limits != Limits::Unsaid => Err(Complaint::new(
            Code::Tolerance,
            "expected the limits once, but found them in the torque and in `tolerance`",
            "keep one of the two",
        )),
        Some(tolerance) => amount.window(tolerance),
        None => amount.window(fallback),
    }
}

fn pass(group: &Group<'_>, draft: &Draft, expect: Expect) -> Pass {
    let check = draft.figure == Figure::Check;
    let round = || (1..=group.members.unwrap_or(1)).collect();
    let (order, ordered) = match &draft.order {
        Some(order) => (order.clone(), true),
        None if check => (round(), false),
        None => (group.order.clone(), group.ordered),
    };
    let turn = match draft.figure {
        Figure::Angle(degrees) => Some(Turn::Angle { degrees }),
        Figure::BackOff(degrees) => Some(Turn::BackOff { degrees }),
        _ => None,
    };
    let name = draft.name.clone().unwrap_or_else(|| said_of(&expect, check, turn));
    Pass { name, expect, order, ordered, check, turn, holds: draft.holds.clone() }
}

/// The same figure, apart from its limits.
fn agree(a: &Figure, b: &Figure) -> bool {
    match (a, b) {
        (Figure::Amount(a), Figure::Amount(b)) => same(&a.stated, &b.stated),
        (a, b) => a == b,
    }
}

/// The same torque, whatever the units, but for the last digits of a conversion.
fn same(a: &StatedTorque, b: &StatedTorque) -> bool {
    let (a, b) = (a.torque().nm(), b.torque().nm());
    (a - b).abs() <= 1e-9 * a.max(b)
}

fn amount_text(figure: &Figure) -> String {
    match figure {
        Figure::Amount(amount) => format!(" {}", amount.stated),
        _ => String::new(),
    }
}

/// A fault about how passes follow each other.
pub(super) fn passes_fault(message: String, remedy: &str) -> Complaint {
    Complaint::new(Code::Passes, message, remedy)
}

/// What a pass is called that has no name of its own: what it asks for.
pub(super) fn said_of(expect: &Expect, check: bool, turn: Option<Turn>) -> String {
    match (expect, turn) {
        _ if check => "check round".to_owned(),
        (_, Some(turn)) => turn.to_string(),
        (Expect::Window(window), None) => window.stated.to_string(),
        (Expect::ByHand, None) => "by hand".to_owned(),
        (Expect::NoFigure, None) => "no figure published".to_owned(),
        (Expect::ToBeLookedUp, None) => "to be looked up".to_owned(),
    }
}
