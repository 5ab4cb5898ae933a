//! Files whose rows become more than one record, and files of a table that nobody named.

use motetrail::draft::draft;
use motetrail::records::Table;
use motetrail::settings::Dialect;

use super::fixture::{asked, drafted, keys, part, profiles, source};

const LOG: &str = "Aktion|Nr|Zeitpunkt|Steckstelle|Gegenseite|Phase|Ergebnis|Verfahren
Prüfung|1|13.04.2025 08:15|A1||Montage|i.O.|
Reinigung|2|14.04.2025 08:15|A2||Montage||trocken
Steckung|3|15.04.2025 08:15|A3|B3|Montage||
Umbau|4|16.04.2025 08:15|A4||Montage||";

#[test]
fn a_log_of_actions_becomes_a_part_a_table_the_asked_one_first() {
    let draft = drafted(Table::Cleanings, LOG);
    let records = source(&draft)["record"].as_array().unwrap().clone();
    let parts: Vec<(&str, &str)> = records
        .iter()
        .map(|part| (part["table"].as_str().unwrap(), part["when"]["is"][0].as_str().unwrap()))
        .collect();
    let expected =
        [("cleanings", "Reinigung"), ("inspections", "Prüfung"), ("matings", "Steckung")];
    assert_eq!(parts, expected);
    assert!(draft.toml.contains("\"Umbau\"") && keys(&draft).contains(&"record[0].when"));
    assert_eq!(part(&draft, 2, "columns")["end_face_a"].as_str(), Some("Steckstelle"));
    assert_eq!(part(&draft, 2, "columns")["end_face_b"].as_str(), Some("Gegenseite"));
}

#[test]
fn a_cleaning_on_the_row_of_a_look_becomes_a_second_part() {
    let text = "ID|Date|Time|Port|Stage|Result|Cleaned first
1|2025-04-13|08:15|A1|incoming|pass|
2|2025-04-14|08:20|A2|incoming|fail|wet then dry";
    let draft = drafted(Table::Inspections, text);
    assert_eq!(part(&draft, 0, "columns")["at"].as_array().unwrap().len(), 2, "{}", draft.toml);
    assert_eq!(part(&draft, 0, "dates")["at"].as_str(), Some("%Y-%m-%d %H:%M"));
    let second = source(&draft)["record"][1].clone();
    assert_eq!(second["table"].as_str(), Some("cleanings"));
    assert_eq!(second["when"]["given"].as_bool(), Some(true));
    assert_eq!(second["columns"]["method"].as_str(), Some("Cleaned first"));
    assert_eq!(second["values"]["method"]["wet then dry"].as_str(), Some("wet-dry"));
}

#[test]
fn a_cleaning_without_its_method_asks_for_it() {
    let text = "ID|When|Port|Stage|Result|Cleaned first
1|2025-04-13 08:15:00|A1|incoming|pass|no
2|2025-04-14 08:20:00|A2|incoming|fail|yes";
    let draft = drafted(Table::Inspections, text);
    let second = source(&draft)["record"][1].clone();
    assert_eq!(second["when"]["is"][0].as_str(), Some("yes"));
    assert!(keys(&draft).contains(&"record[1].constants.method"), "{}", draft.toml);
}

#[test]
fn a_duplex_row_becomes_a_look_at_each_end() {
    let text = "ID|When|End face A|Result A|End face B|Result B|Stage
1|2025-04-13 08:15:00|A1|ok|B1|nok|incoming
2|2025-04-14 08:15:00|A2|ok|B2|ok|incoming";
    let draft = drafted(Table::Inspections, text);
    for (index, end) in ["A", "B"].into_iter().enumerate() {
        let columns = part(&draft, index, "columns");
        assert_eq!(columns["end_face"].as_str(), Some(format!("End face {end}").as_str()));
        assert_eq!(columns["outcome"].as_str(), Some(format!("Result {end}").as_str()));
        assert_eq!(columns["record"].as_str(), Some("ID"));
    }
}

#[test]
fn dates_and_times_of_day_are_joined_by_their_names() {
    let text = "Ticket|Opened date|Opened time|Closed date|Closed time|Port
1|13.04.2025|08:15|14.04.2025|10:45:10|A1
2|15.04.2025|18:15|16.04.2025|11:45:30|A2";
    let draft = drafted(Table::Faults, text);
    let (columns, dates) = (part(&draft, 0, "columns"), part(&draft, 0, "dates"));
    let names = |column: &str| columns[column].as_array().unwrap()[1].as_str().unwrap().to_owned();
    assert_eq!(names("opened"), "Opened time", "{}", draft.toml);
    assert_eq!(names("cleared"), "Closed time", "{}", draft.toml);
    assert_eq!(dates["opened"].as_str(), Some("%d.%m.%Y %H:%M"));
    assert_eq!(dates["cleared"].as_str(), Some("%d.%m.%Y %H:%M:%S"));
}

#[test]
fn a_table_that_was_not_named_is_guessed_and_asked_about() {
    let exports = [
        (
            Table::Inspections,
            "Nr|Wann|Steckstelle|Phase|Ergebnis\n1|13.04.2025 08:15|A1|Montage|i.O.",
        ),
        (
            Table::Cleanings,
            "Nr|Wann|Steckstelle|Phase|Verfahren\n1|13.04.2025 08:15|A1|Montage|nass",
        ),
        (
            Table::Matings,
            "Nr|Gesteckt|Gelöst|Stecker|Kupplung|Phase\n1|13.04.2025 08:15|14.04.2025 08:15|A1|B1|Montage",
        ),
        (
            Table::Faults,
            "Nr|Gemeldet|Behoben|Steckstelle|Ursache|Abhilfe\n1|13.04.2025 08:15|14.04.2025 08:15|A1|Bruch|Tausch",
        ),
        (
            Table::EndFaces,
            "Steckstelle|Standort|Bauform|Schliff|Lieferant\nA1|Alder Point|LC|UPC|Norrvik",
        ),
    ];
    for (table, text) in exports {
        let draft = draft(&asked(None), &profiles(text), &Dialect::default());
        let found = source(&draft)["record"][0]["table"].as_str().unwrap().to_owned();
        assert_eq!(found, table.name(), "{}", draft.toml);
        assert!(keys(&draft).contains(&"record[0].table"));
    }
}
