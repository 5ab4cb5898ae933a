//! Rows whose quantities and own columns are strings: of the questions whose results are not declared yet
//! (`results`). The types of their own columns stand in `table_types`, by name, until they are.

use crate::measures::flag::Flag;
use crate::measures::results::{AnyRow, AnyTable, Column, ColumnSpec, Leading, QuantitySpec};
pub use crate::measures::results::{Group, Unit};
use crate::measures::table_types::own_column;
use crate::stats::Estimate;

/// One of a measure's own values.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Missing,
    Text(String),
    Count(i64),
    Number(f64),
    /// Minor units of the fleet's currency.
    Money(i64),
}

impl From<Option<f64>> for Value {
    fn from(value: Option<f64>) -> Self {
        value.filter(|value| value.is_finite()).map_or(Value::Missing, Value::Number)
    }
}

/// One estimate.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The grouping, as `stage+family`; `fleet` for none.
    pub by: &'static str,
    pub group: Group,
    /// What is estimated.
    pub quantity: &'static str,
    /// Units or exposure it rests on.
    pub n: f64,
    pub events: Option<i64>,
    pub estimate: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: Unit,
    /// Name of the statistical method.
    pub method: &'static str,
    /// Rising, each once.
    pub flags: Vec<Flag>,
    /// The measure's own values, as the table's `own` names them.
    pub own: Vec<Value>,
}

impl Row {
    /// A row of an estimate, with the flags that its warnings stand for.
    pub fn of(
        by: &'static str,
        group: Group,
        quantity: &'static str,
        unit: Unit,
        estimate: &Estimate,
    ) -> Row {
        Row {
            by,
            group,
            quantity,
            n: estimate.n,
            events: Some(estimate.events as i64),
            estimate: estimate.value,
            low: estimate.low,
            high: estimate.high,
            unit,
            method: estimate.method,
            flags: Flag::of_warnings(estimate),
            own: Vec::new(),
        }
    }

    /// A row of a plain figure without an interval.
    pub fn figure(
        by: &'static str,
        group: Group,
        quantity: &'static str,
        unit: Unit,
        value: f64,
        method: &'static str,
    ) -> Row {
        Row {
            by,
            group,
            quantity,
            n: 0.0,
            events: None,
            estimate: Some(value).filter(|value| value.is_finite()),
            low: None,
            high: None,
            unit,
            method,
            flags: Vec::new(),
            own: Vec::new(),
        }
    }

    /// The same row in another scale.
    pub fn scaled(mut self, factor: f64) -> Row {
        for value in [&mut self.estimate, &mut self.low, &mut self.high] {
            *value = value.map(|value| value * factor).filter(|value| value.is_finite());
        }
        self
    }

    /// Adds flags, each once and in order.
    pub fn flagged(mut self, flags: impl IntoIterator<Item = Flag>) -> Row {
        self.flags.extend(flags);
        self.flags.sort_unstable();
        self.flags.dedup();
        self
    }

    /// With the measure's own values.
    pub fn with(mut self, own: Vec<Value>) -> Row {
        self.own = own;
        self
    }

    /// Whether it may be ranked or headline: `beyond-data` and `guessed-cover` only warn.
    pub fn is_firm(&self) -> bool {
        self.flags.iter().all(|flag| flag.only_warns())
    }
}

/// One measure's rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    pub name: &'static str,
    /// Names of the measure's own columns.
    pub own: &'static [&'static str],
    pub rows: Vec<Row>,
}

impl Table {
    /// A table without rows.
    pub fn empty(name: &'static str, own: &'static [&'static str]) -> Table {
        Table { name, own, rows: Vec::new() }
    }

    /// Own values by name, in the order of the columns; the rest are missing.
    pub fn fill(&self, values: &[(&str, Value)]) -> Vec<Value> {
        let value = |name: &&str| {
            let found = values.iter().find(|(given, _)| given == name);
            found.map_or(Value::Missing, |(_, value)| value.clone())
        };
        self.own.iter().map(value).collect()
    }

    /// The rows of one grouping and quantity, in order.
    pub fn rows_of<'a>(&'a self, by: &'a str, quantity: &'a str) -> impl Iterator<Item = &'a Row> {
        self.rows.iter().filter(move |row| row.by == by && row.quantity == quantity)
    }

    /// A row's own value by column name; missing where the table has no such column.
    pub fn own<'a>(&self, row: &'a Row, column: &str) -> &'a Value {
        let place = self.own.iter().position(|name| *name == column);
        place.and_then(|place| row.own.get(place)).unwrap_or(&Value::Missing)
    }
}

impl AnyRow for Row {
    fn leading(&self) -> Leading<'_> {
        Leading {
            by: self.by,
            group: &self.group,
            quantity: self.quantity,
            n: self.n,
            events: self.events,
            estimate: self.estimate,
            low: self.low,
            high: self.high,
            unit: self.unit,
            method: self.method,
            flags: &self.flags,
        }
    }
}

impl AnyTable for Table {
    fn name(&self) -> &'static str {
        self.name
    }

    fn doc(&self) -> &'static str {
        ""
    }

    fn groupings(&self) -> Vec<&'static str> {
        in_order(self.rows.iter().map(|row| row.by))
    }

    fn quantities(&self) -> Vec<QuantitySpec> {
        let words = in_order(self.rows.iter().map(|row| row.quantity));
        let unit = |word| self.rows.iter().find(|row| row.quantity == word).map(|row| row.unit);
        let spec = |word| Some(QuantitySpec { word, doc: "", unit: unit(word)? });
        words.into_iter().filter_map(spec).collect()
    }

    fn own_specs(&self) -> Vec<ColumnSpec> {
        self.own_columns().into_iter().map(|column| column.spec).collect()
    }

    fn leading(&self) -> Vec<Leading<'_>> {
        self.rows.iter().map(AnyRow::leading).collect()
    }

    fn own_columns(&self) -> Vec<Column> {
        self.own.iter().map(|name| own_column(name, self)).collect()
    }
}

/// Each word once, in the order in which they first stand.
fn in_order(words: impl Iterator<Item = &'static str>) -> Vec<&'static str> {
    let mut known = Vec::new();
    for word in words {
        if !known.contains(&word) {
            known.push(word);
        }
    }
    known
}
