//! Promise 1 on the demo: every row is accounted for, and the counts agree with their neighbours.

use super::demo::demo;

#[test]
fn rows_read_are_loaded_superseded_duplicate_or_quarantined() {
    let demo = demo();
    assert!(demo.accounts.len() > 50);
    for account in &demo.accounts {
        let rows = &account.rows;
        let sum = rows.loaded + rows.superseded + rows.duplicate + rows.quarantined;
        assert_eq!(rows.read, sum, "{}", account.file);
        let reasons: u64 = account.reasons.iter().map(|reason| reason.rows).sum();
        assert_eq!(rows.quarantined, reasons, "{}", account.file);
    }
}

#[test]
fn spoilt_rows_are_exactly_the_quarantined_ones_and_those_with_a_cell_left_out() {
    let demo = demo();
    let planted: f64 = ["bad_dates", "unknown_codes", "short_rows"]
        .iter()
        .map(|kind| demo.planted(&["exports", kind]))
        .sum();
    let quarantined: u64 = demo.accounts.iter().map(|account| account.rows.quarantined).sum();
    let lost = demo.accounts.iter().flat_map(|account| &account.lost);
    let lost: u64 = lost.map(|lost| lost.cells).sum();
    assert!(lost > 0);
    assert_eq!((quarantined + lost) as f64, planted);
}

#[test]
fn repeated_and_corrected_rows_are_counted_as_such() {
    let demo = demo();
    let sum = |rows: fn(&motetrail::store::FileAccount) -> u64| -> f64 {
        demo.accounts.iter().map(rows).sum::<u64>() as f64
    };
    let superseded = sum(|account| account.rows.superseded);
    assert_eq!(superseded, demo.planted(&["exports", "corrected_rows"]));
    let repeated = demo.planted(&["exports", "repeated_rows"]);
    let again = demo.planted(&["exports", "overlap_rows"]) - superseded;
    // A row that repeats another and was spoilt as well is quarantined instead.
    let duplicate = sum(|account| account.rows.duplicate);
    assert!((repeated + again - 5.0..=repeated + again).contains(&duplicate), "{duplicate}");
}

#[test]
fn follow_up_and_coverage_count_the_same_matings() {
    let counts = &demo().derived.counts;
    let (followed, covered) = (counts.followed.follow_up.total(), counts.coverage.matings.total());
    assert_eq!(followed.started, covered.matings);
    assert!(counts.check().is_ok());
}
