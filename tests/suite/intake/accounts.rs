use std::io::{self, Read};

use motetrail::intake::{Export, Pass, PeopleKey, ReadCounts, read_export, read_knowing_names};
use motetrail::records::Table;
use motetrail::settings::{Encoding, Source, Test};
use motetrail::tabular::Compression;
use proptest::collection::vec;
use proptest::prelude::*;

use super::fixture::{Kept, With, looks, part, plan, read_packed, source};

/// Looks and, where a method is given, cleanings.
fn two_parts(encoding: Encoding) -> Source {
    let cleaning = part(
        Table::Cleanings,
        &[("at", "At"), ("end_face", "Port"), ("method", "Result"), ("operator", "Port")],
    )
    .dates("at", &["%Y%m%d", "epoch-ms"])
    .constants(&[("stage", "incoming")])
    .when("Result", Test::NoneOf(vec!["OK".to_owned()]));
    let mut source = source(vec![looks().when("Result", Test::Given), cleaning]);
    source.dialect.encoding = encoding;
    source
}

/// Bytes of the sort that break readers, more often than chance would have them.
fn rough_bytes() -> impl Strategy<Value = Vec<u8>> {
    let piece = prop_oneof![
        Just(b";".to_vec()),
        Just(b"\n".to_vec()),
        Just(b"\r\n".to_vec()),
        Just(b"\"".to_vec()),
        Just(b"03.02.2026 10:00;P1;OK\n".to_vec()),
        Just(b"20260203;\"P;1\";dry\n".to_vec()),
        Just(b"\x00".to_vec()),
        Just("ä".as_bytes().to_vec()),
        vec(any::<u8>(), 0..4),
    ];
    vec(piece, 0..60).prop_map(|pieces| pieces.concat())
}

/// A stream that arrives in pieces of a few bytes.
struct Trickle<'a>(&'a [u8], usize);

impl Read for Trickle<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.0.len().min(out.len()).min(self.1);
        out[..n].copy_from_slice(&self.0[..n]);
        self.0 = &self.0[n..];
        Ok(n)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn rows_are_typed_or_rejected_whatever_comes(bytes in rough_bytes(), latin in any::<bool>()) {
        let encoding = if latin { Encoding::WINDOWS_1252 } else { Encoding::UTF_8 };
        let text = [b"At;Port;Result\n".as_slice(), &bytes].concat();
        // The sums are checked where every export of these tests is read.
        let kept = read_packed(&two_parts(encoding), &text, Compression::None).unwrap();
        let records: u64 = kept.counts.records.values().sum();
        prop_assert_eq!(records, kept.batches.iter().map(|(_, batch)| batch.num_rows() as u64).sum::<u64>());
        prop_assert!(records >= kept.counts.typed);
    }

    #[test]
    fn any_header_and_any_packing_is_read_or_refused(bytes in rough_bytes(), packed in 0..3usize) {
        let packed = [Compression::None, Compression::Gzip, Compression::Zstd][packed];
        if let Ok(kept) = read_packed(&two_parts(Encoding::UTF_8), &bytes, packed) {
            prop_assert!(packed == Compression::None || bytes.is_empty() || kept.counts == ReadCounts::default());
        }
    }

    #[test]
    fn the_pieces_in_which_a_stream_arrives_change_nothing(bytes in rough_bytes(), piece in 1..9usize) {
        let source = two_parts(Encoding::WINDOWS_1252);
        let text = [b"At;Port;Result\n".as_slice(), &bytes].concat();
        let whole = read_packed(&source, &text, Compression::None).unwrap();
        let (plan, people) = (plan(), PeopleKey::new([7; 32]));
        let mut pieces = Kept::default();
        let read = |pass: Pass| {
            let export = Export { plan: &plan, source: &source, file: "works/a.csv", people: &people, pass };
            if matches!(pass, Pass::Last(_)) {
                pieces = Kept::default();
            }
            read_export(&export, Trickle(&text, piece), Compression::None, &mut pieces)
        };
        let counts = read_knowing_names(read, |counts| &counts.suspects).unwrap();
        pieces.counts = counts;
        prop_assert_eq!(pieces.counts, whole.counts);
        prop_assert_eq!(pieces.rejected, whole.rejected);
        prop_assert_eq!(pieces.batches, whole.batches);
    }
}

#[test]
fn hostile_rows_that_never_end_are_read_in_time_linear_in_their_length() {
    // Every line leaves the next one inside quotes, so that each seems to begin a row too long;
    // a reader that tried them all would look at a million million bytes and not end in this test.
    let line = "a;\"b\";\"\n";
    let text = format!("At;Port;Result\n\"{}", line.repeat(400_000));
    let kept = read_packed(&source(vec![looks()]), text.as_bytes(), Compression::None).unwrap();
    assert_eq!(kept.counts.typed, 0);
    assert_eq!(kept.counts.rows, 400_000);
    assert_eq!(kept.counts.quarantined, 400_000);
}

#[test]
fn a_thousand_columns_are_as_good_as_three() {
    let more: String = (0..1000).map(|n| format!(";X{n}")).collect();
    let row: String = (0..1000).map(|n| format!(";{n}")).collect();
    let text = format!("At;Port;Result{more}\n03.02.2026;P;OK{row}\n03.02.2026;P;OK\n");
    let kept = read_packed(&source(vec![looks()]), text.as_bytes(), Compression::None).unwrap();
    assert_eq!((kept.counts.typed, kept.counts.quarantined), (1, 1));
}

#[test]
fn a_sink_that_refuses_stops_the_reading() {
    struct Full;
    impl motetrail::intake::Sink for Full {
        fn batch(
            &mut self,
            _: Table,
            _: arrow::array::RecordBatch,
        ) -> Result<(), motetrail::intake::SinkError> {
            Err(motetrail::intake::SinkError::new("the disk is full"))
        }

        fn quarantine(
            &mut self,
            _: motetrail::intake::Rejected,
        ) -> Result<(), motetrail::intake::SinkError> {
            Err(motetrail::intake::SinkError::new("the disk is full"))
        }
    }
    let (plan, people, source) = (plan(), PeopleKey::new([7; 32]), source(vec![looks()]));
    let export = Export {
        plan: &plan,
        source: &source,
        file: "works/a.csv",
        people: &people,
        pass: Pass::First,
    };
    for row in ["03.02.2026;P;OK", "bad"] {
        let text = format!("At;Port;Result\n{row}\n");
        let result = read_export(&export, text.as_bytes(), Compression::None, &mut Full);
        assert_eq!(result.unwrap_err().to_string(), "works/a.csv: the disk is full");
    }
}
