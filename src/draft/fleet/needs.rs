//! Which questions the exports can answer, and which one would open most.

use crate::records::Table;
use crate::settings::{Costs, Plan};

/// How far a question can be answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Something without which there is no answer is missing.
    No,
    /// There is an answer, but not all of it.
    Partly,
    /// Nothing is missing.
    Yes,
}

impl Standing {
    /// As printed.
    pub fn word(self) -> &'static str {
        match self {
            Standing::No => "no",
            Standing::Partly => "partly",
            Standing::Yes => "yes",
        }
    }
}

/// A question of the review.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// In short.
    pub question: &'static str,
    /// How far it can be answered.
    pub standing: Standing,
    /// What is missing without which there is no answer.
    pub lacks: Vec<&'static str>,
    /// What is missing for the rest of it.
    pub would_add: Vec<&'static str>,
}

/// Something that exports or settings may hold.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Thing {
    Looks,
    Cleanings,
    Matings,
    Faults,
    /// Canonical columns, each of which does.
    Column(Table, &'static [&'static str]),
    Prices,
    Proposals,
    Actions,
    /// Names of end faces that sources write alike.
    Names,
}

use Thing::{Actions, Cleanings, Column, Faults, Looks, Matings, Names, Prices, Proposals};

const BOTH_ENDS_A: Thing = Column(Table::Matings, &["end_face_a"]);
const BOTH_ENDS_B: Thing = Column(Table::Matings, &["end_face_b"]);
const CAUSE: Thing = Column(Table::Faults, &["cause", "remedy"]);
const COST: Thing = Column(Table::Faults, &["cost", "downtime_min", "labour_min", "visits"]);
const CAPS: Thing = Column(Table::Inspections, &["capped"]);
const FINDINGS: Thing = Column(Table::Inspections, &["finding"]);
const LEADS: Thing = Column(Table::Inspections, &["work_order"]);
const TOOLS: Thing = Column(Table::Cleanings, &["tool"]);

/// Every question with what it cannot do without, and what would add to it.
const QUESTIONS: [(&str, &[Thing], &[Thing]); 13] = [
    ("how clean end faces arrive", &[Looks], &[FINDINGS, CAPS]),
    ("how many cleaning cycles until they pass", &[Looks, Cleanings], &[FINDINGS]),
    (
        "which matings were made with both ends seen",
        &[Looks, Matings],
        &[Names, BOTH_ENDS_A, BOTH_ENDS_B],
    ),
    ("how often contamination-linked faults occur", &[Matings, Faults, CAUSE], &[Names, COST]),
    (
        "what skipped looks cost, and where most",
        &[Looks, Matings, Faults, CAUSE, COST],
        &[Names, Prices],
    ),
    ("between which stages dirt enters", &[Looks], &[Names, Matings, Cleanings, FINDINGS, CAPS]),
    ("what carries dirt from one end face to the next", &[Looks, LEADS], &[TOOLS, Matings]),
    ("what has changed since last quarter", &[Looks], &[Matings, Faults]),
    ("what somebody should look at first", &[Looks], &[Matings, Faults, COST]),
    (
        "whether a purchase pays for itself",
        &[Looks, Matings, Faults, COST, Prices, Proposals],
        &[Cleanings],
    ),
    ("whether the records can be trusted", &[Looks], &[Matings, Faults, LEADS]),
    ("whether what was done has worked", &[Looks, Actions], &[Matings, Faults, COST, Prices]),
    (
        "where to look with the minutes there are",
        &[Looks, Matings, Faults, CAUSE, COST],
        &[Names, Prices],
    ),
];

impl Thing {
    fn name(self) -> &'static str {
        match self {
            Looks => "an export of looks",
            Cleanings => "an export of cleanings",
            Matings => "an export of matings",
            Faults => "an export of faults",
            Prices => "prices under [costs]",
            Proposals => "a [[proposal]] with its price",
            Actions => "an [[action]] with its start",
            Names => "names of end faces written alike (motetrail spellings says how)",
            BOTH_ENDS_A | BOTH_ENDS_B => "the column of the other end of matings",
            CAUSE => "the column of the cause of faults",
            COST => "a column of what faults cost: amount, downtime, labour or trips",
            CAPS => "the column of dust caps",
            FINDINGS => "the column of findings: contamination or defect",
            LEADS => "the column of work orders of looks",
            TOOLS => "the column of cleaning tools",
            Column(..) => "a column",
        }
    }

    fn is_there(self, plan: &Plan) -> bool {
        let has_table = |table: Table| {
            plan.sources.iter().flat_map(|source| &source.records).any(|one| one.table == table)
        };
        match self {
            Looks => has_table(Table::Inspections),
            Cleanings => has_table(Table::Cleanings),
            Matings => has_table(Table::Matings),
            Faults => has_table(Table::Faults),
            Prices => plan.costs != Costs::default(),
            Proposals => !plan.proposals.is_empty(),
            Actions => !plan.actions.is_empty(),
            Names => true,
            FINDINGS if plan.sources.iter().any(|source| source.finding_default.is_some()) => true,
            Column(table, names) => {
                let mut records = plan.sources.iter().flat_map(|source| &source.records);
                records.any(|record| {
                    record.table == table
                        && names.iter().any(|name| {
                            record.columns.contains_key(*name)
                                || record.constants.contains_key(*name)
                        })
                })
            }
        }
    }

    /// A column of a table that is missing altogether is no news.
    fn is_news(self, plan: &Plan) -> bool {
        match self {
            Column(Table::Inspections, _) => Looks.is_there(plan),
            Column(Table::Cleanings, _) => Cleanings.is_there(plan),
            Column(Table::Matings, _) => Matings.is_there(plan),
            Column(Table::Faults, _) => Faults.is_there(plan),
            _ => true,
        }
    }
}

/// Every question with what is missing for it, and what would open or add to most of them, if anything is missing.
/// `apart`: whether sources were found to name end faces so differently that looks and matings do not meet.
pub fn needs(plan: &Plan, apart: bool) -> (Vec<Need>, Option<&'static str>) {
    let is_there = |thing: &Thing| match thing {
        Names => !apart,
        thing => thing.is_there(plan),
    };
    let missing = |things: &[Thing]| -> Vec<&'static str> {
        let missing = things.iter().filter(|thing| !is_there(thing) && thing.is_news(plan));
        let mut names: Vec<&'static str> = missing.map(|thing| thing.name()).collect();
        names.dedup();
        names
    };
    let needs: Vec<Need> = QUESTIONS
        .iter()
        .map(|(question, needed, adds)| {
            let (lacks, would_add) = (missing(needed), missing(adds));
            let standing = match (lacks.is_empty(), would_add.is_empty()) {
                (false, _) => Standing::No,
                (true, false) => Standing::Partly,
                (true, true) => Standing::Yes,
            };
            Need { question, standing, lacks, would_add }
        })
        .collect();
    let mut worth: Vec<(&'static str, usize)> = Vec::new();
    for need in &needs {
        // What alone is lacking opens the question; what is one of several brings it nearer.
        let weigh = |names: &[&'static str], weight: usize| {
            names.iter().map(|name| (*name, weight)).collect::<Vec<_>>()
        };
        let open = if need.lacks.len() == 1 { 4 } else { 2 };
        for (name, weight) in weigh(&need.lacks, open).into_iter().chain(weigh(&need.would_add, 1))
        {
            match worth.iter_mut().find(|(known, _)| *known == name) {
                Some((_, sum)) => *sum += weight,
                None => worth.push((name, weight)),
            }
        }
    }
    // Of equals the first of the questions' order.
    let most = worth.iter().rev().max_by_key(|(_, sum)| *sum).map(|(name, _)| *name);
    (needs, most)
}
