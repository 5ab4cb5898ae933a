//! The one shape of every measure's result: rows of estimates with their groups and counts.

use crate::measures::flag::Flag;
use crate::stats::Estimate;

/// What a row is about. `None` where it is not grouped so.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Group {
    pub site: Option<String>,
    pub stage: Option<String>,
    pub family: Option<String>,
    pub side: Option<String>,
    pub supplier: Option<String>,
    pub capped: Option<String>,
    /// Cleaning method.
    pub treatment: Option<String>,
    /// Coverage of matings.
    pub coverage: Option<String>,
    /// A quarter, week or month, as its first day or its name.
    pub time: Option<String>,
}

/// Names of the grouping columns in the order of every table.
pub const GROUPS: [&str; 9] =
    ["site", "stage", "family", "side", "supplier", "capped", "treatment", "coverage", "time"];

impl Group {
    /// Groups from count-table columns and words; `quarter`, `week` and `month` are times.
    pub fn of(columns: &[&str], words: &[String]) -> Group {
        let mut group = Group::default();
        for (column, word) in columns.iter().zip(words) {
            if let Some(place) = group.field(column) {
                *place = Some(word.clone());
            }
        }
        group
    }

    fn field(&mut self, column: &str) -> Option<&mut Option<String>> {
        Some(match column {
            "site" => &mut self.site,
            "stage" => &mut self.stage,
            "family" => &mut self.family,
            "side" => &mut self.side,
            "supplier" => &mut self.supplier,
            "capped" => &mut self.capped,
            "method" => &mut self.treatment,
            "coverage" => &mut self.coverage,
            "quarter" | "week" | "month" => &mut self.time,
            _ => return None,
        })
    }

    /// The words in the order of [`GROUPS`].
    pub fn words(&self) -> [Option<&str>; 9] {
        [
            self.site.as_deref(),
            self.stage.as_deref(),
            self.family.as_deref(),
            self.side.as_deref(),
            self.supplier.as_deref(),
            self.capped.as_deref(),
            self.treatment.as_deref(),
            self.coverage.as_deref(),
            self.time.as_deref(),
        ]
    }
}

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

/// Unit of a row's estimate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A fraction of 1.
    Share,
    /// One share less another, a fraction of 1.
    Difference,
    /// A plain number: a ratio of two rates or variances, the growth of a power law.
    Ratio,
    /// A test statistic; n are its degrees of freedom.
    ChiSquare,
    /// Faults per 1,000 matings, by the horizon.
    PerThousandMatings,
    /// Faults per 1,000 connection-months (of 730.5 hours).
    PerThousandMonths,
    /// Faults per 10^9 connection-hours.
    Fit,
    Cycles,
    Months,
    Hours,
    /// Minor units of the fleet's currency.
    Money,
    Count,
}

impl Unit {
    /// The word in tables.
    pub fn word(self) -> &'static str {
        match self {
            Unit::Share => "share",
            Unit::Difference => "difference of shares",
            Unit::Ratio => "ratio",
            Unit::ChiSquare => "chi-square",
            Unit::PerThousandMatings => "per 1,000 matings",
            Unit::PerThousandMonths => "per 1,000 connection-months",
            Unit::Fit => "FIT",
            Unit::Cycles => "cycles",
            Unit::Months => "months",
            Unit::Hours => "hours",
            Unit::Money => "minor units",
            Unit::Count => "count",
        }
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
