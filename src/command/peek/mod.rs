//! `motetrail peek`: how a file is read, before any map.

pub mod column_line;
pub mod facts;
mod found;
mod kept;
pub mod look;
pub mod looked;
pub mod paste;
pub mod print;
mod rows;
mod sample;
pub mod shown;

use std::io::Write;
use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::Outcome;
use super::terminal;
use crate::settings::Rules;
use crate::tabular::Room;

/// Show how a file is read: its form, its columns, and every doubt about them.
///
/// Looks at the beginning and the end of the file, so that large files answer at once. With --csv
/// it reads all of it and prints the table.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail peek data-demo/exports/desk/tickets-2026-h1.csv")]
pub struct Peek {
    /// The file: text, .gz, .zst, .zip, .xlsx, .ods, .fods, .parquet, .ndjson, .json.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Print the table whole, as CSV (RFC 4180) with every cell as text, the header first.
    #[arg(long)]
    csv: bool,
    /// Memory that it may take, MiB, as of the key of that name in the settings.
    #[arg(long, value_name = "MIB", default_value_t = Rules::default().memory_mib,
        value_parser = clap::value_parser!(u32).range(16..))]
    memory_mib: u32,
}

impl Peek {
    /// Runs the command.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let room = Room::of_mib(self.memory_mib);
        let looked = look::look(&self.file, room)?;
        let mut out = terminal::stdout();
        if self.csv {
            rows::write_csv(&self.file, &looked, room, &mut out)?;
            for doubt in &looked.facts.doubts {
                log.warn(&shown::shown(&format!("{}: {}", doubt.what, doubt.evidence)));
            }
        } else {
            print::print(&looked.facts, &mut out)?;
        }
        out.flush()?;
        Ok(Outcome::Done)
    }
}
