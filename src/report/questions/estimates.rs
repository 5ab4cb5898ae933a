//! Rows of one quantity as a table of the page: of questions whose results are not declared yet. The others lay theirs with
//! `PageTable::over`.

use crate::measures::{AnyRow, Review};
use crate::report::page::page_table::{PageTable, Set, events};
use crate::report::words::flags::words as flag_words;
use crate::report::words::label::label;
use crate::report::words::number::whole;

/// What a row is grouped by and its groups: "site: Tal".
pub(in crate::report) fn by_and_label(row: &impl AnyRow) -> String {
    format!("{}: {}", row.leading().by, label(row))
}

/// Rows of one quantity as a table: place, n, events, estimate, interval, flags, and columns of the caller's.
pub(in crate::report) struct Estimates<'a> {
    pub(in crate::report) caption: &'a str,
    /// What the rows are about, and what n and events count.
    pub(in crate::report) place: &'a str,
    pub(in crate::report) n: &'a str,
    pub(in crate::report) events: &'a str,
    /// What is estimated.
    pub(in crate::report) estimate: &'a str,
    pub(in crate::report) file: &'a str,
}

impl Estimates<'_> {
    pub(in crate::report) fn table<R: AnyRow>(
        &self,
        review: &Review,
        rows: &[(String, R)],
    ) -> PageTable {
        self.with(review, rows, &[], |_| Vec::new())
    }

    pub(in crate::report) fn with<R: AnyRow>(
        &self,
        review: &Review,
        rows: &[(String, R)],
        extra: &[(&str, Set)],
        cells: impl Fn(&R) -> Vec<String>,
    ) -> PageTable {
        let mut table = PageTable::over(rows)
            .words(self.place, |(name, _)| name.clone())
            .numbers(self.n, |(_, row)| whole(Some(row.leading().n)))
            .numbers(self.events, |(_, row)| events(row))
            .amounts(review, self.estimate, |(_, row)| row.leading());
        let lines: Vec<Vec<String>> = rows.iter().map(|(_, row)| cells(row)).collect();
        for (place, (heading, set)) in extra.iter().enumerate() {
            let cells = lines.iter().map(|line| line.get(place).cloned().unwrap_or_default());
            table = table.cells(heading, *set, cells.collect());
        }
        table
            .words("flags", |(_, row)| flag_words(row.leading().flags))
            .set(self.caption, self.file)
    }
}
