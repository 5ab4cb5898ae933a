//! `motetrail review`: everything, from exports to the report.

use std::error::Error;
use std::path::{Path, PathBuf};

use clap::Args;

use super::intake::take;
use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use super::printable::printable;
use super::progress::Bar;
use super::say::say;
use crate::derive::{Derived, Period, Quarter, Witness, derive_with};
use crate::measures;
use crate::report::{
    FINDINGS_SCHEMA, Form, Inputs, ReportError, Written, may_replace, try_folder, write_as, zip,
};
use crate::settings::{self, Plan};
use crate::store::{Store, Unread};

/// Bring exports in, derive, measure, and write the report of one quarter.
///
/// Prints the review in at most six sentences and writes OUT/<period>/ with report.html, the front page,
/// pages, charts, tables and findings; an earlier report of the
/// same period is replaced whole, files of yours in it are carried over, and anything that is not a
/// report of this program is refused. An export that cannot be read is named, on the first page too,
/// and the report is made without it; the command then ends with code 3.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail review data-demo/fleet.toml --period 2026-Q2")]
pub struct Review {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML", required_unless_present = "schema")]
    settings: Option<PathBuf>,
    /// Fiscal quarter, as 2026-Q3: the third of the fiscal year that begins in 2026. Without it,
    /// the last one that is over.
    #[arg(long)]
    period: Option<String>,
    /// Folder for reports.
    #[arg(long, value_name = "DIR", default_value = "reports")]
    out: PathBuf,
    /// All pages in one report.html, in place of a front page and a page a question and a site.
    #[arg(long)]
    single: bool,
    /// Also write the whole report as OUT/<period>.zip, to be sent.
    #[arg(long)]
    zip: bool,
    /// Print the JSON Schema of findings.json, and do nothing else.
    #[arg(long, exclusive = true)]
    schema: bool,
}

impl Review {
    /// Runs the command.
    ///
    /// # Errors
    /// Arguments, settings, inputs, store, or a folder that cannot be written.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let Some(settings) = self.settings.as_deref().filter(|_| !self.schema) else {
            say!("{}", FINDINGS_SCHEMA.trim_end());
            return Ok(Outcome::Done);
        };
        let asked = self.period.as_deref().map(period).transpose()?;
        let plan = settings::read(settings)?;
        let folder_of = |quarter: Quarter| self.out.join(quarter.to_string());
        try_out(&self.out, asked.map(folder_of))?;
        say_open(&plan, settings, log);
        let store = take(&plan, log)?;
        let review = reviewed(&plan, &store, asked, &folder_of, log)?;
        let folder = folder_of(review.period.quarter);
        let form = if self.single { Form::OneFile } else { Form::Pages };
        let written = write_as(&inputs(&plan, &store, &review), &folder, form)?;
        let archive = if self.zip { Some(zip(&written)?) } else { None };
        say_written(&written, archive.as_deref(), log);
        Ok(Outcome::of_store(&store, &plan))
    }
}

/// Says which questions of the settings nobody has answered, and what their answers could change.
fn say_open(plan: &Plan, settings: &Path, log: &Log) {
    if plan.open.is_empty() {
        return;
    }
    let mut text = match plan.open.len() {
        1 => "1 question is open".to_owned(),
        many => format!("{many} questions are open"),
    };
    text +=
        &format!(" in {}; what stands there counts until there is an answer", settings.display());
    for question in &plan.open {
        text += &format!("\n{:>9}  line {}: {}", "", question.line, question.text);
        if !question.changes.is_empty() {
            text += &format!("\n{:>9}  could change {}", "", question.changes);
        }
    }
    log.warn(&text);
}

/// The quarter of an argument.
pub(super) fn period(text: &str) -> Result<Quarter, WrongArgument> {
    Quarter::parse(text).ok_or_else(|| WrongArgument {
        argument: "--period",
        found: text.to_owned(),
        expected: "a fiscal year and quarter such as 2026-Q3".into(),
    })
}

/// Before any work: whether reports can be written to `out`, and put at the folder if it is known.
pub(super) fn try_out(out: &Path, folder: Option<PathBuf>) -> Result<(), ReportError> {
    try_folder(out)?;
    folder.map_or(Ok(()), |folder| may_replace(&folder))
}

/// Derives and measures. The folder of the report is looked at as soon as the quarter is known.
pub(super) fn reviewed(
    plan: &Plan,
    store: &Store,
    asked: Option<Quarter>,
    folder_of: &(dyn Fn(Quarter) -> PathBuf + Sync),
    log: &Log,
) -> anyhow::Result<measures::Review> {
    let bar = Bar::new(log, "derive");
    let derived = derive_with(plan, store, asked, &bar, &Placing(folder_of))?;
    drop(bar);
    measured(plan, &derived, store, store.unread())
}

/// Measures what was derived, and names the exports that are missing from it.
pub(super) fn measured(
    plan: &Plan,
    derived: &Derived,
    store: &Store,
    unread: &[Unread],
) -> anyhow::Result<measures::Review> {
    let mut review = measures::review(plan, derived, store.accounts())?;
    measures::add_unread(&mut review, unread);
    Ok(review)
}

/// What a report is written from.
pub(super) fn inputs<'a>(
    plan: &Plan,
    store: &'a Store,
    review: &'a measures::Review,
) -> Inputs<'a> {
    let (seed, settings_hash) = (plan.rules.seed, plan.text_blake3.clone());
    Inputs { review, accounts: store.accounts(), seed, settings_hash }
}

/// Prints the review in its sentences, unless quiet, and where it stands.
pub(super) fn say_written(written: &Written, archive: Option<&Path>, log: &Log) {
    if !log.is_quiet() {
        for (sentence, number) in written.short.iter().zip(1..) {
            say!("{number}. {}", printable(sentence));
        }
        say!();
    }
    if let Some(archive) = archive {
        say!("{}", printable(&archive.display().to_string()));
    }
    say!("{}", printable(&written.folder.join("report.html").display().to_string()));
}

/// Refuses a quarter whose report would take the place of something else.
struct Placing<'a>(&'a (dyn Fn(Quarter) -> PathBuf + Sync));

impl Witness for Placing<'_> {
    fn period(&self, period: &Period) -> Result<(), Box<dyn Error + Send + Sync>> {
        Ok(may_replace(&self.0(period.quarter))?)
    }
}
