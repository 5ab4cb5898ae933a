//! `motetrail worker`: what the tasks of a cluster's job run. Streams in, streams out.

use std::io::{self, BufReader, BufWriter};
use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Args, Subcommand};

use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use super::printable::printable;
use super::review::{period, try_out};
use crate::cluster::{Folder, described, exports_among, gather, join, settle, share, type_exports};
use crate::derive::{Quarter, Stage};
use crate::measures;
use crate::report::{Form, Inputs, write_as};

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
    },
    /// Names of files in; which of them are exports that the settings name, as JSON.
    Exports,
    /// Files of all exports in; the manifest and the lists of records that do not stand out.
    Settle,
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
            Task::Type { today } => type_exports(&folder, today, from, to)?,
            Task::Exports => println!("{}", serde_json::to_string(&exports_among(&folder, from)?)?),
            Task::Settle => settle(&folder, from, to)?,
            Task::Files => println!("{}", serde_json::to_string(&described(&folder, from)?)?),
            Task::Share { stage: word } => share(stage(&word)?, folder, asked, from, Box::new(to))?,
            Task::Join { stage: word } => join(stage(&word)?, &folder, from, to)?,
            Task::Report { out } => return report(folder, asked, &out, log),
        }
        Ok(Outcome::Done)
    }
}

fn report(
    folder: Folder,
    asked: Option<Quarter>,
    out: &std::path::Path,
    log: &Log,
) -> anyhow::Result<Outcome> {
    try_out(out, asked.map(|quarter| out.join(quarter.to_string())))?;
    let gathered = gather(folder, asked)?;
    let (plan, store) = (&gathered.plan, &gathered.store);
    let mut review = measures::review(plan, &gathered.derived, store.accounts())?;
    measures::add_unread(&mut review, &gathered.unread);
    let (seed, settings_hash) = (plan.rules.seed, plan.text_blake3.clone());
    let inputs = Inputs { review: &review, accounts: store.accounts(), seed, settings_hash };
    let folder = out.join(review.period.quarter.to_string());
    let written = write_as(&inputs, &folder, Form::Pages)?;
    if !log.is_quiet() {
        for (sentence, number) in written.short.iter().zip(1..) {
            println!("{number}. {}", printable(sentence));
        }
        println!();
    }
    println!("{}", printable(&folder.join("report.html").display().to_string()));
    for unread in &gathered.unread {
        log.fault(&format!("source {}: {}", unread.source, unread.message));
    }
    Ok(if gathered.unread.is_empty() { Outcome::of_store(store, plan) } else { Outcome::Unread })
}
