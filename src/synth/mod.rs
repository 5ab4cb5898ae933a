//! Invents a fleet: settings, exports in several shapes, and the truth they were drawn with.
//!
//! End faces live through their lifecycle event by event; what sites write down of it becomes their
//! exports. Same recipe, same bytes. Nothing here is read by any other part of the program, and
//! nothing is taken from a real operator. Large fleets (more than ten sites) are made site by site,
//! so memory is bounded by the largest site.

mod arrival;
mod book;
mod chances;
mod course;
mod culprits;
mod departures;
mod dirt;
mod done;
pub mod draw;
mod error;
mod event;
mod export;
mod face;
mod field;
mod fleet;
mod habit;
mod lead;
mod leads;
mod life;
mod lifecycle;
mod link;
pub mod luck;
pub mod normal;
mod pen;
mod place;
mod plant;
mod purchases;
mod seeded;
mod service;
mod shape;
mod spared;
mod sparing;
mod spoil;
mod state;
mod tally;
mod ticket;
mod truth;
mod visit;
mod window;
mod world;
mod worth;

use std::path::Path;

use chrono::{Months, NaiveDate};

pub use departures::{Departures, Key};
pub use error::SynthError;
pub use truth::{
    CarrierTruth, Carriers, Counts, Cycles, Entry, ExportDirt, FirstPass, LinkedFaults,
    MethodTruth, ProposalTruth, SetTruth, StepTruth, StoppingTruth, Supplier, Truth, WorstCell,
};

use dirt::Dirt;
use draw::Draw;
use error::at;
use event::Minute;
use lifecycle::Lifecycle;
use place::Place;
use plant::DAY;
use purchases::Purchases;
use tally::Tally;
use window::Window;
use world::World;

/// Inspections that one connection yields on average in 18 months, found by running the demo.
const INSPECTIONS_PER_CONNECTION: f64 = 10.5;

/// What to invent.
#[derive(Clone, Debug, PartialEq)]
pub struct Recipe {
    /// Up to ten: the demo's sites with their shapes; more: numbered sites of one plain shape.
    pub sites: usize,
    /// Numbered sites of one plain shape, however few.
    pub numbered: bool,
    /// About so many inspections in all.
    pub inspections: u64,
    /// Seed of every draw.
    pub seed: u64,
    /// Seed of what stands out and of its hazards, where fleets of one world are drawn; none: `seed`.
    pub world: Option<u64>,
    /// Months written down.
    pub months: u32,
    /// First day written down.
    pub start: NaiveDate,
    /// What is planted beyond the ordinary dirt.
    pub departures: Departures,
}

impl Recipe {
    /// The fleet of `data-demo`: ten sites, 18 months from 2025-01-01, with a moderate dose of what real records have.
    pub fn demo() -> Recipe {
        Recipe { departures: Departures::demo(), ..Recipe::sound() }
    }

    /// The same fleet with nothing planted beyond its ordinary dirt.
    pub fn sound() -> Recipe {
        let start = NaiveDate::from_ymd_opt(2025, 1, 1).expect("the first of January exists");
        Recipe {
            sites: 10,
            numbered: false,
            inspections: 47_000,
            seed: 7,
            world: None,
            months: 18,
            start,
            departures: Departures::default(),
        }
    }

    /// Whether the sites are the demo's, with their shapes.
    fn is_demo(&self) -> bool {
        !self.numbered && place::is_demo(self.sites)
    }

    /// First day of which records are kept, if the records end before `close`.
    fn kept_from(&self, close: NaiveDate) -> NaiveDate {
        let short = self.departures.short.and_then(|n| close.checked_sub_months(Months::new(n)));
        short.map_or(self.start, |day| day.max(self.start))
    }

    /// What is kept of a batch of sites: less of the site that joined.
    fn window_of(
        &self,
        sites: &[usize],
        places: &[Place],
        window: Window,
        close: NaiveDate,
    ) -> Window {
        let joined = self.departures.joined.filter(|_| sites == [places.len() - 1]);
        let from = joined.and_then(|months| close.checked_sub_months(Months::new(months)));
        from.map_or(window, |day| Window { kept: minute(day).max(window.kept), ..window })
    }

    /// The first day no longer written down.
    fn close(&self) -> Result<NaiveDate, SynthError> {
        let wrong =
            |field, found: String, expected| Err(SynthError::Recipe { field, found, expected });
        if self.sites == 0 {
            return wrong("sites", "0".to_string(), "at least one");
        }
        if self.departures.joined.is_some() && self.is_demo() {
            let found = "the demo's sites".to_owned();
            return wrong("plant joined", found, "a fleet of numbered sites");
        }
        let shared = luck::Luck::of(&self.departures, self.seed).shared();
        // Beyond 1 probabilities would not stay as planted; a sum of tenths may be off by a last digit.
        if shared > 1.0 + 1e-9 {
            return wrong("plant luck_...", shared.to_string(), "shares that add to 1 at most");
        }
        if !(1..=120).contains(&self.months) {
            return wrong("months", self.months.to_string(), "1 to 120");
        }
        match self.start.checked_add_months(Months::new(self.months)) {
            Some(close) => Ok(close),
            None => wrong("start", self.start.to_string(), "a day far from the calendar's end"),
        }
    }
}

/// Writes the invented fleet below `out`: `fleet.toml`, `exports/`, `truth.json`. Returns the truth.
///
/// Files of an earlier fleet there are overwritten, others left alone. Errors: an impossible recipe,
/// or a file that cannot be written.
pub fn write(recipe: &Recipe, out: &Path) -> Result<Truth, SynthError> {
    let close = recipe.close()?;
    let last = close.pred_opt().unwrap_or(close);
    let kept = recipe.kept_from(close);
    let window = Window { lived: (minute(recipe.start), minute(close)), kept: minute(kept) };
    let demo = recipe.is_demo();
    let places = place::places(recipe.sites, demo);
    let life = &seeded::lifecycle(demo, recipe.world.unwrap_or(recipe.seed), &places);
    let batches: Vec<Vec<usize>> = if demo {
        vec![(0..places.len()).collect()]
    } else {
        (0..places.len()).map(|site| vec![site]).collect()
    };
    let settings = settings_of(recipe, (&places, life), (kept, last));
    let purchases = Purchases::of(&settings, life, &places);
    let mut tally = Tally::new(window);
    let mut dirt = Dirt::new(recipe.seed, demo);
    let mut counts = Counts::default();
    for sites in &batches {
        let window = recipe.window_of(sites, &places, window, close);
        let drawn_with = (&recipe.departures, recipe.seed);
        let mut world = World::new((&places, life), sites[0], window, drawn_with, &purchases);
        live(&mut world, recipe, sites);
        spoil::spoil(&mut world);
        export::write_batch(&mut world, sites, demo, &out.join("exports"), &mut dirt)?;
        count(&world, &mut counts);
        tally.merge(world.tally);
    }
    let path = out.join("fleet.toml");
    std::fs::write(&path, settings).map_err(at(&path))?;
    let truth = state::state(&state::Planted {
        seed: recipe.seed,
        from: kept.to_string(),
        to: last.to_string(),
        demo,
        departures: &recipe.departures,
        places: &places,
        life,
        counts,
        tally: &tally,
        dirt: &dirt,
        purchases: &purchases,
        window,
    });
    let path = out.join("truth.json");
    let text = serde_json::to_string_pretty(&truth).map_err(|e| at(&path)(e.into()))?;
    std::fs::write(&path, text + "\n").map_err(at(&path))?;
    Ok(truth)
}

/// The text of `fleet.toml`, of records of these days.
fn settings_of(
    recipe: &Recipe,
    (places, life): (&[Place], &Lifecycle),
    (kept, last): (NaiveDate, NaiveDate),
) -> String {
    let (demo, departures) = (recipe.is_demo(), &recipe.departures);
    let mut settings = fleet::settings((places, demo.then_some(life)), kept, last);
    if departures.names_rule == Some(1) {
        // The wider rule mends small letters too; a source has one rule.
        let letters_alone = departures.small_letters.is_some() && departures.names.is_none();
        settings = match letters_alone {
            true => fleet::with_letters_rule(&settings, places),
            false => fleet::with_names_rule(&settings),
        };
    }
    settings += &done::settings(departures, places, recipe.start);
    if departures.proposals.is_some() && !demo {
        settings += fleet::STANDARD;
    }
    settings
}

/// Lives every connection of a batch of sites. In the demo the works have none of their own.
fn live(world: &mut World, recipe: &Recipe, sites: &[usize]) {
    lead::add_leads(world);
    let places = world.places;
    let homes = if sites.len() > 1 { &sites[1..] } else { sites };
    let sum = |sites: &[usize]| sites.iter().map(|&site| places[site].size).sum::<f64>();
    let all = if recipe.is_demo() { sum(homes) } else { places.len() as f64 };
    let months = f64::from(recipe.months) / 18.0;
    let connections = recipe.inspections as f64 / INSPECTIONS_PER_CONNECTION / months;
    for &home in homes {
        let share = if all > 0.0 { places[home].size / all } else { 1.0 };
        for number in 0..(connections * share).ceil() as usize {
            let stream = (home as u64) << 32 | number as u64;
            life::live(world, &mut Draw::stream(recipe.seed, stream), home, number);
        }
    }
}

fn count(world: &World, counts: &mut Counts) {
    let kept = |at: &Minute| world.window.is_kept(*at);
    let looks = world.looks.iter().filter(|look| look.fibre <= 1 && kept(&look.at));
    counts.inspections += looks.count() as u64;
    counts.cleanings += world.cleanings.iter().filter(|cleaning| kept(&cleaning.at)).count() as u64;
    counts.matings += world.matings.iter().filter(|mating| kept(&mating.at)).count() as u64;
    counts.faults += world.tickets.iter().filter(|ticket| kept(&ticket.opened)).count() as u64;
    counts.end_faces += world.faces.len() as u64;
}

/// Midnight UTC at the start of a day.
fn minute(day: NaiveDate) -> Minute {
    let epoch = NaiveDate::default();
    (day - epoch).num_days() * DAY
}
