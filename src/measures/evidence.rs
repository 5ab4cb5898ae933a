//! What the measures work from: the count tables of one derivation, ready to be grouped.
//!
//! A measure reads a count table by its type. Columns are types as well (`derive::counts::{Site, Stage,
//! ...}`), figures are named fields, words of closed lists are variants: what a table lacks does not
//! compile.
//!
//! ```text
//! let rows = evidence.reviewed().with([VisitRow::Routine]);        // which rows count
//! for group in evidence.groups::<Visits>(&rows, &by!(Stage, Family))? {
//!     let share = group.counts.clean as f64 / group.counts.looks as f64;
//!     let stage = &group.words[0];                                 // in the order of by!
//! }
//! ```
//!
//! - `evidence.reviewed()`, `looked_back()` and `until_period()` are rows by their quarters. `.with([VisitRow::Routine])`
//!   leaves of them those of a kind, `.with([CycleNo(1)])` those of a number, `.named::<Site>([name])` those of a fleet's
//!   own word.
//! - All figures of a group come back at once, so one call serves every quantity of a grouping.
//! - `evidence.along::<CycleNo, Cycles>(&rows, &by)` gives every group along one more column: `(CycleNo, Row)` pairs, and
//!   `total()` over them.
//! - `evidence.clusters::<MatingClusters>(&rows, &by, &by!(Site, WeekNo))` gives the clusters of every group, once a
//!   grouping; then `clusters.sums(|row| (row.known, row.skipped))` what a share rests on.
//! - A list of groupings is an array of the table's own words and columns: `[(By::Fleet, by!()), (By::Stage,
//!   by!(Stage))]`, where `By` is what the question's `results!` declares. `Group::of(&columns.columns(), &group.words)`
//!   is the row's group.
//! - First faults by definition: `group.counts.first_faults(Definition::Linked)`.
//! - `derived.counts.TOPIC.TABLE.cells()` gives every cell as named fields where a grouping does not do.

use std::sync::OnceLock;

use rustc_hash::FxHashMap;

use crate::by;
use crate::derive::counts::{
    AnyTable, ClusterHigh, ClusterLow, Counted, Coverage, Fixed, Has, MonthNo, QuarterNo, Site,
    SiteDays, WeekNo, WorkOrders, matings,
};
use crate::derive::{
    Along, ByColumns, Clusters, DeriveError, Derived, Frame, Glossary, Group, Key, Names, Rows,
    TableFrame,
};
use crate::measures::flag::Flag;
use crate::measures::months::Months;
use crate::measures::prices::PriceBook;
use crate::measures::results::Group as ResultGroup;
use crate::settings::{Costs, Plan, Rules};
use crate::stats::{ClusterSums, Lasting};

/// Count tables and settings of one review.
pub struct Evidence<'a> {
    /// The settings.
    pub plan: &'a Plan,
    /// What was counted.
    pub derived: &'a Derived,
    /// Months of those looked back that the records of each site cover.
    pub months: Months,
    tables: FxHashMap<&'static str, Table<'a>>,
    prices: OnceLock<PriceBook>,
    fault_prices: OnceLock<PriceBook>,
    apart: OnceLock<Vec<(matings::Key, matings::Row)>>,
    luck: OnceLock<usize>,
    lasting: [OnceLock<Lasting>; Units::ALL.len()],
}

/// Units whose shares are told, by what their luck is that they may have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::measures) enum Units {
    /// Routine first looks.
    Looks,
    /// Matings.
    Matings,
    /// Cleaning cycles.
    Cycles,
    /// Routine passages.
    Passages,
}

impl Units {
    /// All of them.
    const ALL: [Units; 4] = [Units::Looks, Units::Matings, Units::Cycles, Units::Passages];
}

/// Share of its matings above which a row is flagged for the names that it leaves out: one site's quarter must not
/// take the fleet's headline off the page.
const MOST_APART: f64 = 0.1;

/// `names-apart` where a row leaves out more than a tenth of its matings.
pub fn names_apart(share: Option<f64>) -> Option<Flag> {
    share.is_some_and(|share| share > MOST_APART).then_some(Flag::NamesApart)
}

/// A count table, and its frame once somebody has asked for it.
struct Table<'a> {
    table: &'a dyn AnyTable,
    frame: OnceLock<Frame>,
}

impl<'a> Evidence<'a> {
    /// Takes the count tables over.
    ///
    /// Each becomes a frame when it is first read.
    pub fn of(plan: &'a Plan, derived: &'a Derived) -> Self {
        let table =
            |table: &'a dyn AnyTable| (table.about().name, Table { table, frame: OnceLock::new() });
        let tables = derived.counts.tables().into_iter().map(table).collect();
        let (prices, fault_prices) = (OnceLock::new(), OnceLock::new());
        let (apart, luck, lasting) = (OnceLock::new(), OnceLock::new(), Default::default());
        let months = Months::of(&plan.rules, derived);
        Evidence { plan, derived, months, tables, prices, fault_prices, apart, luck, lasting }
    }

    /// The groups of a table that have counts, in the order of display.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn groups<T: Counted>(
        &self,
        rows: &Rows<T>,
        by: &ByColumns<T>,
    ) -> Result<Vec<Group<T>>, DeriveError> {
        self.table_frame()?.groups(rows, by)
    }

    /// The same along one more column, which the grouping must not have.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn along<C: Fixed, T: Has<C>>(
        &self,
        rows: &Rows<T>,
        by: &ByColumns<T>,
    ) -> Result<Vec<Along<T, C>>, DeriveError> {
        self.table_frame()?.along(rows, by)
    }

    /// The clusters of every group: rows that are alike in the columns of `within`, too.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn clusters<T: Counted>(
        &self,
        rows: &Rows<T>,
        by: &ByColumns<T>,
        within: &ByColumns<T>,
    ) -> Result<Vec<Clusters<T>>, DeriveError> {
        self.table_frame()?.clusters(rows, by, within)
    }

    /// The weeks of every site and quarter as clusters of every group, put together where `block` is the same.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn blocks<T: Has<Site> + Has<QuarterNo> + Has<WeekNo>>(
        &self,
        rows: &Rows<T>,
        by: &ByColumns<T>,
        block: impl Fn(WeekNo) -> u32,
    ) -> Result<Vec<Clusters<T>>, DeriveError> {
        self.table_frame()?.blocks(rows, by, block)
    }

    /// The clusters of 5.1 by work: work orders, or site-days where there are too many.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn look_clusters(
        &self,
        rows: &Rows<WorkOrders>,
        by: &ByColumns<WorkOrders>,
    ) -> Result<Vec<Clusters<WorkOrders>>, DeriveError> {
        let within = by!(Site, ClusterHigh, ClusterLow);
        if !self.derived.by_site_day {
            return self.clusters(rows, by, &within);
        }
        let found = self.clusters::<SiteDays>(&rows.like(), &by.like(), &within.like())?;
        Ok(found.into_iter().map(Clusters::like).collect())
    }

    /// Rows of the period alone.
    pub fn reviewed<T: Has<QuarterNo>>(&self) -> Rows<T> {
        let calendar = &self.derived.calendar;
        Rows::all().with(calendar.piece_of(self.derived.period.quarter).map(QuarterNo))
    }

    /// Rows of the months looked back, the period included.
    pub fn looked_back<T: Has<QuarterNo>>(&self) -> Rows<T> {
        let quarters = self.derived.period.look_back.iter();
        let pieces = quarters.filter_map(|quarter| self.derived.calendar.piece_of(*quarter));
        Rows::all().with(pieces.map(QuarterNo))
    }

    /// Rows of the months of the quarters looked back.
    pub fn looked_back_months<T: Has<MonthNo>>(&self) -> Rows<T> {
        let months = (0..self.derived.calendar.months.count()).map(MonthNo);
        Rows::all().with(months.filter(|month| {
            self.quarter_of(*month).is_some_and(|quarter| self.is_looked_back(quarter))
        }))
    }

    /// The quarter that a month lies in.
    pub fn quarter_of(&self, month: MonthNo) -> Option<QuarterNo> {
        let calendar = &self.derived.calendar;
        calendar.quarters.piece(calendar.months.start(month.0)).map(QuarterNo)
    }

    /// Rows of every quarter up to the period.
    pub fn until_period<T: Has<QuarterNo>>(&self) -> Rows<T> {
        let calendar = &self.derived.calendar;
        let known = (0..calendar.quarters.count()).map(QuarterNo);
        let quarter = self.derived.period.quarter;
        Rows::all().with(known.filter(|piece| calendar.quarter(piece.0) <= quarter))
    }

    /// Whether a quarter is the period.
    pub fn is_reviewed(&self, quarter: QuarterNo) -> bool {
        self.derived.calendar.quarter(quarter.0) == self.derived.period.quarter
    }

    /// Whether a quarter lies in the months looked back.
    pub fn is_looked_back(&self, quarter: QuarterNo) -> bool {
        self.derived.period.look_back.contains(&self.derived.calendar.quarter(quarter.0))
    }

    fn table_frame<T: Counted>(&self) -> Result<TableFrame<'_, T>, DeriveError> {
        Ok(TableFrame::of(self.frame(T::ABOUT.name)?))
    }

    /// The frame of a count table.
    ///
    /// # Errors
    /// A table that does not exist: a fault of the program.
    fn frame(&self, table: &'static str) -> Result<&Frame, DeriveError> {
        let Some(Table { table, frame }) = self.tables.get(table) else {
            return Err(DeriveError::Frame(format!("no count table {table}")));
        };
        if let Some(frame) = frame.get() {
            return Ok(frame);
        }
        let Derived { glossary, calendar, .. } = self.derived;
        Ok(frame.get_or_init(|| Frame::of(*table, glossary, calendar)))
    }

    /// Thresholds of the settings.
    pub fn rules(&self) -> &'a Rules {
        &self.plan.rules
    }

    /// Prices of the settings, minor units of the fleet's currency.
    pub fn costs(&self) -> &'a Costs {
        &self.plan.costs
    }

    /// Prices of the linked faults of matings, as 5.5 follows them.
    pub(in crate::measures) fn prices(&self) -> &PriceBook {
        self.prices.get_or_init(|| PriceBook::of_matings(self.derived))
    }

    /// Prices of the linked faults of the months looked back, attached to a mating or not.
    pub(in crate::measures) fn fault_prices(&self) -> &PriceBook {
        self.fault_prices.get_or_init(|| PriceBook::of_faults(self.derived))
    }

    /// How long the luck of sites lasts, as `found` by the first who asks: which of the lengths of blocks, shortest first.
    pub(in crate::measures) fn luck(&self, found: impl FnOnce() -> usize) -> usize {
        *self.luck.get_or_init(found)
    }

    /// How long the luck of such units lasts, as `found` by the first who asks.
    pub(in crate::measures) fn lasting(
        &self,
        of: Units,
        found: impl FnOnce() -> Lasting,
    ) -> Lasting {
        *self.lasting[of as usize].get_or_init(found)
    }

    /// Share of the matings looked back to of a site, stage or family whose names stand apart from those of looks (R8);
    /// none where all meet.
    pub fn apart(&self, group: &ResultGroup) -> Option<f64> {
        let cells = self.apart.get_or_init(|| self.apart_cells());
        if cells.is_empty() {
            return None;
        }
        let Glossary { site, stage, family, .. } = &self.derived.glossary;
        let is = |(names, _): &(Names, usize), word: &Option<String>, code: u32| {
            word.as_ref().is_none_or(|word| names.word(code) == word)
        };
        let within = cells.iter().filter(|(cell, _)| {
            is(site, &group.site, cell.site.0)
                && is(stage, &group.stage, cell.stage.0)
                && is(family, &group.family, cell.family.0)
        });
        let (mut all, mut apart) = (0, 0);
        for (cell, counts) in within {
            all += counts.matings;
            apart += if cell.coverage == Coverage::Apart { counts.matings } else { 0 };
        }
        (apart > 0).then(|| apart as f64 / all as f64)
    }

    /// The matings looked back to, by cell; nothing where no names stand apart.
    fn apart_cells(&self) -> Vec<(matings::Key, matings::Row)> {
        let cells = self.derived.counts.coverage.matings.cells().into_iter();
        let back: Vec<_> = cells.filter(|(cell, _)| self.is_looked_back(cell.quarter)).collect();
        let any = back.iter().any(|(cell, _)| cell.coverage == Coverage::Apart);
        if any { back } else { Vec::new() }
    }

    /// `guessed-cover` where the faults of the site, or of any site, are known over a default span.
    pub fn guessed_cover(&self, site: Option<&str>) -> Option<Flag> {
        let guessed = &self.derived.guessed_cover;
        let applies = match site {
            Some(site) => guessed.iter().any(|name| name == site),
            None => !guessed.is_empty(),
        };
        applies.then_some(Flag::GuessedCover)
    }

    /// The name of an end face; a key whose name no record tells any more is shown as what it is.
    pub fn face_name(&self, key: Key) -> String {
        let name = self.derived.face_names.get(&key);
        name.map_or_else(|| format!("{:016x}", key.high), ToString::to_string)
    }
}

impl<T: Counted> Clusters<T> {
    /// What a share of `n` units with `y` events rests on: how many clusters have units, and the sums of
    /// both, of their squares and of their product. Nothing negative is counted.
    pub fn sums(&self, of: impl Fn(&T::Row) -> (i64, i64)) -> ClusterSums {
        let mut sums = ClusterSums::default();
        for row in &self.clusters {
            let (n, y) = of(row);
            let (n, y) = (n.max(0) as u64, y.max(0) as u64);
            sums.add(n, y);
        }
        sums
    }
}
