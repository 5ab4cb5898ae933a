//! The columns of every canonical table and their Arrow types.

use std::sync::Arc;

use arrow::datatypes::{DataType, Field, Schema, SchemaRef, TimeUnit};

use super::Table;

/// Version of the canonical schemas, written into every part of the store.
pub const SCHEMA_VERSION: u32 = 2;

/// What a column holds, and with that its Arrow type.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Free text, most of it different from row to row: Utf8.
    Text,
    /// A word that many rows share: Dictionary(Int32, Utf8).
    Code,
    /// A person's name: a code, and a keyed pseudonym from the moment the row is typed (R7).
    Person,
    /// Microseconds since 1970 in UTC; the column `<name>_precision` follows it.
    Time,
    /// Whole number: Int64.
    Integer,
    /// A length of time in whole minutes: Int64.
    Minutes,
    /// Minor units of the fleet's currency: Int64.
    Money,
    /// yes or no: Boolean.
    Flag,
}

/// One canonical column that a map can fill.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Name in settings, store and messages.
    pub name: &'static str,
    /// What its cells are.
    pub kind: Kind,
    /// A row without it is quarantined.
    pub required: bool,
}

const fn must(name: &'static str, kind: Kind) -> Column {
    Column { name, kind, required: true }
}

const fn may(name: &'static str, kind: Kind) -> Column {
    Column { name, kind, required: false }
}

const END_FACES: &[Column] = &[
    may("record", Kind::Text),
    must("end_face", Kind::Text),
    must("site", Kind::Code),
    may("family", Kind::Code),
    may("side", Kind::Code),
    may("optic", Kind::Code),
    may("polish", Kind::Code),
    may("mode", Kind::Code),
    may("supplier", Kind::Code),
    may("in_service_from", Kind::Time),
    may("in_service_to", Kind::Time),
];

const INSPECTIONS: &[Column] = &[
    may("record", Kind::Text),
    must("site", Kind::Code),
    must("at", Kind::Time),
    may("seq", Kind::Integer),
    must("end_face", Kind::Text),
    may("fibre", Kind::Code),
    must("stage", Kind::Code),
    may("family", Kind::Code),
    may("side", Kind::Code),
    may("optic", Kind::Code),
    must("outcome", Kind::Code),
    may("finding", Kind::Code),
    may("zone", Kind::Code),
    may("capped", Kind::Flag),
    may("criteria", Kind::Code),
    may("grading", Kind::Code),
    may("inspector", Kind::Person),
    may("instrument", Kind::Code),
    may("work_order", Kind::Text),
    may("supplier", Kind::Code),
    may("disposition", Kind::Code),
    may("image", Kind::Text),
];

const CLEANINGS: &[Column] = &[
    may("record", Kind::Text),
    must("site", Kind::Code),
    must("at", Kind::Time),
    may("seq", Kind::Integer),
    must("end_face", Kind::Text),
    may("side", Kind::Code),
    must("stage", Kind::Code),
    must("method", Kind::Code),
    may("tool", Kind::Code),
    may("operator", Kind::Person),
    may("work_order", Kind::Text),
];

const MATINGS: &[Column] = &[
    may("record", Kind::Text),
    must("site", Kind::Code),
    must("at", Kind::Time),
    may("seq", Kind::Integer),
    may("end_face_a", Kind::Text),
    may("side_a", Kind::Code),
    may("end_face_b", Kind::Text),
    may("side_b", Kind::Code),
    must("stage", Kind::Code),
    may("demated_at", Kind::Time),
    may("operator", Kind::Person),
    may("work_order", Kind::Text),
    may("service", Kind::Text),
];

const FAULTS: &[Column] = &[
    may("record", Kind::Text),
    must("site", Kind::Code),
    must("opened", Kind::Time),
    may("cleared", Kind::Time),
    may("mating", Kind::Text),
    may("end_face", Kind::Text),
    may("side", Kind::Code),
    may("cause", Kind::Code),
    may("remedy", Kind::Code),
    may("found_stage", Kind::Code),
    may("work_order", Kind::Text),
    may("downtime_min", Kind::Minutes),
    may("labour_min", Kind::Minutes),
    may("visits", Kind::Integer),
    may("cost", Kind::Money),
    may("services", Kind::Integer),
];

/// The columns of a table that a map can fill, in the order of the store. `source` and the
/// identity columns are filled by the program.
pub fn columns(table: Table) -> &'static [Column] {
    match table {
        Table::EndFaces => END_FACES,
        Table::Inspections => INSPECTIONS,
        Table::Cleanings => CLEANINGS,
        Table::Matings => MATINGS,
        Table::Faults => FAULTS,
    }
}

/// Columns of a table that name end faces, each with that of its side.
pub fn face_columns(table: Table) -> &'static [[&'static str; 2]] {
    match table {
        Table::Matings => &[["end_face_a", "side_a"], ["end_face_b", "side_b"]],
        _ => &[["end_face", "side"]],
    }
}

/// Columns at the end of every part by which repeated and superseded rows are found:
/// 128 bits of `record` (else of the content), 64 of end face and fibre, 64 of the content.
pub const IDENTITY_COLUMNS: [&str; 3] = ["identity", "member", "content"];

/// Columns that tell apart the members of one record, and its end faces from others.
pub const MEMBER_COLUMNS: [&str; 7] =
    ["end_face", "end_face_a", "end_face_b", "side", "side_a", "side_b", "fibre"];

/// Last column of every part: which data row of the export, counted from 0, the record came from.
/// Row accounts go by it, since one row may yield several records.
pub const ROW_COLUMN: &str = "row";

/// The Arrow type of one kind.
fn data_type(kind: Kind) -> DataType {
    match kind {
        Kind::Text => DataType::Utf8,
        Kind::Code | Kind::Person => code_type(),
        Kind::Time => DataType::Timestamp(TimeUnit::Microsecond, Some("UTC".into())),
        Kind::Integer | Kind::Minutes | Kind::Money => DataType::Int64,
        Kind::Flag => DataType::Boolean,
    }
}

fn code_type() -> DataType {
    DataType::Dictionary(Box::new(DataType::Int32), Box::new(DataType::Utf8))
}

/// Arrow schema of a table's parts: `source`, the mapped columns (each time followed by its
/// precision), the identity columns, the row. `seq` is never null: intake falls back on the row number.
pub fn schema(table: Table) -> SchemaRef {
    let mut fields = vec![Field::new("source", code_type(), false)];
    for column in columns(table) {
        let nullable = !column.required && column.name != "seq";
        fields.push(Field::new(column.name, data_type(column.kind), nullable));
        if column.kind == Kind::Time {
            fields.push(Field::new(format!("{}_precision", column.name), code_type(), nullable));
        }
    }
    let [identity, member, content] = IDENTITY_COLUMNS;
    fields.push(Field::new(identity, DataType::FixedSizeBinary(16), false));
    fields.push(Field::new(member, DataType::UInt64, false));
    fields.push(Field::new(content, DataType::UInt64, false));
    fields.push(Field::new(ROW_COLUMN, DataType::UInt64, false));
    Arc::new(Schema::new(fields))
}

/// Arrow schema of the quarantine: rows that could not be typed.
///
/// `line` is the line of the file where the row begins, counted from 1; `raw` the row's text with
/// people's cells masked.
pub fn quarantine_schema() -> SchemaRef {
    Arc::new(Schema::new(vec![
        Field::new("source", DataType::Utf8, false),
        Field::new("file", DataType::Utf8, false),
        Field::new("line", DataType::UInt64, false),
        Field::new("table", DataType::Utf8, false),
        Field::new("column", DataType::Utf8, true),
        Field::new("reason", DataType::Utf8, false),
        Field::new("raw", DataType::Utf8, false),
    ]))
}
