//! How amounts are written, found in their cells and names.

use motetrail::records::Table;

use super::fixture::{drafted, keys, part, source};

/// A draft of tickets whose costs are these cells.
fn tickets(name: &str, cells: &[&str]) -> motetrail::draft::Draft {
    let rows = |number: usize| {
        let (day, cost) = (number % 28 + 1, cells[number % cells.len()]);
        format!("T-{number}|2026-02-{day:02} 10:00|P-{number}|{cost}\n")
    };
    let rows: String = (0..60).map(rows).collect();
    drafted(Table::Faults, &format!("Ticket|Opened|End face|{name}\n{rows}"))
}

fn written(name: &str, cells: &[&str]) -> (Option<String>, Option<String>) {
    let source = source(&tickets(name, cells));
    let text = |key: &str| source.get(key).map(|value| value.as_str().unwrap().to_owned());
    (text("decimal_mark"), text("thousands"))
}

fn both(mark: &str, thousands: &str) -> (Option<String>, Option<String>) {
    (Some(mark.to_owned()), Some(thousands.to_owned()))
}

#[test]
fn separators_of_thousands_are_found_in_the_cells() {
    assert_eq!(written("Cost", &["1.009,12", "15,0"]), both(",", "."));
    assert_eq!(written("Cost", &["$1,098.72", "$12.00"]), (None, Some(",".to_owned())));
    assert_eq!(written("Cost", &["1 098,72 €", "12,00 €"]), both(",", " "));
    assert_eq!(written("Cost", &["1'098.70", "12.00"]), (None, Some("'".to_owned())));
    // The comma is the decimal mark for certain, so the dot separates thousands.
    assert_eq!(written("Cost", &["1.009", "15,5"]), both(",", "."));
    assert_eq!(written("Cost", &["1009.12", "15.0"]), (None, None));
}

#[test]
fn where_nothing_settles_it_the_only_reading_of_an_amount_stands_under_a_question() {
    let draft = tickets("Cost", &["1.009", "15", "2.440"]);
    assert_eq!(source(&draft)["thousands"].as_str(), Some("."));
    assert!(keys(&draft).contains(&"thousands"), "{:?}", draft.doubts);
    // Of other numbers nothing stands.
    let draft = tickets("Trips", &["1.009", "15", "2.440"]);
    assert!(!source(&draft).contains_key("thousands"), "{}", draft.toml);
    assert!(draft.toml.contains("# thousands = \".\""), "{}", draft.toml);
}

#[test]
fn units_and_currencies_in_the_name_of_a_column_become_its_keys() {
    let numbers = |name: &str| {
        let draft = tickets(name, &["1009", "150"]);
        let numbers = part(&draft, 0, "numbers");
        let cost = numbers.get("cost").and_then(|cost| cost.as_table()).cloned();
        let text = |key: &str| cost.as_ref()?.get(key).map(|v| v.as_str().unwrap().to_owned());
        (text("unit"), text("currency"))
    };
    let some = |text: &str| Some(text.to_owned());
    assert_eq!(numbers("Cost (cents)"), (some("minor"), None));
    assert_eq!(numbers("Cost (k€)"), (some("thousand"), some("EUR")));
    assert_eq!(numbers("Cost USD"), (None, some("USD")));
    assert_eq!(numbers("Cost"), (None, None));
    assert_eq!(numbers("Cost (€)"), (None, some("EUR")));
    assert_eq!(numbers("Cost (£)"), (None, some("GBP")));
    assert_eq!(numbers("Kosten (Ct.)"), (some("minor"), None));
}

#[test]
fn whole_amounts_that_may_be_hundredths_are_asked_about() {
    let is_asked = |name: &str, cells: &[&str]| {
        let draft = tickets(name, cells);
        keys(&draft).contains(&"record[0].numbers.cost.unit")
    };
    assert!(is_asked("Cost", &["19839", "120620", "4500"]));
    assert!(is_asked("Kosten", &["19839", "120620"]));
    assert!(!is_asked("Cost", &["198", "1206"]));
    assert!(!is_asked("Cost", &["19839.50", "120620.00"]));
    assert!(!is_asked("Cost (cents)", &["19839", "120620"]));
    assert!(!is_asked("Cost EUR", &["19839", "120620"]));
    let unit = &part(&tickets("Cost", &["19839", "120620"]), 0, "numbers")["cost"]["unit"];
    assert_eq!(unit.as_str(), Some("major"));
}
