//! Which rows of a question may be named: the firm, and those that surely lie apart from the fleet.

use crate::measures::{AnyRow, Leading, Review};
use crate::report::words::label::{label, part};

/// What a finding says where there is nothing to say it from.
pub(in crate::report) const NO_RECORDS: &str = "No records to answer this from.";

/// The row of the fleet, if it may headline.
pub(in crate::report) fn firm<R: AnyRow>(mut rows: impl Iterator<Item = R>) -> Option<R> {
    rows.find(|row| row.is_firm() && row.leading().estimate.is_some())
}

/// Which side of the fleet's value is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Side {
    Below,
    Above,
}

/// What lies surely beyond the fleet's value, as a clause: "lowest at X: ...", or, where no row is surely beyond every other,
/// the group: "below the fleet at installation in every family: 62 % to 77 %", "surely below the fleet: X, Y". None where
/// no firm row's whole interval lies on that side.
///
/// A superlative is for a row whose whole interval lies beyond those of all other firm rows. `said` gives a row's number.
pub(in crate::report) fn beyond<R: AnyRow + Copy>(
    rows: &[R],
    fleet: f64,
    side: Side,
    said: impl Fn(&R) -> String,
) -> Option<String> {
    // The end towards the fleet and the one away from it, both growing away from the fleet.
    let ends = |row: &R| -> Option<(f64, f64)> {
        let Leading { low, high, .. } = row.leading();
        match side {
            Side::Below => Some((-high?, -low?)),
            Side::Above => Some((low?, high?)),
        }
    };
    let limit = if side == Side::Below { -fleet } else { fleet };
    let firm: Vec<(&R, (f64, f64))> =
        rows.iter().filter(|row| row.is_firm()).filter_map(|row| Some((row, ends(row)?))).collect();
    let mut out: Vec<(&R, (f64, f64))> =
        firm.iter().copied().filter(|(_, (near, _))| *near > limit).collect();
    out.sort_by(|a, b| b.1.0.total_cmp(&a.1.0));
    let (first, (near, _)) = out.first().copied()?;
    let (most, word) = match side {
        Side::Below => ("lowest", "below"),
        Side::Above => ("highest", "above"),
    };
    let others = firm.iter().filter(|(row, _)| !std::ptr::eq(*row, first));
    if others.clone().count() > 0 && others.into_iter().all(|(_, (_, far))| *far < near) {
        return Some(format!("{most} at {}: {}", label(first), said(first)));
    }
    if let Some(stage) = whole_stage(&firm, &out) {
        let values: Vec<(&R, f64)> = out
            .iter()
            .filter(|(row, _)| part(*row, "stage") == Some(stage))
            .filter_map(|(row, _)| Some((*row, row.leading().estimate?)))
            .collect();
        let least = values.iter().min_by(|a, b| a.1.total_cmp(&b.1))?.0;
        let largest = values.iter().max_by(|a, b| a.1.total_cmp(&b.1))?.0;
        return Some(format!(
            "{word} the fleet at {stage} in every family: from {} to {}",
            said(least),
            said(largest)
        ));
    }
    let named: Vec<String> = out
        .iter()
        .take(MOST_BEYOND)
        .map(|(row, _)| format!("{} {}", label(*row), said(row)))
        .collect();
    let more = match out.len().saturating_sub(MOST_BEYOND) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    Some(format!("surely {word} the fleet: {}{more}", named.join(", ")))
}

/// Rows named of those beyond the fleet.
const MOST_BEYOND: usize = 3;

/// The stage of the first row beyond, if that row is grouped by family too, and every firm row of the stage, two or more,
/// lies beyond.
fn whole_stage<'r, R: AnyRow + Copy>(
    firm: &[(&'r R, (f64, f64))],
    out: &[(&'r R, (f64, f64))],
) -> Option<&'r str> {
    let first = out.first()?.0;
    part(first, "family").filter(|_| first.leading().by.contains("family"))?;
    let stage = part(first, "stage")?;
    let of = |rows: &[(&R, (f64, f64))]| {
        rows.iter().filter(|(row, _)| part(*row, "stage") == Some(stage)).count()
    };
    (of(out) > 1 && of(out) == of(firm)).then_some(stage)
}

/// How many intervals leave out the fleet's value, against what chance alone would do.
pub(in crate::report) fn apart(
    review: &Review,
    rows: &[impl AnyRow],
    value: f64,
    what: &str,
    fleet: &str,
) -> String {
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
        return format!("None of {all} {what} can be shown to differ from {fleet}");
    }
    let chance = crate::charts::number::fixed(by_chance, 1);
    let leave = if out == 1 { "its interval leaves" } else { "their intervals leave" };
    format!(
        "{out} of {all} {what}: {leave} out {fleet}; chance alone would do that to about {chance}"
    )
}
