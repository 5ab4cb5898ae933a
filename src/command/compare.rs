//! `motetrail compare`: two reviews side by side.

use std::path::PathBuf;

use clap::Args;

use super::outcome::Outcome;
use super::printable::printable;
use super::say::say;
use crate::report::compared;

/// Compare two reviews of one fleet: what moved, and whether it could be shown.
///
/// Reads findings.json of both reports and nothing else. Where the later review compared itself with the
/// earlier quarter its own verdict counts; elsewhere a move is shown only where the two intervals lie apart.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail compare reports/2026-Q1 reports/2026-Q2")]
pub struct Compare {
    /// Folder of the earlier report, or its findings.json.
    #[arg(value_name = "OLD")]
    old: PathBuf,
    /// Folder of the later report, or its findings.json.
    #[arg(value_name = "NEW")]
    new: PathBuf,
}

impl Compare {
    /// Runs the command.
    ///
    /// # Errors
    /// A file that cannot be read or is none of this version's; reviews of different fleets.
    pub fn run(self) -> anyhow::Result<Outcome> {
        let compared = compared(&self.old, &self.new)?;
        say!("{}", printable(&compared.heading));
        for (title, rows) in
            [("", &compared.headlines), ("Net saving by place, with its rank", &compared.places)]
        {
            if rows.is_empty() {
                continue;
            }
            say!();
            if !title.is_empty() {
                say!("{title}");
            }
            print_rows(rows);
        }
        if !compared.notes.is_empty() {
            say!();
        }
        for note in &compared.notes {
            say!("{}", printable(note));
        }
        Ok(Outcome::Done)
    }
}

/// Columns as wide as their widest cell.
fn print_rows(rows: &[[String; 4]]) {
    let wide = |column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.max().unwrap_or(0)
    };
    let widths = [0, 1, 2].map(wide);
    for row in rows {
        let [what, then, now, verdict] = row;
        let line = format!(
            "{what:<a$}  {then:<b$}  {now:<c$}  {verdict}",
            a = widths[0],
            b = widths[1],
            c = widths[2]
        );
        say!("{}", printable(&line));
    }
}
