//! `motetrail intake`: brings exports into the store, and no more.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::Args;

use super::changed::say_changed;
use super::log::Log;
use super::names_meeting::print_low;
use super::needs::needs_text;
use super::outcome::Outcome;
use super::printable::printable;
use super::progress::Bar;
use super::refusals;
use super::say::say;
use crate::records::Table;
use crate::settings::{self, Plan};
use crate::store::{Store, Taken, today};

/// Bring the exports that the settings name into the store.
///
/// Reads only what is new: an export that is in the store already adds nothing. Takes about a
/// second for every million rows. An export that cannot be read is named and the rest goes on; the
/// command then ends with code 3. With `strict = true` under [rules] it ends at once instead and
/// takes nothing.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail intake data-demo/fleet.toml")]
pub struct Intake {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
}

impl Intake {
    /// Runs the command.
    ///
    /// # Errors
    /// Settings, inputs or store.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let plan = settings::read(&self.settings)?;
        let store = take(&plan, log)?;
        print_accounts(&store);
        let apart = print_low(&plan, &store)?;
        say!("{}", needs_text(&plan, apart));
        Ok(Outcome::of_store(&store, &plan))
    }
}

/// Opens the store and brings the plan's exports in.
///
/// # Errors
/// Inputs or store.
pub fn take(plan: &Plan, log: &Log) -> anyhow::Result<Store> {
    let mut store = Store::open(plan)?;
    say_changed(plan, &store, log);
    let before = rejected(&store);
    let bar = Bar::new(log, "intake");
    let taken = store.take(plan, today()?, &bar)?;
    drop(bar);
    tell(&taken, log);
    tell_difference(&before, &store, log);
    refusals::say(plan, store.accounts(), log);
    Ok(store)
}

/// Rejected rows by source and file.
fn rejected(store: &Store) -> BTreeMap<(String, String), u64> {
    let mut rows: BTreeMap<(String, String), u64> = BTreeMap::new();
    for account in store.accounts() {
        let key = (account.source.clone(), account.file.clone());
        *rows.entry(key).or_default() += account.rows.quarantined;
    }
    rows
}

/// Says what reading exports again, after a change of their map, has changed.
fn tell_difference(before: &BTreeMap<(String, String), u64>, store: &Store, log: &Log) {
    for ((source, file), now) in rejected(store) {
        let was = before.get(&(source.clone(), file.clone()));
        if let Some(was) = was.filter(|was| **was != now) {
            log.note(&printable(&format!("{source}: {file}: rejected {was} before, {now} now")));
        }
    }
}

fn tell(taken: &Taken, log: &Log) {
    for pattern in &taken.unmatched {
        let (source, pattern) = (&pattern.source, &pattern.pattern);
        log.warn(&format!(
            "source {source}: no file matches \"{pattern}\"; check `files`, or remove the pattern"
        ));
    }
    for unread in &taken.unread {
        let kept =
            if unread.earlier { "; what an earlier intake read of it stays in force" } else { "" };
        log.fault(&format!("source {}: {}{kept}", unread.source, unread.message));
    }
    let missing = match taken.unread.len() {
        0 => String::new(),
        missing => format!(", {missing} could not be read"),
    };
    let Taken { read, known, .. } = taken;
    log.note(&format!("intake: {read} exports read, {known} known already{missing}"));
}

/// One line a file, then the sum: what the command is for.
fn print_accounts(store: &Store) {
    say!(
        "{:>10} {:>10} {:>10} {:>10} {:>10}  file",
        "read",
        "loaded",
        "superseded",
        "duplicate",
        "rejected"
    );
    let mut sums = [0u64; 5];
    for account in store.accounts() {
        let rows = &account.rows;
        let counts = [rows.read, rows.loaded, rows.superseded, rows.duplicate, rows.quarantined];
        for (sum, count) in sums.iter_mut().zip(counts) {
            *sum += count;
        }
        print_line(counts, &format!("{}: {}", account.source, account.file));
    }
    print_line(sums, "all");
    let mut expired: BTreeMap<Table, u64> = BTreeMap::new();
    for found in store.accounts().iter().flat_map(|account| &account.expired) {
        *expired.entry(found.table).or_default() += found.records;
    }
    for (table, records) in expired {
        say!("{records:>10} records of {} dropped for their age", table.name());
    }
}

fn print_line(counts: [u64; 5], label: &str) {
    let cells: Vec<String> = counts.iter().map(|count| format!("{count:>10}")).collect();
    say!("{}  {}", cells.join(" "), printable(label));
}
