//! `motetrail synth`: an invented fleet with known truth.

use std::path::PathBuf;

use clap::Args;

use super::log::Log;
use super::outcome::{Outcome, WrongArgument};
use super::printable::printable;
use super::say::say;
use crate::settings::nearest;
use crate::synth::{Departures, Key, Recipe, write};

/// Write an invented fleet: exports, settings, and the truth that was planted in them.
///
/// Without options it is the demo, with what is planted there; with any option nothing is planted but what it says.
/// More than ten sites give one plain export shape without dirt, for measuring speed: about two million inspections in
/// ten seconds.
#[derive(Args, Debug)]
#[command(after_help = after_help())]
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
    /// Numbered sites of one plain shape, however few.
    #[arg(long)]
    numbered: bool,
    /// Plant a departure from sound records, or `demo`: those of the demo; may be given several times. The keys stand
    /// below.
    #[arg(long, value_name = "KEY=VALUE")]
    plant: Vec<String>,
}

/// Every key of `--plant`, and an example.
fn after_help() -> String {
    let mut text = "Keys of --plant, none of which is planted unless it is asked for:\n".to_owned();
    for Key { key, range, sentence } in Departures::keys() {
        text += &format!("  {key}: {range}\n      {sentence}\n");
    }
    text + "\nExample:
  motetrail synth /tmp/fleet --sites 200 --inspections 1000000 --seed 3
  motetrail synth /tmp/fleet --sites 8 --numbered --inspections 30000 --plant short=3"
}

/// What `--plant` says for the demo's departures; keys behind it change them.
const DEMO: &str = "demo";

/// What `--plant` asks for.
fn departures(asked: &[String]) -> anyhow::Result<Departures> {
    let mut departures = Departures::default();
    for plant in asked {
        if plant == DEMO {
            departures = Departures::demo();
            continue;
        }
        let wrong = |expected: String| WrongArgument {
            argument: "--plant",
            found: plant.clone(),
            expected: expected.into(),
        };
        let (key, value) = plant
            .split_once('=')
            .ok_or_else(|| wrong("KEY=VALUE, as short=3, or demo".to_owned()))?;
        let keys: Vec<&str> = Departures::keys().iter().map(|key| key.key).collect();
        if !keys.contains(&key) {
            return Err(wrong(one_of(key, &keys)).into());
        }
        departures.plant(key, value)?;
    }
    Ok(departures)
}

/// The keys, and which of them was probably meant.
fn one_of(found: &str, keys: &[&str]) -> String {
    let meant = nearest(found, keys.iter().copied());
    let hint = meant.map(|meant| format!("; did you mean `{meant}`?")).unwrap_or_default();
    format!("one of the keys {}{hint}", keys.join(", "))
}

impl Synth {
    /// Runs the command.
    ///
    /// # Errors
    /// A recipe out of range, or a folder that cannot be written.
    pub fn run(self, log: &Log) -> anyhow::Result<Outcome> {
        let is_demo = self.sites.is_none() && self.inspections.is_none() && self.seed.is_none();
        let demo = Recipe::demo();
        let planted = if is_demo && !self.numbered && self.plant.is_empty() {
            Departures::demo()
        } else {
            departures(&self.plant)?
        };
        let recipe = Recipe {
            sites: self.sites.unwrap_or(demo.sites),
            inspections: self.inspections.unwrap_or(demo.inspections),
            seed: self.seed.unwrap_or(demo.seed),
            numbered: self.numbered,
            departures: planted,
            ..demo
        };
        write(&recipe, &self.out)?;
        log.note(&format!(
            "review it with: motetrail review {}",
            self.out.join("fleet.toml").display()
        ));
        say!("{}", printable(&self.out.display().to_string()));
        Ok(Outcome::Done)
    }
}
