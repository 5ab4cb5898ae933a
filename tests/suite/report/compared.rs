//! Two reviews side by side.

use std::path::Path;

use motetrail::measures::Review;
use motetrail::report::{CompareError, Compared, compared};

use super::{plain, report, sample};

/// The comparison of two reviews, as their reports say.
fn of(old: &Review, new: &Review) -> Result<Compared, CompareError> {
    let folder = tempfile::tempdir().unwrap();
    let (then, now) = (folder.path().join("then"), folder.path().join("now"));
    report(old, &then);
    report(new, &now);
    // A folder and a file are taken alike.
    compared(&then, &now.join("findings.json"))
}

/// The sample as the quarter before it would have reported.
fn earlier() -> Review {
    let mut review = sample::full();
    review.period.quarter = motetrail::derive::Quarter(review.period.quarter.0 - 1);
    review
}

#[test]
fn the_later_reviews_own_comparison_counts_where_it_made_one() {
    let compared = of(&earlier(), &sample::full()).unwrap();
    assert_eq!(compared.heading, "Kestrel Carrier: 2026-Q2 against 2026-Q1");
    let first = &compared.headlines[0];
    assert_eq!(first[0], "first-pass-clean");
    assert_eq!(plain(&first[3]), "+1.7 points (−0.9 to +4.3): could not be shown");
}

#[test]
fn elsewhere_a_move_is_shown_only_where_the_intervals_lie_apart() {
    use motetrail::measures::skipped_cost::{By, Quantity};
    let is_saving = |row: &motetrail::measures::skipped_cost::Row| {
        row.by == By::Fleet && row.quantity == Quantity::NetSaving
    };
    let with = |values: [f64; 3]| {
        let mut review = sample::full();
        for row in review.skipped_cost.rows.iter_mut().filter(|row| is_saving(row)) {
            [row.estimate, row.low, row.high] = values.map(|value| Some(value * 100.0));
        }
        review
    };
    let verdict = |then: [f64; 3]| {
        let compared = of(&with(then), &with([61_000.0, 30_000.0, 98_000.0])).unwrap();
        let line = compared.headlines.iter().find(|line| line[0] == "net-saving").unwrap();
        (plain(&line[1]), line[3].clone())
    };
    let (then, said) = verdict([20_000.0, 10_000.0, 29_000.0]);
    assert_eq!(
        (then.as_str(), said.as_str()),
        ("20 k EUR (10 to 29)", "rose: shown, the intervals lie apart")
    );
    assert_eq!(verdict([20_000.0, 10_000.0, 31_000.0]).1, "could not be shown");
    assert_eq!(verdict([200_000.0, 99_000.0, 300_000.0]).1, "fell: shown, the intervals lie apart");
}

#[test]
fn a_review_against_itself_moves_nothing() {
    let compared = of(&sample::full(), &sample::full()).unwrap();
    assert!(!compared.places.is_empty());
    for line in compared.headlines.iter().chain(&compared.places) {
        assert_eq!((&line[1], line[3].as_str()), (&line[2], "could not be shown"));
    }
    assert!(compared.notes.is_empty(), "{:?}", compared.notes);
}

#[test]
fn other_fleets_other_money_and_other_files_are_refused_or_said() {
    let mut other = sample::full();
    other.fleet = "Another".to_owned();
    let error = of(&other, &sample::full()).unwrap_err();
    assert!(matches!(&error, CompareError::Fleets { .. }), "{error}");
    let mut other = sample::full();
    other.currency = "CHF".to_owned();
    let done = of(&other, &sample::full()).unwrap();
    assert!(done.places.is_empty());
    assert!(!done.headlines.iter().any(|line| line[0] == "net-saving"));
    assert!(done.notes[0].contains("CHF"), "{:?}", done.notes);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("findings.json");
    for (text, words) in
        [("{}", "schema_version"), ("{\"schema_version\": 1}", "expected 2"), ("x", "expected")]
    {
        std::fs::write(&file, text).unwrap();
        let error = compared(&file, Path::new("elsewhere")).unwrap_err().to_string();
        assert!(error.contains(words) && error.contains("findings.json"), "{error}");
    }
    std::fs::remove_file(&file).unwrap();
    let error = compared_at(&file).to_string();
    assert!(error.contains("findings.json") && error.contains("cannot be read"), "{error}");
}

fn compared_at(path: &Path) -> CompareError {
    compared(path, path).unwrap_err()
}
