//! `motetrail review`: everything, from exports to the report.

use std::path::{Path, PathBuf};

use clap::Args;

use super::intake::take;
use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use super::progress::Bar;
use crate::derive::{Quarter, derive};
use crate::measures;
use crate::report::{AccountLine, Inputs, write};
use crate::settings::{self, Plan};
use crate::store::{FileAccount, Store};

/// Bring exports in, derive, measure, and write the report of one quarter.
///
/// Writes OUT/<period>/ with report.html, charts, tables and findings; an earlier report of the
/// same period is replaced whole.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail review data-demo/fleet.toml --period 2026-Q2")]
pub struct Review {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
    /// Fiscal quarter, as 2026-Q3: the third of the fiscal year that begins in 2026. Without it,
    /// the last one that is over.
    #[arg(long)]
    period: Option<String>,
    /// Folder for reports.
    #[arg(long, value_name = "DIR", default_value = "reports")]
    out: PathBuf,
}

impl Review {
    /// Runs the command.
    ///
    /// # Errors
    /// Arguments, settings, inputs, store, or a folder that cannot be written.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let asked = self.period.as_deref().map(period).transpose()?;
        let plan = settings::read(&self.settings)?;
        let store = take(&plan, log)?;
        let folder = review(&plan, &store, asked, &self.out, log)?;
        println!("{}", folder.join("report.html").display());
        Ok(Outcome::of_accounts(store.accounts(), plan.rules.quarantine_limit))
    }
}

/// The quarter of an argument.
pub(super) fn period(text: &str) -> Result<Quarter, WrongArgument> {
    Quarter::parse(text).ok_or_else(|| WrongArgument {
        argument: "--period",
        found: text.to_owned(),
        expected: "a fiscal year and quarter such as 2026-Q3".into(),
    })
}

/// Derives, measures and writes; returns the report's folder.
fn review(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    out: &Path,
    log: &Log,
) -> anyhow::Result<PathBuf> {
    let review = reviewed(plan, store, asked, log)?;
    let accounts = account_lines(store);
    let (seed, settings_hash) = (plan.rules.seed, plan.text_blake3.clone());
    let inputs = Inputs { review: &review, accounts: &accounts, seed, settings_hash };
    let folder = out.join(review.period.quarter.to_string());
    write(&inputs, &folder)?;
    Ok(folder)
}

/// Derives and measures.
pub(super) fn reviewed(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    log: &Log,
) -> anyhow::Result<measures::Review> {
    let bar = Bar::new(log, "derive");
    let derived = derive(plan, store, asked, &bar)?;
    drop(bar);
    Ok(measures::review(plan, &derived, store.accounts())?)
}

/// The accounts of the files, as a report prints them.
pub(super) fn account_lines(store: &Store) -> Vec<AccountLine> {
    store.accounts().iter().map(line).collect()
}

fn line(account: &FileAccount) -> AccountLine {
    AccountLine {
        source: account.source.clone(),
        file: account.file.clone(),
        hash: account.hash.clone(),
        read: account.rows.read,
        loaded: account.rows.loaded,
        superseded: account.rows.superseded,
        withdrawn: account.rows.withdrawn,
        duplicate: account.rows.duplicate,
        quarantined: account.rows.quarantined,
        expired: account.rows.expired,
    }
}
