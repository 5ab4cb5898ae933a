//! The tables as files: columns, digits, harmless cells, and Parquet saying the same as CSV.

use std::fs::File;

use arrow::array::{Array, Float64Array, Int64Array, StringArray};
use arrow::datatypes::DataType;
use motetrail::measures::cycles;
use motetrail::measures::skipped_cost::{By, Exposure, NAME, Own, Quantity, Row, Table};
use motetrail::measures::{AnyTable, Review};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;

use super::sample::{declared, empty, group};
use super::{FULL, full, report, text};

const LEADING: &str = "period,by,site,stage,family,side,supplier,capped,treatment,coverage,time,quantity,n,events,estimate,low,high,unit,method,flag";

/// `tables/<name>.csv` and `.parquet` of a review with this one table.
fn one_table(table: Table) -> (String, arrow::array::RecordBatch) {
    let mut review = empty();
    review.skipped_cost = table;
    let folder = tempfile::tempdir().unwrap();
    report(&review, &folder.path().join("r"));
    let folder = folder.path().join("r/tables");
    let csv = text(&folder, &format!("{NAME}.csv"));
    (csv, batch(&folder.join(format!("{NAME}.parquet"))))
}

fn batch(path: &std::path::Path) -> arrow::array::RecordBatch {
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap()).unwrap();
    let schema = reader.schema().clone();
    let batches: Vec<_> = reader.build().unwrap().map(Result::unwrap).collect();
    arrow::compute::concat_batches(&schema, &batches).unwrap()
}

fn table_of(rows: Vec<Row>) -> Table {
    Table { rows }
}

/// A net saving of this estimate, in minor units.
fn saving(site: &str, values: [f64; 3]) -> Row {
    let own = Own { exposure: Some(Exposure::Skipped), ..Own::default() };
    let what = (By::Site, group("site", &[site]), Quantity::NetSaving);
    declared(what, "Wilson", (10.0, 1), values, own)
}

#[test]
fn leading_columns_are_the_grouping_and_the_estimate_then_the_measures_own() {
    let csv = full("tables/coverage.csv");
    assert_eq!(csv.lines().next().unwrap(), format!("{LEADING},base,deff,block,clusters,apart"));
    let specs = Table::default().own_specs();
    let names: Vec<&str> = specs.iter().map(|spec| spec.name).collect();
    let header = format!("{LEADING},{}", names.join(","));
    assert_eq!(full("tables/skipped_cost.csv").lines().next().unwrap(), header);
}

#[test]
fn money_is_in_units_of_currency_and_reals_have_nine_digits_and_a_point_or_an_exponent() {
    let small = declared(
        (By::Fleet, Default::default(), Quantity::RateRatio),
        "Wilson",
        (1.5e9, 0),
        [1.454_991_35e-14, 0.1 + 0.2, 123_456_789.123],
        Own { p: Some(2.0 / 3.0), ..Own::default() },
    );
    let (csv, _) = one_table(table_of(vec![saving("Tal", [-1_234_567.6, -2.0e6, 0.4]), small]));
    let lines: Vec<&str> = csv.lines().collect();
    let starts = "2026-Q2,site,Tal,,,,,,,,,net-saving,10.0,1,-12345.68,-20000.0,0.0,currency,Wilson,,skipped";
    assert!(lines[1].starts_with(starts), "{}", lines[1]);
    let starts = "2026-Q2,fleet,,,,,,,,,,rate-ratio,1500000000.0,0,1.45499135e-14,0.3,123456789.0,ratio,Wilson,,";
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
        assert!(csv.contains(&format!("\n2026-Q2,site,{cell},,")), "{cell}");
    }
    assert!(csv.contains(",-0.05,-0.09,0.01,"), "a negative number is no formula");
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
                format!("{:?}", number.value(place))
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
    assert_eq!(kind("attributable"), DataType::Float64, "money has hundredths");
    assert_eq!(kind("matings_skipped"), DataType::Int64);
    assert_eq!(kind("ratio"), DataType::Float64);
    assert_eq!(kind("after_fault"), DataType::Utf8);
}

/// Without prices there is no stopping rule; its columns are of the same types. `chosen` is a word in `payback`.
#[test]
fn columns_of_the_stopping_rule_have_one_type_with_and_without_prices() {
    let schema = |cycles: cycles::Table| {
        let folder = tempfile::tempdir().unwrap();
        report(&Review { cycles, ..empty() }, &folder.path().join("r"));
        batch(&folder.path().join("r/tables/cycles.parquet")).schema()
    };
    let (with, without) = (schema(super::sample_looks::cycles()), schema(Default::default()));
    assert_eq!(with, without);
    let kind = |name: &str| with.field_with_name(name).unwrap().data_type().clone();
    assert_eq!(kind("chosen"), DataType::Float64);
    for name in ["at_least", "extended"] {
        assert_eq!(kind(name), DataType::Int64, "{name}");
    }
    for name in ["excess", "excess_low", "excess_high", "looks_saved"] {
        assert_eq!(kind(name), DataType::Float64, "{name} is money");
    }
}

#[test]
fn what_is_not_finite_is_an_empty_cell() {
    let mut row = saving("Tal", [f64::NAN, f64::NEG_INFINITY, f64::INFINITY]);
    row.n = f64::NAN;
    let (csv, batch) = one_table(table_of(vec![row]));
    assert!(csv.contains("net-saving,,1,,,,currency"), "{csv}");
    let estimate = batch.column_by_name("estimate").unwrap();
    assert!(estimate.is_null(0));
}

/// Readers that guess a column's type from its first cells take one for whole numbers if those have no point.
#[test]
fn every_real_in_a_csv_is_written_as_a_real_and_every_integer_as_an_integer() {
    let (mut reals, mut integers) = (0, 0);
    let review = super::sample::full();
    for table in review.tables() {
        let name = table.name();
        let batch = batch(&FULL.path().join(format!("2026-Q2/tables/{name}.parquet")));
        let csv = full(&format!("tables/{name}.csv"));
        let cells: Vec<Vec<String>> = rows_of_csv(&csv);
        for (column, field) in batch.schema().fields().iter().enumerate() {
            let filled =
                cells.iter().map(|row| row[column].as_str()).filter(|cell| !cell.is_empty());
            for cell in filled {
                match field.data_type() {
                    DataType::Float64 => {
                        reals += 1;
                        assert!(cell.contains(['.', 'e']), "{name} {}: {cell}", field.name());
                    }
                    DataType::Int64 => {
                        integers += 1;
                        assert!(cell.parse::<i64>().is_ok(), "{name} {}: {cell}", field.name());
                    }
                    _ => {}
                }
            }
        }
    }
    assert!(reals > 1000 && integers > 500, "{reals} {integers}");
}

/// The rows of a CSV below its heading, by RFC 4180.
fn rows_of_csv(csv: &str) -> Vec<Vec<String>> {
    let mut rows = vec![vec![String::new()]];
    let mut quoted = false;
    for c in csv.chars() {
        let row = rows.last_mut().unwrap();
        match c {
            // A doubled quote closes and opens again, and stands for one.
            '"' => {
                quoted = !quoted;
                continue;
            }
            ',' if !quoted => row.push(String::new()),
            '\n' if !quoted => rows.push(vec![String::new()]),
            other => row.last_mut().unwrap().push(other),
        }
    }
    rows.pop();
    rows.remove(0);
    rows
}

#[test]
fn parquet_says_which_review_it_is_of_and_what_its_columns_mean() {
    let path = FULL.path().join("2026-Q2/tables/coverage.parquet");
    let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path).unwrap()).unwrap();
    let pairs = reader.metadata().file_metadata().key_value_metadata().unwrap();
    let said = |key: &str| {
        let pair = pairs.iter().find(|pair| pair.key == key).unwrap();
        pair.value.clone().unwrap()
    };
    assert_eq!(said("fleet"), "Kestrel Carrier");
    assert_eq!((said("period"), said("currency")), ("2026-Q2".to_owned(), "EUR".to_owned()));
    assert_eq!((said("table"), said("schema_version")), ("coverage".to_owned(), "2".to_owned()));
    let schema = reader.schema();
    let of = |column: &str, key: &str| {
        schema.field_with_name(column).unwrap().metadata().get(key).unwrap().to_string()
    };
    assert_eq!((of("deff", "unit"), of("deff", "kind")), ("ratio".to_owned(), "ratio".to_owned()));
    assert_eq!(of("site", "description"), "Site.");
    assert!(of("clusters", "description").starts_with("Blocks "));
}
