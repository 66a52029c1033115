//! Drawings of what traces show, a file a tightening.

use crate::adapter::recording::Shown;
use crate::cli::outcome::Failure;
use crate::cli::printer::Printer;
use crate::cli::put;
use crate::core::event::Verdict;
use crate::core::plan::{Expect, Plan, Window};
use crate::core::units::TorqueUnit;
use crate::report::plot::{self, Swing};
use crate::report::words::Words;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Verdicts that stand, by adapter and number.
pub(super) type Standing = BTreeMap<(String, u64), Verdict>;

/// Writes them into `folder` and names each on standard error.
///
/// # Errors
/// The folder or a file cannot be written.
pub(super) fn write(
    folder: &Path,
    plan: &Plan,
    standing: &Standing,
    shown: &[Shown],
    printer: Printer,
) -> Result<(), Failure> {
    fs::create_dir_all(folder).map_err(|error| put::cannot_write(folder, &error))?;
    let mut taken: BTreeMap<String, u32> = BTreeMap::new();
    let place = |one: &Shown| {
        let verdict = standing.get(&(one.adapter.clone(), one.seq));
        verdict.map(|verdict| (verdict.fastener.clone(), verdict.pass))
    };
    for tightening in shown.chunk_by(|one, next| place(one) == place(next)) {
        let swings: Vec<Swing<'_>> = tightening.iter().filter_map(swing).collect();
        let (fastener, pass) = place(&tightening[0]).unwrap_or_default();
        let window = window(plan, fastener.as_deref(), pass);
        let unit = window.map_or(TorqueUnit::NewtonMetre, |window| window.stated.unit);
        let drawing = plot::tightening(&swings, window, unit, Words::ENGLISH)
            .map_err(|error| Failure::failed("a trace cannot be drawn", &error))?;
        let Some(svg) = drawing else { continue };
        let name = name(fastener.as_deref(), pass);
        let times = taken.entry(name.clone()).or_default();
        *times += 1;
        let name = if *times == 1 { format!("{name}.svg") } else { format!("{name}-{times}.svg") };
        let path = folder.join(name);
        put::put(&path, svg.as_bytes())?;
        printer.talk(path.display());
    }
    Ok(())
}

fn swing(shown: &Shown) -> Option<Swing<'_>> {
    let trace = shown.trace.as_ref()?;
    Some(Swing { trace, description: &shown.description, peak: shown.peak })
}

fn window<'a>(plan: &'a Plan, fastener: Option<&str>, pass: Option<u32>) -> Option<&'a Window> {
    let step = plan.step(plan.fastener(fastener?)?.step);
    let index = usize::try_from(pass?).ok()?.checked_sub(1)?;
    match &step.passes.get(index)?.expect {
        Expect::Window(window) => Some(window),
        Expect::ByHand | Expect::NoFigure | Expect::ToBeLookedUp => None,
    }
}

/// Group names may hold letters that a file's name may not.
fn name(fastener: Option<&str>, pass: Option<u32>) -> String {
    let plain = |c: char| if c.is_alphanumeric() || c == '-' { c } else { '-' };
    let fastener: String = fastener.unwrap_or("nothing-of-the-plan").chars().map(plain).collect();
    pass.map_or_else(|| fastener.clone(), |pass| format!("{fastener}-pass-{pass}"))
}
