//! `page`: lets screens in, lists them, shuts them out.

use crate::cli::access::Access;
use crate::cli::args::Page;
use crate::cli::outcome::{Done, Failure};
use crate::cli::printer::Printer;
use crate::cli::qr;
use crate::core::time::Stamp;
use crate::web::{NewKey, Screens};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use std::path::Path;

/// Runs the verb.
///
/// # Errors
/// No daemon answers, or it does not answer the network.
pub fn run(args: &Page, journal: Option<&Path>, printer: Printer) -> Result<Done, Failure> {
    let access = Access::find(journal)?;
    let daemon = access.daemon()?;
    if let Some(session) = args.shut_out {
        daemon.delete(&format!("/v1/sessions/{session}"))?;
        printer.talk(format_args!("screen {session} is shut out"));
        return Ok(Done::Fine);
    }
    if args.list {
        let screens: Screens = daemon.get("/v1/sessions")?;
        return list(&screens, args.json, printer);
    }
    let key: NewKey = daemon.post("/v1/keys", &())?;
    if args.json {
        printer.json(&key)?;
        return Ok(Done::Fine);
    }
    if !args.phone {
        printer.talk("Open this on the same machine; it works once, within ten minutes:");
        printer.line(&key.here)?;
        return Ok(Done::Fine);
    }
    let link = key.network.as_ref().ok_or_else(|| {
        Failure::Input(
            "expected a daemon that answers the network, but it answers this machine only; start it anew: `clampbook serve --lan`"
                .to_owned(),
        )
    })?;
    qr::show_link(printer, link, key.fingerprint.as_deref());
    Ok(Done::Fine)
}

fn list(screens: &Screens, json: bool, printer: Printer) -> Result<Done, Failure> {
    if json {
        printer.json(screens)?;
        return Ok(Done::Fine);
    }
    if screens.screens.is_empty() {
        printer.talk("no screen is let in; let one in with `clampbook page`");
    }
    for screen in &screens.screens {
        printer.line(format_args!(
            "{:>3}  {:<24} {:<24} {:<16} since {}, seen {}",
            screen.session,
            screen.name,
            screen.device,
            screen.from,
            moment(screen.since),
            moment(screen.seen)
        ))?;
    }
    Ok(Done::Fine)
}

fn moment(at: Stamp) -> String {
    Timestamp::from_microsecond(at.0).map_or_else(
        |_| String::new(),
        |moment| moment.to_zoned_datetime(TimeZone::system()).strftime("%d %b %H:%M").to_string(),
    )
}
