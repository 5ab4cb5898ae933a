//! Months that the records really cover, and those in which nobody looked.

use std::collections::BTreeMap;

use super::part::{Doubt, MOST_ROWS, Part};
use crate::measures::months::YEAR;
use crate::measures::trust::{By, NAME, Quantity, Row};
use crate::measures::{Review, coverage};
use crate::report::page::page_table::PageTable;
use crate::report::words::months::{short_sites, site};
use crate::report::words::number::whole;

/// Sites named in a sentence.
const MOST_NAMED: usize = 4;
/// Months named of one site.
const MOST_MONTHS: usize = 4;

pub(super) fn part(review: &Review) -> Part {
    let rows: Vec<&Row> = short_sites(review).collect();
    let recorded = |row: &Row| {
        let mut rows = review.trust.rows_of(By::Site, Quantity::MonthsRecorded);
        let found = rows.find(|found| found.group == row.group);
        found.and_then(|found| found.estimate)
    };
    let table = PageTable::over(&rows)
        .words("site", |row| row.group.site.clone().unwrap_or_default())
        .numbers("months recorded", |row| whole(recorded(row)))
        .numbers("with its faults known", |row| whole(row.estimate))
        .flags()
        .set_first(MOST_ROWS, "Sites whose records cover less than a year", NAME);
    let doubts = [short(review, &rows), silent(review)].into_iter().flatten();
    Part { tables: vec![table], doubts: doubts.collect() }
}

/// Sites below a year, by name.
fn short(review: &Review, rows: &[&Row]) -> Option<Doubt> {
    let all = review.trust.rows_of(By::Site, Quantity::MonthsFollowed).count();
    if rows.is_empty() {
        return None;
    }
    let missing: f64 = rows.iter().map(|row| 1.0 - row.estimate.unwrap_or(0.0) / YEAR).sum();
    let named: Vec<String> = rows.iter().take(MOST_NAMED).map(|row| site(row)).collect();
    let more = more(rows.len(), MOST_NAMED);
    let sentence = format!(
        "{} of {all} sites have records, with their faults known, of less than twelve months ({}{more}): their money of a \
         year is reckoned from those, as if the other months were like them.",
        rows.len(),
        named.join(", ")
    );
    Some(Doubt { weight: missing / all.max(1) as f64, sentence })
}

/// Months without a look, by site and name.
fn silent(review: &Review) -> Option<Doubt> {
    let mut sites: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for row in review.coverage.quantity(coverage::Quantity::SilentMonth) {
        let (site, month) = (row.group.site.as_deref()?, row.group.time.as_deref()?);
        sites.entry(site).or_default().push(month);
    }
    let mut sites: Vec<(&str, Vec<&str>)> = sites.into_iter().collect();
    sites.sort_by_key(|(_, months)| std::cmp::Reverse(months.len()));
    let count: usize = sites.iter().map(|(_, months)| months.len()).sum();
    let of_site = |(site, months): &(&str, Vec<&str>)| {
        let named = &months[..months.len().min(MOST_MONTHS)];
        format!("{site} {}{}", named.join(", "), more(months.len(), MOST_MONTHS))
    };
    let named: Vec<String> = sites.iter().take(MOST_NAMED).map(of_site).collect();
    if sites.is_empty() {
        return None;
    }
    let sentence = format!(
        "{count} months without a look in which the site cleaned or mated: {}{}. Matings of these months count as of \
         unknown coverage.",
        named.join("; "),
        more(sites.len(), MOST_NAMED)
    );
    let all = review.trust.rows_of(By::Site, Quantity::MonthsRecorded).count().max(1) as f64;
    Some(Doubt { weight: (count as f64 / (all * YEAR)).min(1.0), sentence })
}

fn more(all: usize, named: usize) -> String {
    match all.saturating_sub(named) {
        0 => String::new(),
        more => format!(" and {more} more"),
    }
}
