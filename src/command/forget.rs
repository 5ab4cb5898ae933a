//! `motetrail forget`: cuts people out of the store.

use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use super::progress::Bar;
use super::say::say;
use crate::settings;
use crate::store::Store;

/// Cut people out of the store, and keep them out.
///
/// Every cell that holds the person's pseudonym becomes empty; so does one that holds the name itself
/// ("erased" where a record must have something there). The name is masked in the text of rejected
/// rows. The parts concerned are written anew and what they were is removed; the records stay, and
/// count as before. The store remembers a keyed hash of the name, no name and no pseudonym, by which
/// a later intake of an export leaves the person out again.
///
/// Not touched: the exports themselves, copies of the store, and reports written before, which hold
/// pseudonyms only if the settings say people = "show". Those are yours to delete. If the command is
/// stopped, the store is as it was; run it again.
#[derive(Args, Debug)]
#[command(
    after_help = "Example:\n  motetrail forget fleet.toml --person \"Ida Mole\" --person \"I. Mole\""
)]
pub struct Forget {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
    /// The name as the exports write it; once for each spelling and person.
    #[arg(long = "person", value_name = "NAME", required = true)]
    people: Vec<String>,
}

impl Forget {
    /// Runs the command.
    ///
    /// # Errors
    /// A name that is none, settings, or store.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let names: Vec<String> = self.people.iter().map(|name| name.trim().to_owned()).collect();
        if names.iter().any(String::is_empty) {
            return Err(WrongArgument {
                argument: "--person",
                found: String::new(),
                expected: "a name as the exports write it".into(),
            }
            .into());
        }
        let plan = settings::read(&self.settings)?;
        let mut store = Store::open(&plan)?;
        let bar = Bar::new(log, "forget");
        let done = store.forget(&plan, &names, &bar)?;
        drop(bar);
        for (table, cells) in &done.cells {
            say!("{cells:>9} cells of {table} emptied");
        }
        if done.rejected > 0 {
            say!("{:>9} rejected rows masked", done.rejected);
        }
        if done.cells.is_empty() && done.rejected == 0 {
            log.warn("the store held nothing under what was given; look whether the exports spell it otherwise");
        }
        log.note(&format!(
            "{} will be left out of later intakes; the exports, copies of the store and earlier reports are yours to delete",
            if names.len() == 1 { "the name" } else { "the names" }
        ));
        Ok(Outcome::Done)
    }
}
