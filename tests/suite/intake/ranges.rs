//! Exports in ranges: what is typed range by range is what is typed of the whole.

use std::collections::BTreeMap;

use motetrail::intake::{
    Cuts, Export, Met, Pass, PeopleKey, ReadCounts, cuts, read_export, read_range,
};
use motetrail::records::{Table, columns};
use motetrail::settings::{Encoding, People, Source};
use motetrail::tabular::Compression;
use proptest::prelude::*;

use super::fixture::{Kept, looks, plan, source};

const FILE: &str = "works/a.csv";

/// The whole, read once.
fn whole(source: &Source, text: &[u8]) -> Kept {
    let (plan, people) = (plan(), PeopleKey::new([7; 32]));
    let export = Export { plan: &plan, source, file: FILE, people: &people, pass: Pass::First };
    let mut kept = Kept::default();
    kept.counts = read_export(&export, text, Compression::None, &mut kept).unwrap();
    kept
}

/// The same range by range, the last range first, and what all met of names.
fn in_ranges(source: &Source, text: &[u8], cut: &Cuts) -> (Kept, Met) {
    let (plan, people) = (plan(), PeopleKey::new([7; 32]));
    let export = Export { plan: &plan, source, file: FILE, people: &people, pass: Pass::First };
    let (head, length) = (&text[..cut.head as usize], text.len() as u64);
    let ends = cut.ranges.iter().skip(1).map(|range| range.from).chain([length]);
    let mut read: Vec<(Kept, Met)> = Vec::new();
    for (range, end) in cut.ranges.iter().zip(ends).collect::<Vec<_>>().into_iter().rev() {
        let own = [head, &text[range.from as usize..end as usize]].concat();
        let mut kept = Kept::default();
        let (counts, met) = read_range(&export, range, own.as_slice(), &mut kept).unwrap();
        kept.counts = counts;
        read.push((kept, met));
    }
    let (mut all, mut met) = (Kept::default(), Met::default());
    for (mut kept, own) in read.into_iter().rev() {
        all.batches.append(&mut kept.batches);
        all.rejected.append(&mut kept.rejected);
        let ReadCounts { rows, typed, quarantined, records, lost, .. } = kept.counts;
        all.counts.rows += rows;
        all.counts.typed += typed;
        all.counts.quarantined += quarantined;
        all.counts.lost.extend(lost);
        for (table, records) in records {
            *all.counts.records.entry(table).or_default() += records;
        }
        met.add(own);
    }
    (all, met)
}

/// Every column of the looks as texts, with rows and fingerprints, and what was rejected, with lines.
fn contents(kept: &Kept) -> (BTreeMap<String, Vec<String>>, Vec<String>, [u64; 3]) {
    let table = Table::Inspections;
    let names = columns(table).iter().map(|column| column.name);
    let names = names.chain(["row", "identity", "member", "content"]);
    let columns = names.map(|name| (name.to_owned(), kept.column(table, name))).collect();
    let ReadCounts { rows, typed, quarantined, .. } = kept.counts;
    (columns, kept.reasons(), [rows, typed, quarantined])
}

fn agree(source: &Source, text: &[u8], every: u64) -> usize {
    let Some(cut) = cuts(source, FILE, text, every).unwrap() else { return 1 };
    let (found, _) = in_ranges(source, text, &cut);
    assert_eq!(contents(&found), contents(&whole(source, text)), "ranges of {every} bytes");
    cut.ranges.len()
}

#[test]
fn ranges_of_any_length_hold_rows_lines_and_numbers_of_the_whole() {
    let rows = "03.02.2026 08:00;P1;OK\n\n\"03.02.2026 08:01\";\"P \"\"2\"\"\";NOK\n;;\n\
                03.02.2026 08:02;\"a port\nwith a line; and\n\nanother\";OK\r\n\
                04.02.2026;P3;perhaps\n05.02.2026;P\u{e9};OK\n06.02.2026;P5\n";
    let text =
        format!("\u{feff}Looks of the works\n\nAt;Port;Result\n{}07.02.2026;P9;OK", rows.repeat(3));
    let mut source = source(vec![looks()]);
    source.dialect.skip_lines = 1;
    let ranges: Vec<usize> = (1..400).map(|every| agree(&source, text.as_bytes(), every)).collect();
    // As many as rows, blank ones too, where any line may begin one.
    assert_eq!(ranges[0], 3 * 8 + 1);
    assert!(ranges.contains(&2), "{ranges:?}");
}

#[test]
fn a_row_that_cannot_be_cut_holds_the_next_range_back_by_the_longest_row() {
    let row = "03.02.2026 08:00;P1;OK\n";
    let bad = "03.02.2026 08:00;\"P1;OK\n";
    let long = format!("03.02.2026 08:00;{};OK\n", "P".repeat(1_500_000));
    let many = row.repeat(60_000);
    let text = format!("At;Port;Result\n{row}{bad}{many}{long}{many}\"{many}{row}\"x\n{many}");
    let source = source(vec![looks()]);
    let ranges: Vec<usize> =
        [1_000, 70_001, 900_000].map(|every| agree(&source, text.as_bytes(), every)).to_vec();
    assert!(ranges[0] > 50 && ranges[2] > 2, "{ranges:?}");
}

#[test]
fn an_export_that_is_packed_or_of_another_encoding_or_without_a_header_is_one_range() {
    let text = format!("At;Port;Result\n{}", "03.02.2026;P;OK\n".repeat(9));
    let plain = source(vec![looks()]);
    let count = |source: &Source, file: &str| {
        cuts(source, file, text.as_bytes(), 20).unwrap().map_or(1, |cut| cut.ranges.len())
    };
    assert_eq!(count(&plain, FILE), 5);
    assert_eq!(count(&plain, "works/a.csv.gz"), 1);
    assert_eq!(count(&plain, "works/a.jsonl"), 1);
    let mut other = plain.clone();
    other.dialect.encoding = Encoding::WINDOWS_1252;
    assert_eq!(count(&other, FILE), 1);
    let mut other = plain.clone();
    other.dialect.header_rows = 0;
    assert_eq!(count(&other, FILE), 1);
}

#[test]
fn a_name_in_another_range_than_its_person_is_noticed() {
    let mut source = source(vec![looks()]);
    source.records[0].columns.insert("inspector".into(), vec!["Who".into()]);
    source.people.insert("Who".into(), People::Pseudonym);
    let text = |port: &str| {
        format!("At;Port;Result;Who\n03.02.2026;P1;OK;Ada Lind\n04.02.2026;{port};OK;Bo Falk\n")
    };
    for (port, is_enough) in [("P2", true), ("Ada Lind", false)] {
        let text = text(port);
        let cut = cuts(&source, FILE, text.as_bytes(), 1).unwrap().unwrap();
        let (_, met) = in_ranges(&source, text.as_bytes(), &cut);
        assert_eq!((cut.ranges.len(), met.is_enough()), (2, is_enough));
    }
}

fn rough_row() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "0[1-9]\\.02\\.2026;P[a-f\u{e9}]{0,9};(OK|NOK|void|no)",
        2 => "0[1-9]\\.02\\.2026;\"[a-c;\n\r ]{0,12}\";OK",
        1 => "[;\" a0\n\r]{0,9}",
        1 => Just(String::new()),
    ]
}

proptest! {
    #[test]
    fn any_text_in_ranges_is_the_whole(
        rows in proptest::collection::vec(rough_row(), 0..40),
        crlf in any::<bool>(),
        every in 1..300u64,
    ) {
        let end = if crlf { "\r\n" } else { "\n" };
        let text = format!("At;Port;Result{end}{}", rows.join(end));
        agree(&source(vec![looks()]), text.as_bytes(), every);
    }
}
