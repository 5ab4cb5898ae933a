use motetrail::records::Table;
use motetrail::settings::Test;

use super::fixture::{With, looks, part, read, source, words};

#[test]
fn a_row_yields_the_look_and_the_cleaning_before_it() {
    let cleaning =
        part(Table::Cleanings, &[("at", "At"), ("end_face", "Port"), ("method", "Cleaned")])
            .dates("at", &["%d.%m.%Y %H:%M"])
            .constants(&[("stage", "incoming")])
            .when("Cleaned", Test::Given);
    let text = "At;Port;Result;Cleaned\n03.02.2026 10:00;P1;OK;dry\n03.02.2026 10:05;P2;OK;-\n";
    let kept = read(&source(vec![looks(), cleaning.clone()]), text);
    assert_eq!(kept.column(Table::Inspections, "end_face"), ["P1", "P2"]);
    assert_eq!(kept.column(Table::Cleanings, "end_face"), ["P1"]);
    assert_eq!(kept.column(Table::Cleanings, "seq"), ["0"]);
    assert_eq!((kept.counts.rows, kept.counts.records[&Table::Cleanings]), (2, 1));
    let (order, _): (Vec<Table>, Vec<_>) = kept.batches.iter().cloned().unzip();
    assert_eq!(order, [Table::Inspections, Table::Cleanings]);
}

#[test]
fn a_row_of_which_one_record_fails_yields_none_and_leaves_its_neighbours_whole() {
    let cleaning =
        part(Table::Cleanings, &[("at", "At"), ("end_face", "Port"), ("method", "Cleaned")])
            .dates("at", &["%d.%m.%Y %H:%M"])
            .constants(&[("stage", "incoming")])
            .when("Cleaned", Test::Given);
    let row = |port: &str, method: &str| format!("03.02.2026 10:00;{port};OK;{method}\n");
    let rows = [row("P1", "dry"), row("P2", "spit"), row("P3", "wet-dry"), row("P4", "")];
    let kept = read(
        &source(vec![looks(), cleaning]),
        &format!("At;Port;Result;Cleaned\n{}", rows.concat()),
    );
    assert_eq!(kept.column(Table::Inspections, "end_face"), ["P1", "P3", "P4"]);
    assert_eq!(kept.column(Table::Inspections, "row"), ["0", "2", "3"]);
    assert_eq!(kept.column(Table::Cleanings, "end_face"), ["P1", "P3"]);
    assert_eq!(
        kept.reasons(),
        [
            "3|cleanings|Cleaned|found \"spit\", expected one of dry, wet-dry; add it to the map's values"
        ]
    );
}

#[test]
fn a_duplex_row_names_two_end_faces_of_one_table_in_the_order_of_the_map() {
    let mut second = looks();
    second.columns.insert("end_face".to_owned(), words(&["Port 2"]));
    second.columns.insert("family".to_owned(), words(&["Type"]));
    let text = "At;Port;Port 2;Result;Type\n03.02.2026;A1;A2;OK;LC\n03.02.2026;B1;B2;NOK;SC\n";
    let kept = read(&source(vec![looks(), second]), text);
    assert_eq!(kept.column(Table::Inspections, "end_face"), ["A1", "A2", "B1", "B2"]);
    assert_eq!(kept.column(Table::Inspections, "family"), ["", "LC", "", "SC"]);
    assert_eq!(kept.column(Table::Inspections, "row"), ["0", "0", "1", "1"]);
    assert_eq!(kept.counts.typed, 2);
}

#[test]
fn a_seq_of_the_export_is_taken_and_a_missing_one_is_the_row_number() {
    let mut record = looks();
    record.columns.insert("seq".to_owned(), words(&["N"]));
    let kept =
        read(&source(vec![record]), "At;Port;Result;N\n03.02.2026;P;OK;7\n03.02.2026;P;OK;\n");
    assert_eq!(kept.column(Table::Inspections, "seq"), ["7", "1"]);
}

#[test]
fn a_site_column_stands_before_the_sources_site() {
    let mut record = looks();
    record.columns.insert("site".to_owned(), words(&["Where"]));
    let kept = read(&source(vec![record]), "At;Port;Result;Where\n03.02.2026;P;OK;North Depot\n");
    assert_eq!(kept.column(Table::Inspections, "site"), ["North Depot"]);
}

#[test]
fn a_failing_look_without_a_finding_means_what_the_source_says() {
    let mut record = looks();
    record.columns.insert("finding".to_owned(), words(&["Why"]));
    let text = "At;Port;Result;Why\n03.02.2026;P;NOK;\n03.02.2026;P;OK;\n03.02.2026;P;NOK;defect\n03.02.2026;P;OK;defect\n";
    let mut works = source(vec![record]);
    assert_eq!(
        read(&works, text).column(Table::Inspections, "finding"),
        ["", "", "defect", "defect"]
    );
    works.finding_default = Some("contamination".to_owned());
    let findings = read(&works, text).column(Table::Inspections, "finding");
    assert_eq!(findings, ["contamination", "", "defect", "defect"]);
    works.records = vec![looks()];
    let findings = read(&works, text).column(Table::Inspections, "finding");
    assert_eq!(findings, ["contamination", "", "contamination", ""]);
}

#[test]
fn where_one_name_covers_both_sides_the_side_is_needed() {
    let mut record = looks();
    record.columns.insert("side".to_owned(), words(&["Side"]));
    let mut both = source(vec![record]);
    let text = "At;Port;Result;Side\n03.02.2026;P;OK;plug\n03.02.2026;P;OK;\n";
    assert_eq!(read(&both, text).counts.typed, 2);
    both.one_name_both_sides = true;
    let side = "|side|is empty; expected one of plug, bulkhead, since one name covers both sides in this source";
    assert_eq!(read(&both, text).reasons(), [format!("3|inspections{side}")]);

    let faults = part(
        Table::Faults,
        &[("opened", "At"), ("end_face", "Port"), ("side", "Side"), ("mating", "Mating")],
    );
    both.records = vec![faults.dates("opened", &["%d.%m.%Y"])];
    let text = "At;Port;Side;Mating\n03.02.2026;P;;M1\n03.02.2026;P;plug;\n03.02.2026;P;;\n03.02.2026;;plug;\n";
    assert_eq!(
        read(&both, text).reasons(),
        [
            "4|faults|side|is empty; expected one of plug, bulkhead, or a mating, since one name covers both sides in this source",
        ]
    );
}

#[test]
fn a_mating_needs_an_end_and_may_not_be_parted_before_it_is_made() {
    let matings = part(
        Table::Matings,
        &[("at", "At"), ("demated_at", "Off"), ("end_face_a", "A"), ("end_face_b", "B")],
    )
    .dates("at", &["%d.%m.%Y %H:%M"])
    .dates("demated_at", &["%d.%m.%Y %H:%M", "%d.%m.%Y"])
    .constants(&[("stage", "installation")]);
    let rows = [
        "03.02.2026 10:00;;A1;",
        "03.02.2026 10:00;;;",
        "03.02.2026 10:00;03.02.2026 10:00;A1;B1",
        "03.02.2026 10:00;03.02.2026 09:59;A1;B1",
        "03.02.2026 10:00;03.02.2026;A1;B1",
        "03.02.2026 00:00;02.02.2026;A1;B1",
        // A day of 25 hours: its last one is still of that day.
        "25.10.2026 23:30;25.10.2026;A1;B1",
    ];
    let mut works = source(vec![matings]);
    works.one_name_both_sides = true;
    let kept = read(&works, &format!("At;Off;A;B\n{}\n", rows.join("\n")));
    let demated = "found a demating before the mating, expected it after; correct one of the times";
    assert_eq!(
        kept.reasons(),
        [
            "3|matings|end_face_a|is empty, and end_face_b too; expected the name of at least one end".to_owned(),
            format!("5|matings|demated_at|{demated}"),
            format!("7|matings|demated_at|{demated}"),
        ]
    );
}
