//! A measure's table as typed columns, in the order of every table file: the grouping, the estimate, the measure's own.
//! Both table files are written from these, so that they cannot differ. Types do not depend on what a quarter happened
//! to hold: the known columns have theirs.

use crate::measures::{GROUPS, Row, Table, Unit, Value};

use super::digits;

/// The cells of one column.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) enum Cells {
    Text(Vec<Option<String>>),
    Integer(Vec<Option<i64>>),
    /// Rounded to nine significant digits; money is whole.
    Number(Vec<Option<f64>>),
}

/// One column.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Column {
    pub name: &'static str,
    pub cells: Cells,
}

/// Types from the narrowest to the one that holds all.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Integer,
    Number,
    Text,
}

/// Own columns that hold words.
const TEXTS: &[&str] = &[
    "after_fault",
    "against",
    "base",
    "bracket",
    "carrier",
    "chosen",
    "column",
    "cost_of",
    "end_face",
    "entity",
    "exposure",
    "faults",
    "file",
    "finding",
    "from",
    "how",
    "in_service",
    "input",
    "input_unit",
    "inspect",
    "kind",
    "later",
    "level",
    "list",
    "partner",
    "proposal",
    "quarter",
    "rates_as",
    "rates_of",
    "raw",
    "reason",
    "service",
    "set",
    "signal",
    "since_cleaned",
    "source",
    "steps",
    "table",
    "tail",
    "variant",
    "what_to_do",
    "zone",
];

/// Own columns that hold whole numbers.
const INTEGERS: &[&str] = &[
    "at_risk",
    "attributable",
    "attributable_high",
    "attributable_low",
    "budget",
    "candidates",
    "cleaning_cost",
    "clusters",
    "clusters_before",
    "contaminated",
    "cycle",
    "cycles",
    "day",
    "defective",
    "dirty_partners",
    "downstream_cost",
    "duplicate",
    "events_before",
    "fault_cost",
    "faults_both",
    "faults_skipped",
    "life_months",
    "line",
    "listed",
    "loaded",
    "look_cost",
    "matings_skipped",
    "mean_fault_cost",
    "month",
    "net_saving",
    "next_thousand",
    "orders",
    "partners",
    "price",
    "quarantined",
    "rank",
    "read",
    "remaining_days",
    "rung",
    "superseded",
    "tested",
    "trials",
    "unclear",
    "units",
    "withdrawn",
    "work_cost",
    "worth_at_high",
    "worth_at_low",
];

/// Every column of a table, in order.
pub(in crate::report) fn columns(table: &Table) -> Vec<Column> {
    let mut columns = vec![text("by", table, |row| Some(row.by.to_owned()))];
    columns.extend(GROUPS.iter().enumerate().map(|(place, name)| {
        text(name, table, move |row| row.group.words()[place].map(str::to_owned))
    }));
    columns.push(text("quantity", table, |row| Some(row.quantity.to_owned())));
    columns.push(number("n", table, |row| Some(row.n)));
    let events = table.rows.iter().map(|row| row.events).collect();
    columns.push(Column { name: "events", cells: Cells::Integer(events) });
    columns.push(number("estimate", table, |row| whole_money(row, row.estimate)));
    columns.push(number("low", table, |row| whole_money(row, row.low)));
    columns.push(number("high", table, |row| whole_money(row, row.high)));
    columns.push(text("unit", table, |row| Some(row.unit.word().to_owned())));
    columns.push(text("method", table, |row| Some(row.method.to_owned())));
    columns.push(text("flag", table, |row| {
        let words: Vec<&str> = row.flags.iter().map(|flag| flag.word()).collect();
        (!words.is_empty()).then(|| words.join(" "))
    }));
    columns.extend(table.own.iter().map(|name| own(name, table)));
    columns
}

fn whole_money(row: &Row, value: Option<f64>) -> Option<f64> {
    if row.unit == Unit::Money { value.map(f64::round) } else { value }
}

fn text(name: &'static str, table: &Table, cell: impl Fn(&Row) -> Option<String>) -> Column {
    Column { name, cells: Cells::Text(table.rows.iter().map(cell).collect()) }
}

fn number(name: &'static str, table: &Table, cell: impl Fn(&Row) -> Option<f64>) -> Column {
    let cells = table.rows.iter().map(|row| cell(row).and_then(digits::nine)).collect();
    Column { name, cells: Cells::Number(cells) }
}

fn own(name: &'static str, table: &Table) -> Column {
    let values: Vec<&Value> = table.rows.iter().map(|row| table.own(row, name)).collect();
    let kind = values.iter().filter_map(|value| kind_of(value)).max();
    let kind = known(name).into_iter().chain(kind).max().unwrap_or(Kind::Text);
    let cells = match kind {
        Kind::Integer => Cells::Integer(values.iter().map(|value| integer_of(value)).collect()),
        Kind::Number => Cells::Number(values.iter().map(|value| number_of(value)).collect()),
        Kind::Text => Cells::Text(values.iter().map(|value| text_of(value)).collect()),
    };
    Column { name, cells }
}

/// The type a column has whatever it holds; of the others none.
fn known(name: &str) -> Option<Kind> {
    const NUMBERS: &[&str] = &[
        "centre",
        "cleaned_unseen",
        "control_q",
        "deff",
        "deff_before",
        "dispersion",
        "distance",
        "e_value",
        "e_value_limit",
        "expected",
        "expected_rank",
        "hazard",
        "hazard_high",
        "hazard_low",
        "input_high",
        "input_low",
        "months",
        "n_before",
        "n_effective",
        "p",
        "p_dispersed",
        "p_exact",
        "phi",
        "probability",
        "q",
        "q_dispersed",
        "q_exact",
        "ratio",
        "ratio_high",
        "ratio_low",
        "rejected",
        "running_share",
        "shrunken",
        "shrunken_high",
        "shrunken_low",
        "top_three",
        "value",
        "value_before",
        "weight",
    ];
    if TEXTS.contains(&name) {
        Some(Kind::Text)
    } else if INTEGERS.contains(&name) {
        Some(Kind::Integer)
    } else {
        NUMBERS.contains(&name).then_some(Kind::Number)
    }
}

fn kind_of(value: &Value) -> Option<Kind> {
    match value {
        Value::Missing => None,
        Value::Count(_) | Value::Money(_) => Some(Kind::Integer),
        Value::Number(_) => Some(Kind::Number),
        Value::Text(_) => Some(Kind::Text),
    }
}

fn integer_of(value: &Value) -> Option<i64> {
    match value {
        Value::Count(value) | Value::Money(value) => Some(*value),
        Value::Missing | Value::Number(_) | Value::Text(_) => None,
    }
}

fn number_of(value: &Value) -> Option<f64> {
    match value {
        Value::Count(value) | Value::Money(value) => digits::nine(*value as f64),
        Value::Number(value) => digits::nine(*value),
        Value::Missing | Value::Text(_) => None,
    }
}

fn text_of(value: &Value) -> Option<String> {
    match value {
        Value::Missing => None,
        Value::Text(text) => Some(text.clone()),
        Value::Count(value) | Value::Money(value) => Some(value.to_string()),
        Value::Number(value) => Some(digits::text(*value)),
    }
}
