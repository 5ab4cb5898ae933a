//! One file a question: the finding in a sentence, its pictures, tables, method and doubts.

mod carriers;
mod changes;
mod comparing;
mod coverage;
mod cycles;
mod entry;
mod estimates;
mod fault_rates;
mod first_pass;
pub(in crate::report) mod intake;
pub(in crate::report) mod payback;
pub(in crate::report) mod skipped_cost;
mod trust;
mod worklist;

use crate::report::Inputs;
use crate::report::page::section::Section;
pub(in crate::report) use comparing::{NO_RECORDS, apart, firm, surely_above, surely_below};
pub(in crate::report) use estimates::{Estimates, by_and_label, labelled};

/// Every question, in the order of the page.
pub(in crate::report) fn sections(inputs: &Inputs) -> Vec<Section> {
    let review = inputs.review;
    vec![
        first_pass::section(review),
        cycles::section(review),
        coverage::section(review),
        fault_rates::section(review),
        skipped_cost::section(review),
        entry::section(review),
        carriers::section(review),
        payback::section(review),
        changes::section(review),
        worklist::section(review),
        trust::section(review),
        intake::section(review, inputs.accounts),
    ]
}

/// What a finding says where there is nothing to say it from.
const NO_RECORDS: &str = "No records to answer this from.";

/// What a row is grouped by and its groups: "site: Tal".
fn by_and_label(row: &impl AnyRow) -> String {
    format!("{}: {}", row.leading().by, label(row))
}

/// Rows of one quantity as a table: place, n, events, estimate, interval, flags, and columns of the caller's.
struct Estimates<'a> {
    caption: &'a str,
    /// What the rows are about, and what n and events count.
    place: &'a str,
    n: &'a str,
    events: &'a str,
    /// What is estimated.
    estimate: &'a str,
    file: &'a str,
}

impl Estimates<'_> {
    fn table<R: AnyRow>(&self, review: &Review, rows: &[(String, R)]) -> PageTable {
        self.with(review, rows, &[], |_| Vec::new())
    }

    fn with<R: AnyRow>(
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

/// The row of the fleet, if it may headline.
fn firm<R: AnyRow>(mut rows: impl Iterator<Item = R>) -> Option<R> {
    rows.find(|row| row.is_firm() && row.leading().estimate.is_some())
}

/// The firm row that is surely the lowest (by its high end) and lies below `value` with its whole interval.
fn surely_below<R: AnyRow + Copy>(rows: &[R], value: f64) -> Option<R> {
    let high = |row: &R| row.leading().high.filter(|high| row.is_firm() && *high < value);
    let below = rows.iter().filter_map(|row| Some((row, high(row)?)));
    below.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(row, _)| *row)
}

/// The firm row that is surely the highest (by its low end) and lies above `value` with its whole interval.
fn surely_above<R: AnyRow + Copy>(rows: &[R], value: f64) -> Option<R> {
    let low = |row: &R| row.leading().low.filter(|low| row.is_firm() && *low > value);
    let above = rows.iter().filter_map(|row| Some((row, low(row)?)));
    above.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(row, _)| *row)
}

/// How many intervals leave out the fleet's value, against what chance alone would do.
fn apart(review: &Review, rows: &[impl AnyRow], value: f64, what: &str, fleet: &str) -> String {
    let rows = rows.iter().map(AnyRow::leading);
    let firm: Vec<Leading> = rows.filter(|row| row.is_firm() && row.estimate.is_some()).collect();
    let out = firm.iter().filter(|row| {
        row.low.is_some_and(|low| low > value) || row.high.is_some_and(|high| high < value)
    });
    let (out, all) = (out.count(), firm.len());
    let by_chance = (1.0 - review.level) * all as f64;
    if all < 2 {
        return format!("Too few {what} to compare with {fleet}");
    }
    if out == 0 {
        return format!("None of {all} {what} differs from {fleet} by more than chance");
    }
    let chance = crate::charts::number::fixed(by_chance, 1);
    let leave = if out == 1 { "its interval leaves" } else { "their intervals leave" };
    format!(
        "{out} of {all} {what}: {leave} out {fleet}; chance alone would do that to about {chance}"
    )
}
