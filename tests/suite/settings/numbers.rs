//! `numbers` of a record, `thousands` of a source, rates of exchange.

use motetrail::settings::{Blank, MoneyUnit, Numbers, Thousands};

use super::{least_and, plan, problems};

/// A source of tickets with these lines in the source and in its record.
fn desk(source: &str, record: &str) -> String {
    least_and(&format!(
        "[[source]]\nname = \"desk\"\nfiles = [\"desk-*.csv\"]\nsite = \"Works\"\nend_face_names = \"fleet\"\n{source}\n\
         [[source.record]]\ntable = \"faults\"\n\
         columns = {{ opened = \"At\", end_face = \"Port\", cost = \"Cost\", downtime_min = \"Down\" }}\n\
         dates = {{ opened = \"%Y-%m-%d\" }}\n{record}\n"
    ))
}

fn said(source: &str, record: &str) -> String {
    problems(&desk(source, record))
}

#[test]
fn a_column_takes_from_its_source_what_it_does_not_say_itself() {
    let text = desk(
        "decimal_mark = \",\"\nthousands = \".\"",
        "numbers.cost = { unit = \"thousand\", currency = \"USD\", currency_column = \"Curr\" }\n\
         numbers.downtime_min = { decimal_mark = \".\", thousands = \"'\", blank = \"zero\" }",
    );
    let plan = plan(&text);
    let desk = plan.sources.iter().find(|source| source.name == "desk").unwrap();
    assert_eq!(desk.dialect.thousands, Some(Thousands::Dot));
    let usual = Numbers::written(b',', Some(Thousands::Dot));
    let (currency, currency_column) = (Some("USD".to_owned()), Some("Curr".to_owned()));
    let cost = Numbers { unit: MoneyUnit::Thousand, currency, currency_column, ..usual };
    assert_eq!(desk.records[0].numbers["cost"], cost);
    let minutes = Numbers::written(b'.', Some(Thousands::Apostrophe));
    let minutes = Numbers { blank: Blank::Zero, ..minutes };
    assert_eq!(desk.records[0].numbers["downtime_min"], minutes);
}

#[test]
fn what_numbers_cannot_have_is_told() {
    assert!(said("thousands = \".\"\ndecimal_mark = \".\"", "").ends_with(
        "source.thousands: found \".\", which is the decimal mark too; set `decimal_mark`"
    ));
    let unit = said("", "numbers.downtime_min = { unit = \"minor\" }");
    assert!(unit.ends_with("numbers.downtime_min.unit: is for amounts of money alone; remove it"));
    let text = said("", "numbers.end_face = { thousands = \",\" }");
    assert!(
        text.contains("found keys of numbers, but the column holds none; remove them"),
        "{text}"
    );
    let unmapped = said("", "numbers.visits = { thousands = \",\" }");
    assert!(unmapped.contains("`columns` does not map it"), "{unmapped}");
    let currency = said("", "numbers.cost = { currency = \"usd\" }");
    assert!(currency.contains("found \"usd\", expected three capital letters"), "{currency}");
    let key = said("", "numbers.cost = { thousand = \",\" }");
    assert!(key.contains("unknown key; did you mean `thousands`?"), "{key}");
}

#[test]
fn rates_of_exchange_are_read_by_code() {
    let rates = "[costs]\nlook_minutes = 0\ncleaning_minutes = 0\ncleaning_material = 0\nlabour_hour = 0\n\
                 downtime_hour = 0\nvisit = 0\nreject = 0\n[costs.exchange]\nUSD = 0.92\nJPY = 0.006\n";
    let exchange = plan(&least_and(rates)).costs.exchange;
    assert_eq!(
        exchange.into_iter().collect::<Vec<_>>(),
        [("JPY".to_owned(), 0.006), ("USD".to_owned(), 0.92)]
    );
    let wrong = problems(&least_and(&rates.replace("USD = 0.92", "USD = 0")));
    assert!(wrong.contains("costs.exchange: found USD = 0, expected rates above 0"), "{wrong}");
}

#[test]
fn where_dots_separate_thousands_the_comma_is_the_decimal_mark_without_being_told() {
    let marks = |source: &str, numbers: &str| {
        let plan = plan(&desk(source, numbers));
        let desk = plan.sources.iter().find(|source| source.name == "desk").unwrap();
        let cost = &desk.records[0].numbers.get("cost").cloned();
        (desk.dialect.decimal_mark, cost.as_ref().map(|cost| cost.decimal_mark))
    };
    assert_eq!(marks("thousands = \".\"", "").0, b',');
    assert_eq!(marks("thousands = \",\"", "").0, b'.');
    let own = marks("", "numbers.cost = { thousands = \".\" }");
    assert_eq!(own, (b'.', Some(b',')));
}
