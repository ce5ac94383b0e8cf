//! Progress of a command: a bar on a terminal; nothing in a pipe, which gets only the command's last line.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Time between two pictures of work whose length is not known.
const TICK: Duration = Duration::from_millis(120);

/// Template for work with a known length.
const BAR: &str = "{msg} {bar:30} {pos} of {len}, {eta} left";
/// Template for work whose length is not known.
const SPINNER: &str = "{spinner} {msg} {elapsed}";

/// A bar on standard error; it disappears when dropped.
#[derive(Debug)]
pub(super) struct Progress(ProgressBar);

impl Progress {
    /// Starts a bar for work in `parts` parts.
    pub(super) fn of(what: &'static str, parts: usize) -> Self {
        let bar = ProgressBar::new(u64::try_from(parts).unwrap_or(u64::MAX));
        // An invalid template falls back to the crate's own bar.
        Self(bar.with_style(ProgressStyle::with_template(BAR).unwrap_or_else(|_| ProgressStyle::default_bar())))
            .saying(what)
    }

    /// Starts a bar for work of unknown length.
    pub(super) fn unknown(what: &'static str) -> Self {
        let style = ProgressStyle::with_template(SPINNER).unwrap_or_else(|_| ProgressStyle::default_spinner());
        let shown = Self(ProgressBar::new_spinner().with_style(style)).saying(what);
        shown.0.enable_steady_tick(TICK);
        shown
    }

    fn saying(self, what: &'static str) -> Self {
        self.0.set_message(what);
        self
    }

    /// Adds to the number of finished parts.
    pub(super) fn done(&self, parts: usize) {
        self.0.inc(u64::try_from(parts).unwrap_or(0));
    }

    /// Sets the number of finished parts.
    pub(super) fn at(&self, parts: usize) {
        self.0.set_position(u64::try_from(parts).unwrap_or(0));
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
