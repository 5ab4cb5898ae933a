//! Fleets with a departure from sound records, reviewed by the program's own intake, derivation and measures.
//!
//! Quick here, with few seeds; `MOTETRAIL_FLEETS=100 cargo test --release -- departures::` tries so many fleets a claim.

mod done;
mod late;
mod months;
mod names;
mod passes;
mod prices;
mod recording;
mod rejected;
mod short;

use std::fs;
use std::ops::Range;

use motetrail::derive::Derived;
use motetrail::measures::{AnyRow, Flag, Review};
use motetrail::settings;
use motetrail::store::{FileAccount, Taken};
use motetrail::synth::{Departures, Recipe, Truth, write};
use tempfile::TempDir;

pub use crate::proof::invented::recipe;
use crate::proof::invented::taken_through;

/// Seeds of the fleets to try: as many as `MOTETRAIL_FLEETS` says, else `few`.
pub fn seeds(few: u64) -> Range<u64> {
    let asked = std::env::var("MOTETRAIL_FLEETS").ok();
    let many = asked.map(|text| text.parse().unwrap_or_else(|_| panic!("MOTETRAIL_FLEETS={text}")));
    1..1 + many.unwrap_or(few)
}

/// The exports of an invented fleet in a folder of their own.
pub struct Exports {
    pub folder: TempDir,
    pub truth: Truth,
}

/// One review of such a fleet.
pub struct Reviewed {
    pub taken: Taken,
    pub accounts: Vec<FileAccount>,
    pub derived: Derived,
    pub review: Review,
}

impl Exports {
    /// Invents the fleet of a recipe.
    pub fn of(recipe: &Recipe) -> Exports {
        let folder = tempfile::tempdir().unwrap();
        let truth = write(recipe, folder.path()).unwrap();
        Exports { folder, truth }
    }

    /// Reviews it under the settings that came with it, as the program does.
    pub fn review(&self) -> Reviewed {
        self.review_under(|settings| settings)
    }

    /// Reviews it under changed settings: text of `fleet.toml` in, text out. The store is made anew.
    pub fn review_under(&self, change: impl FnOnce(String) -> String) -> Reviewed {
        let path = self.folder.path().join("fleet.toml");
        let written = fs::read_to_string(&path).unwrap();
        fs::write(&path, change(written.clone())).unwrap();
        let plan = settings::read(&path).unwrap_or_else(|error| panic!("{error}"));
        fs::write(&path, written).unwrap();
        let _ = fs::remove_dir_all(&plan.fleet.store);
        let (store, taken, derived, review) = taken_through(&plan);
        Reviewed { accounts: store.accounts().to_vec(), taken, derived, review }
    }
}

impl Reviewed {
    /// Whether any row of any table carries a flag.
    pub fn is_flagged(&self, flag: Flag) -> bool {
        let mut tables = self.review.tables().into_iter();
        tables.any(|table| table.leading().iter().any(|row| row.flags.contains(&flag)))
    }

    /// Whether the interval of the fleet's ratio of skipped against both holds a value.
    pub fn ratio_holds(&self, value: f64) -> bool {
        let row = self.review.skipped_cost.headline().expect("a ratio of the fleet").leading();
        let bounds = row.low.zip(row.high);
        bounds.is_some_and(|(low, high)| low <= value && value <= high)
    }
}

/// The ratio of skipped against both that the fleet was drawn with.
pub fn planted_ratio(truth: &Truth) -> f64 {
    truth.linked_faults.rate_ratio_expected.expect("both classes were followed")
}

/// In how many of the fleets a claim is true; each is invented and reviewed with its departures.
pub fn count(
    seeds: Range<u64>,
    departures: impl Fn() -> Departures,
    claim: impl Fn(&Truth, &Reviewed) -> bool,
) -> u64 {
    let is_true = |seed: &u64| {
        let exports = Exports::of(&recipe(*seed, departures()));
        claim(&exports.truth, &exports.review())
    };
    seeds.filter(is_true).count() as u64
}

/// Of so many intervals at 95 %, the least that may hold before chance is no excuse: fewer have a probability under 2 %.
pub fn least_held(tried: u64) -> u64 {
    let n = tried as f64;
    // Probability of exactly `missed` misses, from that of one less.
    let (mut exactly, mut up_to, mut missed) = (0.95f64.powf(n), 0.0, 0.0);
    loop {
        up_to += exactly;
        if 1.0 - up_to < 0.02 || missed >= n {
            return tried - missed as u64;
        }
        missed += 1.0;
        exactly *= (n - missed + 1.0) / missed * (0.05 / 0.95);
    }
}
