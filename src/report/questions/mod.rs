//! One file a question: the finding in a sentence, its pictures, tables, method and doubts.

mod actions;
mod carriers;
mod changes;
mod comparing;
mod coverage;
mod cycles;
mod entry;
mod fault_rates;
mod first_pass;
pub(in crate::report) mod intake;
mod looks_plan;
pub(in crate::report) mod payback;
pub(in crate::report) mod skipped_cost;
pub(in crate::report) mod trust;
pub(in crate::report) mod worklist;

use crate::report::Inputs;
use crate::report::page::section::Section;
use crate::report::words::unanswered::reason;
pub(in crate::report) use comparing::{NO_RECORDS, Side, apart, beyond, firm};

/// Every question, in the order of the page.
pub(in crate::report) fn sections(inputs: &Inputs) -> Vec<Section> {
    let review = inputs.review;
    let mut sections = vec![
        first_pass::section(review),
        cycles::section(review),
        coverage::section(review),
        fault_rates::section(review),
        skipped_cost::section(review),
        entry::section(review),
        carriers::section(review),
        payback::section(review),
        actions::section(review),
        changes::section(review),
        looks_plan::section(review),
        worklist::section(review),
        trust::section(review),
        intake::section(review, inputs.accounts),
    ];
    for section in &mut sections {
        if let Some(reason) = reason(review, section.id) {
            section.finding = format!("No answer: {reason}.");
        }
    }
    sections
}
