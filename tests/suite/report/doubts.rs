//! How far to trust it: doubts ranked by their weight, the worst and four more on the front page, all in the findings.

use motetrail::derive::Variant;
use motetrail::measures::results::Money;
use motetrail::measures::{Group, Review, skipped_cost, trust};
use motetrail::records::{Misread, Table};
use serde_json::Value;

use super::sample::{declared, declared_share};
use super::{plain, report, sample, text};

/// The first page above its contents with plain blanks, and the findings.
fn written(review: &Review) -> (String, Value) {
    let folder = tempfile::tempdir().unwrap();
    report(review, folder.path());
    let page = text(folder.path(), "report.html");
    let first = plain(page.split("<section id=").next().unwrap());
    (first, serde_json::from_str(&text(folder.path(), "findings.json")).unwrap())
}

/// Sentences of the doubts with their weights.
fn doubts(findings: &Value) -> Vec<(f64, String)> {
    let doubts = findings["doubts"].as_array().unwrap().iter();
    let sentence = |doubt: &Value| plain(doubt["sentence"].as_str().unwrap());
    doubts.map(|doubt| (doubt["weight"].as_f64().unwrap(), sentence(doubt))).collect()
}

/// A row of sensitivity with a net saving of so many major units.
fn under(rule: skipped_cost::Rule, saving: i64) -> skipped_cost::Row {
    use skipped_cost::{By, Own, Quantity};
    let net_saving = Some(Money(saving * 100));
    let own = Own { variant: Some(rule), net_saving, ..Own::default() };
    let what = (By::Fleet, Group::default(), Quantity::Sensitivity);
    declared(what, "Mantel-Haenszel", (9_000.0, 80), [1.1, 0.9, 1.4], own)
}

/// Cells of one column left out of this share of a thousand tickets.
fn left_out(column: &str, share: f64) -> trust::Row {
    let own = trust::Own {
        source: Some("desk".to_owned()),
        table: Some(Table::Faults),
        column: Some(column.to_owned()),
        why: Some(Misread::NoNumber),
        ..trust::Own::default()
    };
    let what = trust::Quantity::LostCells;
    declared_share(trust::By::Source, Group::default(), what, (1_000.0, share), own)
}

#[test]
fn the_rule_that_moves_the_headline_furthest_is_named() {
    use skipped_cost::Rule;
    let mut review = sample::full();
    let rows = &mut review.skipped_cost.rows;
    rows.retain(|row| row.quantity != skipped_cost::Quantity::Sensitivity);
    rows.push(under(Rule::AsRuled, 61_000));
    rows.push(under(Rule::But(Variant::Horizon(0)), 40_000));
    let (_, findings) = written(&review);
    let inside = doubts(&findings);
    let inside = inside.iter().find(|(_, said)| said.starts_with("Under another rule")).unwrap();
    assert!(inside.1.contains("(followed for 30 days)"), "{inside:?}");
    assert!(inside.1.ends_with("inside its interval, the furthest that any other rule moves it."));
    assert!((inside.0 - 0.5 * 21.0 / 61.0).abs() < 0.01, "{inside:?}");

    review.skipped_cost.rows.push(under(Rule::But(Variant::Reseats), 10_000));
    let (first, findings) = written(&review);
    let said = "Under another rule (suspect faults and reseats too) the net saving is 10.0 k EUR instead of \
                61 k EUR (30 to 98): outside its interval (1 of 2 other rules).";
    let outside = doubts(&findings);
    let outside = outside.iter().find(|(_, found)| found == said);
    let (weight, _) = outside.unwrap_or_else(|| panic!("{:?}", doubts(&findings)));
    assert!((weight - 51.0 / 61.0).abs() < 0.01, "{weight}");
    assert!(first.contains(said), "{first}");
}

#[test]
fn the_worst_doubt_and_four_more_at_most_stand_on_the_front_page() {
    let mut review = sample::full();
    for (place, share) in [0.01, 0.9, 0.3, 0.8, 0.5, 0.7, 0.6].into_iter().enumerate() {
        review.trust.rows.push(left_out(&format!("column {place}"), share));
    }
    review.trust.rows.retain(|row| row.quantity != trust::Quantity::EmptyFaultSource);
    let (first, findings) = written(&review);
    let found = doubts(&findings);
    assert!(found.is_sorted_by(|a, b| a.0 >= b.0), "{found:?}");
    assert!(!found.iter().any(|(_, said)| said.contains("column 0")), "below the limit: {found:?}");
    let shown: Vec<bool> = found.iter().map(|(_, said)| first.contains(&escaped(said))).collect();
    let on_page = shown.iter().take_while(|shown| **shown).count();
    assert_eq!((on_page, shown.iter().filter(|shown| **shown).count()), (5, 5), "{found:?}");
    assert!(!first.contains("Of 103 895 rows read"), "no room is left for it");
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[test]
fn a_question_without_its_records_has_no_answer_and_no_number() {
    let mut review = sample::full();
    for measure in ["fault_rates", "skipped_cost"] {
        let own = trust::Own {
            table: Some(Table::Faults),
            measure: Some(measure.to_owned()),
            read: Some(69),
            quarantined: Some(69),
            ..trust::Own::default()
        };
        let quantity = trust::Quantity::Unanswered;
        let row = trust::Row::count(trust::By::Table, Group::default(), quantity, 0, own);
        review.trust.rows.push(row);
    }
    let (first, findings) = written(&review);
    assert!(first.contains(
        "What skipped looks cost cannot be told: there are no faults: 69 of the 69 rows read were rejected."
    ));
    let links = ["<a href=\"#fault_rates\">4 · ", "<a href=\"#skipped_cost\">5 · "];
    assert!(links.iter().all(|link| first.contains(link)), "{first}");
    let value = |place: usize| findings["headlines"][place]["value"].clone();
    assert!(!value(0).is_null() && value(1).is_null() && value(2).is_null());
    let finding = findings["findings"][3]["finding"].as_str().unwrap();
    assert_eq!(
        plain(finding),
        "No answer: there are no faults: 69 of the 69 rows read were rejected."
    );
}
