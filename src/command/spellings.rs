//! `motetrail spellings`: whether sources name end faces alike.

use std::path::PathBuf;

use clap::Args;

use super::intake::take;
use super::log::Log;
use super::names_meeting::print_all;
use super::outcome::Outcome;
use crate::settings;

/// Compare how the sources of each site write the names of end faces.
///
/// Brings new exports in and prints, for every site and pair of sources, how many of the end faces that one names the
/// other names too, both ways; what each rule that `names` of the settings does not have would bring to meet, and how
/// many names of one source it would merge, which speaks against it; and the names that look most alike. Makes no
/// review. Nothing is merged that the settings do not say.
#[derive(Args, Debug)]
#[command(after_help = "Example:\n  motetrail spellings data-demo/fleet.toml")]
pub struct Spellings {
    /// The fleet's settings.
    #[arg(value_name = "FLEET.TOML")]
    settings: PathBuf,
}

impl Spellings {
    /// Runs the command.
    ///
    /// # Errors
    /// Settings, inputs, an alias table or the store.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let plan = settings::read(&self.settings)?;
        let store = take(&plan, log)?;
        print_all(&plan, &store)?;
        Ok(Outcome::of_store(&store, &plan))
    }
}
