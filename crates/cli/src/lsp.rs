//! `halfsplit lsp`: serves an editor over standard input and output.

use std::process::ExitCode;

/// What the verb takes.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// Speak over standard input and output. This is what happens anyway; many editors say it.
    #[arg(long)]
    stdio: bool,
}

/// Serves until the editor leaves.
pub fn run(_: &Args) -> ExitCode {
    halfsplit_server::run().unwrap_or_else(|error| {
        eprintln!("halfsplit: the language server cannot start: {error}");
        ExitCode::from(2)
    })
}
