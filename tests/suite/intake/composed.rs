//! Texts that several columns make: names of end faces, results a zone each, one column in two places.

use std::collections::BTreeMap;

use motetrail::records::Table;
use motetrail::settings::{Piece, RecordMap};

use super::fixture::{With, looks, part, read, source};

fn composed() -> RecordMap {
    let mut record = looks();
    record.columns.insert("end_face".to_owned(), vec!["Rack".to_owned(), "Port".to_owned()]);
    let column = |name: &str| Piece::Column(name.to_owned());
    let pieces = vec![column("Rack"), Piece::Text("/".to_owned()), column("Port")];
    record.forms = BTreeMap::from([("end_face".to_owned(), pieces)]);
    record
}

#[test]
fn a_form_writes_several_cells_as_one_name() {
    let text = "At;Rack;Port;Result\n03.02.2026;R1;07;OK\n03.02.2026;R2;07;NOK\n";
    let kept = read(&source(vec![composed()]), text);
    assert_eq!(kept.column(Table::Inspections, "end_face"), ["R1/07", "R2/07"]);
}

#[test]
fn a_name_without_one_of_its_parts_is_none() {
    let text =
        "At;Rack;Port;Result\n03.02.2026;R1;;OK\n03.02.2026;n/a;07;OK\n03.02.2026;R1;07;OK\n";
    let kept = read(&source(vec![composed()]), text);
    assert_eq!(kept.column(Table::Inspections, "end_face"), ["R1/07"]);
    assert_eq!(kept.rejected.len(), 2);
    assert!(kept.rejected[0].reason.contains("is empty"), "{}", kept.rejected[0].reason);
}

#[test]
fn results_of_zones_make_the_outcome_and_the_innermost_failed_zone() {
    let mut record = part(Table::Inspections, &[("at", "At"), ("end_face", "Port")])
        .dates("at", &["%d.%m.%Y"])
        .values("outcome", &[("OK", "pass"), ("NOK", "fail"), ("blurred", "unreadable")])
        .constants(&[("stage", "incoming")]);
    let zones = [("A", "Core"), ("B", "Cladding"), ("D", "Contact")];
    record.zones = zones.map(|(zone, name)| (zone.to_owned(), name.to_owned())).to_vec();
    let read_by: Vec<String> = zones.iter().map(|(_, name)| (*name).to_owned()).collect();
    for made in ["outcome", "zone"] {
        record.columns.insert(made.to_owned(), read_by.clone());
    }
    let rows =
        ["OK;OK;OK", "OK;NOK;NOK", "NOK;OK;blurred", "OK;blurred;OK", ";OK;", "OK;maybe;NOK", ";;"];
    let rows: Vec<String> = rows.iter().map(|row| format!("03.02.2026;P;{row}\n")).collect();
    let text = format!("At;Port;Core;Cladding;Contact\n{}", rows.concat());
    let kept = read(&source(vec![record]), &text);
    assert_eq!(
        kept.column(Table::Inspections, "outcome"),
        ["pass", "fail", "fail", "unreadable", "pass"]
    );
    assert_eq!(kept.column(Table::Inspections, "zone"), ["", "B", "A", "", ""]);
    // A word that nobody knows, and a row without any result, are refused with their reason.
    assert_eq!(kept.rejected.len(), 2);
    assert!(kept.rejected[0].reason.contains("\"maybe\""), "{}", kept.rejected[0].reason);
}

#[test]
fn one_column_can_feed_two() {
    let mut record = looks();
    record.columns.insert("instrument".to_owned(), vec!["Port".to_owned()]);
    let kept = read(&source(vec![record]), "At;Port;Result\n03.02.2026;B7;OK\n");
    assert_eq!(kept.column(Table::Inspections, "end_face"), ["B7"]);
    assert_eq!(kept.column(Table::Inspections, "instrument"), ["B7"]);
}
