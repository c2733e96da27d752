//! The halfsplit command.

mod lsp;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Checks vehicle circuits and plans how to find a fault in them.
#[derive(Parser, Debug)]
#[command(name = "halfsplit", version)]
struct Command {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand, Debug)]
enum Verb {
    /// Serve an editor.
    Lsp(lsp::Args),
}

fn main() -> ExitCode {
    match Command::parse().verb {
        Verb::Lsp(args) => lsp::run(&args),
    }
}
