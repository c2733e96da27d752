//! The line that tells how far a long check has come. On a terminal only.

use std::io::{self, IsTerminal as _};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Fewer files are checked before anybody has read the line.
const FEWEST: usize = 50;

/// How far the check has come.
pub struct Progress {
    line: Option<ProgressBar>,
}

impl Progress {
    /// A line on standard error, where that is a terminal and there is enough to do.
    pub fn new(files: usize) -> Progress {
        if files < FEWEST || !io::stderr().is_terminal() {
            return Progress { line: None };
        }
        let line = ProgressBar::with_draw_target(Some(files as u64), ProgressDrawTarget::stderr());
        let style = "{bar:24} {pos} of {len} files, {per_sec}, {eta} left";
        if let Ok(style) = ProgressStyle::with_template(style) {
            line.set_style(style);
        }
        Progress { line: Some(line) }
    }

    /// Prints what came of a file, past the line, and counts it.
    pub fn past<T>(&self, prints: bool, print: impl FnOnce() -> T) -> T {
        let Some(line) = &self.line else { return print() };
        line.inc(1);
        if prints { line.suspend(print) } else { print() }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(line) = &self.line {
            line.finish_and_clear();
        }
    }
}
