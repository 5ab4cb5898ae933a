//! "Do first" on the first page: the top of each list of the worklist, with what it saves.

use super::number::Amount;
use crate::measures::Review;
use crate::measures::worklist::{List, Row};

/// A line of "Do first".
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Advice {
    /// Which end face or connection, and where.
    pub place: String,
    /// What to do with it, why, and what that is expected to save.
    pub words: String,
}

/// The first row of each list that is ranked and expected to save something.
pub(in crate::report) fn do_first(review: &Review) -> Vec<Advice> {
    let first = |list: &List| {
        review.worklist.listed(*list).find(|row| {
            let saves = row.estimate.is_some_and(|saving| saving > 0.0);
            row.is_firm() && row.own.rank.is_some() && saves
        })
    };
    List::ALL.iter().filter_map(first).map(|row| advice(review, row)).collect()
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
    Advice {
        place: place(row),
        words: format!(
            "{}. Reason: {}. Expected saving {}{span}{sure}.",
            row.own.what_to_do.as_deref().unwrap_or_default(),
            row.own.reason.as_deref().unwrap_or_default(),
            Amount::of(row).full(&review.currency),
        ),
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
