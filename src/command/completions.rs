//! `motetrail completions` and `motetrail man`: what shells and readers of manuals know of the command line.

use std::fs;
use std::io;
use std::path::PathBuf;

use clap::{Args, CommandFactory};
use clap_complete::{Shell, generate};

use super::log::Log;
use super::outcome::Outcome;

/// Name of the program as it is typed.
const NAME: &str = "motetrail";

/// Print what completes the command line in a shell.
#[derive(Args, Debug)]
#[command(
    after_help = "Example:\n  motetrail completions bash > ~/.local/share/bash-completion/completions/motetrail"
)]
pub struct Completions {
    /// The shell.
    #[arg(value_enum, value_name = "SHELL")]
    shell: Shell,
}

impl Completions {
    /// Runs the command.
    ///
    /// # Errors
    /// Standard output cannot be written.
    pub fn run<C: CommandFactory>(self, _: &Log) -> anyhow::Result<Outcome> {
        let mut text = Vec::new();
        generate(self.shell, &mut C::command(), NAME, &mut text);
        io::Write::write_all(&mut io::stdout(), &text)?;
        Ok(Outcome::Done)
    }
}

/// Write manual pages, one a command, into a folder.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail man ~/.local/share/man/man1")]
pub struct Man {
    /// The folder; it is made if it is not there.
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

impl Man {
    /// Runs the command.
    ///
    /// # Errors
    /// The folder cannot be written.
    pub fn run<C: CommandFactory>(self, _: &Log) -> anyhow::Result<Outcome> {
        fs::create_dir_all(&self.folder)?;
        clap_mangen::generate_to(C::command(), &self.folder)?;
        Ok(Outcome::Done)
    }
}
