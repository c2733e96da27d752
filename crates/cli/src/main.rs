//! The halfsplit command: one file per verb.

mod case;
mod cases;
mod check;
mod circuit;
mod circuits;
mod diff;
mod draw;
mod expect;
mod explain;
mod find;
mod fmt;
mod look;
mod lsp;
mod net;
mod plan;
mod replace;
mod state;
mod teach;
mod volts;

use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};

/// Vehicle circuits as text: check them, ask what a meter reads, plan an isolation.
#[derive(Parser)]
#[command(name = "halfsplit", version, max_term_width = 100)]
struct Command {
    /// Colours: on a terminal unless NO_COLOR is set, always, or never.
    #[arg(long, global = true, value_enum, default_value = "auto", value_name = "WHEN")]
    color: look::Colour,
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// Find mistakes in files and folders.
    Check(check::Arguments),
    /// Put files into their one layout.
    Fmt(fmt::Arguments),
    /// Tell what a rule or a statement means.
    Explain(explain::Arguments),
    /// List what shares a pin's wire, its feed and its return.
    Net(net::Arguments),
    /// Compute what a meter reads at a pin.
    Volts(volts::Arguments),
    /// Draw what shares a pin's wire, its feed and its return.
    Draw(draw::Arguments),
    /// Tell which wire at a connector is the one.
    Find(find::Arguments),
    /// Write the isolation plan for a reading.
    Plan(plan::Arguments),
    /// Tell what a change of text does to the car.
    Diff(diff::Arguments),
    /// Weigh the readings of one car's job, and say what comes next.
    Case(case::Arguments),
    /// Serve an editor over standard input and output.
    Lsp(lsp::Args),
}

/// How to print what can be read by people or programs.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people.
    Text,
    /// For programs.
    Json,
}

/// Why a verb could not do its work. Exit code 2.
type Failure = Box<dyn std::error::Error>;

fn main() -> ExitCode {
    let command = Command::parse();
    let colour = command.color.wanted();
    let done = match command.verb {
        Verb::Check(arguments) => check::run(&arguments, colour),
        Verb::Fmt(arguments) => fmt::run(&arguments),
        Verb::Explain(arguments) => explain::run(&arguments),
        Verb::Net(arguments) => net::run(&arguments),
        Verb::Volts(arguments) => volts::run(&arguments),
        Verb::Draw(arguments) => draw::run(&arguments),
        Verb::Find(arguments) => find::run(&arguments),
        Verb::Plan(arguments) => plan::run(&arguments),
        Verb::Diff(arguments) => diff::run(&arguments),
        Verb::Case(arguments) => case::run(&arguments),
        Verb::Lsp(arguments) => Ok(lsp::run(&arguments)),
    };
    match done {
        Ok(code) => code,
        Err(failure) if closed_pipe(failure.as_ref()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("halfsplit: {failure}");
            ExitCode::from(2)
        }
    }
}

/// Whether a reader such as `head` has gone away, which is no fault of ours.
fn closed_pipe(failure: &(dyn std::error::Error + 'static)) -> bool {
    let io = failure.downcast_ref::<std::io::Error>();
    io.is_some_and(|error| error.kind() == std::io::ErrorKind::BrokenPipe)
}
