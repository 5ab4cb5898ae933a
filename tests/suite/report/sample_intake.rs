//! The invented rows of intake: two files, one fault with an example of markup and a formula.

use motetrail::measures::{Group, Table, Value};

use super::sample::{INTAKE, accounts, figure, own, text};

/// What a row with something to hide looked like.
pub const RAW: &str = "=1+1;<b>P7</b>";

pub fn intake() -> Table {
    let mut rows = Vec::new();
    let mut count = |quantity: &'static str, value: u64, values: &[(&str, Value)]| {
        let mut row = figure("file", Group::default(), quantity, value as f64);
        row.n = value as f64;
        row.own = own(INTAKE, values);
        rows.push(row);
    };
    for line in accounts() {
        let file = [("source", text(&line.source)), ("file", text(&line.file))];
        let counted = |count: u64| Value::Count(count as i64);
        let mut values = file.to_vec();
        values.extend([
            ("read", counted(line.read)),
            ("loaded", counted(line.loaded)),
            ("superseded", counted(line.superseded)),
            ("withdrawn", counted(line.withdrawn)),
            ("duplicate", counted(line.duplicate)),
            ("quarantined", counted(line.quarantined)),
        ]);
        count("rows", line.read, &values);
        if line.quarantined > 0 {
            let mut values = file.to_vec();
            values.extend([("table", text("inspections")), ("column", text("Result"))]);
            count("refused", line.quarantined, &values);
            values.extend([
                ("line", Value::Count(17)),
                ("reason", text("found \"maybe\", expected one of pass, fail")),
                ("raw", text(RAW)),
            ]);
            count("example", 1, &values);
        }
    }
    Table { name: "intake", own: INTAKE, rows }
}
