//! `motetrail verify`: the store against its manifest.

use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::Outcome;
use super::printable::printable;
use super::say::say;
use crate::settings::{self, Plan};
use crate::store::{Rebuilt, Store};

/// Check every file of the store against its hash and every count against its neighbours.
///
/// Writes nothing. With --rebuild it makes a lost, older or damaged manifest again from what the
/// parts say of themselves; what is damaged is set aside in the store's folder and named, never
/// removed.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail verify data-demo/fleet.toml")]
pub struct Verify {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
    /// Make the manifest again before checking.
    #[arg(long)]
    rebuild: bool,
}

impl Verify {
    /// Runs the command.
    ///
    /// # Errors
    /// Settings, or a store that cannot be opened.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let plan = settings::read(&self.settings)?;
        let store = if self.rebuild { rebuilt(&plan, log)? } else { Store::inspect(&plan)? };
        let damage = store.verify()?;
        for found in &damage {
            let line = format!("{}: {}; {}", found.path.display(), found.what, found.advice);
            print_line(&line);
        }
        if damage.is_empty() {
            log.note(&format!(
                "the store agrees with its manifest ({} exports)",
                store.accounts().len()
            ));
            return Ok(Outcome::Done);
        }
        Ok(Outcome::Damaged)
    }
}

/// Makes the manifest again and tells what could not be used.
fn rebuilt(plan: &Plan, log: &Log) -> anyhow::Result<Store> {
    let (store, Rebuilt { exports, set_aside, .. }) = Store::rebuild(plan)?;
    for file in &set_aside {
        let line = format!("{}: {}; set aside as {}", file.was, file.why, file.path.display());
        print_line(&line);
    }
    log.note(&format!(
        "rebuilt the manifest: {exports} exports, {} files set aside",
        set_aside.len()
    ));
    Ok(store)
}

/// One line, whatever stands in the names of files.
fn print_line(line: &str) {
    say!("{}", printable(line));
}
