//! `motetrail payback`: the purchase case alone.

use std::path::PathBuf;

use clap::Args;

use super::intake::take;
use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use super::printable::printable;
use super::review::{inputs, period, reviewed, try_out};
use super::say::say;
use crate::derive::Quarter;
use crate::report::{payback_lines, write_payback};
use crate::settings::{self, Plan, nearest};

/// Judge what the settings propose to buy: what it is worth, when it pays back, how sure that is.
///
/// Prints the answer and writes OUT/payback-<period>/ with payback.html, charts and the table, and, of a
/// single proposal that can be valued, case.html: one page to sign. An earlier one is replaced whole,
/// and anything else that stands there is refused.
#[derive(Args, Debug)]
#[command(
    after_help = "Example:\n  motetrail payback data-demo/fleet.toml --proposal \"Microscopes for Pellorin\""
)]
pub struct Payback {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
    /// Only the proposal of this name.
    #[arg(long, value_name = "NAME")]
    proposal: Option<String>,
    /// Fiscal quarter whose look-back is judged by, as 2026-Q3. Without it, the last one that is over.
    #[arg(long)]
    period: Option<String>,
    /// Folder for reports.
    #[arg(long, value_name = "DIR", default_value = "reports")]
    out: PathBuf,
}

impl Payback {
    /// Runs the command.
    ///
    /// # Errors
    /// Arguments, settings, inputs, store, or a folder that cannot be written.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let asked = self.period.as_deref().map(period).transpose()?;
        let mut plan = settings::read(&self.settings)?;
        if let Some(name) = &self.proposal {
            only(&mut plan, name)?;
        }
        let folder_of = |quarter: Quarter| self.out.join(format!("payback-{quarter}"));
        try_out(&self.out, asked.map(folder_of))?;
        let store = take(&plan, log)?;
        let review = reviewed(&plan, &store, asked, &folder_of, log)?;
        let folder = folder_of(review.period.quarter);
        write_payback(&inputs(&plan, &store, &review), &folder)?;
        for line in payback_lines(&review) {
            say!("{}", printable(&line));
        }
        say!();
        say!("{}", printable(&folder.join("payback.html").display().to_string()));
        Ok(Outcome::of_store(&store, &plan))
    }
}

/// Leaves the proposal of that name alone in the plan.
fn only(plan: &mut Plan, name: &str) -> Result<(), WrongArgument> {
    let known: Vec<String> = plan.proposals.iter().map(|own| own.name.clone()).collect();
    plan.proposals.retain(|own| own.name == name);
    if !plan.proposals.is_empty() {
        return Ok(());
    }
    let meant = nearest(name, known.iter().map(String::as_str));
    let meant = meant.map(|meant| format!("; did you mean \"{meant}\"?")).unwrap_or_default();
    let known = if known.is_empty() { "there is none".to_owned() } else { known.join(", ") };
    let expected = format!("a proposal of the settings ({known}){meant}");
    Err(WrongArgument { argument: "--proposal", found: name.to_owned(), expected: expected.into() })
}
