//! Tables as Parquet, for analysis elsewhere: the same columns as the CSV, no time of writing in them.

use std::sync::Arc;

use arrow::array::{ArrayRef, Float64Array, Int64Array, RecordBatch, StringArray};
use arrow::datatypes::{DataType, Field, Schema};
use parquet::arrow::ArrowWriter;
use parquet::basic::{Compression, ZstdLevel};
use parquet::file::properties::WriterProperties;

use super::columns::{Cells, Column};
use crate::report::error::ReportError;

/// The table as Parquet bytes. Errors: the writer's own, which no table of ours should raise.
pub(in crate::report) fn parquet(
    table: &'static str,
    columns: &[Column],
) -> Result<Vec<u8>, ReportError> {
    let fields: Vec<Field> = columns.iter().map(field).collect();
    let schema = Arc::new(Schema::new(fields));
    let arrays = columns.iter().map(array).collect();
    let batch = RecordBatch::try_new(schema.clone(), arrays)
        .map_err(|source| ReportError::Columns { table, source })?;
    let broken = |source| ReportError::Parquet { table, source };
    let properties = WriterProperties::builder()
        .set_created_by("motetrail".to_owned())
        .set_compression(Compression::ZSTD(ZstdLevel::default()))
        .build();
    let mut bytes = Vec::new();
    let mut writer = ArrowWriter::try_new(&mut bytes, schema, Some(properties)).map_err(broken)?;
    writer.write(&batch).map_err(broken)?;
    writer.close().map_err(broken)?;
    Ok(bytes)
}

fn field(column: &Column) -> Field {
    let kind = match column.cells {
        Cells::Text(_) => DataType::Utf8,
        Cells::Integer(_) => DataType::Int64,
        Cells::Number(_) => DataType::Float64,
    };
    Field::new(column.name, kind, true)
}

fn array(column: &Column) -> ArrayRef {
    match &column.cells {
        Cells::Text(cells) => Arc::new(StringArray::from(cells.clone())),
        Cells::Integer(cells) => Arc::new(Int64Array::from(cells.clone())),
        Cells::Number(cells) => Arc::new(Float64Array::from(cells.clone())),
    }
}
