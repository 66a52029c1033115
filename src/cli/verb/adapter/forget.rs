//! `adapter forget`: no longer kept, and with `--bond` no longer paired.

use super::{link_failure, load, with_radio};
use crate::adapter::ble;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::remote::Remote;
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// There is no such adapter, or the system keeps its bond.
pub fn run(named: &str, bond: bool, journal: &Path, printer: Printer) -> Result<Done, Failure> {
    let mut kept = load(journal)?;
    let plain = named.strip_prefix("ble:").unwrap_or(named);
    let added = kept.find(plain).cloned();
    let before = kept.adapters.len();
    kept.adapters.retain(|spec| spec != named && spec.strip_prefix("ble:") != Some(plain));
    let was_written = kept.adapters.len() != before;
    let is_address = plain.split(':').count() == 6;
    if added.is_none() && !was_written && !(bond && is_address) {
        return Err(Failure::Input(format!(
            "expected an adapter that is kept, but found {named}; `clampbook adapter list` shows them"
        )));
    }
    let address = added.as_ref().and_then(|one| one.address.clone());
    let address = address.or_else(|| is_address.then(|| plain.to_owned()));
    // The bond first: if that fails, the same can be asked again.
    if bond {
        let Some(address) = address else {
            return Err(Failure::Failed(format!(
                "the address of {named} is not known here; remove it in the computer's Bluetooth \
                 settings"
            )));
        };
        let forgotten = with_radio(printer, "removing the bond", ble::forget(&address))?
            .map_err(|error| link_failure(Some(plain), &error))?;
        match forgotten {
            0 => printer.talk(format_args!("this computer had no bond with {address}")),
            _ => printer.talk(format_args!("this computer is no longer paired with {address}")),
        }
    }
    if let Some(added) = &added {
        kept.added.retain(|one| one.serial != added.serial);
    }
    kept.save(journal).map_err(|error| Failure::failed("that could not be kept", &error))?;
    printer.talk(format_args!("{named} is no longer kept"));
    if Remote::find(journal).is_some() {
        printer.talk("`clampbook serve` listens to it until it is started anew");
    }
    Ok(Done::Fine)
}
