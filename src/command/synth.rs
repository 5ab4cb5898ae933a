//! `motetrail synth`: an invented fleet with known truth.

use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::Outcome;
use super::printable::printable;
use crate::synth::{Recipe, write};

/// Write an invented fleet: exports, settings, and the truth that was planted in them.
///
/// Without options it is the demo. More than ten sites give one plain export shape without dirt,
/// for measuring speed: about two million inspections in ten seconds.
#[derive(Args, Debug)]
#[command(
    after_help = "Example:\n  motetrail synth /tmp/fleet --sites 200 --inspections 1000000 --seed 3"
)]
pub struct Synth {
    /// Folder to write to; made if it is not there.
    #[arg(value_name = "OUT")]
    out: PathBuf,
    /// How many sites.
    #[arg(long)]
    sites: Option<usize>,
    /// About how many inspections.
    #[arg(long)]
    inspections: Option<u64>,
    /// Seed: the same one gives the same bytes.
    #[arg(long)]
    seed: Option<u64>,
}

impl Synth {
    /// Runs the command.
    ///
    /// # Errors
    /// A recipe out of range, or a folder that cannot be written.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let demo = Recipe::demo();
        let recipe = Recipe {
            sites: self.sites.unwrap_or(demo.sites),
            inspections: self.inspections.unwrap_or(demo.inspections),
            seed: self.seed.unwrap_or(demo.seed),
            ..demo
        };
        write(&recipe, &self.out)?;
        log.note(&format!(
            "review it with: motetrail review {}",
            self.out.join("fleet.toml").display()
        ));
        println!("{}", printable(&self.out.display().to_string()));
        Ok(Outcome::Done)
    }
}
