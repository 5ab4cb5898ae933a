//! Q10: whether these records can be trusted.
//!
//! One file a topic, named as in `measures/trust`, each with a function that gives its tables and sentences. To add one:
//! a file and a line in `PARTS`.

mod agreement;
mod assumption;
mod attachment;
mod escapes;
mod late;
mod left_open;
mod meeting;
mod months;
mod part;
mod prices;
mod recording;
mod register;
mod rejected;
mod too_good;

use super::intake::made_without;
use crate::measures::Review;
use crate::measures::trust::NAME;
use crate::report::page::section::Section;
use crate::report::words::flags::explained;
use crate::report::words::open::sentence as open_question;
pub(in crate::report) use part::Doubt;
use part::Part;

/// How it is counted.
const METHOD: &str = "Counted over the records that stand; what is estimated carries the interval named in its heading. \
    Agreement: two readable looks in a row at one end face by different people or instruments, at most 15 minutes \
    apart, no cleaning, mating or demating between, each look in one pair, over the months looked back; kappa of Fleiss \
    (1971), linearised error over pairs (Gwet 2008), and of Cohen (1960), error of Fleiss, Cohen and Everitt (1969). \
    Escapes: first linked faults in the first 30 days after matings whose two ends were looked at and passed, sum over \
    spans of time since mating of width times faults over time at risk, interval of Fay and Feuer (1997), widened for the \
    scatter over sites and quarters. Sites that pass too much: the share of routine first looks that pass, against the \
    fleet's at the site's mix, in a prediction from the other sites (Higgins, Thompson and Spiegelhalter 2009); linked \
    faults after matings with both ends seen likewise (negative binomial of the others' spread, or binomial, whichever is \
    less surprised); the larger of both chances (Berger 1982), the false discovery rate of Benjamini and Hochberg (1995) \
    over the sites. Months: from a site's first record on, months without any row left out. A check of recording compares \
    shares inside a site, stage and family, with errors that respect site-months or sites, whichever say less, and speaks \
    where chance makes as much in one of 200 clean fleets (it cannot prove its fault, nor clear records whose fault is \
    alike everywhere). What the headline would be under a stated fault is algebra on the counts (Lash, Fox and Fink 2009): \
    passing looks are left out alike whatever follows; what skipping a look adds to the rate is in proportion to the dirt \
    that was left; tickets are lost alike.";

/// Every topic, in the order of its tables on the page.
const PARTS: &[fn(&Review) -> Part] = &[
    rejected::part,
    too_good::part,
    meeting::part,
    months::part,
    attachment::part,
    late::part,
    agreement::part,
    escapes::part,
    left_open::part,
    register::part,
    prices::part,
    recording::part,
    assumption::part,
];

pub(in crate::report) fn section(review: &Review) -> Section {
    let tables = PARTS.iter().map(|part| part(review).tables);
    let tables: Vec<_> = tables.collect();
    let doubts = doubts(review);
    let mut sentences: Vec<String> = made_without(review).into_iter().collect();
    sentences.extend(review.open_questions.iter().map(open_question));
    sentences.extend(doubts.into_iter().map(|doubt| doubt.sentence));
    sentences.extend(explained(&review.trust.rows));
    Section {
        id: NAME,
        question: "Can these records be trusted?",
        finding: attachment::finding(&review.trust),
        pictures: Vec::new(),
        tables: tables.into_iter().flatten().collect(),
        method: METHOD.to_owned(),
        doubts: sentences,
    }
}

/// Every doubt, the worst first; of equals the one whose topic comes first.
///
/// The weight of a doubt is the share that it could take away, from 0 to 1: of a table's rows what was refused (cells left
/// out count half), of a headline what another rule moves it by (half, where that stays inside its interval), 1 where a
/// question has no answer.
pub(in crate::report) fn doubts(review: &Review) -> Vec<Doubt> {
    let mut doubts: Vec<Doubt> = PARTS.iter().flat_map(|part| part(review).doubts).collect();
    doubts.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    doubts
}
