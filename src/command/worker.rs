//! `motetrail worker`: what the tasks of a cluster's job run. Streams in, streams out.

use std::io::{self, BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use clap::{Args, Subcommand};
use serde::Serialize;

use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use super::review::{inputs, measured, period, say_written, try_out};
use crate::cluster::{
    Folder, Gathered, Settling, bind, cut, described, exports_among, gather, join, ledger, settle,
    share, type_exports,
};
use crate::derive::{Quarter, Stage};
use crate::report::{Form, write_as};

/// Do a task of a cluster's job: read a stream, write a stream.
#[derive(Args, Debug)]
pub struct Worker {
    #[command(subcommand)]
    task: Task,
    /// Streams that every task of the job is handed.
    #[arg(long, global = true, num_args = 1.., value_name = "STREAM")]
    with: Vec<PathBuf>,
    /// Fiscal quarter, as for `review`.
    #[arg(long, global = true)]
    period: Option<String>,
}

#[derive(Subcommand, Debug)]
enum Task {
    /// Exports in, files of a store out.
    Type {
        /// Day (UTC) of the intake, the same for all workers.
        #[arg(long)]
        today: NaiveDate,
        /// File to be told how far the reading is.
        #[arg(long)]
        at: Option<PathBuf>,
    },
    /// Exports in; ranges of them out, or they themselves.
    Cut {
        /// Fewest bytes of a range.
        #[arg(long)]
        every: u64,
    },
    /// What came of all ranges of exports in; files of a store out.
    Bind {
        /// Day (UTC) of the intake, the same for all workers.
        #[arg(long)]
        today: NaiveDate,
    },
    /// Names of files in; which of them are exports that the settings name, as JSON.
    Exports,
    /// What became of exports in; their manifest out.
    Ledger,
    /// Parts in, their records as settling sees them out.
    Claims,
    /// These in; records that do not stand out.
    Judge,
    /// All parts of exports and their records that do not stand in; what became of them out.
    Fates,
    /// A manifest in; which files a job needs where, as JSON.
    Files,
    /// A share of a stage of the derivation.
    Share {
        /// Which.
        stage: String,
    },
    /// What the workers of a stage came to, joined.
    Join {
        /// Which.
        stage: String,
    },
    /// The report of what all stages came to.
    Report {
        /// Folder for reports.
        #[arg(long)]
        out: PathBuf,
    },
}

fn stage(word: &str) -> Result<Stage, WrongArgument> {
    Stage::of(word).ok_or_else(|| WrongArgument {
        argument: "STAGE",
        found: word.to_owned(),
        expected: format!("one of {}", Stage::WORDS.join(", ")).into(),
    })
}

impl Worker {
    /// Runs the task.
    ///
    /// # Errors
    /// Streams that are not of one job, damage, a full disk.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let asked = self.period.as_deref().map(period).transpose()?;
        let folder = Folder::of_streams(&self.with)?;
        let (from, to) = (BufReader::new(io::stdin().lock()), BufWriter::new(io::stdout()));
        match self.task {
            Task::Type { today, at } => type_exports(&folder, (today, at), from, to)?,
            Task::Cut { every } => cut(&folder, every, from, to)?,
            Task::Bind { today } => bind(&folder, today, from, to)?,
            Task::Exports => answer(&exports_among(&folder, from)?, to)?,
            Task::Ledger => ledger(&folder, from, to)?,
            Task::Claims => settle(Settling::Claims, &folder, from, to)?,
            Task::Judge => settle(Settling::Judge, &folder, from, to)?,
            Task::Fates => settle(Settling::Fates, &folder, from, to)?,
            Task::Files => answer(&described(&folder, from)?, to)?,
            Task::Share { stage: word } => share(stage(&word)?, folder, asked, from, Box::new(to))?,
            Task::Join { stage: word } => join(stage(&word)?, &folder, from, to)?,
            Task::Report { out } => return report(folder, asked, &out, log),
        }
        Ok(Outcome::Done)
    }
}

/// Writes what a task answers as JSON, where others write a stream.
fn answer(said: &impl Serialize, mut to: impl Write) -> anyhow::Result<()> {
    serde_json::to_writer(&mut to, said)?;
    Ok(to.flush()?)
}

fn report(
    folder: Folder,
    asked: Option<Quarter>,
    out: &Path,
    log: &Log,
) -> anyhow::Result<Outcome> {
    try_out(out, asked.map(|quarter| out.join(quarter.to_string())))?;
    let Gathered { plan, store, derived, unread, folder: held } = gather(folder, asked)?;
    let review = measured(&plan, &derived, &store, &unread)?;
    let place = out.join(review.period.quarter.to_string());
    let written = write_as(&inputs(&plan, &store, &review), &place, Form::Pages)?;
    let outcome =
        if unread.is_empty() { Outcome::of_store(&store, &plan) } else { Outcome::Unread };
    // What is said may end the program, and its folder must be gone by then.
    drop((store, held));
    say_written(&written, None, log);
    for unread in &unread {
        log.fault(&format!("source {}: {}", unread.source, unread.message));
    }
    Ok(outcome)
}
