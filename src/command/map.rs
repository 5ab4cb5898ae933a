//! `motetrail map`: a first draft of a map for a new export.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::log::Log;
use super::outcome::Outcome;
use super::peek::look::look;
use super::say::say;
use crate::draft::{Asked, Remembered, draft};
use crate::records::Table;
use crate::settings::{self, Codes, Stages};
use crate::tabular::Room;

/// Draft a map for a new export, to be read, answered and put into the settings.
///
/// What the names and cells of the export make clear stands as it is; every question stands in a
/// comment that begins with "# ?", with what it rests on.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail map data-demo/exports/desk/tickets-2026-h1.csv \
                        --table faults --fleet data-demo/fleet.toml")]
pub struct Map {
    /// The export.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// What its rows are. Without it the table is guessed, and the guess is a question.
    #[arg(long, value_enum)]
    table: Option<TableName>,
    /// The settings that the draft is for: their stages, codes and sites are proposed.
    #[arg(long, value_name = "FLEET.TOML")]
    fleet: Option<PathBuf>,
    /// The site of all rows, if the export is one site's.
    #[arg(long)]
    site: Option<String>,
    /// Name of the source; without it, that of the file.
    #[arg(long)]
    name: Option<String>,
}

/// A canonical table by the name that the settings use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "snake_case")]
enum TableName {
    EndFaces,
    Inspections,
    Cleanings,
    Matings,
    Faults,
}

impl From<TableName> for Table {
    fn from(name: TableName) -> Table {
        match name {
            TableName::EndFaces => Table::EndFaces,
            TableName::Inspections => Table::Inspections,
            TableName::Cleanings => Table::Cleanings,
            TableName::Matings => Table::Matings,
            TableName::Faults => Table::Faults,
        }
    }
}

impl Map {
    /// Runs the command.
    ///
    /// # Errors
    /// A file that cannot be read, or settings that are wrong.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let plan = self.fleet.as_deref().map(settings::read_lists).transpose()?;
        let remembered = plan.as_ref().map(Remembered::of).unwrap_or_default();
        let room = plan.as_ref().map(|plan| Room::of_mib(plan.rules.memory_mib));
        let looked = look(&self.file, room.unwrap_or_default())?;
        let (sites, stages, codes) = match plan {
            Some(plan) => (plan.fleet.sites, plan.stages, plan.codes),
            None => (Vec::new(), Stages::default(), Codes::default()),
        };
        let asked = Asked {
            file: below(&self.file, self.fleet.as_deref()),
            source_name: self.name.unwrap_or_else(|| stem(&self.file)),
            table: self.table.map(Table::from),
            site: self.site,
            sites,
            stages,
            codes,
            rows: looked.rows.clone(),
            guessed_encoding: looked.guessed_encoding.clone(),
            fleet: None,
            remembered,
        };
        let draft = draft(&asked, &looked.columns, &looked.dialect);
        say!("{}", draft.toml.trim_end());
        for doubt in &looked.facts.doubts {
            log.warn(&super::peek::shown::shown(&format!("{}: {}", doubt.what, doubt.evidence)));
        }
        log.note(&match draft.doubts.len() {
            0 => "no questions: read it once and put it into the settings".to_owned(),
            1 => "1 question, in a comment that begins with # ?".to_owned(),
            many => format!("{many} questions, in comments that begin with # ?"),
        });
        Ok(Outcome::Done)
    }
}

/// The path as the settings would name it: relative to their folder, where it is below it.
fn below(file: &Path, settings: Option<&Path>) -> String {
    let folder = settings.and_then(Path::parent).unwrap_or(Path::new(""));
    let path = file.strip_prefix(folder).unwrap_or(file);
    if path.is_absolute() {
        return path.display().to_string();
    }
    path.iter().map(|name| name.to_string_lossy()).collect::<Vec<_>>().join("/")
}

/// The file's name without its endings.
fn stem(file: &Path) -> String {
    let name = file.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    name.split('.').find(|part| !part.is_empty()).unwrap_or("export").to_owned()
}
