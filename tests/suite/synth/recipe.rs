//! Recipes that no fleet can be made of, and places that cannot be written.

use motetrail::synth::{Departures, Recipe, SynthError, write};

use super::small;

#[test]
fn impossible_recipes_say_what_was_found_and_expected() {
    let folder = tempfile::tempdir().unwrap();
    let message = |recipe: Recipe| write(&recipe, folder.path()).unwrap_err().to_string();
    assert_eq!(message(Recipe { sites: 0, ..small() }), "sites: found 0, expected at least one");
    assert_eq!(message(Recipe { months: 0, ..small() }), "months: found 0, expected 1 to 120");
    assert_eq!(message(Recipe { months: 121, ..small() }), "months: found 121, expected 1 to 120");
    let late = Recipe { start: chrono::NaiveDate::MAX, ..small() };
    assert!(message(late).starts_with("start: found +262142-12-31, expected"));
    let shared =
        Departures { luck_order: Some(0.75), luck_site: Some(0.5), ..Departures::default() };
    assert_eq!(
        message(Recipe { departures: shared, ..small() }),
        "plant luck_...: found 1.25, expected shares that add to 1 at most"
    );
}

#[test]
fn unwritable_place_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let blocked = folder.path().join("file");
    std::fs::write(&blocked, "in the way").unwrap();
    let error = write(&small(), &blocked).unwrap_err();
    assert!(matches!(&error, SynthError::Write { path, .. } if path.starts_with(&blocked)));
}

#[test]
fn the_settings_of_any_number_of_sites_load_and_name_every_export() {
    for sites in (1..=10).chain([11]) {
        let folder = tempfile::tempdir().unwrap();
        write(&Recipe { sites, inspections: 400, ..small() }, folder.path()).unwrap();
        let path = folder.path().join("fleet.toml");
        let plan =
            motetrail::settings::read(&path).unwrap_or_else(|error| panic!("{sites}: {error}"));
        assert_eq!(plan.fleet.sites.len(), sites);
        let mut store = motetrail::store::Store::open(&plan).unwrap();
        let today = plan.fleet.as_of.unwrap();
        let taken = store.take(&plan, today, &()).unwrap();
        assert!(taken.unread.is_empty(), "{sites}: {taken:?}");
        let exports = super::files(&folder.path().join("exports"));
        assert_eq!(taken.read, exports.len(), "{sites}: an export is named by no source");
    }
}

#[test]
fn a_departure_out_of_range_says_what_was_found_and_expected() {
    let mut planted = Departures::default();
    let error = planted.plant("short", "0").unwrap_err().to_string();
    assert_eq!(error, "--plant short: found \"0\", expected a whole number from 1 to 120");
    let error = planted.plant("ratio", "much").unwrap_err().to_string();
    assert_eq!(error, "--plant ratio: found \"much\", expected a number from 0.1 to 20");
    assert!(planted.is_none() && planted.plant("short", "3").is_ok());
    assert_eq!(planted, Departures { short: Some(3), ..Departures::default() });
}

#[test]
fn what_is_planted_stands_in_the_truth_and_nothing_does_where_nothing_is() {
    let text = |departures: Departures| {
        let folder = tempfile::tempdir().unwrap();
        let recipe = Recipe { inspections: 400, departures, ..small() };
        write(&recipe, folder.path()).unwrap();
        std::fs::read_to_string(folder.path().join("truth.json")).unwrap()
    };
    assert!(!text(Departures::default()).contains("departures"));
    let planted = text(Departures { short: Some(3), ..Departures::default() });
    assert!(planted.contains("\"departures\": {\n    \"short\": 3\n  }"), "{planted}");
}
