//! `motetrail verify`: the store against its manifest.

use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::Outcome;
use super::printable::printable;
use crate::settings;
use crate::store::Store;

/// Check every part of the store against its hash and every count against its neighbours.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail verify data-demo/fleet.toml")]
pub struct Verify {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
}

impl Verify {
    /// Runs the command.
    ///
    /// # Errors
    /// Settings, or a store that cannot be opened.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let plan = settings::read(&self.settings)?;
        let store = Store::open(&plan)?;
        let damage = store.verify()?;
        for found in &damage {
            let line = format!("{}: {}; {}", found.path.display(), found.what, found.advice);
            println!("{}", printable(&line));
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
