//! Types of own columns by their bare names, for tables whose results are not declared yet. What stands in none of the lists
//! has the type of what a quarter holds: one more reason to declare them.

use crate::measures::results::{Cells, Column, ColumnSpec, Kept, Unit};
use crate::measures::table::{Table, Value};

/// A column of a table's own, typed by its name.
pub(super) fn own_column(name: &'static str, table: &Table) -> Column {
    let values: Vec<&Value> = table.rows.iter().map(|row| table.own(row, name)).collect();
    let kind = values.iter().filter_map(|value| kind_of(value)).max();
    let kind = known(name).into_iter().chain(kind).max().unwrap_or(Kind::Text);
    let (kept, unit, cells) = match kind {
        Kind::Integer => {
            let cells = values.iter().map(|value| integer_of(value)).collect();
            (Kept::Integer, Unit::Count, Cells::Integer(cells))
        }
        Kind::Number => {
            let cells = values.iter().map(|value| number_of(value)).collect();
            (Kept::Real, Unit::Number, Cells::Real(cells))
        }
        Kind::Text => {
            let cells = values.iter().map(|value| text_of(value)).collect();
            (Kept::Text, Unit::Word, Cells::Text(cells))
        }
    };
    let spec = ColumnSpec { name, doc: "", unit, kept, may_be_empty: true, words: &[] };
    Column { spec, cells }
}

/// The type a column has whatever it holds; of the others none.
fn known(name: &str) -> Option<Kind> {
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
        Value::Count(value) | Value::Money(value) => Some(*value as f64),
        Value::Number(value) => Some(*value),
        Value::Missing | Value::Text(_) => None,
    }
}

fn text_of(value: &Value) -> Option<String> {
    match value {
        Value::Missing => None,
        Value::Text(text) => Some(text.clone()),
        Value::Count(value) | Value::Money(value) => Some(value.to_string()),
        Value::Number(value) => nine(*value).map(|value| value.to_string()),
    }
}

/// Nine significant digits.
fn nine(value: f64) -> Option<f64> {
    format!("{value:.8e}").parse().ok().filter(|value: &f64| value.is_finite())
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

/// Own columns that hold reals.
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
