//! The map of a source as it is applied to the rows of one export.

use super::field::Field;
use super::scope::Scope;
use super::when::Condition;
use crate::intake::columns::batch::{Slot, TableBatch};
use crate::intake::identity::fingerprint::Fingerprints;
use crate::intake::people::names::Watch;
use crate::intake::reject::losses::Losses;
use crate::intake::reject::raw::Use;
use crate::records::Table;
use crate::settings::Source;
use crate::tabular::Cells;

/// One kind of record that a row can become.
#[derive(Debug)]
pub struct Part<'a> {
    /// Place of its table among the targets.
    pub target: usize,
    pub condition: Option<Condition<'a>>,
    /// In the order of the table's columns; every column that the target fills but `seq`.
    pub fields: Vec<Field<'a>>,
    /// The map's own `seq`.
    pub seq: Option<Field<'a>>,
}

/// A table that some part fills.
#[derive(Debug)]
pub struct Target<'a> {
    pub batch: TableBatch,
    pub scope: Scope<'a>,
    pub fingerprints: Fingerprints,
    /// Place of `seq` among the numbers, where the table has it.
    pub seq: Option<usize>,
}

/// How many cells a row may have.
#[derive(Clone, Copy, Debug)]
pub struct Width {
    /// Fewer are too few.
    pub least: usize,
    /// More are too many, unless they are blank.
    pub most: usize,
}

impl Width {
    /// Whether a row's cells can be told apart by the header.
    pub fn fits(&self, cells: &Cells) -> bool {
        let count = cells.count();
        count >= self.least && (self.most..count).all(|index| cells.get(index).is_empty())
    }
}

/// Everything that makes records of an export's rows.
#[derive(Debug)]
pub struct Map<'a> {
    pub parts: Vec<Part<'a>>,
    pub targets: Vec<Target<'a>>,
    /// What becomes of each column of the export.
    pub uses: Vec<Use>,
    /// Cells that hold people's names, rising.
    pub people: Vec<usize>,
    /// Knows people's names, or finds them out.
    pub watch: Watch<'a>,
    /// Counts cells that are left out.
    pub losses: Losses,
    /// Cells that a row may have.
    pub width: Width,
    pub nulls: &'a [String],
}

impl<'a> Target<'a> {
    /// An empty target of a table, with the columns that some part of the source's map fills, that the
    /// source itself does, or that every record must have.
    pub fn of(source: &'a Source, table: Table) -> Self {
        let mapped = |name: &str| {
            let mut records = source.records.iter().filter(|record| record.table == table);
            records.any(|record| {
                record.columns.contains_key(name) || record.constants.contains_key(name)
            })
        };
        let by_source = |name: &str| match name {
            "seq" => true,
            "finding" => source.finding_default.is_some(),
            _ => false,
        };
        let batch = TableBatch::new(table, &source.name, |column| {
            column.required || mapped(column.name) || by_source(column.name)
        });
        let seq = match batch.slot("seq") {
            Slot::Number(seq) => Some(seq),
            _ => None,
        };
        let (scope, fingerprints) = (Scope::of(source, &batch), Fingerprints::of(&batch));
        Self { batch, scope, fingerprints, seq }
    }
}
