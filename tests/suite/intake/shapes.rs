use std::io::Write;

use flate2::write::GzEncoder;
use motetrail::records::Table;
use motetrail::settings::{Encoding, Separator};
use motetrail::tabular::{Compression, LONGEST_ROW};

use super::fixture::{Kept, With, error, looks, part, read, read_packed, source, words};

const INSPECTIONS: Table = Table::Inspections;
const TWO_LOOKS: &str = "At;Port;Result\n03.02.2026 10:00;P1;OK\n03.02.2026 10:05;P2;NOK\n";

fn ports(kept: &Kept) -> Vec<String> {
    kept.column(INSPECTIONS, "end_face")
}

#[test]
fn a_plain_export_becomes_records_with_constants_and_row_numbers() {
    let kept = read(&source(vec![looks()]), TWO_LOOKS);
    assert_eq!(ports(&kept), ["P1", "P2"]);
    assert_eq!(kept.column(INSPECTIONS, "outcome"), ["pass", "fail"]);
    assert_eq!(kept.column(INSPECTIONS, "at"), ["2026-02-03T09:00:00Z", "2026-02-03T09:05:00Z"]);
    assert_eq!(kept.column(INSPECTIONS, "at_precision"), ["instant", "instant"]);
    assert_eq!(kept.column(INSPECTIONS, "source"), ["works", "works"]);
    assert_eq!(kept.column(INSPECTIONS, "site"), ["Central Works", "Central Works"]);
    assert_eq!(kept.column(INSPECTIONS, "stage"), ["incoming", "incoming"]);
    assert_eq!(kept.column(INSPECTIONS, "seq"), ["0", "1"]);
    assert_eq!(kept.column(INSPECTIONS, "row"), ["0", "1"]);
    assert_eq!(kept.column(INSPECTIONS, "family"), ["", ""]);
    assert_eq!(kept.counts.records[&INSPECTIONS], 2);
}

#[test]
fn crlf_blank_lines_a_byte_order_mark_and_no_last_line_end_change_nothing() {
    let text =
        "\u{feff}At;Port;Result\r\n\r\n03.02.2026 10:00;P1;OK\r\n;;\r\n03.02.2026 10:05;P2;NOK";
    let kept = read(&source(vec![looks()]), text);
    assert_eq!(ports(&kept), ["P1", "P2"]);
    assert_eq!(kept.counts.rows, 2);
}

#[test]
fn quoted_cells_hold_separators_line_ends_and_doubled_quotes() {
    let text = "\"At\";Port;Result\n03.02.2026 10:00;\"a;\"\"ö\"\"\nb\";\"OK\"\n03.02.2026 10:05;P\"2;bad\n";
    let kept = read(&source(vec![looks()]), text);
    assert_eq!(ports(&kept), ["a;\"ö\"\nb"]);
    assert_eq!(kept.rejected[0].line, 4);
    assert_eq!(kept.rejected[0].raw, "03.02.2026 10:05;\"P\"\"2\";bad");
}

#[test]
fn separator_and_quote_are_the_sources() {
    let mut tabs = source(vec![looks()]);
    (tabs.dialect.separator, tabs.dialect.quote) = (Separator::Byte(b'\t'), Some(b'\''));
    let kept = read(&tabs, "At\tPort\tResult\n03.02.2026 10:00\t'P\t1'\tOK\n");
    assert_eq!(ports(&kept), ["P\t1"]);
}

#[test]
fn lines_before_the_header_are_left_out_and_counted() {
    let mut titled = source(vec![looks()]);
    titled.dialect.skip_lines = 2;
    let kept = read(&titled, "Export of \"today\n\nAt;Port;Result\n03.02.2026 10:00;P1;maybe\n");
    assert_eq!(kept.rejected[0].line, 4);
}

#[test]
fn windows_1252_text_is_decoded_and_a_hole_of_the_code_page_is_rejected() {
    let mut latin = source(vec![looks()]);
    latin.dialect.encoding = Encoding::WINDOWS_1252;
    let bytes =
        b"At;Port;Result\n03.02.2026 10:00;T\xFCr \x80\xA0;OK\n03.02.2026 10:00;\xE9\x81;OK\n";
    let kept = read_packed(&latin, bytes, Compression::None).unwrap();
    assert_eq!(ports(&kept), ["Tür €"]);
    assert_eq!(
        kept.reasons(),
        [
            "3|||found the byte 0x81 in cell 2, expected windows-1252 text; check the encoding of the source"
        ]
    );
}

#[test]
fn gzip_and_zstd_are_unpacked_and_several_gzip_members_are_one_file() {
    let gzip = |text: &str| {
        let mut encoder = GzEncoder::new(Vec::new(), flate2::Compression::fast());
        encoder.write_all(text.as_bytes()).unwrap();
        encoder.finish().unwrap()
    };
    let (head, tail) = TWO_LOOKS.split_at(30);
    let members = [gzip(head), gzip(tail)].concat();
    let packed = zstd::encode_all(TWO_LOOKS.as_bytes(), 1).unwrap();
    for (bytes, name) in [(members, "a.csv.GZ"), (packed, "a.csv.zst")] {
        let kept = read_packed(&source(vec![looks()]), &bytes, Compression::of(name)).unwrap();
        assert_eq!(ports(&kept), ["P1", "P2"]);
    }
    assert_eq!(Compression::of("a.csv"), Compression::None);
}

#[test]
fn a_damaged_packed_file_is_an_error_with_its_name() {
    let mut encoder = GzEncoder::new(Vec::new(), flate2::Compression::fast());
    encoder.write_all(TWO_LOOKS.as_bytes()).unwrap();
    let mut gzip = encoder.finish().unwrap();
    gzip.truncate(gzip.len() - 12);
    let mut packed = zstd::encode_all(TWO_LOOKS.as_bytes(), 1).unwrap();
    packed.truncate(packed.len() - 5);
    let plain = TWO_LOOKS.as_bytes().to_vec();
    for (bytes, packed) in
        [(gzip, Compression::Gzip), (packed, Compression::Zstd), (plain, Compression::Gzip)]
    {
        let result = read_packed(&source(vec![looks()]), &bytes, packed);
        let message = result.err().unwrap().to_string();
        assert!(message.starts_with("works/a.csv: found damage after "), "{message}");
    }
}

#[test]
fn an_empty_file_and_a_lone_header_have_no_rows() {
    for text in ["", "\n \n", "At;Port;Result", "At;Port;Result\n\n"] {
        let kept = read(&source(vec![looks()]), text);
        assert_eq!((kept.counts.rows, kept.batches.len()), (0, 0));
    }
}

#[test]
fn what_the_header_lacks_repeats_or_breaks_is_named() {
    let looks = source(vec![looks()]);
    assert_eq!(
        error(&looks, "\nAt;Prot;Result\n"),
        "works/a.csv:2 column \"Port\" is not in the header, found At, Prot, Result (nearest: \"Prot\"); \
         correct the map or the dialect of this source"
    );
    assert_eq!(
        error(&looks, "At;Port;Result;Port\n"),
        "works/a.csv:1 column \"Port\" is in the header at positions 2 and 4, \
         expected it once; name the one meant by \"Port #1\" or \"Port #2\" in the map"
    );
    assert_eq!(
        error(&looks, "At;Port;\"Result\n"),
        "works/a.csv:1 the header found a quote that is never closed, expected its end in the same \
         cell; close it or name another quote character in the source"
    );
    let mut titled = looks;
    titled.dialect.skip_lines = 1;
    assert_eq!(
        error(&titled, "At;Port;Result\n"),
        "works/a.csv:2 found no header line, expected the column names; check `skip_lines`"
    );
}

#[test]
fn a_row_too_long_is_rejected_with_its_line_and_reading_goes_on() {
    let long = "x".repeat(3 * LONGEST_ROW);
    let text = format!("At;Port;Result\n{long};P1;OK\n03.02.2026 10:05;P2;OK\n");
    let kept = read(&source(vec![looks()]), &text);
    assert_eq!(ports(&kept), ["P2"]);
    assert_eq!(
        kept.reasons(),
        [
            "2|||found a row longer than 1048576 bytes, expected a shorter one; look for a quote that is never closed"
        ]
    );
    assert_eq!(kept.rejected[0].raw, "x".repeat(500));
}

#[test]
fn the_longest_row_allowed_is_taken_and_one_byte_more_is_not() {
    let row = |port: usize| format!("03.02.2026 10:00;{};OK", "p".repeat(port));
    let room = LONGEST_ROW - row(0).len();
    for end in ["", "\n", "\n\n"] {
        let fits = read(&source(vec![looks()]), &format!("At;Port;Result\n{}{end}", row(room)));
        assert_eq!((fits.counts.typed, fits.counts.quarantined), (1, 0));
        let over = read(&source(vec![looks()]), &format!("At;Port;Result\n{}{end}", row(room + 1)));
        assert_eq!((over.counts.typed, over.counts.quarantined), (0, 1));
    }
}

#[test]
fn a_quote_that_is_never_closed_costs_its_own_line() {
    let filler = "03.02.2026 10:05;P2;OK\n".repeat(60_000); // longer than the longest row
    for tail in ["03.02.2026 10:05;P2;OK\n", filler.as_str()] {
        let text = format!("At;Port;Result\n03.02.2026 10:00;\"P1;OK\n{tail}");
        let kept = read(&source(vec![looks()]), &text);
        assert_eq!(kept.counts.quarantined, 1);
        assert_eq!(kept.counts.typed, tail.lines().count() as u64);
        assert_eq!(kept.rejected[0].line, 2);
    }
}

#[test]
fn amounts_and_whole_numbers_are_exact() {
    let faults = part(
        Table::Faults,
        &[("opened", "At"), ("end_face", "Port"), ("cost", "Cost"), ("downtime_min", "Down")],
    )
    .dates("opened", &["%Y-%m-%d"]);
    let rows = [
        ("12,5", "7"),
        ("-0,05", "-7"),
        ("n/a", ""),
        ("10000000000,00", "1000000000000"),
        ("10000000000,01", "1"),
        ("1", "1000000000001"),
        ("1", "9223372036854775808"),
    ];
    let lines = rows.map(|(cost, down)| format!("2026-02-03;P;{cost};{down}\n")).concat();
    let kept = read(&source(vec![faults]), &format!("At;Port;Cost;Down\n{lines}"));
    assert_eq!(
        kept.column(Table::Faults, "cost"),
        ["1250", "-5", "", "1000000000000", "", "100", "100"]
    );
    let down = ["7", "-7", "", "1000000000000", "1", "", ""];
    assert_eq!(kept.column(Table::Faults, "downtime_min"), down);
    // Beyond these, sums of a fleet might not fit 64 bits: left out, not wrapped.
    assert_eq!(kept.counts.lost.iter().map(|lost| lost.cells).sum::<u64>(), 3);
}

#[test]
fn a_column_name_broken_over_lines_is_one_name() {
    // Spreadsheets break long headings; a map is written on one line.
    let mut record = looks();
    record.columns.insert("outcome".to_owned(), words(&["Result  (pass or fail)"]));
    let text = "At;Port;\"Result\n(pass\tor fail)\"\n03.02.2026 10:00;P1;OK\n";
    let kept = read(&source(vec![record]), text);
    assert_eq!(kept.column(Table::Inspections, "outcome"), ["pass"]);
}
