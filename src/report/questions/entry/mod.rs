//! Q6: between which lifecycle stages dirt enters.

mod picture;
mod tables;

use super::{NO_RECORDS, firm};
use crate::measures::entry::{By, NAME, Quantity, Reason, Row, Step, Table, bracket};
use crate::measures::{Review, Unit};
use crate::report::page::section::Section;
use crate::report::words::flags::explained;
use crate::report::words::months::looked_back;
use crate::report::words::number::{Amount, count_or_dash, probability, whole};
use picture::lifecycle;
use tables::{by_cap, by_family, how_often, passages, rates, same_steps, savings, steps, steps_of};

/// How it is counted.
const METHOD: &str = "Passages: two visits of one end face in a row, the earlier ending with a passing look, the later \
    beginning with a look that passes or fails for contamination; not those that a fault prompted. A passage stays clean \
    with the chance exp(-sum of the hazards of the steps it passes), so a skipped stage widens intervals and loses no row; \
    maximum likelihood with hazards of at least 0, the estimate of Turnbull (1976) where all passages begin at the first \
    stage (Ayer et al. 1955); profile-likelihood limits (Venzon and Moolgavkar 1988), the allowed deviance multiplied by \
    the design effect of site-weeks (Royall and Tsou 2003; Liang and Zeger 1986), or of blocks of four weeks or a quarter of a \
    site where its luck lasts longer than a week, as for fault rates. Steps that are always passed together \
    stand as their sum; a step that no passage parts from its neighbours has limits and no value. Share of all dirt: dirty \
    passages times the chance that dirt entered first at the step, given that it did; 1,000 resamples of these site-weeks or blocks (of 20 of them, some 93 in a \
    hundred of these intervals hold; of 60, the level). \
    Less false alarms: the same fit with -ln(1-f) added to every passage, f being the share of looks that failed within an \
    hour after a passing one with nothing between; f also holds dirt that the first look missed, so the two fits bracket \
    the truth: the chance that is headlined is the middle of both within the outermost of their limits. How well f itself is known, \
    with quarters of a site as clusters, widens the limits of that fit (Zou and Donner 2008). Dust cap: one factor on all hazards by profile likelihood, and the likelihood ratio of separate fits, over \
    the scatter between these. Per mating and per month: two more hazards in the same model, their test halved at the \
    boundary (Self and Liang 1987). Saving of a point: passages times one percentage point (or all that enters, where that \
    is less), times the chance that nothing else enters on the way, times the cost of a dirty arrival: where it is looked \
    at, the cleanings, looks and rejects that contaminated first looks of that stage had; for the ends that nobody looks \
    at, the stage's cost of faults after skipped looks per unseen end, the share of it that is associated with skipping, \
    over the share of first looks that are contaminated.";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.entry;
    let Finding { claim, chances } = finding(review, table);
    Section {
        id: NAME,
        question: "Between which lifecycle stages does dirt enter?",
        finding: format!("{claim}{chances}."),
        // The picture says the chances itself.
        pictures: lifecycle(review, claim).into_iter().collect(),
        tables: vec![
            steps(review, table),
            savings(review, table),
            by_cap(review, table),
            by_family(review, table),
            rates(review, table),
            passages(review, table),
        ],
        method: METHOD.to_owned(),
        doubts: doubts(review, table),
    }
}

/// The answer in one or two sentences, without the last point.
struct Finding {
    /// What the picture has for a title.
    claim: String,
    /// What the picture shows: the chances behind the claim; empty where there are none.
    chances: String,
}

impl Finding {
    fn of(claim: String) -> Finding {
        Finding { claim, chances: String::new() }
    }
}

/// Where a row's steps are: "on the way from incoming to installation", "between two visits at
/// change".
fn place(row: &Row) -> String {
    match row.own.steps.as_ref().map(|steps| steps.0.as_slice()) {
        Some([Step { from, to }]) if from == to => format!("between two visits at {to}"),
        _ => format!("on the way from {}", steps_of(row)),
    }
}

fn finding(review: &Review, table: &Table) -> Finding {
    if table.rows_of(By::Step, Quantity::Entry).next().is_none() {
        return Finding::of(NO_RECORDS.trim_end_matches('.').to_owned());
    }
    let claim = most_dirt(review, table);
    let savings = table.rows_of(By::Step, Quantity::PointSaving);
    let saves = firm(savings.filter(|row| row.own.rank == Some(1)));
    match (claim, saves) {
        (Some(claim), Some(row)) => {
            let saving = point(review, table, row);
            Finding { claim, chances: format!(". {}{}", saving.claim, saving.chances) }
        }
        (Some(claim), None) => Finding::of(claim),
        (None, Some(row)) => point(review, table, row),
        (None, None) => Finding::of(format!(
            "Too few passages in {} to say where dirt enters",
            looked_back(review)
        )),
    }
}

/// Where the largest share of dirt enters, and whether it is surely the largest.
fn most_dirt(review: &Review, table: &Table) -> Option<String> {
    let shares = table.rows_of(By::Step, Quantity::ShareOfDirt).filter(|row| row.is_firm());
    let shares: Vec<&Row> = shares.filter(|row| row.estimate.is_some()).collect();
    let most = shares.iter().max_by(|a, b| {
        let share = |row: &Row| row.estimate.unwrap_or(0.0);
        share(a).total_cmp(&share(b))
    })?;
    let low = most.low.unwrap_or(0.0);
    let mut others = shares.iter().filter(|row| !std::ptr::eq(**row, *most));
    let surely = others.all(|other| other.high.is_some_and(|high| high < low));
    let words = if surely {
        "The largest share of dirt"
    } else {
        "The largest share of dirt, by its estimate,"
    };
    Some(format!("{words} enters {}: {}", place(most), Amount::of(*most).full(&review.currency)))
}

/// Where an avoided percentage point saves the most.
fn point(review: &Review, table: &Table, row: &Row) -> Finding {
    let sure = row
        .own
        .probability
        .map_or_else(String::new, |share| format!("; first in {} of resamples", how_often(share)));
    let claim = format!(
        "A percentage point of dirt avoided saves most {}: {} over {}{sure}",
        place(row),
        Amount::of(row).full(&review.currency),
        looked_back(review)
    );
    let of_steps = |quantity: Quantity| {
        let firm = |found: &&Row| found.is_firm() && found.estimate.is_some();
        let found = same_steps(table, row, quantity).filter(firm);
        found.map(|found| Amount::of(found).full(&review.currency))
    };
    let share = of_steps(Quantity::ShareOfDirt)
        .map_or_else(String::new, |share| format!(", {share} of all dirt"));
    let chances = chance(table, row).map_or_else(String::new, |chance| {
        format!(". Dirt enters there in {} of passages{share}", chance.full(&review.currency))
    });
    Finding { claim, chances }
}

/// The chance of a row's steps by both fits.
pub(in crate::report) fn chance(table: &Table, row: &Row) -> Option<Amount> {
    let of = |quantity| {
        let firm = |found: &&Row| found.is_firm() && found.estimate.is_some();
        same_steps(table, row, quantity).filter(firm).map(|row| [row.estimate, row.low, row.high])
    };
    let [value, low, high] = bracket(of(Quantity::Entry)?, of(Quantity::EntryLessAlarms));
    Some(Amount { value, low, high, unit: Unit::Share })
}

fn doubts(review: &Review, table: &Table) -> Vec<String> {
    let mut doubts = Vec::new();
    let mut pairs = table.rows_of(By::Reason, Quantity::Passages);
    if let Some(row) = pairs.find(|row| row.own.reason == Some(Reason::Routine)) {
        doubts.push(format!(
            "{} of {} pairs of visits are routine passages; the rest begin or end in a way that says nothing of entry, \
             and if dirt is more or less common there, these chances are not those of all end faces.",
            count_or_dash(row.events),
            whole(Some(row.n))
        ));
    }
    if let Some(row) = table.rows_of(By::Fleet, Quantity::CapFactor).next()
        && let (Some(p), true) = (row.own.p, row.estimate.is_some())
    {
        doubts.push(format!(
            "Capped against uncapped: {} times the hazard, p {}. Caps are not dealt out by lot: this is associated with \
             caps, not proof of them.",
            Amount::of(row).full(&review.currency),
            probability(p)
        ));
    }
    doubts.push(
        "Steps count as the lifecycle's order: an end face that went another way between two visits is counted on the \
         usual one. Passages of one end face at different times count as independent; what weeks or longer blocks of a site share \
         is in the intervals. A hazard at 0 has the lower limit 0 and a cautious upper one."
            .to_owned(),
    );
    doubts.push(
        "Left out of the saving of a point: dirt carried unseen to later stages, damage to the partner, faults at stages \
         without light, delay, and what avoiding costs. Costs per look and fault are taken as observed; only the \
         associated share of fault costs and the passages are resampled."
            .to_owned(),
    );
    doubts.extend(explained(&table.rows));
    doubts
}
