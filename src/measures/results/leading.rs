//! The columns that every table begins with, declared once: what a row is about, and its estimate.

use super::column::{Column, Columns};
use super::columns::columns;
use super::unit::Unit;
use crate::measures::flag::Flag;

columns! {
    /// Which review, and what a row stands for.
    #[derive(Clone, Debug, PartialEq)]
    pub struct Place {
        /// The fiscal quarter that the review is of, so that the tables of several can be stacked.
        period: String [Time],
        /// What a row stands for: the columns it is grouped by, joined by +; fleet for the whole fleet.
        by: String,
    }
}

columns! {
    /// What a row is about. `None` where it is not grouped so.
    #[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
    pub struct Group {
        /// Site.
        site: Option<String>,
        /// Stage of the lifecycle.
        stage: Option<String>,
        /// Connector family.
        family: Option<String>,
        /// Side of the end face: plug or bulkhead.
        side: Option<String>,
        /// Supplier.
        supplier: Option<String>,
        /// Whether a dust cap was on.
        capped: Option<String>,
        /// Cleaning method.
        treatment: Option<String>,
        /// Coverage of matings: what was seen of their two ends.
        coverage: Option<String>,
        /// A quarter, a month or a week, as its name or its first day; a minute in a list of touches.
        time: Option<String> [Time],
    }
}

columns! {
    /// What was estimated, and how sure it is.
    #[derive(Clone, Debug, PartialEq)]
    pub struct Estimate {
        /// What is estimated; the words are listed by table.
        quantity: String,
        /// Units or exposure that the estimate rests on.
        n: f64 [Number],
        /// Events among them.
        events: Option<i64> [Count],
        /// The estimate, in the row's unit; empty where the records give none.
        estimate: Option<f64> [Number],
        /// Lower end of the interval of the estimate.
        low: Option<f64> [Number],
        /// Upper end of the interval of the estimate.
        high: Option<f64> [Number],
        /// Unit of estimate, low and high.
        unit: String,
        /// Name of the statistical method.
        method: String,
        /// What a reader must know beside the estimate: words parted by blanks.
        flag: Option<String>,
    }
}

impl Group {
    /// The words in the order of the columns.
    pub fn words(&self) -> [Option<&str>; 9] {
        let Group { site, stage, family, side, supplier, capped, treatment, coverage, time } = self;
        [site, stage, family, side, supplier, capped, treatment, coverage, time]
            .map(Option::as_deref)
    }

    /// Groups from the names of count-table columns and their words; `quarter`, `week` and `month` are times.
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
}

/// What every row of every table says, whatever else its table holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leading<'a> {
    /// The grouping, as `stage+family`; `fleet` for none.
    pub by: &'static str,
    /// The words of the grouping.
    pub group: &'a Group,
    /// What is estimated.
    pub quantity: &'static str,
    /// Units or exposure that it rests on.
    pub n: f64,
    /// Events among them, where there are such.
    pub events: Option<i64>,
    /// The estimate, in `unit`; none where these records give none.
    pub estimate: Option<f64>,
    /// Lower end of its interval.
    pub low: Option<f64>,
    /// Upper end of its interval.
    pub high: Option<f64>,
    /// Unit of estimate, low and high.
    pub unit: Unit,
    /// Name of the statistical method.
    pub method: &'static str,
    /// Rising, each once.
    pub flags: &'a [Flag],
}

impl Leading<'_> {
    fn place(&self, period: &str) -> Place {
        Place { period: period.to_owned(), by: self.by.to_owned() }
    }

    fn estimate(&self) -> Estimate {
        let flags: Vec<&str> = self.flags.iter().map(|flag| flag.word()).collect();
        Estimate {
            quantity: self.quantity.to_owned(),
            n: self.n,
            events: self.events,
            estimate: self.whole_money(self.estimate),
            low: self.whole_money(self.low),
            high: self.whole_money(self.high),
            unit: self.unit.word().to_owned(),
            method: self.method.to_owned(),
            flag: (!flags.is_empty()).then(|| flags.join(" ")),
        }
    }

    fn whole_money(&self, value: Option<f64>) -> Option<f64> {
        if self.unit == Unit::Money { value.map(f64::round) } else { value }
    }
}

/// A row of any table.
pub trait AnyRow {
    /// What it says in the leading columns.
    fn leading(&self) -> Leading<'_>;

    /// Whether it may be ranked or headline: some flags only warn.
    fn is_firm(&self) -> bool {
        self.leading().flags.iter().all(|flag| flag.only_warns())
    }
}

impl<R: AnyRow> AnyRow for &R {
    fn leading(&self) -> Leading<'_> {
        (*self).leading()
    }
}

impl AnyRow for Leading<'_> {
    fn leading(&self) -> Leading<'_> {
        *self
    }
}

/// The leading columns with their cells. `period` is the quarter that the review is of.
pub fn leading_columns(rows: &[Leading], period: &str) -> Vec<Column> {
    let places: Vec<Place> = rows.iter().map(|row| row.place(period)).collect();
    let groups: Vec<&Group> = rows.iter().map(|row| row.group).collect();
    let estimates: Vec<Estimate> = rows.iter().map(Leading::estimate).collect();
    let mut columns = Place::columns(&places.iter().collect::<Vec<_>>());
    columns.extend(Group::columns(&groups));
    columns.extend(Estimate::columns(&estimates.iter().collect::<Vec<_>>()));
    columns
}
