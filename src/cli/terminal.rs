//! What depends on a terminal: its width, and a bar while long work goes on.

use console::Term;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::time::Duration;

/// Bars are drawn for sweeps of more rows than this; shorter ones take a blink.
const WORTH_A_BAR: usize = 500;

/// Columns of the terminal, if the result goes to one.
pub fn columns() -> Option<usize> {
    columns_of(&Term::stdout())
}

/// Columns of the terminal that errors go to, if it is one.
pub fn error_columns() -> Option<usize> {
    columns_of(&Term::stderr())
}

fn columns_of(terminal: &Term) -> Option<usize> {
    let size = terminal.size_checked();
    size.map(|(_, columns)| usize::from(columns))
}

/// A bar on the standard error, only if that is a terminal and the work is long.
pub struct Progress(ProgressBar);

impl Progress {
    /// A bar for so many rows.
    pub fn of(rows: usize) -> Self {
        if rows <= WORTH_A_BAR {
            return Self(ProgressBar::hidden());
        }
        let bar = ProgressBar::with_draw_target(Some(rows as u64), ProgressDrawTarget::stderr());
        let style = ProgressStyle::with_template("{wide_bar} {pos}/{len}, {eta} left");
        if let Ok(style) = style {
            bar.set_style(style);
        }
        bar.enable_steady_tick(Duration::from_millis(200));
        Self(bar)
    }

    /// One row more is done.
    pub fn advance(&self) {
        self.0.inc(1);
    }

    /// Takes the bar away.
    pub fn end(self) {
        self.0.finish_and_clear();
    }
}
