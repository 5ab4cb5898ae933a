//! What the report says of changes: named ones, the rest, and the change of each headline.

use motetrail::measures::{Flag, Review};
use serde_json::Value as Json;

use super::sample::full as sample;
use super::{full, plain, report, text};

fn section(page: &str) -> String {
    let start = page.find("<section id=\"changes\">").unwrap();
    plain(page[start..].split("</section>").next().unwrap())
}

/// The section and the findings of another review.
fn of(review: &Review) -> (String, Json) {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path().join("r");
    report(review, &folder);
    let findings = serde_json::from_str(&text(&folder, "findings.json")).unwrap();
    (section(&text(&folder, "report.html")), findings)
}

#[test]
fn the_finding_names_what_changed_with_both_values_and_the_interval() {
    let section = section(&full("report.html"));
    for words in [
        "Since 2026-Q1, 2 of 20 comparisons changed by more than chance",
        "clean at the first look fell at depot-stores from 88.1 % to 81.3 % (−9.4 to −4.2 points)",
        "linked faults per 1,000 connection-months rose at Tal from 15 to 22 (1.20 to 1.80 times).",
        "Since 2025-Q2 no change could be shown in 20 comparisons",
    ] {
        assert!(section.contains(words), "{words} is not in {section:.900}");
    }
}

#[test]
fn changed_rows_stand_first_and_flagged_ones_last() {
    let section = section(&full("report.html"));
    let table = section.split("<table class=\"data\"").nth(1).unwrap();
    let rows: Vec<&str> = table.split("<tr>").skip(2).collect();
    assert!(rows[0].contains("clean at the first look: depot-stores"), "{}", rows[0]);
    assert!(rows[0].contains("&lt;0.001") && rows[0].contains("0.001"), "{}", rows[0]);
    let thin: Vec<bool> = rows.iter().map(|row| row.contains("thin")).collect();
    assert!(thin.is_sorted() && thin[rows.len() - 1] && !thin[0], "{thin:?}");
}

#[test]
fn the_picture_has_the_changed_rows_above_the_rule() {
    let svg = full("charts/changes-since-quarter-before.svg");
    let place = |words: &str| svg.find(words).unwrap_or_else(|| panic!("no {words}"));
    let body = place("</desc>");
    let after = |words: &str| body + svg[body..].find(words).unwrap();
    assert!(after("Changed by more than chance") < after(">\ndepot-stores\n"));
    assert!(after(">\ndepot-stores\n") < after("No change could be shown"));
    assert!(svg.contains("2026-Q1") && svg.contains("2026-Q2"));
}

#[test]
fn headlines_carry_their_change_where_there_is_one() {
    let findings: Json = serde_json::from_str(&full("findings.json")).unwrap();
    let changes = |place: usize| findings["headlines"][place]["changes"].as_array().unwrap();
    let against: Vec<&str> =
        changes(0).iter().map(|change| change["against"].as_str().unwrap()).collect();
    assert_eq!(against, ["quarter-before", "year-before"]);
    let first = &changes(0)[0];
    assert_eq!(first["unit"], "difference of shares");
    assert_eq!((&first["change"], &first["before"]), (&Json::from(0.017), &Json::from(0.795)));
    // No row of the fleet's faults, nor of money.
    assert!(changes(1).is_empty() && changes(2).is_empty());
    let page = plain(&full("report.html"));
    let words = "Since 2026-Q1: +1.7 points (−0.9 to +4.3), no change could be shown.";
    assert!(page.contains(words));
}

#[test]
fn a_flagged_change_is_in_no_headline_and_names_nothing() {
    let mut review = sample();
    for row in &mut review.changes.rows {
        row.flags = vec![Flag::FewClusters];
        row.own.q = None;
    }
    let (section, findings) = of(&review);
    assert!(
        section.contains("Since 2026-Q1 nothing can be told: 25 comparisons rest on too little")
    );
    for headline in findings["headlines"].as_array().unwrap() {
        assert!(headline["changes"].as_array().unwrap().is_empty());
    }
}

#[test]
fn without_an_earlier_quarter_there_is_nothing_to_compare_with() {
    let mut review = sample();
    review.changes.rows.clear();
    let (section, _) = of(&review);
    assert!(section.contains("There is no earlier quarter to compare this one with."));
    assert!(!section.contains("<figure") && !section.contains("<table"));
}
