//! Progress on a terminal; nothing anywhere else.

use crate::cli::printer::Printer;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::time::Duration;

/// Something under way. Gone from the screen when dropped.
#[derive(Debug)]
pub struct Progress(ProgressBar);

impl Progress {
    /// Work of unknown length.
    #[must_use]
    pub fn spinner(printer: Printer, text: &str) -> Self {
        let bar = ProgressBar::with_draw_target(None, target(printer));
        bar.set_message(text.to_owned());
        bar.enable_steady_tick(Duration::from_millis(120));
        Self(bar)
    }

    /// Work of `length` parts.
    #[must_use]
    pub fn bar(printer: Printer, length: u64) -> Self {
        let bar = ProgressBar::with_draw_target(Some(length), target(printer));
        if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos}/{len}") {
            bar.set_style(style);
        }
        Self(bar)
    }

    /// One more part is done, if so.
    pub fn step(&self, done: bool) {
        self.0.inc(u64::from(done));
    }

    /// So much is done.
    pub fn at(&self, position: u64) {
        self.0.set_position(position);
    }

    /// So much of so much is done.
    pub fn of(&self, position: u64, length: u64) {
        self.0.set_length(length);
        self.0.set_position(position);
    }

    /// Prints without disturbing, and being disturbed by, the progress.
    pub fn aside<T>(&self, print: impl FnOnce() -> T) -> T {
        self.0.suspend(print)
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}

fn target(printer: Printer) -> ProgressDrawTarget {
    if printer.shows_progress() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    }
}
