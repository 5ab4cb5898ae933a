//! Tables as Parquet, for analysis elsewhere: the same columns as the CSV, no time of writing in them. Each field carries
//! its sentence, unit and kind; the file says which review it is of.

use std::collections::HashMap;
use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, Int64Array, RecordBatch, StringArray};
use arrow::datatypes::{DataType, Field, Schema};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;

use crate::measures::results::{Cells, Column, Kept};
use crate::measures::{AnyTable, Review};
use crate::report::error::ReportError;

/// Version of the shape of tables: raised when a column changes its name, type or meaning, or goes.
///
/// 2: money in units of the currency instead of minor ones.
const SCHEMA_VERSION: u32 = 2;

/// The table as Parquet bytes. Errors: the writer's own, which no table of ours should raise.
pub(in crate::report) fn parquet(
    table: &dyn AnyTable,
    columns: &[Column],
    review: &Review,
) -> Result<Vec<u8>, ReportError> {
    let name = table.name();
    let fields: Vec<Field> = columns.iter().map(field).collect();
    let schema = Arc::new(Schema::new(fields));
    let arrays = columns.iter().map(array).collect();
    let batch = RecordBatch::try_new(schema.clone(), arrays)
        .map_err(|source| ReportError::Columns { table: name, source })?;
    let broken = |source| ReportError::Parquet { table: name, source };
    let properties = WriterProperties::builder()
        .set_created_by("motetrail".to_owned())
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .set_key_value_metadata(Some(of_review(table, review)))
        .build();
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, schema, Some(properties)).map_err(broken)?;
    writer.write(&batch).map_err(broken)?;
    writer.close().map_err(broken)?;
    Ok(bytes)
}

/// What the file says of itself.
fn of_review(table: &dyn AnyTable, review: &Review) -> Vec<KeyValue> {
    let pairs = [
        ("table", table.name().to_owned()),
        ("description", table.doc().to_owned()),
        ("fleet", review.fleet.clone()),
        ("period", review.period.quarter.to_string()),
        ("currency", review.currency.clone()),
        ("schema_version", SCHEMA_VERSION.to_string()),
    ];
    pairs.into_iter().map(|(key, value)| KeyValue::new(key.to_owned(), value)).collect()
}

fn field(column: &Column) -> Field {
    let spec = &column.spec;
    let kept = match spec.kept {
        Kept::Text => DataType::Utf8,
        Kept::Integer => DataType::Int64,
        Kept::Real => DataType::Float64,
    };
    let metadata = [
        ("description".to_owned(), spec.doc.to_owned()),
        ("unit".to_owned(), spec.unit.word().to_owned()),
        ("kind".to_owned(), spec.unit.kind().word().to_owned()),
    ];
    Field::new(spec.name, kept, true).with_metadata(HashMap::from(metadata))
}

fn array(column: &Column) -> ArrayRef {
    match &column.cells {
        Cells::Text(cells) => Arc::new(StringArray::from(cells.clone())),
        Cells::Integer(cells) => Arc::new(Int64Array::from(cells.clone())),
        Cells::Real(cells) => Arc::new(Float64Array::from(cells.clone())),
    }
}
