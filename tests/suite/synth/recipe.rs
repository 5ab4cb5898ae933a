//! Recipes that no fleet can be made of, and places that cannot be written.

use motetrail::synth::{Recipe, SynthError, write};

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
}

#[test]
fn unwritable_place_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let blocked = folder.path().join("file");
    std::fs::write(&blocked, "in the way").unwrap();
    let error = write(&small(), &blocked).unwrap_err();
    assert!(matches!(&error, SynthError::Write { path, .. } if path.starts_with(&blocked)));
}
