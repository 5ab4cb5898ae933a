//! Fleets that `synth` writes, taken in, derived and reviewed as the program does: for the settings that are whole reviews, and
//! for the tests of departures.

use motetrail::derive::{Derived, derive};
use motetrail::measures::{Review, review};
use motetrail::settings::{self, Plan};
use motetrail::store::{Store, Taken};
use motetrail::synth::{Departures, Recipe, Truth, write};

/// Sites that [`recipe`] draws, and looks at their end faces.
pub const SITES: usize = 8;
const LOOKS: u64 = 30_000;
/// Fleets of a setting: each takes seconds. Monte Carlo error of a share of .92: .035.
pub const FLEETS: u32 = 60;

/// Fleets of so many numbered sites, else as [`recipe`] draws them, in the words of a setting.
pub fn numbered(sites: usize) -> String {
    format!("lives event by event on {sites} sites; {LOOKS} looks in 18 months")
}

/// Eight numbered sites with some 30,000 inspections in 18 months; skipping a look raises the rate of linked faults.
pub fn recipe(seed: u64, departures: Departures) -> Recipe {
    let demo = Recipe::sound();
    Recipe { sites: SITES, numbered: true, inspections: LOOKS, seed, departures, ..demo }
}

/// Takes the exports of settings in and reviews them; the store must not stand yet.
pub fn taken_through(plan: &Plan) -> (Store, Taken, Derived, Review) {
    let mut store = Store::open(plan).expect("a store");
    let today = plan.fleet.as_of.expect("a day on which records were complete");
    let taken = store.take(plan, today, &()).expect("exports that are taken in");
    let derived = derive(plan, &store, None, &()).expect("counts");
    let review = review(plan, &derived, store.accounts()).expect("a review");
    (store, taken, derived, review)
}

/// A fleet with its truth, and what the review says of it.
pub struct Reviewed {
    /// What was planted.
    pub truth: Truth,
    /// The settings that came with it.
    pub plan: Plan,
    /// What was found.
    pub review: Review,
}

/// Invents and reviews the fleet of a recipe.
pub fn reviewed(recipe: &Recipe) -> Reviewed {
    let folder = tempfile::tempdir().expect("a folder for the fleet");
    let truth = write(recipe, folder.path()).expect("an invented fleet");
    let plan = settings::read(&folder.path().join("fleet.toml")).expect("settings that load");
    let (.., review) = taken_through(&plan);
    Reviewed { truth, plan, review }
}
