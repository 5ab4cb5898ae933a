//! A bar on standard error for work that lasts longer than a second.

use std::sync::OnceLock;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::log::Log;
use crate::store::Progress;

/// Work shorter than this draws nothing.
const PATIENCE: Duration = Duration::from_secs(1);

/// A bar that waits before it shows itself.
pub struct Bar {
    bar: ProgressBar,
    shows: bool,
    label: &'static str,
    begun: Instant,
    shown: OnceLock<()>,
}

impl Bar {
    /// A bar with this label; it never shows where the log does not want it.
    pub fn new(log: &Log, label: &'static str) -> Bar {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        Bar {
            bar,
            shows: log.shows_progress(),
            label,
            begun: Instant::now(),
            shown: OnceLock::new(),
        }
    }
}

impl Progress for Bar {
    fn expect(&self, amount: u64) {
        self.bar.set_length(amount);
    }

    fn passed(&self, amount: u64) {
        self.bar.inc(amount);
        if self.shows && self.begun.elapsed() > PATIENCE {
            self.shown.get_or_init(|| {
                // The bar takes what the terminal leaves it.
                let style =
                    ProgressStyle::with_template("{msg} {wide_bar} {percent:>3} %, {eta} left");
                if let Ok(style) = style {
                    self.bar.set_style(style);
                }
                self.bar.set_message(self.label);
                self.bar.set_draw_target(ProgressDrawTarget::stderr_with_hz(4));
            });
        }
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
