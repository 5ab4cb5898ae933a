//! Numbers as ticket desks write them.
//!
//! Source of every expected value: the amount as a person reads it, in cents.

use std::collections::BTreeMap;

use motetrail::records::Table;
use motetrail::settings::{Blank, MoneyUnit, Numbers, RecordMap, Source, Thousands, Unreadable};

use super::fixture::{Kept, With, part, read, read_under, source};

/// Faults with a cost and minutes out of service.
fn faults() -> RecordMap {
    let columns =
        [("opened", "At"), ("end_face", "Port"), ("cost", "Cost"), ("downtime_min", "Down")];
    part(Table::Faults, &columns).dates("opened", &["%Y-%m-%d"])
}

/// Their source, strict: a number that cannot be read costs its row, so that the reason can be seen.
fn strict(record: RecordMap) -> Source {
    Source { unreadable: Unreadable::Quarantine, ..source(vec![record]) }
}

/// Their source with these numbers in the column of the cost.
fn desk(numbers: Numbers) -> Source {
    let mut record = faults();
    record.numbers.insert("cost".to_owned(), numbers);
    strict(record)
}

fn european() -> Numbers {
    Numbers::written(b',', Some(Thousands::Dot))
}

fn text(rows: &[&str]) -> String {
    let rows: Vec<String> = rows.iter().map(|row| format!("2026-02-03;P;{row}\n")).collect();
    format!("At;Port;Cost;Down;Curr\n{}", rows.concat())
}

fn costs(source: &Source, cells: &[&str]) -> Vec<String> {
    let rows: Vec<String> = cells.iter().map(|cell| format!("{cell};;")).collect();
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let kept = read(source, &text(&rows));
    assert_eq!(kept.reasons(), Vec::<String>::new());
    kept.column(Table::Faults, "cost")
}

fn refused(kept: &Kept) -> &str {
    let [rejected] = &kept.rejected[..] else { panic!("{:?}", kept.reasons()) };
    &rejected.reason
}

#[test]
fn separators_of_thousands_are_read_where_the_map_names_them() {
    let cells =
        ["1.009,12", "1.234.567,5", "15,0", "999", "1009,12", "-1.000", "12,50-", "1.000,-"];
    let cents = ["100912", "123456750", "1500", "99900", "100912", "-100000", "-1250", "100000"];
    assert_eq!(costs(&desk(european()), &cells), cents);
    let american = Numbers::written(b'.', Some(Thousands::Comma));
    assert_eq!(costs(&desk(american), &["1,098.72", "12", "0.5"]), ["109872", "1200", "50"]);
    let blanks = Numbers::written(b',', Some(Thousands::Blank));
    let cells = ["1 098,72", "1\u{a0}098,72", "1\u{202f}000\u{202f}000"];
    assert_eq!(costs(&desk(blanks), &cells), ["109872", "109872", "100000000"]);
    let swiss = Numbers::written(b'.', Some(Thousands::Apostrophe));
    assert_eq!(costs(&desk(swiss), &["1'098.70", "1’098.70"]), ["109870", "109870"]);
}

#[test]
fn groups_that_are_no_thousands_are_refused() {
    for cell in ["1.00,5", "12.34.567", "1.234.56", ".123", "1.234,567", "1,234.50", "1.2345"] {
        let kept = read(&desk(european()), &text(&[&format!("{cell};;")]));
        let begins = format!("found \"{cell}\", expected an amount written 1.234,50");
        assert!(refused(&kept).starts_with(&begins), "{}", refused(&kept));
    }
}

#[test]
fn a_source_says_it_for_all_its_columns() {
    let mut whole = strict(faults());
    whole.dialect.thousands = Some(Thousands::Dot);
    let kept = read(&whole, &text(&["1.009,12;1.440;", "5;15,0;"]));
    assert_eq!(kept.reasons(), Vec::<String>::new());
    assert_eq!(kept.column(Table::Faults, "cost"), ["100912", "500"]);
    assert_eq!(kept.column(Table::Faults, "downtime_min"), ["1440", "15"]);
    // Without it a mark before three zeros could be either, and other decimals are no whole number.
    let plain = strict(faults());
    for minutes in ["1,000", "15,5", "1.440"] {
        assert!(
            refused(&read(&plain, &text(&[&format!(";{minutes};")]))).contains("a whole number")
        );
    }
    assert_eq!(read(&plain, &text(&[";15,0;"])).column(Table::Faults, "downtime_min"), ["15"]);
}

#[test]
fn units_are_exact_or_refused() {
    let unit = |unit| desk(Numbers { unit, ..european() });
    assert_eq!(costs(&unit(MoneyUnit::Minor), &["1.098", "7"]), ["1098", "7"]);
    assert_eq!(costs(&unit(MoneyUnit::Thousand), &["1,09872", "2"]), ["109872", "200000"]);
    for (of, cell) in [(MoneyUnit::Minor, "7,5"), (MoneyUnit::Thousand, "0,000001")] {
        assert!(refused(&read(&unit(of), &text(&[&format!("{cell};;")]))).contains("an amount"));
    }
}

#[test]
fn an_empty_cell_says_nothing_unless_the_map_says_it_means_none() {
    let mut record = faults();
    let zero = Numbers { blank: Blank::Zero, ..european() };
    record.numbers.insert("downtime_min".to_owned(), zero);
    let kept = read(&source(vec![record]), &text(&[";;", "n/a;-;", "3;4;"]));
    assert_eq!(kept.column(Table::Faults, "cost"), ["", "", "300"]);
    assert_eq!(kept.column(Table::Faults, "downtime_min"), ["0", "0", "4"]);
}

#[test]
fn a_sign_or_a_code_of_the_fleets_currency_may_stand_beside_the_amount() {
    let cells = ["€ 12,50", "12,50 €", "€12,50", "EUR 12,50", "12,50 eur", "-€12,50", "€ -12,50"];
    let cents = ["1250", "1250", "1250", "1250", "1250", "-1250", "-1250"];
    assert_eq!(costs(&desk(european()), &cells), cents);
    for cell in ["12,50 apples", "€ 12,50 EUR", "(12,50)", "12,50 %"] {
        assert!(
            refused(&read(&desk(european()), &text(&[&format!("{cell};;")]))).contains("an amount")
        );
    }
}

/// Read by a fleet of euros with these rates.
fn exchanged(numbers: Numbers, rates: &[(&str, f64)], rows: &[&str]) -> Kept {
    let rates: BTreeMap<String, f64> =
        rates.iter().map(|(code, rate)| ((*code).to_owned(), *rate)).collect();
    read_under(&desk(numbers), &text(rows), |plan| plan.costs.exchange = rates)
}

#[test]
fn other_currencies_are_converted_by_their_rate_or_refused_by_name() {
    let by_column = Numbers { currency_column: Some("Curr".to_owned()), ..european() };
    let rows =
        ["100,00;;USD", "100,00;;EUR", "100,00;;", "100,00;;chf", "$100,00;;USD", "100 USD;;"];
    let kept = exchanged(by_column.clone(), &[("USD", 0.9), ("CHF", 1.05)], &rows);
    assert_eq!(kept.reasons(), Vec::<String>::new());
    let cents = ["9000", "10000", "10000", "10500", "9000", "9000"];
    assert_eq!(kept.column(Table::Faults, "cost"), cents);
    let kept = exchanged(by_column.clone(), &[], &["100,00;;USD"]);
    assert!(refused(&kept).ends_with(": it is of USD; give USD a rate in [costs.exchange]"));
    let constant = Numbers { currency: Some("USD".to_owned()), ..european() };
    let kept = exchanged(constant, &[("USD", 0.9)], &["1.000;;"]);
    assert_eq!(kept.column(Table::Faults, "cost"), ["90000"]);
    // Two currencies at once, or one sign of several.
    for row in ["100 CHF;;USD", "kr 100;;", "$100;;"] {
        let kept = exchanged(by_column.clone(), &[("SEK", 0.09), ("DKK", 0.13)], &[row]);
        assert!(refused(&kept).contains("its currency is not clear"), "{}", refused(&kept));
    }
    let kept = exchanged(by_column, &[("USD", 0.9)], &["$100;;"]);
    assert_eq!(kept.column(Table::Faults, "cost"), ["9000"]);
}
