//! Rows that no honest export has.

use std::fs;
use std::io::{self, Read};

use arrow::array::RecordBatch;
use motetrail::intake::{Export, Pass, PeopleKey, Rejected, Sink, SinkError, read_export};
use motetrail::records::Table;
use motetrail::settings::read;
use motetrail::tabular::Compression;

use super::{FAULTS, LOOKS, LOOKS_HEADER, Place};

/// Bytes of the longest line; fewer in a build that is slow because it checks everything.
const LONG_LINE: u64 = if cfg!(debug_assertions) { 256 << 20 } else { 2 << 30 };

const GOOD: &str = "1,2026-02-01 08:00,North,A1,installation,pass,,,\n";

/// Keeps what was rejected and counts the records.
#[derive(Default)]
struct Kept {
    records: usize,
    rejected: Vec<Rejected>,
}

impl Sink for Kept {
    fn batch(&mut self, _: Table, batch: RecordBatch) -> Result<(), SinkError> {
        self.records += batch.num_rows();
        Ok(())
    }

    fn quarantine(&mut self, rejected: Rejected) -> Result<(), SinkError> {
        self.rejected.push(rejected);
        Ok(())
    }
}

#[test]
fn a_line_of_two_gigabytes_is_one_rejected_row_and_the_next_is_read() {
    let place = Place::new(&[LOOKS]);
    let plan = read(&place.folder.join("fleet.toml")).unwrap_or_else(|error| panic!("{error}"));
    let people = PeopleKey::new([7; 32]);
    let export = Export {
        plan: &plan,
        source: &plan.sources[0],
        file: "looks.csv",
        people: &people,
        pass: Pass::First,
    };
    let line = io::repeat(b'x').take(LONG_LINE);
    let behind = format!("\n{GOOD}");
    let stream =
        LOOKS_HEADER.as_bytes().chain(GOOD.as_bytes()).chain(line).chain(behind.as_bytes());
    let mut kept = Kept::default();
    let counts = read_export(&export, stream, Compression::None, &mut kept)
        .unwrap_or_else(|error| panic!("{error}"));
    assert_eq!((counts.rows, counts.typed, counts.quarantined), (3, 2, 1));
    assert_eq!(kept.records, 2);
    assert_eq!(kept.rejected[0].line, 3);
    assert!(kept.rejected[0].reason.starts_with("found a row longer than"));
    assert!(kept.rejected[0].raw.len() <= 500);
}

#[test]
fn nul_bytes_and_bytes_that_are_no_text_cost_their_rows_only() {
    let place = Place::new(&[LOOKS]);
    let mut bytes = LOOKS_HEADER.as_bytes().to_vec();
    bytes.extend(b"1,2026-02-01 08:00,North,A\0,installation,pass,,,\n");
    bytes.extend(b"2,2026-02-01 08:00,North,A\xFF,installation,pass,,,\n");
    bytes.extend(b"3,2026-02-01 08:00,North,A\xED\xA0\x80,installation,pass,,,\n");
    bytes.extend(b"4,2026-02-01 08:00,North,A\xC0\xAF,installation,pass,,,\n");
    bytes.extend(b"\0\0\0\0\n");
    bytes.extend(GOOD.as_bytes());
    place.write("looks.csv", bytes);
    assert_eq!(place.intake().rows(), [6, 1, 5]);
    let quarantine = place.quarantine();
    let lines: Vec<u64> = quarantine.iter().map(|row| row.line).collect();
    assert_eq!(lines, [2, 3, 4, 5, 6]);
    let byte = quarantine.iter().filter(|row| row.reason.contains("found the byte 0x")).count();
    let nul = quarantine.iter().filter(|row| row.reason.contains("found a NUL byte")).count();
    assert_eq!((byte, nul), (3, 2));
}

#[test]
fn a_file_of_nothing_but_nul_bytes_or_noise_is_an_error_with_its_name() {
    // Bytes of a linear congruential generator: Knuth (1997), The Art of Computer Programming 2,
    // section 3.3.4, table 1, line 26.
    let noise = |state: &mut u64| {
        *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        Some((*state >> 56) as u8)
    };
    let mut state = 1;
    let noise: Vec<u8> = std::iter::from_fn(|| noise(&mut state)).take(200_000).collect();
    for bytes in [vec![0; 200_000], noise, b"PK\x03\x04\0\0".repeat(1000)] {
        let place = Place::new(&[LOOKS]);
        place.write("looks.csv", bytes);
        let done = place.intake();
        assert_eq!(done.code, Some(3), "{}", done.stdout);
        assert!(done.stderr.contains("looks.csv"), "{}", done.stderr);
        assert!(done.stderr.len() < 5000, "{} bytes of message", done.stderr.len());
    }
}

#[test]
fn twenty_thousand_columns_are_read_and_a_header_that_lacks_one_is_told_in_few_words() {
    let place = Place::new(&[LOOKS]);
    let more: String = (0..20_000).map(|at| format!(",c{at}")).collect();
    let cells = ",x".repeat(20_000);
    let header = LOOKS_HEADER.trim_end();
    let row = GOOD.trim_end();
    place.write("looks.csv", format!("{header}{more}\n{row}{cells}\n{row}{cells},x\n{row}\n"));
    let done = place.intake();
    assert_eq!(done.rows(), [3, 1, 2]);
    assert!(place.quarantine().iter().all(|row| row.raw.chars().count() <= 500));
    fs::remove_dir_all(place.folder.join("store")).unwrap();
    place.write("looks.csv", format!("{}{more}\n", header.replace("face", "\u{1b}port")));
    let done = place.intake();
    assert_eq!(done.code, Some(3));
    assert!(done.stderr.contains("\"face\" is not in the header"), "{}", done.stderr);
    assert!(done.stderr.len() < 5000, "{} bytes of message", done.stderr.len());
}

#[test]
fn times_beyond_all_calendars_are_rejected() {
    let place = Place::new(&[LOOKS]);
    let times = [
        "99999-01-01 08:00",
        "2026-13-01 08:00",
        "2026-02-30 08:00",
        "-2026-01-01 08:00",
        "2026-01-01 99:00",
        "9223372036854775807",
        "-9223372036854775808",
        "9223372036854775808",
        "99999999999999999999999999",
        "1e9",
    ];
    let row = |at: &str| format!("1,{at},North,A1,installation,pass,,,\n");
    let rows: String = times.map(row).concat();
    place.write("looks.csv", format!("{LOOKS_HEADER}{rows}{GOOD}"));
    assert_eq!(place.intake().rows(), [11, 1, 10]);
    assert!(place.quarantine().iter().all(|row| row.column.as_deref() == Some("at")));
}

#[test]
fn numbers_beyond_64_bits_are_rejected() {
    let strict = FAULTS.replace("end_face_names", "unreadable = \"quarantine\"\nend_face_names");
    let place = Place::new(&[&strict]);
    let huge =
        ["9223372036854775808", "-9223372036854775809", "1e400", "NaN", "inf", "0x7f", "1_000"];
    let long = "9".repeat(100_000);
    let mut rows = "site,opened,face,cause,down,visits,cost\n".to_owned();
    for number in huge.into_iter().chain([long.as_str()]) {
        rows += &format!("North,2026-02-01 08:00,A1,,{number},,\n");
        rows += &format!("North,2026-02-01 08:00,A1,,,,{number}\n");
    }
    place.write("desk.csv", rows + "North,2026-02-01 08:00,A1,,1,1,1.00\n");
    assert_eq!(place.intake().rows(), [17, 1, 16]);
    assert!(place.quarantine().iter().all(|row| row.reason.len() < 500));
}
