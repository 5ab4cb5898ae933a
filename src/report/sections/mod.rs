//! One file a question: the finding in a sentence, its pictures, tables, method and doubts.

mod carrier_tables;
mod carriers;
mod changes;
mod coverage;
mod cycle_tables;
mod cycles;
mod entry;
mod entry_tables;
mod fault_rates;
mod fault_tables;
mod first_pass;
mod intake;
mod payback;
mod payback_tables;
mod site_table;
mod skipped_cost;
mod skipped_tables;
mod stopping_tables;
mod trust;
mod worklist;
mod worklist_tables;

use super::Inputs;
use super::label::label;
use super::number::{Amount, Scale, level, whole};
use super::page_table::{PageTable, Set};
use super::section::Section;
use crate::measures::{Review, Row};

/// Every question, in the order of the page.
pub(super) fn sections(inputs: &Inputs) -> Vec<Section> {
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

pub(super) use intake::{made_without, sentence as trust_sentence};
pub(super) use payback::section as payback_section;
pub(super) use payback_tables::input as input_text;
pub(super) use skipped_cost::first_picture;
pub(super) use skipped_tables::under;

/// What a finding says where there is nothing to say it from.
const NO_RECORDS: &str = "No records to answer this from.";

/// A row and what it is called in a table.
type Named<'a> = (String, &'a Row);

/// Rows called by their groups.
fn labelled<'a>(rows: &[&'a Row]) -> Vec<Named<'a>> {
    rows.iter().map(|row| (label(row), *row)).collect()
}

/// Rows called by what they are grouped by and their groups: "site: Tal".
fn by_and_label<'a>(rows: &[&'a Row]) -> Vec<Named<'a>> {
    rows.iter().map(|row| (format!("{}: {}", row.by, label(row)), *row)).collect()
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
    fn table(&self, review: &Review, rows: &[Named]) -> PageTable {
        self.with(review, rows, &[], |_| Vec::new())
    }

    fn with(
        &self,
        review: &Review,
        rows: &[Named],
        extra: &[(&str, Set)],
        cells: impl Fn(&Row) -> Vec<String>,
    ) -> PageTable {
        let amounts: Vec<Amount> = rows.iter().map(|(_, row)| Amount::of(row)).collect();
        let scale = rows.first().map_or(Scale { divisor: 1.0, unit: String::new() }, |(_, row)| {
            Scale::for_all(&amounts, row.unit, &review.currency)
        });
        let estimate = titled(self.estimate, &scale.unit);
        let interval = interval_heading(review, rows.iter().map(|(_, row)| *row));
        let mut headings: Vec<(&str, Set)> = vec![
            (self.place, Set::Words),
            (self.n, Set::Number),
            (self.events, Set::Number),
            (&estimate, Set::Number),
            (&interval, Set::Number),
        ];
        headings.extend_from_slice(extra);
        headings.push(("flags", Set::Words));
        let lines = rows.iter().zip(&amounts).map(|((name, row), amount)| {
            let mut line = vec![
                name.clone(),
                whole(Some(row.n)),
                row.events.map_or_else(String::new, |events| whole(Some(events as f64))),
                amount.value_on(&scale),
                amount.interval_on(&scale),
            ];
            line.extend(cells(row));
            line.push(super::flags::words(&row.flags));
            line
        });
        PageTable::of(self.caption, &headings, lines.collect(), self.file)
    }
}

/// "share, %".
fn titled(words: &str, unit: &str) -> String {
    if unit.is_empty() || words.ends_with(unit) {
        words.to_owned()
    } else {
        format!("{words}, {unit}")
    }
}

/// Level and method of the intervals: "95 % interval (Wilson)".
fn interval_heading<'a>(review: &Review, rows: impl Iterator<Item = &'a Row>) -> String {
    let mut methods: Vec<&str> = rows.map(|row| row.method).filter(|m| !m.is_empty()).collect();
    methods.sort_unstable();
    methods.dedup();
    let level = level(review.level);
    match methods.as_slice() {
        [] => format!("{level} interval"),
        [method] => format!("{level} interval ({method})"),
        [first, _] => format!("{level} interval ({first}; 1 other method in the file)"),
        [first, others @ ..] => {
            format!("{level} interval ({first}; {} other methods in the file)", others.len())
        }
    }
}

/// The row of the fleet, if it may headline.
fn firm<'a>(mut rows: impl Iterator<Item = &'a Row>) -> Option<&'a Row> {
    rows.find(|row| row.is_firm() && row.estimate.is_some())
}

/// The firm row that is surely the lowest (by its high end) and lies below `value` with its whole interval.
fn surely_below<'a>(rows: &[&'a Row], value: f64) -> Option<&'a Row> {
    let firm = rows.iter().filter(|row| row.is_firm() && row.high.is_some_and(|high| high < value));
    firm.min_by(|a, b| a.high.unwrap_or(value).total_cmp(&b.high.unwrap_or(value))).copied()
}

/// The firm row that is surely the highest (by its low end) and lies above `value` with its whole interval.
fn surely_above<'a>(rows: &[&'a Row], value: f64) -> Option<&'a Row> {
    let firm = rows.iter().filter(|row| row.is_firm() && row.low.is_some_and(|low| low > value));
    firm.max_by(|a, b| a.low.unwrap_or(value).total_cmp(&b.low.unwrap_or(value))).copied()
}

/// How many intervals leave out the fleet's value, against what chance alone would do.
fn apart(review: &Review, rows: &[&Row], value: f64, what: &str, fleet: &str) -> String {
    let firm: Vec<&&Row> =
        rows.iter().filter(|row| row.is_firm() && row.estimate.is_some()).collect();
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
