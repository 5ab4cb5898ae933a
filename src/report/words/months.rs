//! Months that records really cover, in words: over what time things were counted, and what a year's money was reckoned
//! from.

use crate::charts::number::fixed;
use crate::measures::Review;
use crate::measures::months::YEAR;
use crate::measures::skipped_cost;
use crate::measures::trust::{By, Quantity, Row};

/// Most sites named in a sentence.
const MOST_NAMED: usize = 4;

/// The span looked back over: "the 12 months to 2026-06-30"; where records begin later or end earlier, the months that
/// they cover of it: "the 3 months of records to 2026-06-30".
pub(in crate::report) fn looked_back(review: &Review) -> String {
    let (asked, to) = (review.look_back_months, &review.period.last_day);
    let fleet = review.trust.rows_of(By::Fleet, Quantity::MonthsRecorded).next();
    match fleet.and_then(|row| row.estimate).filter(|months| months.round() < asked.into()) {
        Some(months) => format!("the {} of records to {to}", months_of(months)),
        None => format!("the {asked} months to {to}"),
    }
}

/// What money of a year is of: "over the 12 months to 2026-06-30" where every site's records cover them; else "a year,
/// reckoned from 3 months of records", the sites named that have fewer than the others.
pub(in crate::report) fn a_year(review: &Review) -> String {
    match short_of_a_year(review) {
        Some(from) => format!("a year, reckoned from {from}"),
        None => format!("over {}", looked_back(review)),
    }
}

/// The same in two words: "in 12 months", or "a year".
pub(in crate::report) fn in_a_year(review: &Review) -> String {
    match short_of_a_year(review) {
        Some(_) => "a year".to_owned(),
        None => format!("in {} months", review.look_back_months),
    }
}

/// "3 months of records (North 2; the others 3)"; nothing where the whole year is covered.
fn short_of_a_year(review: &Review) -> Option<String> {
    let sites: Vec<&Row> = short_sites(review).collect();
    let asked = f64::from(review.look_back_months);
    if sites.is_empty() && asked == YEAR {
        return None;
    }
    let all = review.trust.rows_of(By::Site, Quantity::MonthsFollowed).count();
    let quantity = skipped_cost::Quantity::NetSaving;
    let fleet = review.skipped_cost.rows_of(skipped_cost::By::Fleet, quantity).next();
    let pooled = fleet.and_then(|row| row.own.recorded_months).unwrap_or(asked);
    let months = format!("{} of records", months_of(pooled));
    let alike = sites.len() == all && sites.iter().all(|row| whole(row) == pooled.round());
    if alike || sites.is_empty() {
        return Some(months);
    }
    let named: Vec<String> = sites.iter().take(MOST_NAMED).map(|row| site(row)).collect();
    let more = match sites.len().saturating_sub(MOST_NAMED) {
        0 => String::new(),
        more => format!(" and {more} more sites"),
    };
    let others =
        if sites.len() < all { format!("; the others {}", fixed(asked, 0)) } else { String::new() };
    Some(format!("{months} ({}{more}{others})", named.join(", ")))
}

/// Sites whose records, with their faults known, cover less than a year, the shortest first.
pub(in crate::report) fn short_sites(review: &Review) -> impl Iterator<Item = &Row> {
    let rows = review.trust.rows_of(By::Site, Quantity::MonthsFollowed);
    let mut short: Vec<&Row> = rows.filter(|row| !row.flags.is_empty()).collect();
    short.sort_by(|a, b| {
        let months = |row: &Row| row.estimate.unwrap_or(0.0);
        months(a).total_cmp(&months(b)).then_with(|| a.group.cmp(&b.group))
    });
    short.into_iter()
}

fn whole(row: &Row) -> f64 {
    row.estimate.unwrap_or(0.0).round()
}

/// "North 3": a site and its months.
pub(in crate::report) fn site(row: &Row) -> String {
    let name = row.group.site.as_deref().unwrap_or("–");
    match row.estimate.unwrap_or(0.0) {
        months if months < 0.5 => format!("{name} less than 1"),
        months => format!("{name} {}", fixed(months, 0)),
    }
}

/// "3 months", "1 month", "less than 1 month".
fn months_of(months: f64) -> String {
    match months.round() {
        0.0 => "less than 1 month".to_owned(),
        1.0 => "1 month".to_owned(),
        _ => format!("{} months", fixed(months, 0)),
    }
}
