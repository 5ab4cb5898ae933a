//! The tables as files: columns, digits, harmless cells, and Parquet saying the same as CSV.

use std::fs::File;

use arrow::array::{Array, Float64Array, Int64Array, StringArray};
use arrow::datatypes::DataType;
use motetrail::measures::{Row, Table, Unit, Value};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::sample::{SKIPPED_COST, empty, group, own, row, text as word};
use super::{FULL, full, report, text};

const LEADING: &str = "by,site,stage,family,side,supplier,capped,treatment,coverage,time,quantity,n,events,estimate,low,high,unit,method,flag";

/// `tables/<name>.csv` and `.parquet` of a review with this one table.
fn one_table(table: Table) -> (String, arrow::array::RecordBatch) {
    let mut review = empty();
    let name = table.name;
    review.tables = vec![table];
    let folder = tempfile::tempdir().unwrap();
    report(&review, &folder.path().join("r"));
    let folder = folder.path().join("r/tables");
    let csv = text(&folder, &format!("{name}.csv"));
    (csv, batch(&folder.join(format!("{name}.parquet"))))
}

fn batch(path: &std::path::Path) -> arrow::array::RecordBatch {
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap()).unwrap();
    let schema = reader.schema().clone();
    let batches: Vec<_> = reader.build().unwrap().map(Result::unwrap).collect();
    arrow::compute::concat_batches(&schema, &batches).unwrap()
}

fn table_of(rows: Vec<Row>) -> Table {
    Table { name: "skipped_cost", own: SKIPPED_COST, rows }
}

/// A net saving of this estimate, in minor units.
fn saving(site: &str, values: [f64; 3]) -> Row {
    let mut row = row("site", group("site", &[site]), "net-saving", Unit::Money, (10.0, 1), values);
    row.own = own(SKIPPED_COST, &[("exposure", word("skipped"))]);
    row
}

#[test]
fn leading_columns_are_the_grouping_and_the_estimate_then_the_measures_own() {
    let csv = full("tables/coverage.csv");
    assert_eq!(csv.lines().next().unwrap(), format!("{LEADING},base"));
    let header = format!("{LEADING},{}", SKIPPED_COST.join(","));
    assert_eq!(full("tables/skipped_cost.csv").lines().next().unwrap(), header);
}

#[test]
fn money_is_whole_minor_units_and_numbers_have_nine_digits_without_exponent() {
    let mut small = row(
        "fleet",
        Default::default(),
        "rate-ratio",
        Unit::Ratio,
        (1.5e9, 0),
        [1.0e-9, 0.1 + 0.2, 123_456_789.123],
    );
    small.own = own(SKIPPED_COST, &[("p", Value::Number(2.0 / 3.0))]);
    let (csv, _) = one_table(table_of(vec![saving("Tal", [-1_234_567.6, -2.0e6, 0.4]), small]));
    let lines: Vec<&str> = csv.lines().collect();
    let starts = "site,Tal,,,,,,,,,net-saving,10,1,-1234568,-2000000,0,minor units,Wilson,,skipped";
    assert!(lines[1].starts_with(starts), "{}", lines[1]);
    let starts = "fleet,,,,,,,,,,rate-ratio,1500000000,0,0.000000001,0.3,123456789,ratio,Wilson,,";
    assert!(lines[2].starts_with(starts), "{}", lines[2]);
    assert!(lines[2].contains(",0.666666667,"), "{}", lines[2]);
}

/// Quoting: RFC 4180 section 2, rules 5 to 7.
#[test]
fn cells_are_quoted_as_rfc_4180_asks_and_never_run_as_a_formula() {
    let sites = [
        ("=1+1", "'=1+1"),
        ("+49", "'+49"),
        ("-x", "'-x"),
        ("@home", "'@home"),
        ("\ttab", "'\ttab"),
        ("a,b", "\"a,b\""),
        ("say \"hi\"", "\"say \"\"hi\"\"\""),
        ("two\nlines", "\"two\nlines\""),
        ("=A1,\"x\"", "\"'=A1,\"\"x\"\"\""),
        ("\rcr", "\"'\rcr\""),
    ];
    let rows = sites.iter().map(|(site, _)| saving(site, [-5.0, -9.0, 1.0])).collect();
    let (csv, _) = one_table(table_of(rows));
    for (_, cell) in sites {
        assert!(csv.contains(&format!("\nsite,{cell},,")), "{cell}");
    }
    assert!(csv.contains(",-5,-9,1,"), "a negative number is no formula");
}

#[test]
fn parquet_says_the_same_as_csv() {
    let path = FULL.path().join("2026-Q2/tables/first_pass.parquet");
    let batch = batch(&path);
    let csv = full("tables/first_pass.csv");
    let lines: Vec<Vec<&str>> = csv.lines().map(|line| line.split(',').collect()).collect();
    assert_eq!(batch.num_rows(), lines.len() - 1);
    for (column, name) in lines[0].iter().enumerate() {
        assert_eq!(batch.schema().field(column).name(), name);
        let array = batch.column(column);
        for (place, line) in lines[1..].iter().enumerate() {
            let cell = if array.is_null(place) {
                String::new()
            } else if let Some(words) = array.as_any().downcast_ref::<StringArray>() {
                words.value(place).to_owned()
            } else if let Some(whole) = array.as_any().downcast_ref::<Int64Array>() {
                whole.value(place).to_string()
            } else {
                let number = array.as_any().downcast_ref::<Float64Array>().unwrap();
                number.value(place).to_string()
            };
            assert_eq!(cell, line[column], "{name}, row {place}");
        }
    }
}

#[test]
fn types_of_columns_do_not_depend_on_what_a_quarter_held() {
    let (_, without) = one_table(table_of(Vec::new()));
    let (_, with) = one_table(super::sample_faults::skipped_cost());
    assert_eq!(without.schema(), with.schema());
    let kind = |name: &str| with.schema().field_with_name(name).unwrap().data_type().clone();
    assert_eq!(kind("attributable"), DataType::Int64);
    assert_eq!(kind("ratio"), DataType::Float64);
    assert_eq!(kind("after_fault"), DataType::Utf8);
}

#[test]
fn what_is_not_finite_is_an_empty_cell() {
    let mut row = saving("Tal", [f64::NAN, f64::NEG_INFINITY, f64::INFINITY]);
    row.n = f64::NAN;
    let (csv, batch) = one_table(table_of(vec![row]));
    assert!(csv.contains("net-saving,,1,,,,minor units"), "{csv}");
    let estimate = batch.column_by_name("estimate").unwrap();
    assert!(estimate.is_null(0));
}
