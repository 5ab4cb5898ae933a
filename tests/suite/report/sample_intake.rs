//! The invented rows of intake: some files, a fault each with an example of markup and a formula.

use motetrail::measures::Group;
use motetrail::measures::intake::{By, Own, Quantity, Row, Table};

use super::sample::accounts;

/// What a row with something to hide looked like.
pub const RAW: &str = "=1+1;<b>P7</b>";

pub fn intake() -> Table {
    let mut table = Table::default();
    let mut count = |quantity: Quantity, value: u64, own: &Own| {
        let row = Row::count(By::File, Group::default(), quantity, value as i64, own.clone());
        table.rows.push(row);
    };
    for line in accounts() {
        let (rows, file) = (line.rows, Own::of_file(&line.source, &line.file));
        let counted = Own {
            read: Some(rows.read),
            loaded: Some(rows.loaded),
            superseded: Some(rows.superseded),
            withdrawn: Some(rows.withdrawn),
            duplicate: Some(rows.duplicate),
            quarantined: Some(rows.quarantined),
            ..file.clone()
        };
        count(Quantity::Rows, rows.read, &counted);
        if rows.quarantined > 0 {
            let (table, column) = (Some("inspections".to_owned()), Some("Result".to_owned()));
            let place = Own { table, column, ..file };
            count(Quantity::Refused, rows.quarantined, &place);
            let example = Own {
                line: Some(17),
                reason: Some("found \"maybe\", expected one of pass, fail".to_owned()),
                raw: Some(RAW.to_owned()),
                ..place
            };
            count(Quantity::Example, 1, &example);
        }
    }
    table
}
