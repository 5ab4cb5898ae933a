//! "Do first" on the front page: the rows of the worklist that save most.

use super::number::Amount;
use crate::measures::Review;
use crate::measures::worklist::{List, Row};

/// A line of "Do first".
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Advice {
    /// Which end face or connection, and where.
    pub place: String,
    /// Its site, where it is known.
    pub site: Option<String>,
    /// What to do with it.
    pub what: String,
    /// Why.
    pub reason: String,
    /// What that is expected to save: "210 EUR (90 to 400) a month".
    pub saving: String,
    /// What, why and the saving in sentences.
    pub words: String,
}

/// Rows of the worklist on the front page.
const MOST_FIRST: usize = 6;

/// The rows of all lists that are ranked and expected to save something, the largest saving first.
pub(in crate::report) fn do_first(review: &Review) -> Vec<Advice> {
    let saving = |row: &Row| row.estimate.filter(|saving| *saving > 0.0);
    let listed = List::ALL.iter().flat_map(|list| review.worklist.listed(*list));
    let mut rows: Vec<(f64, &Row)> = listed
        .filter(|row| row.is_firm() && row.own.rank.is_some())
        .filter_map(|row| Some((saving(row)?, row)))
        .collect();
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    rows.truncate(MOST_FIRST);
    rows.into_iter().map(|(_, row)| advice(review, row)).collect()
}

fn advice(review: &Review, row: &Row) -> Advice {
    let span = match row.own.list {
        List::Carrier => " a month".to_owned(),
        List::UnseenMating => match row.own.remaining_days {
            Some(1) => " on the day that is left to the horizon".to_owned(),
            Some(days) => format!(" in the {days} days to the horizon"),
            None => String::new(),
        },
        List::LeftFailing => {
            format!(" within {} days of being mated as it is", review.horizon_days)
        }
    };
    let sure = match row.low {
        Some(low) if low > 0.0 => "",
        _ => "; the interval reaches zero, so it may save nothing",
    };
    let what = row.own.what_to_do.clone().unwrap_or_default();
    let reason = row.own.reason.clone().unwrap_or_default();
    let saving = format!("{}{span}{sure}", Amount::of(row).full(&review.currency));
    Advice {
        place: place(row),
        site: row.group.site.clone(),
        words: format!("{what}. Reason: {reason}. Expected saving {saving}."),
        what,
        reason,
        saving,
    }
}

/// "A with B, Tal": the end face, its partner where there is one, the site.
pub(in crate::report) fn place(row: &Row) -> String {
    match row.group.site.as_deref() {
        Some(site) => format!("{}, {site}", face(row)),
        None => face(row),
    }
}

/// "A with B": the end face, and its partner where there is one.
pub(in crate::report) fn face(row: &Row) -> String {
    match (&row.own.end_face, &row.own.partner) {
        (None, None) => "an end face without a name".to_owned(),
        (Some(face), None) | (None, Some(face)) => face.clone(),
        (Some(face), Some(partner)) => format!("{face} with {partner}"),
    }
}
