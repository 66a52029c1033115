//! `adapter identify` and `adapter zero`: through the daemon if it has the adapter, else directly.

use super::{choose, link_failure, load, with_radio};
use crate::adapter::ble::Visit;
use crate::cli::access;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::remote::Remote;
use crate::core::command::{self, AdapterAsk};
use crate::core::live::Live;
use crate::daemon::clock;
use crate::web::IdentifyRequest;
use serde_json::json;
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// There is no such adapter, it cannot be reached, or it declines.
pub fn run(
    named: Option<&str>,
    ask: AdapterAsk,
    journal: &Path,
    printer: Printer,
) -> Result<Done, Failure> {
    let kept = load(journal)?;
    let daemon = Remote::find(journal);
    let live: Option<Live> = daemon.as_ref().map(|daemon| daemon.get("/v1/state")).transpose()?;
    let done = match (&daemon, live.as_ref().and_then(|live| held(live, &kept, named))) {
        (Some(daemon), Some(adapter)) => through(daemon, &adapter, ask)?,
        _ => {
            let adapter = choose(&kept, named)?;
            let visited = with_radio(printer, "linking; keep the adapter near", async {
                let visit = Visit::open(&adapter.spec()).await?;
                let answer = visit.ask(ask, clock::reader()).await;
                visit.close().await;
                Ok(answer)
            })?;
            visited
                .map_err(|error| link_failure(Some(&adapter.name), &error))?
                .map_err(access::refused)?
        }
    };
    if let Some(text) = words(&done) {
        printer.line(text)?;
    }
    Ok(Done::Fine)
}

/// What the daemon listens to, if it is what is named, or the only thing.
pub fn held(
    live: &Live,
    kept: &crate::daemon::config::Config,
    named: Option<&str>,
) -> Option<String> {
    let named = named.map(|named| named.strip_prefix("ble:").unwrap_or(named));
    let mut ids: Vec<String> = live.adapters.iter().map(|one| one.serial.clone()).collect();
    for link in &live.links {
        let id = link.serial.clone().unwrap_or_else(|| link.wanted.clone());
        if !ids.contains(&id) && !ids.contains(&link.wanted) {
            ids.push(id);
        }
    }
    match named {
        Some(named) => {
            let serial = kept.find(named).map_or(named, |kept| kept.serial.as_str());
            ids.into_iter().find(|id| id == serial)
        }
        None if ids.len() == 1 => ids.pop(),
        None => None,
    }
}

fn through(daemon: &Remote, adapter: &str, ask: AdapterAsk) -> Result<command::Done, Failure> {
    let path = format!("/v1/adapters/{}", encoded(adapter));
    match ask {
        AdapterAsk::Zero => daemon.post(&format!("{path}/zero"), &json!({})),
        AdapterAsk::Identify { seconds } => {
            daemon.post(&format!("{path}/identify"), &IdentifyRequest { seconds })
        }
    }
}

/// A serial number as a part of a path (RFC 3986).
fn encoded(text: &str) -> String {
    let plain = |octet: &u8| octet.is_ascii_alphanumeric() || b"-._~".contains(octet);
    text.bytes()
        .map(|octet| match plain(&octet) {
            true => char::from(octet).to_string(),
            false => format!("%{octet:02X}"),
        })
        .collect()
}

/// What an adapter showed before it was zeroed, N·m, from which peaks are off by as much as its accuracy.
const WORTH_A_WORD_NM: f64 = 0.5;

/// What was done, in words.
pub fn words(done: &command::Done) -> Option<String> {
    match done {
        command::Done::Zeroed { adapter, offset_nm: Some(offset) } => {
            let since = match offset.abs() >= WORTH_A_WORD_NM {
                true => "; what was pulled since its zero before may be off by as much",
                false => "",
            };
            Some(format!("adapter {adapter} is zeroed; it showed {offset:.2} N·m before{since}"))
        }
        command::Done::Zeroed { adapter, offset_nm: None } => {
            Some(format!("adapter {adapter} is zeroed"))
        }
        command::Done::Identifying { adapter, seconds: 0 } => {
            Some(format!("adapter {adapter} no longer draws attention to itself"))
        }
        command::Done::Identifying { adapter, seconds } => {
            Some(format!("adapter {adapter} draws attention to itself for {seconds} s"))
        }
        _ => None,
    }
}
