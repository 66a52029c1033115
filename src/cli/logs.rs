//! Logs of the daemon: to standard error, at the level of `CLAMPBOOK_LOG` (default: info for ours).

use crate::cli::printer::Printer;
use tracing_subscriber::EnvFilter;

/// Starts logging for the rest of the process.
pub fn start(printer: Printer) {
    let filter = EnvFilter::try_from_env("CLAMPBOOK_LOG")
        .unwrap_or_else(|_| EnvFilter::new("warn,clampbook=info"));
    let started = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(printer.colours_logs())
        .with_target(false)
        .with_writer(Printer::log_writer())
        .try_init();
    if started.is_err() {
        printer.warning("logs were started already");
    }
}
