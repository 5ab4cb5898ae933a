//! Q11: what somebody should look at first.

mod tables;

use super::NO_RECORDS;
use crate::measures::Review;
use crate::measures::worklist::{By, List, NAME, Quantity, Row, Table};
use crate::report::page::section::{Section, counted};
use crate::report::words::do_first::place;
use crate::report::words::flags::explained;
use crate::report::words::months::looked_back;
use crate::report::words::number::Amount;
use tables as worklist_tables;

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.worklist;
    Section {
        id: NAME,
        question: "What should somebody look at first?",
        finding: finding(review, table),
        pictures: Vec::new(),
        tables: List::ALL.iter().map(|list| worklist_tables::table(review, *list)).collect(),
        method: method(review),
        doubts: doubts(table),
    }
}

fn method(review: &Review) -> String {
    let (days, back) = (review.horizon_days, looked_back(review));
    format!(
        "Left failing: the last event of the end face up to the period's end is a failing look, in a visit that ended so; \
         cleaned, looked at or mated since, disposed of (reject, repolish, replace) or out of service, it is not listed; a \
         recessed lens only if a fault names it. Past the limit of cycles (these records' own where the stopping rule gives \
         one, else five, the longer end of the common practice of three to five) it is to be repolished or replaced. Saving: what \
         mating it as it is would cost within {days} days more than with both ends seen, less the price of the work; where even the fleet has too few matings despite a failing look to rank by, the rates of \
         those with one end unseen, since an end known to fail is taken to be no safer than one that only may. \
         Carriers: end faces listed above that touched others since they were last cleaned and were not found clean \
         since; saving a month: their dirty partners above the others' shares (drawn towards 1) times what a dirty \
         arrival costs. Connections: in force at the period's end, younger than {days} days, made with an end unseen or despite a \
         failing look, without a linked fault so far, no end worked on since; saving: hazard from their age to day {days} \
         times 1 - 1/ratio times the mean cost of a linked fault, the price of looking not taken off, since it decides \
         whether to open the connection for that alone. Hazard (Nelson-Aalen by band), ratio and cost are those of skipped \
         cost over {back}, of the finest of stage and family, family, stage, fleet that is not flagged; the table says which. \
         Intervals are the outermost that the limits of hazard and ratio give together. Order: whole interval above zero \
         first, then by saving; flagged rows last and without a rank."
    )
}

/// How many candidates a list has.
fn candidates(table: &Table, list: List) -> f64 {
    let mut rows = table.rows_of(By::List, Quantity::Candidates);
    rows.find(|row| row.own.list == list).and_then(|row| row.estimate).unwrap_or(0.0)
}

fn finding(review: &Review, table: &Table) -> String {
    if table.rows.is_empty() {
        return NO_RECORDS.to_owned();
    }
    let all = |list| candidates(table, list);
    let counts = format!(
        "{}, {} since, {} without both ends seen",
        counted(all(List::LeftFailing), "end face was left failing", "end faces were left failing"),
        counted(
            all(List::Carrier),
            "listed carrier was not cleaned",
            "listed carriers were not cleaned"
        ),
        counted(
            all(List::UnseenMating),
            "connection in force was made",
            "connections in force were made"
        ),
    );
    let first = |list: &List| {
        let row = table.listed(*list).find(|row| row.own.rank == Some(1));
        row.filter(|row| row.estimate.is_some_and(|saving| saving > 0.0))
    };
    let saving = |row: &Row| row.estimate.unwrap_or(0.0);
    let firsts = List::ALL.iter().filter_map(first);
    let best = firsts.max_by(|a, b| saving(a).total_cmp(&saving(b)));
    match best {
        Some(row) => format!(
            "{counts}; most is expected to be saved at {}: {}.",
            place(row),
            Amount::of(row).full(&review.currency)
        ),
        None => format!("{counts}; for none can a saving be told that may be ranked."),
    }
}

fn doubts(table: &Table) -> Vec<String> {
    let mut doubts = vec![
        "Savings are expectations over many end faces like the one listed, from what skipped looks are associated with; \
         of most single ones nothing will be heard."
            .to_owned(),
        "The list knows what the records know: work that nobody recorded, or recorded after the period, may have been done."
            .to_owned(),
        "What an opened connection costs its services, and what opening may bring in, is not in the savings.".to_owned(),
    ];
    doubts.extend(explained(table.quantity(Quantity::ExpectedSaving)));
    doubts
}
