//! Headers that sound like something else than they are: none of them may be taken for certain.

use motetrail::records::Table;

use super::fixture::{drafted, keys, part};

/// A header of inspections with the columns of interest, and one misleading column.
fn with(name: &str, cell: impl Fn(usize) -> String) -> String {
    let mut text = format!("Inspection ID|Inspected at|End face|Stage|Result|{name}");
    for row in 0..40 {
        let outcome = if row % 4 == 0 { "fail" } else { "pass" };
        text.push_str(&format!(
            "\nL{row:03}|2025-03-{:02} 08:15:00|R{row:02}-1|incoming|{outcome}|{}",
            row % 28 + 1,
            cell(row)
        ));
    }
    text
}

fn day(row: usize) -> String {
    format!("19{:02}-04-{:02}", 60 + row % 39, row % 28 + 1)
}

fn decimal(row: usize) -> String {
    format!("{}.{}", row % 3, row % 10)
}

fn number(row: usize) -> String {
    (row * 7 % 30).to_string()
}

fn word(row: usize) -> String {
    ["alpha", "beta", "gamma"][row % 3].to_owned()
}

#[test]
fn misleading_headers_are_never_taken_for_certain() {
    type Cell = fn(usize) -> String;
    let columns: [(&str, Cell); 22] = [
        ("Date of birth", day),
        ("Geburtsdatum", day),
        ("Calibration date", day),
        ("Planned date", day),
        ("Datum der Änderung", day),
        ("Fibre length", number),
        ("Fibre count", number),
        ("Test result dB", decimal),
        ("Result (dB)", decimal),
        ("Port speed", number),
        ("Port speed", word),
        ("Longueur de fibre", decimal),
        ("Prüfer Telefon", number),
        ("Inspector age", number),
        ("Dust cap colour", word),
        ("Connector loss", decimal),
        ("Tool price", decimal),
        ("Order date", day),
        ("Site temperature", number),
        ("Microscope firmware", word),
        ("Image size", number),
        ("Work order status", word),
    ];
    for (name, cell) in columns {
        let draft = drafted(Table::Inspections, &with(name, cell));
        for (column, found) in part(&draft, 0, "columns") {
            let taken = found.as_str() == Some(name)
                || found
                    .as_array()
                    .is_some_and(|found| found.iter().any(|it| it.as_str() == Some(name)));
            let asked = keys(&draft).contains(&format!("record[0].columns.{column}").as_str());
            assert!(!taken || asked, "{name} is taken for {column}\n{}", draft.toml);
        }
        assert!(draft.toml.contains(name), "{name} is told nowhere\n{}", draft.toml);
    }
}

#[test]
fn a_misleading_column_does_not_push_the_right_one_out() {
    let draft = drafted(Table::Inspections, &with("Test result dB", decimal));
    let columns = part(&draft, 0, "columns");
    assert_eq!(columns["outcome"].as_str(), Some("Result"));
    assert_eq!(columns["at"].as_str(), Some("Inspected at"));
    assert_eq!(columns["record"].as_str(), Some("Inspection ID"));
}
