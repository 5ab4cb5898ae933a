//! One file a command: parse, call, print. The only place that prints or ends the program.
//!
//! Results go to standard output, everything else to standard error. Exit codes: 0 done; 1 done,
//! but more rows of a file, a source, a table or of all were quarantined than the settings allow; 2 the command line or the settings are
//! wrong; 3 an input or the store cannot be read or written; 4 the store is damaged.

mod changed;
mod cluster;
mod compare;
mod completions;
mod forget;
mod init;
mod intake;
mod log;
mod map;
mod names_meeting;
mod needs;
mod outcome;
mod payback;
pub mod peek;
mod printable;
mod progress;
mod refusals;
mod rejected;
mod review;
mod say;
mod settings;
mod spellings;
mod synth;
pub mod terminal;
mod verify;
mod worker;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

use log::{Log, LogFormat};
use outcome::Outcome;

/// Fibre connector quality of a whole fleet: what inspectors, cleaners and repair crews recorded,
/// as one quarterly review with intervals and charts.
#[derive(Parser, Debug)]
#[command(name = "motetrail", version, about, max_term_width = 80)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// Say nothing but results and errors.
    #[arg(long, global = true)]
    quiet: bool,
    /// How messages are written.
    #[arg(long, global = true, value_enum, default_value_t = LogFormat::Text, value_name = "FORMAT")]
    log: LogFormat,
}

#[derive(Subcommand, Debug)]
enum Command {
    Init(init::Init),
    Review(review::Review),
    Payback(payback::Payback),
    Compare(compare::Compare),
    Intake(intake::Intake),
    Peek(peek::Peek),
    Map(map::Map),
    Synth(synth::Synth),
    Spellings(spellings::Spellings),
    Verify(verify::Verify),
    Forget(forget::Forget),
    Settings(settings::Settings),
    Cluster(cluster::Cluster),
    #[command(hide = true)]
    Worker(worker::Worker),
    Rejected(rejected::Rejected),
    Completions(completions::Completions),
    Man(completions::Man),
}

/// Parses the command line, runs the command, tells how it went.
pub fn run() -> ExitCode {
    // A wrong command line ends here with code 2, help and version with 0.
    let arguments = Arguments::parse();
    let log = Log::new(arguments.quiet, arguments.log);
    let outcome = match arguments.command {
        Command::Init(command) => command.run(&log),
        Command::Review(command) => command.run(&log),
        Command::Payback(command) => command.run(&log),
        Command::Compare(command) => command.run(),
        Command::Intake(command) => command.run(&log),
        Command::Peek(command) => command.run(&log),
        Command::Map(command) => command.run(&log),
        Command::Synth(command) => command.run(&log),
        Command::Spellings(command) => command.run(&log),
        Command::Verify(command) => command.run(&log),
        Command::Forget(command) => command.run(&log),
        Command::Settings(command) => command.run(&log),
        Command::Cluster(command) => command.run(&log),
        Command::Worker(command) => command.run(&log),
        Command::Rejected(command) => command.run(&log),
        Command::Completions(command) => command.run::<Arguments>(&log),
        Command::Man(command) => command.run::<Arguments>(&log),
    };
    match outcome {
        Ok(Outcome::Done) => ExitCode::SUCCESS,
        Ok(Outcome::TooManyQuarantined) => ExitCode::from(1),
        Ok(Outcome::Unread) => ExitCode::from(3),
        Ok(Outcome::Damaged) => ExitCode::from(4),
        // Whoever reads has read enough.
        Err(error) if is_pipe_closed(&error) => ExitCode::SUCCESS,
        Err(error) => {
            log.error(&error);
            ExitCode::from(outcome::code(&error))
        }
    }
}

/// Whether the reader of standard output has gone.
fn is_pipe_closed(error: &anyhow::Error) -> bool {
    let kinds = error.chain().filter_map(|cause| cause.downcast_ref::<std::io::Error>());
    kinds.map(std::io::Error::kind).any(|kind| kind == std::io::ErrorKind::BrokenPipe)
}
