//! Q10: whether these records can be trusted.
//!
//! One file a topic, named as in `measures/trust`, each with a function that gives its tables and sentences. To add one:
//! a file and a line in `PARTS`.

mod attachment;
mod left_open;
mod part;
mod prices;
mod recording;

use super::intake::made_without;
use crate::measures::Review;
use crate::measures::trust::NAME;
use crate::report::page::section::Section;
use crate::report::words::flags::explained;
use part::Part;

/// Every topic, in the order of its tables on the page.
const PARTS: &[fn(&Review) -> Part] =
    &[attachment::part, left_open::part, prices::part, recording::part];

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
        method: "Counted over the records that stand; shares and differences carry the interval named in their heading. \
                 A check of recording compares shares inside a site, stage and family, with errors that respect site-months or \
                 sites, whichever say less, and speaks where chance makes as much in one of 200 clean fleets (it cannot \
                 prove its fault, nor clear records whose fault is alike everywhere). What the headline would be under a \
                 stated fault is algebra on the counts (Lash, Fox & Fink 2009): passing looks are left out alike whatever \
                 follows; what skipping a look adds to the rate is in proportion to the dirt that was left; tickets are lost \
                 alike."
            .to_owned(),
        doubts: sentences,
    }
}
