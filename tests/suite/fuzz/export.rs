//! Whole exports through a fixed map: whatever the rows are, none is lost.

use std::io::Read;
use std::path::Path;

use arrow::array::RecordBatch;
use motetrail::intake::{
    Export, IntakeError, Pass, PeopleKey, ReadCounts, Rejected, Sink, SinkError, read_export,
};
use motetrail::records::Table;
use motetrail::settings::{Plan, read_text};
use motetrail::tabular::Compression;

use super::{Draws, Pieces, fuzz, settings_with};

/// Everything that an export yielded.
#[derive(Debug, Default, PartialEq)]
pub struct Kept {
    pub batches: Vec<(Table, RecordBatch)>,
    pub rejected: Vec<Rejected>,
}

impl Sink for Kept {
    fn batch(&mut self, table: Table, batch: RecordBatch) -> Result<(), SinkError> {
        self.batches.push((table, batch));
        Ok(())
    }

    fn quarantine(&mut self, rejected: Rejected) -> Result<(), SinkError> {
        self.rejected.push(rejected);
        Ok(())
    }
}

/// Reads an export of the plan's only source.
pub fn taken(plan: &Plan, stream: impl Read) -> Result<(ReadCounts, Kept), IntakeError> {
    let people = PeopleKey::new([7; 32]);
    let export = Export {
        plan,
        source: &plan.sources[0],
        file: "looks.csv",
        people: &people,
        pass: Pass::First,
    };
    let mut kept = Kept::default();
    let counts = read_export(&export, stream, Compression::None, &mut kept)?;
    Ok((counts, kept))
}

/// What holds of every export that could be read.
pub fn assert_balanced(counts: &ReadCounts, kept: &Kept) {
    assert_eq!(counts.rows, counts.typed + counts.quarantined);
    assert_eq!(counts.quarantined, kept.rejected.len() as u64);
    let records: usize = kept.batches.iter().map(|(_, batch)| batch.num_rows()).sum();
    assert_eq!(counts.records.values().sum::<u64>(), records as u64);
    for row in &kept.rejected {
        assert!(row.raw.chars().count() <= 500 && !row.reason.is_empty());
        assert!(row.reason.len() < 2000, "{} bytes of reason", row.reason.len());
    }
}

#[test]
fn no_row_of_any_export_is_lost_and_pieces_change_nothing() {
    let plan = read_text(&settings_with(""), Path::new("."), "fleet.toml");
    let plan = plan.unwrap_or_else(|error| panic!("{error}"));
    fuzz("export", |input| {
        let whole = taken(&plan, input);
        let pieces = Pieces { bytes: input, draws: Draws::new(input.len() as u64) };
        match (whole, taken(&plan, pieces)) {
            (Ok((counts, kept)), Ok(in_pieces)) => {
                assert_balanced(&counts, &kept);
                assert_eq!((counts, kept), in_pieces);
            }
            (Err(whole), Err(in_pieces)) => assert_eq!(whole.to_string(), in_pieces.to_string()),
            _ => panic!("pieces change whether it can be read"),
        }
    });
}
