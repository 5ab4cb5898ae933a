//! Q8: would a purchase pay for itself?

mod picture;
mod tables;

use crate::measures::Review;
use crate::measures::payback::NAME;
use crate::report::page::section::Section;
use crate::report::words::flags::explained;
use crate::report::words::number::level;
use crate::report::words::purchase::{answer, purchases};
use picture::{cash_fans, purchase_ladder, purchase_tornado};
use tables as payback_tables;

pub(in crate::report) fn section(review: &Review) -> Section {
    let all = purchases(review);
    let question = "Would a purchase pay for itself?";
    if all.is_empty() {
        return Section {
            id: NAME,
            question,
            finding: format!("{}.", answer(review)),
            pictures: Vec::new(),
            tables: Vec::new(),
            method: "A [[proposal]] has a name, price, units, life_months and one or more [[proposal.effect]], such as \
                     kind = \"coverage\" with coverage = 0.95 and stages = [\"installation\"]; [budget] amount is what \
                     may be spent, [costs] discount_rate what later money is worth less a year."
                .to_owned(),
            doubts: Vec::new(),
        };
    }
    let pictures = [cash_fans(review), purchase_tornado(review), purchase_ladder(review)];
    let mut doubts: Vec<String> = all
        .iter()
        .filter(|purchase| purchase.worth.own.reason.is_some())
        .map(|purchase| purchase.sentence(review))
        .collect();
    doubts.push(
        "The savings rest on associations: that a look, a tool or a cap brings the difference seen between matings with \
         and without is the assumption of every case here. Low, likely and high are the proposer's own."
            .to_owned(),
    );
    doubts.push(
        "Counts of matings, looks and cleanings are taken to stay as they were over the whole life, and the times of \
         looks and cleanings as the settings state them. Faults later than the follow-up, what a look \
         before a mating spares later stages, and end faces left failing are left out."
            .to_owned(),
    );
    doubts.extend(explained(&review.payback.rows));
    Section {
        id: NAME,
        question,
        finding: format!("{}.", answer(review)),
        pictures: pictures.into_iter().flatten().collect(),
        tables: payback_tables::tables(review, &all),
        method: method(review),
        doubts,
    }
}

fn method(review: &Review) -> String {
    format!(
        "A proposal keeps a share of what flows through each site and stage in a year: faults associated with skipped \
         looks (rate ratio of skipped cost, its own resamples), cleanings with their material and the looks after them, \
         rejects; added looks are paid for. Better odds of passing a cycle shorten the observed cycles (discrete-time \
         hazards, left ends in their old proportions). What is unsure is drawn with a fixed seed: the ratio and costs \
         from the resampled weeks of sites (longer blocks where luck lasts longer), and by the same resamples how visits left, \
         cycle by cycle, how many of them ended in a reject, and the odds of methods; what is stated as low, likely and high from the \
         triangular distribution between them (Johnson 1997); a number shared by two proposals is drawn once for both. \
         Savings flow at the end of each month, discounted by the month (rate of the year, compounded); payback is \
         counted to the day on which the discounted sum stays above zero, straight within a month; a case that never \
         pays back counts as later than any. Estimates are means, months medians, with percentiles at {}. What a set is \
         worth is what the same purchase written as one is, over the months in which its members work: a target that two \
         state is reached once, and so is what works by the same means (`means`, or the same stated of the same \
         places); odds and hazards of different means are multiplied, other shares kept out of what is left. The year of \
         a unit is shared among the effects of its proposal. Every set that `excludes` and `needs` allow is tried at \
         means, the best ones are then drawn; what each thousand more buys is given between sets of which the dearer holds \
         the other. The \
         interval of a chance holds only the number of draws.",
        level(review.level)
    )
}
