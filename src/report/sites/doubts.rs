//! What speaks against the records of one site, a sentence each.

use crate::measures::trust::{By, Quantity, Row};
use crate::measures::{AnyRow, Review, Unit, coverage};
use crate::report::words::number::{Amount, whole};

/// Share of a site's matings of unknown coverage from which a reader is told.
const MUCH_UNKNOWN: f64 = 0.1;

/// Every doubt about one site's records; empty where nothing speaks against them.
pub(in crate::report) fn doubts(review: &Review, site: &str) -> Vec<String> {
    let of = |quantity| {
        let rows = review.trust.rows_of(By::Site, quantity);
        rows.filter(|row: &&Row| row.group.site.as_deref() == Some(site))
    };
    let share = |value: Option<f64>| Amount::plain(value, Unit::Share).short("");
    let mut doubts = Vec::new();
    for row in of(Quantity::TooGood).filter(|row| row.own.named == Some(true)) {
        doubts.push(format!(
            "Passes too much: {} of first looks pass where {} were to be expected, and {} linked faults follow where both \
             ends were seen, {} expected.",
            share(row.own.share),
            share(row.own.expected_share),
            whole(row.own.faults.map(|faults| faults as f64)),
            whole(row.own.expected_faults),
        ));
    }
    for row in of(Quantity::NamesApart) {
        doubts.push(format!(
            "Names in {} of its matings stand apart from those of looks: those are left out.",
            share(row.estimate)
        ));
    }
    for row in of(Quantity::MonthsFollowed).filter(|row| !row.flags.is_empty()) {
        doubts.push(format!(
            "Its records, with its faults known, cover {} of 12 months.",
            whole(row.estimate)
        ));
    }
    doubts.extend(silent(review, site));
    let unknown = review.coverage.rows_of(coverage::By::Site, coverage::Quantity::Unknown);
    let unknown = unknown.filter(|row| row.leading().group.site.as_deref() == Some(site));
    for row in unknown.filter(|row| row.estimate.is_some_and(|share| share > MUCH_UNKNOWN)) {
        doubts.push(format!(
            "Of {} of its matings it is not known whether the ends were seen.",
            share(row.estimate)
        ));
    }
    doubts
}

/// Months in which the site looked at nothing.
fn silent(review: &Review, site: &str) -> Option<String> {
    let rows = review.coverage.quantity(coverage::Quantity::SilentMonth);
    let months: Vec<&str> = rows
        .filter(|row| row.group.site.as_deref() == Some(site))
        .filter_map(|row| row.group.time.as_deref())
        .collect();
    (!months.is_empty()).then(|| {
        format!("No look recorded in {}, though it cleaned or mated then.", months.join(", "))
    })
}
