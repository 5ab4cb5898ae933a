use motetrail::records::Table;
use motetrail::settings::Test;
use motetrail::tabular::Compression;

use super::fixture::{With, error, looks, part, read, read_packed, source, words};

fn look_reason(row: &str) -> String {
    let kept = read(&source(vec![looks()]), &format!("At;Port;Result\n{row}\n"));
    assert!(kept.batches.is_empty());
    kept.reasons().join("")
}

#[test]
fn each_text_that_cannot_be_typed_says_what_was_expected() {
    let cases = [
        (
            "03.02.2026 10:00;P1;OKAY",
            "Result|found \"OKAY\", expected one of pass, fail, unreadable; add it to the map's values",
        ),
        ("03.02.2026 10:00;P1;", "Result|is empty; expected one of pass, fail, unreadable"),
        ("03.02.2026 10:00;P1;void", "Result|is empty; expected one of pass, fail, unreadable"),
        ("03.02.2026 10:00;n/a;OK", "Port|is empty; expected some text"),
        ("-;P1;OK", "At|is empty; expected a time written %d.%m.%Y %H:%M or %d.%m.%Y"),
        (
            "2026-02-03;P1;OK",
            "At|found \"2026-02-03\", expected a time written %d.%m.%Y %H:%M or %d.%m.%Y; \
             correct it or add its pattern to the map's dates",
        ),
        (
            "29.02.2026;P1;OK",
            "At|found \"29.02.2026\", expected a time written %d.%m.%Y %H:%M or %d.%m.%Y: \
             there is no such day or time; correct it",
        ),
        (
            "29.03.2026 02:30;P1;OK",
            "At|found \"29.03.2026 02:30\", expected a time written %d.%m.%Y %H:%M or %d.%m.%Y: \
             clocks were set forward over it; correct it or the source's timezone",
        ),
        (
            "25.10.2026 02:30;P1;OK",
            "At|found \"25.10.2026 02:30\", expected a time written %d.%m.%Y %H:%M or %d.%m.%Y: \
             clocks were set back and showed it twice; set the source's clock_change",
        ),
    ];
    for (row, reason) in cases {
        assert_eq!(look_reason(row), format!("2|inspections|{reason}"));
    }
}

#[test]
fn rows_that_are_no_rows_are_rejected_as_a_whole() {
    let cases = [
        ("03.02.2026;P1", "found 2 cells, expected 3; check separator and quotes of this line"),
        ("x", "found 1 cell, expected 3; check separator and quotes of this line"),
        ("a;b;c;d", "found 4 cells, expected 3; check separator and quotes of this line"),
        (
            "03.02.2026;\"P\"1;OK",
            "found text after a closing quote, expected a separator; double the quotes inside the cell",
        ),
        (
            "03.02.2026;\"P1;OK",
            "found a quote that is never closed, expected its end in the same cell; \
             close it or name another quote character in the source",
        ),
        ("03.02.2026;P\0;OK", "found a NUL byte in cell 2, expected text; export again as utf-8"),
    ];
    for (row, reason) in cases {
        assert_eq!(look_reason(row), format!("2|||{reason}"));
    }
}

#[test]
fn invalid_utf_8_costs_its_row_only() {
    let bytes = b"At;Port;Result\n03.02.2026;P\xFF;OK\n03.02.2026;P2;OK\n";
    let kept = read_packed(&source(vec![looks()]), bytes, Compression::None).unwrap();
    assert_eq!(
        kept.reasons(),
        [
            "2|||found the byte 0xFF in cell 2, expected utf-8 text; check the encoding of the source"
        ]
    );
    assert_eq!(kept.rejected[0].raw, "03.02.2026;P\u{fffd};OK");
    assert_eq!(kept.counts.typed, 1);
}

#[test]
fn numbers_and_amounts_that_are_not_plain_are_refused() {
    let faults = part(
        Table::Faults,
        &[("opened", "At"), ("end_face", "Port"), ("cost", "Cost"), ("visits", "Visits")],
    )
    .dates("opened", &["epoch-s"]);
    let amount = "expected an amount written 1234,50, without separators of thousands; correct it, \
                  or say in the map's numbers how it is written";
    let mut cases: Vec<(String, String)> = Vec::new();
    for cost in ["1.234,50", "12.50", "1,234", "12,", ",5", "--1", "1e3", "92233720368547758,08"] {
        cases.push((format!("0;P;{cost};"), format!("Cost|found \"{cost}\", {amount}")));
    }
    for visits in ["1,5", "+", "9223372036854775808", "٣"] {
        let reason = format!(
            "Visits|found \"{visits}\", expected a whole number; correct it, or say in the map's numbers how it is written"
        );
        cases.push((format!("0;P;;{visits}"), reason));
    }
    for (row, reason) in cases {
        let kept = read(&source(vec![faults.clone()]), &format!("At;Port;Cost;Visits\n{row}\n"));
        assert_eq!(kept.reasons(), [format!("2|faults|{reason}")]);
    }
}

#[test]
fn flags_are_yes_or_no() {
    let mut record = looks().values("capped", &[("J", "yes"), ("N", "no")]);
    record.columns.insert("capped".to_owned(), words(&["Cap"]));
    let text = "At;Port;Result;Cap\n03.02.2026;P;OK;J\n03.02.2026;P;OK;no\n03.02.2026;P;OK;\n03.02.2026;P;OK;x\n";
    let kept = read(&source(vec![record]), text);
    assert_eq!(kept.column(Table::Inspections, "capped"), ["true", "false", ""]);
    assert_eq!(
        kept.reasons(),
        ["5|inspections|Cap|found \"x\", expected one of yes, no; add it to the map's values"]
    );
}

#[test]
fn constants_and_sites_are_held_to_the_lists_too() {
    let mut stray = source(vec![looks().constants(&[("stage", "storage")])]);
    let text = "At;Port;Result\n03.02.2026;P;OK\n";
    assert_eq!(
        read(&stray, text).reasons(),
        [
            "2|inspections|stage|found \"storage\", expected one of receiving, installation; add it to the map's values"
        ]
    );
    stray.records = vec![looks()];
    stray.site = Some("South Depot".to_owned());
    assert_eq!(
        read(&stray, text).reasons(),
        [
            "2|inspections|site|found \"South Depot\", expected one of Central Works, North Depot; add it to the map's values"
        ]
    );
}

#[test]
fn a_row_that_no_part_takes_says_what_each_part_wants() {
    let first = looks().when("Action", Test::OneOf(words(&["look", "recheck"])));
    let second = looks().when("Result", Test::NoneOf(words(&["OK", "NOK"])));
    let third = looks().when("Port", Test::Given);
    let kept =
        read(&source(vec![first, second, third]), "At;Port;Result;Action\n03.02.2026;-;OK;lunch\n");
    assert_eq!(
        kept.reasons(),
        [
            "2|||no part of the map takes this row: found \"lunch\" in column \"Action\", expected one of look, recheck; \
          found \"OK\" in column \"Result\", expected none of OK, NOK; found \"-\" in column \"Port\", expected a value; \
          add a part or widen a when"
        ]
    );
}

#[test]
fn a_long_cell_is_cut_in_its_message_and_a_long_row_in_raw() {
    let long = "ä".repeat(600);
    let kept = read(&source(vec![looks()]), &format!("At;Port;Result\n03.02.2026;P;{long}\n"));
    let shown = "ä".repeat(80);
    assert!(kept.rejected[0].reason.starts_with(&format!("found \"{shown}\"..., expected")));
    assert_eq!(kept.rejected[0].raw.chars().count(), 500);
}

#[test]
fn a_map_that_cannot_be_followed_is_an_error_of_the_settings() {
    let text = "At;Port;Result\n";
    let cases = [
        (
            part(Table::Inspections, &[("at", "At")]).dates("at", &["%Y-%m-%d"]),
            "\"end_face\": is neither mapped nor constant, expected one of them",
        ),
        (
            part(Table::Cleanings, &[("outcome", "Result")]),
            "\"outcome\": found no such column in cleanings; correct the map",
        ),
        (
            part(Table::Inspections, &[("at", "At"), ("end_face", "Port"), ("outcome", "Result")]),
            "\"at\": has no pattern, expected one in the map's dates",
        ),
        (
            looks().dates("at", &["%d.%m.%Y %Q"]),
            "\"at\": found the pattern \"%d.%m.%Y %Q\", expected only %Y %y %m %b %d %H %I %p %M %S %f %z %%",
        ),
        (
            looks().dates("at", &["%d.%m. %H:%M"]),
            "\"at\": found the pattern \"%d.%m. %H:%M\", expected a year, a month, a day and, for a time, an hour (with %p after %I)",
        ),
    ];
    for (record, message) in cases {
        let record = record.constants(&[("stage", "receiving")]);
        let message = format!("settings line 1: source \"works\", column {message}");
        assert_eq!(error(&source(vec![record]), text), message);
    }
}
