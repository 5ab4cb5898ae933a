//! A site that writes down passing looks that nobody made: it passes too much for the faults that follow.

use motetrail::measures::trust::{By, Quantity, Row};
use motetrail::synth::{Departures, Recipe};

use super::{Exports, Reviewed, recipe, seeds};

fn invented(share: f64) -> Departures {
    Departures { invented: Some(share), ratio: Some(4.0), ..Departures::default() }
}

/// Fleets large enough for a site to have faults of its own.
fn large(seed: u64, departures: Departures) -> Recipe {
    Recipe { inspections: 120_000, ..recipe(seed, departures) }
}

fn named(reviewed: &Reviewed) -> Vec<&Row> {
    let rows = reviewed.review.trust.rows_of(By::Site, Quantity::TooGood);
    rows.filter(|row| row.own.named == Some(true)).collect()
}

#[test]
fn sites_of_sound_fleets_are_not_named() {
    let seeds = seeds(1);
    let tried = seeds.end - seeds.start;
    let is_clean = |seed: &u64| {
        let reviewed =
            Exports::of(&large(*seed, Departures { ratio: Some(4.0), ..Departures::default() }))
                .review();
        assert!(reviewed.review.trust.rows_of(By::Site, Quantity::TooGood).count() >= 8);
        named(&reviewed).is_empty()
    };
    let clean = seeds.filter(is_clean).count() as u64;
    // One fleet in twenty may name a site by chance.
    assert!(clean * 100 >= tried * 90, "{clean} of {tried}");
}

#[test]
fn a_site_that_invents_its_looks_is_named() {
    let seeds = seeds(2);
    let tried = seeds.end - seeds.start;
    let mut found = 0;
    for seed in seeds {
        let exports = Exports::of(&large(seed, invented(1.0)));
        let reviewed = exports.review();
        // Rows without a site are of one called unknown.
        let sites = reviewed.review.sites.iter().filter(|site| site.starts_with("Site"));
        let last = sites.max().expect("numbered sites");
        found +=
            u64::from(named(&reviewed).iter().any(|row| row.group.site.as_ref() == Some(last)));
    }
    assert!(found * 2 >= tried, "{found} of {tried}");
}
