//! R9: a cell that cannot be read is null and counted, where its column may be empty.

use std::collections::BTreeMap;

use motetrail::intake::LostCell;
use motetrail::records::{Misread, Table};
use motetrail::settings::{DurationForm, RecordMap, Source, Unreadable};

use super::fixture::{Kept, With, looks, part, read, source};

/// Tickets with everything that may be empty in them.
fn tickets() -> RecordMap {
    part(
        Table::Faults,
        &[
            ("opened", "At"),
            ("cleared", "Till"),
            ("end_face", "Port"),
            ("cause", "Cause"),
            ("downtime_min", "Down"),
            ("cost", "Cost"),
        ],
    )
    .dates("opened", &["%Y-%m-%d %H:%M"])
    .dates("cleared", &["%Y-%m-%d %H:%M"])
}

const HEADER: &str = "At;Till;Port;Cause;Down;Cost\n";

/// Table, column, reason and number of every kind of lost cell.
fn lost(kept: &Kept) -> Vec<(Table, &str, Misread, u64)> {
    let lost = kept.counts.lost.iter();
    lost.map(|lost| (lost.table, lost.column.as_str(), lost.why, lost.cells)).collect()
}

#[test]
fn a_cell_that_cannot_be_read_is_null_and_the_rest_of_its_row_stands() {
    let rows = "2026-02-03 10:00;2026-02-03 11:00;P1;break;20:46;12,50\n\
                2026-02-03 10:00;some day;P2;bend;30;12.50\n\
                2026-02-03 10:00;2026-02-30 11:00;P3;break;;\n\
                2026-02-03 10:00;2026-03-29 02:30;P4;break;21:46;1,00\n";
    let kept = read(&source(vec![tickets()]), &format!("{HEADER}{rows}"));
    assert_eq!((kept.counts.typed, kept.counts.quarantined), (4, 0));
    assert_eq!(kept.column(Table::Faults, "downtime_min"), ["", "30", "", ""]);
    assert_eq!(kept.column(Table::Faults, "cost"), ["1250", "", "", "100"]);
    assert_eq!(kept.column(Table::Faults, "cause"), ["break", "", "break", "break"]);
    let cleared = kept.column(Table::Faults, "cleared");
    assert_eq!(cleared, ["2026-02-03T10:00:00Z", "", "", ""]);
    assert_eq!(
        lost(&kept),
        [
            (Table::Faults, "Cause", Misread::NotListed, 1),
            (Table::Faults, "Cost", Misread::NoNumber, 1),
            (Table::Faults, "Down", Misread::NoDuration, 2),
            (Table::Faults, "Till", Misread::NoTime, 1),
            (Table::Faults, "Till", Misread::NoSuchTime, 1),
            (Table::Faults, "Till", Misread::ClockChange, 1),
        ]
    );
    let reason = |found| {
        format!(
            "found \"{found}\", expected a whole number of minutes; correct it, or say in the map's durations \
             how lengths of time are written: h:mm, h:mm:ss, mm:ss, 2h10m, PT2H10M, hours or days"
        )
    };
    assert_eq!(
        kept.counts.lost[2].examples,
        [
            LostCell { line: 2, reason: reason("20:46") },
            LostCell { line: 5, reason: reason("21:46") }
        ]
    );
}

#[test]
fn an_unreadable_cell_that_every_record_needs_still_costs_the_row_and_counts_nowhere_else() {
    let rows = "2026-02-03 10:00;;P1;break;20:46;\nsome day;;P2;break;20:46;\n";
    let kept = read(&source(vec![tickets()]), &format!("{HEADER}{rows}"));
    assert_eq!((kept.counts.typed, kept.counts.quarantined), (1, 1));
    assert_eq!(kept.rejected[0].column.as_deref(), Some("At"));
    assert_eq!(lost(&kept), [(Table::Faults, "Down", Misread::NoDuration, 1)]);
}

#[test]
fn settings_say_for_a_source_or_a_column_that_an_unreadable_cell_costs_the_row() {
    let text = format!("{HEADER}2026-02-03 10:00;;P1;break;20:46;1.5\n");
    let all = Source { unreadable: Unreadable::Quarantine, ..source(vec![tickets()]) };
    assert_eq!(read(&all, &text).counts.quarantined, 1);
    let mut record = tickets();
    record.unreadable = BTreeMap::from([("cost".to_owned(), Unreadable::Quarantine)]);
    let kept = read(&source(vec![record]), &text);
    assert_eq!(kept.rejected[0].column.as_deref(), Some("Cost"));
    assert_eq!(lost(&kept), []);
    let mut record = tickets();
    record.unreadable = BTreeMap::from([
        ("cost".to_owned(), Unreadable::Null),
        ("downtime_min".to_owned(), Unreadable::Null),
    ]);
    let mixed = Source { unreadable: Unreadable::Quarantine, ..source(vec![record]) };
    assert_eq!(lost(&read(&mixed, &text)).len(), 2);
}

#[test]
fn a_finding_that_cannot_be_read_is_not_the_one_that_the_source_means_by_none() {
    let mut record = looks();
    record.columns.insert("finding".to_owned(), vec!["Why".to_owned()]);
    let defaulted =
        Source { finding_default: Some("contamination".to_owned()), ..source(vec![record]) };
    let text = "At;Port;Result;Why\n03.02.2026;P1;NOK;\n03.02.2026;P2;NOK;??\n";
    let kept = read(&defaulted, text);
    assert_eq!(kept.column(Table::Inspections, "finding"), ["contamination", ""]);
    assert_eq!(lost(&kept), [(Table::Inspections, "Why", Misread::NotListed, 1)]);
}

#[test]
fn an_order_that_cannot_be_read_is_that_of_the_rows() {
    let mut record = looks();
    record.columns.insert("seq".to_owned(), vec!["No".to_owned()]);
    let text = "At;Port;Result;No\n03.02.2026;P1;OK;7\n03.02.2026;P2;OK;x\n";
    let kept = read(&source(vec![record]), text);
    assert_eq!(kept.column(Table::Inspections, "seq"), ["7", "1"]);
}

#[test]
fn a_text_that_may_be_a_name_is_masked_in_examples_and_a_name_costs_the_row() {
    let read_with = |often: usize, elsewhere: usize| {
        let mut record = looks();
        record.columns.insert("zone".to_owned(), vec!["Zone".to_owned()]);
        record.columns.insert("inspector".to_owned(), vec!["Who".to_owned()]);
        let mut text = "At;Port;Result;Zone;Who\n".to_owned();
        for row in 0..often {
            text += &format!("03.02.2026;P{row};OK;A;Ada Lorne\n");
        }
        for row in 0..elsewhere {
            text += &format!("03.02.2026;Q{row};OK;Ada Lorne;Wim Karsten\n");
        }
        read(&source(vec![record]), &text)
    };
    let masked = read_with(1, 3);
    assert_eq!((masked.counts.typed, masked.counts.lost[0].cells), (4, 3));
    let reason = &masked.counts.lost[0].examples[0].reason;
    assert!(reason.starts_with("found ***, expected one of "), "{reason}");
    let shifted = read_with(5, 1);
    assert_eq!((shifted.counts.typed, shifted.counts.quarantined), (5, 1));
    assert!(shifted.counts.lost.is_empty());
}

/// Minutes of texts written in one of these forms; none where a text is left out.
fn minutes(forms: &[DurationForm], texts: &[&str]) -> Vec<String> {
    let mut record = tickets();
    record.durations = BTreeMap::from([("downtime_min".to_owned(), forms.to_vec())]);
    let rows = texts.iter().map(|text| format!("2026-02-03 10:00;;P;break;{text};\n"));
    let kept = read(&source(vec![record]), &format!("{HEADER}{}", rows.collect::<String>()));
    assert_eq!(kept.counts.quarantined, 0);
    kept.column(Table::Faults, "downtime_min")
}

#[test]
fn lengths_of_time_are_read_as_the_map_says_that_they_are_written() {
    use DurationForm::*;
    let cases: [(&[DurationForm], &str, &str); 42] = [
        (&[HourMinute], "20:46", "1246"),
        (&[HourMinute], "0:05", "5"),
        (&[HourMinute], "100:00", "6000"),
        (&[HourMinute], "-1:30", "-90"),
        (&[HourMinute], "1:60", ""),
        (&[HourMinute], "1:5", ""),
        (&[HourMinute], "1:05:00", ""),
        (&[HourMinute], "130", ""),
        (&[HourMinuteSecond], "2:10:29", "130"),
        (&[HourMinuteSecond], "2:10:30", "131"),
        (&[HourMinuteSecond], "2:10", ""),
        (&[HourMinute, HourMinuteSecond], "2:10", "130"),
        (&[HourMinute, HourMinuteSecond], "2:10:00", "130"),
        (&[MinuteSecond], "20:46", "21"),
        (&[MinuteSecond], "20:29", "20"),
        (&[Units], "2h10m", "130"),
        (&[Units], "2 h 10", "130"),
        (&[Units], "2h10", "130"),
        (&[Units], "2 Std. 10 Min.", "130"),
        (&[Units], "1 d 2 h", "1560"),
        (&[Units], "1 day, 2 hours", "1560"),
        (&[Units], "90 min", "90"),
        (&[Units], "1,5 h", "90"),
        (&[Units], "45 s", "1"),
        (&[Units], "10 m 2 h", ""),
        (&[Units], "2 h 3 h", ""),
        (&[Units], "130", ""),
        (&[Units], "2 h 10 5", ""),
        (&[Units], "2 fortnights", ""),
        (&[Units], "h", ""),
        (&[Iso], "PT2H10M", "130"),
        (&[Iso], "P1DT2H", "1560"),
        (&[Iso], "PT1.5H", "90"),
        (&[Iso], "PT90S", "2"),
        (&[Iso], "P1M", ""),
        (&[Iso], "PT", ""),
        (&[Iso], "PT10M2H", ""),
        (&[Hours], "2,25", "135"),
        (&[Hours], "2.25", ""),
        (&[Days], "0,5", "720"),
        (&[Minutes, HourMinute], "130", "130"),
        (&[Hours], "999999999999999999", ""),
    ];
    for (forms, text, expected) in cases {
        assert_eq!(minutes(forms, &[text]), [expected], "{text} as {forms:?}");
    }
}
