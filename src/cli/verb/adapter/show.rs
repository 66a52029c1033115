//! `adapter show`: how the daemon's link to it is, or what it tells of itself.

use super::{ask, choose, link_failure, load, with_radio};
use crate::adapter::ble::{Sheet, Visit};
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::remote::Remote;
use crate::core::event::ReadingKey;
use crate::core::live::{LinkHealth, LinkPhase, Live};
use crate::daemon::clock;
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// There is no such adapter, or it cannot be reached.
pub fn run(
    named: Option<&str>,
    journal: &Path,
    json: bool,
    printer: Printer,
) -> Result<Done, Failure> {
    let kept = load(journal)?;
    if let Some(daemon) = Remote::find(journal) {
        let live: Live = daemon.get("/v1/state")?;
        if let Some(id) = ask::held(&live, &kept, named)
            && let Some(link) = live
                .links
                .iter()
                .find(|link| link.serial.as_ref() == Some(&id) || link.wanted == id)
        {
            if json {
                printer.json(link)?;
            } else {
                for text in health(link) {
                    printer.line(text)?;
                }
            }
            return Ok(Done::Fine);
        }
    }
    let adapter = choose(&kept, named)?;
    let visited = with_radio(printer, "linking; keep the adapter near", async {
        let visit = Visit::open(&adapter.spec()).await?;
        let sheet = visit.sheet().await;
        visit.close().await;
        Ok(sheet)
    })?;
    let sheet = visited.map_err(|error| link_failure(Some(&adapter.name), &error))?;
    if json {
        printer.json(&sheet)?;
    } else {
        for text in lines(&sheet) {
            printer.line(text)?;
        }
    }
    Ok(Done::Fine)
}

/// What an adapter tells of itself, one thing a line.
pub fn lines(sheet: &Sheet) -> Vec<String> {
    let range = sheet.range_nm.map(|(least, most)| format!("{least:.0} to {most:.0} N·m"));
    let accuracy = sheet.accuracy_pct.map(|pct| format!("±{pct} % of reading"));
    let keeps = if sheet.keeps_readings { "keeps them" } else { "none; live torque only" };
    let maker = [&sheet.manufacturer, &sheet.model].map(|one| one.as_deref().unwrap_or_default());
    let maker = maker.join(" ").trim().to_owned();
    let parts = [
        ("serial", Some(sheet.serial.clone())),
        ("made by", (!maker.is_empty()).then_some(maker)),
        ("firmware", sheet.firmware.clone()),
        ("drive", sheet.drive.clone()),
        ("range", range),
        ("accuracy", accuracy),
        ("readings", Some(keeps.to_owned())),
        ("waiting", sheet.held.map(|held| format!("{held} readings"))),
        ("zero", sheet.zero.clone()),
        ("calibrated", sheet.calibrated.clone()),
        ("due", sheet.calibration_due.clone()),
        ("battery", sheet.battery_pct.map(|pct| format!("{pct} %"))),
    ];
    told(parts)
}

/// How a link is, one thing a line.
fn health(link: &LinkHealth) -> Vec<String> {
    let phase = match link.phase {
        LinkPhase::Looking => "being looked for",
        LinkPhase::Linked => "up",
        LinkPhase::Asleep => "asleep",
        LinkPhase::Waiting => "down; tried again by itself",
    };
    let heard = link.last_value.map(|at| format!("{:.0} s ago", clock::now().seconds_since(at)));
    let stored = link.last_stored.as_ref().map(|key| match key {
        ReadingKey::Numbered { epoch, sequence, .. } => format!("{epoch}/{sequence}"),
        ReadingKey::Arrival { arrival, .. } => format!("number {arrival} of its link"),
        ReadingKey::Typed { .. } => "typed by hand".to_owned(),
    });
    let service = if link.service_runs { "runs" } else { "does not run" };
    let parts = [
        ("serial", Some(link.serial.clone().unwrap_or_else(|| link.wanted.clone()))),
        ("link", Some(phase.to_owned())),
        ("trouble", link.trouble.clone()),
        ("last loss", link.last_loss.clone()),
        ("last heard", heard),
        ("last kept", stored),
        ("missing", (link.gaps > 0).then(|| format!("{} readings", link.gaps))),
        ("links", Some(link.links.to_string())),
        ("rival", link.rival.then(|| "another program listens, too".to_owned())),
        ("controller", link.controller.clone()),
        ("service", Some(service.to_owned())),
        ("message", link.mtu.map(|mtu| format!("{mtu} octets"))),
        (
            "trace",
            (link.trace_blocks_lost > 0).then(|| format!("{} blocks lost", link.trace_blocks_lost)),
        ),
        ("guidance", link.guides.then(|| "by what the next pull should reach".to_owned())),
        ("battery", link.battery_pct.map(|pct| format!("{pct} %"))),
    ];
    told(parts)
}

fn told<const N: usize>(parts: [(&str, Option<String>); N]) -> Vec<String> {
    parts
        .into_iter()
        .filter_map(|(what, text)| text.map(|text| format!("{what:<10}  {text}")))
        .collect()
}
