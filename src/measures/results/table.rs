//! Rows and tables: what a measure hands over, with its own words and columns as types.

use super::column::{Column, ColumnSpec, Columns};
use super::leading::{AnyRow, Group, Leading};
use super::unit::Unit;
use crate::measures::flag::Flag;
use crate::stats::Estimate;

/// What a table may group its rows by. Made by [`results!`](super::results).
pub trait Grouping: Copy + PartialEq + 'static {
    /// Every grouping with its word: the columns that are grouped by, joined by `+`; `fleet` for none.
    const LIST: &'static [&'static str];

    /// Its place in the list.
    fn place(self) -> usize;
}

/// A quantity as it is declared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct QuantitySpec {
    /// As it stands in the column `quantity`.
    pub word: &'static str,
    /// One sentence.
    pub doc: &'static str,
    /// Unit of its estimate and of the interval.
    pub unit: Unit,
}

/// What a table estimates. Made by [`results!`](super::results).
pub trait Estimated: Copy + PartialEq + 'static {
    /// Every quantity, in the order of the declaration.
    const LIST: &'static [QuantitySpec];

    /// Its place in the list.
    fn place(self) -> usize;
}

/// The results of one question. Made by [`results!`](super::results).
pub trait Measure: Copy + PartialEq + std::fmt::Debug + 'static {
    /// Name of the table.
    const NAME: &'static str;
    /// What it answers, one sentence.
    const DOC: &'static str;
    /// What it is grouped by.
    type By: Grouping + std::fmt::Debug + Send + Sync;
    /// What it estimates.
    type Quantity: Estimated + std::fmt::Debug + Send + Sync;
    /// The columns that it alone has.
    type Own: Columns + Clone + PartialEq + std::fmt::Debug + Send + Sync;
}

/// One estimate.
#[derive(Clone, Debug, PartialEq)]
pub struct Row<M: Measure> {
    /// The grouping.
    pub by: M::By,
    /// Its words.
    pub group: Group,
    /// What is estimated; it says the unit.
    pub quantity: M::Quantity,
    /// Units or exposure that it rests on.
    pub n: f64,
    /// Events among them, where there are such.
    pub events: Option<i64>,
    /// In the quantity's unit; none where these records give none.
    pub estimate: Option<f64>,
    /// Lower end of the interval.
    pub low: Option<f64>,
    /// Upper end of the interval.
    pub high: Option<f64>,
    /// Name of the statistical method.
    pub method: &'static str,
    /// Rising, each once.
    pub flags: Vec<Flag>,
    /// The table's own columns.
    pub own: M::Own,
}

impl<M: Measure> Row<M> {
    /// A row of an estimate, with the flags that its warnings stand for.
    pub fn of(
        by: M::By,
        group: Group,
        quantity: M::Quantity,
        estimate: &Estimate,
        own: M::Own,
    ) -> Self {
        Row {
            by,
            group,
            quantity,
            n: estimate.n,
            events: Some(estimate.events as i64),
            estimate: estimate.value,
            low: estimate.low,
            high: estimate.high,
            method: estimate.method,
            flags: Flag::of_warnings(estimate),
            own,
        }
    }

    /// A row of a plain figure without an interval.
    pub fn figure(
        by: M::By,
        group: Group,
        quantity: M::Quantity,
        value: f64,
        method: &'static str,
        own: M::Own,
    ) -> Self {
        Row {
            by,
            group,
            quantity,
            n: 0.0,
            events: None,
            estimate: Some(value).filter(|value| value.is_finite()),
            low: None,
            high: None,
            method,
            flags: Vec::new(),
            own,
        }
    }

    /// A row of a number of things: n, events and estimate are that number.
    pub fn count(by: M::By, group: Group, quantity: M::Quantity, count: i64, own: M::Own) -> Self {
        let row = Row::figure(by, group, quantity, count as f64, "count", own);
        Row { n: count as f64, events: Some(count), ..row }
    }

    /// Unit of estimate, low and high.
    pub fn unit(&self) -> Unit {
        M::Quantity::LIST[self.quantity.place()].unit
    }

    /// The same row in another scale.
    pub fn scaled(mut self, factor: f64) -> Self {
        for value in [&mut self.estimate, &mut self.low, &mut self.high] {
            *value = value.map(|value| value * factor).filter(|value| value.is_finite());
        }
        self
    }

    /// Adds flags, each once and in order.
    pub fn flagged(mut self, flags: impl IntoIterator<Item = Flag>) -> Self {
        self.flags.extend(flags);
        self.flags.sort_unstable();
        self.flags.dedup();
        self
    }

    /// Adds a flag, once and in order.
    pub fn flag(&mut self, flag: Flag) {
        if let Err(place) = self.flags.binary_search(&flag) {
            self.flags.insert(place, flag);
        }
    }

    /// Whether it may be ranked or headline: some flags only warn.
    pub fn is_firm(&self) -> bool {
        self.flags.iter().all(|flag| flag.only_warns())
    }
}

impl<M: Measure> AnyRow for Row<M> {
    fn leading(&self) -> Leading<'_> {
        let quantity = &M::Quantity::LIST[self.quantity.place()];
        Leading {
            by: M::By::LIST[self.by.place()],
            group: &self.group,
            quantity: quantity.word,
            n: self.n,
            events: self.events,
            estimate: self.estimate,
            low: self.low,
            high: self.high,
            unit: quantity.unit,
            method: self.method,
            flags: &self.flags,
        }
    }
}

/// The rows of one measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Table<M: Measure> {
    /// Its rows, in the order of files and of the page.
    pub rows: Vec<Row<M>>,
}

impl<M: Measure> Default for Table<M> {
    fn default() -> Self {
        Table { rows: Vec::new() }
    }
}

impl<M: Measure> Table<M> {
    /// The rows of one grouping and quantity, in order.
    pub fn rows_of(&self, by: M::By, quantity: M::Quantity) -> impl Iterator<Item = &Row<M>> {
        self.quantity(quantity).filter(move |row| row.by == by)
    }

    /// The rows of one quantity, in order.
    pub fn quantity(&self, quantity: M::Quantity) -> impl Iterator<Item = &Row<M>> {
        self.rows.iter().filter(move |row| row.quantity == quantity)
    }
}

/// A table of any measure, as writers and the dictionary take it.
pub trait AnyTable: Sync {
    /// Name of its files and of its section.
    fn name(&self) -> &'static str;

    /// What it answers, one sentence.
    fn doc(&self) -> &'static str;

    /// The words of the column `by`.
    fn groupings(&self) -> Vec<&'static str>;

    /// The words of the column `quantity`, with their units and sentences.
    fn quantities(&self) -> Vec<QuantitySpec>;

    /// Its own columns, after the leading ones.
    fn own_specs(&self) -> Vec<ColumnSpec>;

    /// Its rows, as far as every table has them.
    fn leading(&self) -> Vec<Leading<'_>>;

    /// Its own columns with their cells.
    fn own_columns(&self) -> Vec<Column>;
}

impl<M: Measure> AnyTable for Table<M> {
    fn name(&self) -> &'static str {
        M::NAME
    }

    fn doc(&self) -> &'static str {
        M::DOC
    }

    fn groupings(&self) -> Vec<&'static str> {
        M::By::LIST.to_vec()
    }

    fn quantities(&self) -> Vec<QuantitySpec> {
        M::Quantity::LIST.to_vec()
    }

    fn own_specs(&self) -> Vec<ColumnSpec> {
        M::Own::SPECS.to_vec()
    }

    fn leading(&self) -> Vec<Leading<'_>> {
        self.rows.iter().map(AnyRow::leading).collect()
    }

    fn own_columns(&self) -> Vec<Column> {
        M::Own::columns(&self.rows.iter().map(|row| &row.own).collect::<Vec<_>>())
    }
}
