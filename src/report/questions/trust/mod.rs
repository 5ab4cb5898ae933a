//! Q10: whether these records can be trusted.
//!
//! One file a topic, named as in `measures/trust`, each with a function that gives its tables and sentences. To add one:
//! a file and a line in `PARTS`.

mod attachment;
mod left_open;
mod meeting;
mod part;
mod prices;

use super::intake::made_without;
use crate::measures::Review;
use crate::measures::trust::NAME;
use crate::report::page::section::Section;
use crate::report::words::flags::explained;
use part::Part;

/// Every topic, in the order of its tables on the page.
const PARTS: &[fn(&Review) -> Part] =
    &[attachment::part, meeting::part, left_open::part, prices::part];

pub(in crate::report) fn section(review: &Review) -> Section {
    let parts: Vec<Part> = PARTS.iter().map(|part| part(review)).collect();
    let (tables, doubts): (Vec<_>, Vec<_>) =
        parts.into_iter().map(|part| (part.tables, part.doubts)).unzip();
    let mut doubts: Vec<_> = doubts.into_iter().flatten().collect();
    doubts.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    let mut sentences: Vec<String> = made_without(review).into_iter().collect();
    sentences.extend(doubts.into_iter().map(|doubt| doubt.sentence));
    sentences.extend(explained(&review.trust.rows));
    Section {
        id: NAME,
        question: "Can these records be trusted?",
        finding: attachment::finding(&review.trust),
        pictures: Vec::new(),
        tables: tables.into_iter().flatten().collect(),
        method: "Counted over the records that stand. Nothing here is estimated, except that shares of looks carry \
                 the interval named in their heading."
            .to_owned(),
        doubts: sentences,
    }
}
