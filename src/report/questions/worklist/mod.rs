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
pub(in crate::report) use tables::when;

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.worklist;
    Section {
        id: NAME,
        question: "What should somebody look at first?",
        finding: finding(review, table),
        pictures: Vec::new(),
        tables: worklist_tables::tables(review),
        method: method(review),
        doubts: doubts(table),
    }
}

fn method(review: &Review) -> String {
    let (days, back) = (review.horizon_days, looked_back(review));
    format!(
        "Left failing: the last event of the end face up to the period's end is a failing look, in a visit that ended so; \
         cleaned, looked at or mated since, disposed of (reject, repolish, replace) or out of service, it is not listed; a \
         recessed lens only if a fault names it. Past the limit of cycles (what the stopping rule advises, else five, the longer end of the common practice of three to five) it is to be repolished or replaced. Saving: what \
         mating it as it is would cost within {days} days more than with both ends seen, at the stage where it is mated next and for \
         that part that no look before stops (of the ends mated there, those not looked at after the stage where this one \
         was left, times those not seen when they were mated), less the price of the work; of a defect none is told, since faults of dirt say nothing of it; where even the fleet has too few matings despite a failing look to rank by, the rates of \
         those with one end unseen, since an end known to fail is taken to be no safer than one that only may. \
         Carriers: end faces listed above that touched others since they were last cleaned and were not found clean \
         since; saving of the first month: their dirty partners above the others' shares (drawn towards 1) times what a dirty \
         arrival costs, less the price of the work. Connections: in force at the period's end, younger than {days} days, made with an end unseen or despite a \
         failing look, without a linked fault so far, no end worked on since; saving: hazard from their age to day {days} \
         times 1 - 1/ratio times the mean cost of a linked fault, less the price of the looks. Worth doing now is what is worth its \
         trip ([costs] visit; none where there is no light yet) and, of a connection in force, the interruption of its service \
         ([costs] interruption), too: those are then in the price. The rest waits until somebody is there anyhow. What is worth \
         less than its work is not listed. Hazard (Nelson-Aalen by band), ratio and cost are those of skipped \
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
    let now = table.overall();
    match now.first().copied().or(best) {
        Some(row) if !now.is_empty() => format!(
            "{counts}; {} doing now, most at {}: {} after the price of the work.",
            counted(now.len() as f64, "row is worth", "rows are worth"),
            place(row),
            Amount::of(row).full(&review.currency)
        ),
        Some(row) => format!(
            "{counts}; none is worth going there for alone, most is saved when somebody is there anyhow at {}: {}.",
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
        "What opening a connection may bring in is not in the savings; one trip may serve several rows of a site.".to_owned(),
    ];
    let opened = || table.listed(List::UnseenMating).filter(|row| row.own.rank.is_some());
    if opened().any(|row| row.own.interruption.is_none()) {
        doubts.push(
            "What interrupting a service costs is not known, so nobody is advised to open a connection in service for a look \
             alone: state it as [costs] interruption."
                .to_owned(),
        );
    }
    doubts.extend(explained(table.quantity(Quantity::ExpectedSaving)));
    doubts
}
