//! Colours and printing.

use std::io::{IsTerminal as _, Write as _};

use clap::ValueEnum;

/// When to use terminal colours.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    /// On a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

impl Colour {
    /// Whether to colour what goes to standard output.
    pub fn wanted(self) -> bool {
        match self {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto => {
                let refused = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty());
                !refused && std::io::stdout().is_terminal()
            }
        }
    }
}

/// Writes to standard output; a reader that went away is an error, not a panic.
pub fn print(text: &str) -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    if !text.ends_with('\n') {
        out.write_all(b"\n")?;
    }
    out.flush()
}

/// Writes JSON, indented.
pub fn print_json(value: &serde_json::Value) -> std::io::Result<()> {
    print(&format!("{value:#}"))
}

/// Columns to fill: the terminal's own where it says so, within what reads well.
pub fn width() -> usize {
    let columns = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    columns.unwrap_or(100_usize).clamp(40, 120)
}
