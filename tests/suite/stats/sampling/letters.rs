//! The listed plans, cell by cell, against two other carriers of the table.

use motetrail::stats::sampling::letters::{letter, listed_plan};
use motetrail::stats::sampling::plan::Plan;
use serde_json::Value;

use crate::stats::cases::case;
use crate::stats::reference::Table;

const GROUP: &str = "21_acceptance";

#[test]
fn listed_plans_are_those_of_the_table_by_lot_and_quality() {
    let case = case(GROUP, "iso2859_level2");
    let table = Table::read(GROUP, "iso2859_level2_expected.csv");
    let levels = table.text("level");
    let letters = [table.text("code_letter"), table.text("letter_used")];
    let rows = table.rows(&["lot", "aql", "n", "ac", "re", "accept_at_aql"]);
    let mut compared = 0;
    for (at, row) in rows.iter().enumerate().filter(|(at, _)| levels[*at] == "GII") {
        let [lot, quality, n, accept, refuse, at_quality] = row[..] else { panic!() };
        let (used, plan) = listed_plan(lot as u64, quality).unwrap_or_else(|| panic!("{row:?}"));
        assert_eq!(letter(lot as u64).letter.to_string(), letters[0][at], "{row:?}");
        assert_eq!(used.letter.to_string(), letters[1][at], "{row:?}");
        case.near(plan.sample as f64, &Value::from(n), "sample");
        case.near(plan.accept as f64, &Value::from(accept), "accepted");
        case.near(plan.accept as f64 + 1.0, &Value::from(refuse), "refused");
        // Of the letter's own sample, also where that is more than the lot.
        let whole = Plan { sample: used.sample, ..plan };
        case.near(whole.silent(quality / 100.0), &Value::from(at_quality), "silent");
        compared += 1;
    }
    assert!(compared > 50, "{compared}");
}

#[test]
fn every_cell_of_the_table_is_the_number_or_the_arrow_that_stands_there() {
    let case = case(GROUP, "iso2859_table2a");
    let table = Table::read(GROUP, "iso2859_table2a_expected.csv");
    let (names, samples) = (table.text("code_letter"), table.numbers("n"));
    // The first lot of each letter.
    let lots =
        [2, 9, 16, 26, 51, 91, 151, 281, 501, 1_201, 3_201, 10_001, 35_001, 150_001, 500_001];
    for (at, lot) in lots.into_iter().enumerate() {
        assert_eq!(letter(lot).letter.to_string(), names[at]);
        case.near(letter(lot).sample as f64, &Value::from(samples[at]), "sample of the letter");
        for quality in [0.65, 1.0, 1.5, 2.5, 4.0, 6.5] {
            let cell = &table.text(&format!("aql_{quality:?}"))[at];
            let plan = listed_plan(lot, quality);
            let used = plan.and_then(|(used, _)| {
                names.iter().position(|name| *name == used.letter.to_string())
            });
            match (cell.as_str(), plan, used) {
                ("up", Some(_), Some(used)) => assert!(used < at, "{lot} {quality}"),
                ("down", Some(_), Some(used)) => assert!(used > at, "{lot} {quality}"),
                (number, Some((_, plan)), Some(used)) => {
                    assert_eq!(
                        (used, plan.accept.to_string()),
                        (at, number.to_owned()),
                        "{lot} {quality}"
                    );
                }
                (cell, plan, _) => panic!("{lot} {quality}: {cell} {plan:?}"),
            }
        }
    }
}

#[test]
fn a_quality_that_is_not_listed_has_no_plan() {
    for quality in [0.0, 0.7, 3.0, 10.0, f64::NAN, -1.0] {
        assert_eq!(listed_plan(500, quality), None);
    }
}
