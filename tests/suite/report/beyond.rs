//! Superlatives: only for what is surely beyond every other.

use motetrail::measures::first_pass::{By, Own, Quantity, Row};
use motetrail::measures::{Flag, Review};
use serde_json::Value;

use super::sample::{declared, empty, group};
use super::{report, text};

fn place(stage: &str, family: &str, values: [f64; 3]) -> Row {
    let what = (By::StageFamily, group("stage+family", &[stage, family]), Quantity::Clean);
    declared(what, "Wilson", (400.0, 300), values, Own::default())
}

/// The finding of first pass of a fleet at 80 % with these places.
fn finding(places: Vec<Row>) -> String {
    let fleet = (By::Fleet, Default::default(), Quantity::Clean);
    let mut review: Review = empty();
    review.first_pass.rows =
        vec![declared(fleet, "Wilson", (4_000.0, 3_200), [0.80, 0.79, 0.81], Own::default())];
    review.first_pass.rows.extend(places);
    let folder = tempfile::tempdir().unwrap();
    report(&review, folder.path());
    let findings: Value = serde_json::from_str(&text(folder.path(), "findings.json")).unwrap();
    let said = findings["findings"][0]["finding"].as_str().unwrap();
    said.replace(['\u{A0}', '\u{202F}'], " ")
}

#[test]
fn a_place_below_every_other_is_the_lowest() {
    let said = finding(vec![
        place("test-bay", "LC", [0.60, 0.55, 0.65]),
        place("test-bay", "SC", [0.75, 0.70, 0.78]),
        place("frame-shop", "LC", [0.85, 0.80, 0.90]),
    ]);
    assert!(said.ends_with("; lowest at test-bay, LC: 60 % (55 to 65)."), "{said}");
}

#[test]
fn of_places_that_overlap_none_is_called_the_lowest() {
    let said = finding(vec![
        place("test-bay", "LC", [0.60, 0.50, 0.70]),
        place("frame-shop", "SC", [0.62, 0.52, 0.72]),
        place("frame-shop", "LC", [0.85, 0.80, 0.90]),
    ]);
    assert!(
        said.ends_with("; surely below the fleet: test-bay, LC 60 % (50 to 70), frame-shop, SC 62 % (52 to 72)."),
        "{said}"
    );
}

#[test]
fn a_stage_that_lies_below_in_every_family_is_named_as_one() {
    let mut thin = place("test-bay", "MPO", [0.90, 0.70, 1.0]);
    thin.flags = vec![Flag::Thin];
    let said = finding(vec![
        place("test-bay", "LC", [0.60, 0.50, 0.70]),
        place("test-bay", "SC", [0.70, 0.62, 0.78]),
        thin,
        place("frame-shop", "LC", [0.85, 0.80, 0.90]),
    ]);
    assert!(
        said.ends_with("; below the fleet at test-bay in every family: from 60 % (50 to 70) to 70 % (62 to 78)."),
        "{said}"
    );
}

#[test]
fn without_a_place_surely_below_nothing_is_said_of_any() {
    let said = finding(vec![place("test-bay", "LC", [0.70, 0.55, 0.85])]);
    assert!(!said.contains("test-bay"), "{said}");
}
