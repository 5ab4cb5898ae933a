//! Q6: between which lifecycle stages dirt enters.

mod picture;
mod tables;

use super::{NO_RECORDS, firm};
use crate::charts::number::percent;
use crate::measures::{Review, Row, Table, Value};
use crate::report::page::section::{Section, look_back};
use crate::report::words::flags::explained;
use crate::report::words::number::{Amount, number, probability, whole};
use picture::{first_in, lifecycle};
use tables::{by_part, passages, rates, savings, steps};

const NAME: &str = "entry";
const STEPS: &str = "from+stage";
/// How it is counted.
const METHOD: &str = "Passages: two visits of one end face in a row, the earlier ending with a passing look, the later \
    beginning with a look that passes or fails for contamination; not those that a fault prompted. A passage stays clean \
    with the chance exp(-sum of the hazards of the steps it passes), so a skipped stage widens intervals and loses no row; \
    maximum likelihood with hazards of at least 0, the estimate of Turnbull (1976) where all passages begin at the first \
    stage (Ayer et al. 1955); profile-likelihood limits (Venzon and Moolgavkar 1988), the allowed deviance multiplied by \
    the design effect of site-weeks (Royall and Tsou 2003; Liang and Zeger 1986). Steps that are always passed together \
    stand as their sum; a step that no passage parts from its neighbours has limits and no value. Share of all dirt: dirty \
    passages times the chance that dirt entered first at the step, given that it did; 1,000 resamples of site-weeks (of 20 site-weeks, some 93 in a \
    hundred of these intervals hold; of 60, the level). \
    Less false alarms: the same fit with -ln(1-f) added to every passage, f being the share of looks that failed within an \
    hour after a passing one with nothing between; f also holds dirt that the first look missed, so the two fits bracket \
    the truth. Dust cap: one factor on all hazards by profile likelihood, and the likelihood ratio of separate fits, over \
    the scatter between site-weeks. Per mating and per month: two more hazards in the same model, their test halved at the \
    boundary (Self and Liang 1987). Saving of a point: passages times one percentage point (or all that enters, where that \
    is less), times the chance that nothing else enters on the way, times the cost of a dirty arrival: where it is looked \
    at, the cleanings, looks and rejects that contaminated first looks of that stage had; for the ends that nobody looks \
    at, the stage's cost of faults after skipped looks per unseen end, the share of it that is associated with skipping, \
    over the share of first looks that are contaminated.";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.entry;
    let finding = finding(review, table);
    // The picture says the chances itself.
    let title = finding.split(". Dirt enters").next().unwrap_or_default();
    let title = title.trim_end_matches('.').to_owned();
    Section {
        id: NAME,
        question: "Between which lifecycle stages does dirt enter?",
        pictures: lifecycle(review, title).into_iter().collect(),
        finding,
        tables: vec![
            steps(review, table),
            savings(review, table),
            by_part(review, table, "from+stage+capped", "capped", "By dust cap at the later look"),
            by_part(
                review,
                table,
                "from+stage+family",
                "family",
                "By family, where there is dirt enough",
            ),
            rates(review, table),
            passages(review, table),
        ],
        method: METHOD.to_owned(),
        doubts: doubts(review, table),
    }
}

/// A row's steps in words.
pub(in crate::report) fn steps_of<'a>(table: &'a Table, row: &'a Row) -> &'a str {
    match table.own(row, "steps") {
        Value::Text(text) => text,
        _ => "–",
    }
}

/// Where a row's steps are: "on the way from receiving to installation", "between two visits at
/// maintenance".
fn place<'a>(table: &'a Table, row: &'a Row) -> String {
    let steps = steps_of(table, row);
    match steps.strip_prefix("again at ") {
        Some(stage) => format!("between two visits at {stage}"),
        None => format!("on the way from {steps}"),
    }
}

/// How often a row was the first, in words that promise no certainty.
pub(in crate::report) fn how_often(share: f64) -> String {
    match share {
        share if share > 0.995 => format!("over {}", percent(0.99, 0)),
        share if share < 0.005 => format!("under {}", percent(0.01, 0)),
        share => percent(share, 0),
    }
}

/// The row of the same steps.
fn beside<'a>(table: &'a Table, row: &'a Row, quantity: &'a str) -> Option<&'a Row> {
    let steps = table.own(row, "steps");
    table.rows_of(STEPS, quantity).find(|own| table.own(own, "steps") == steps)
}

fn finding(review: &Review, table: &Table) -> String {
    if table.rows_of(STEPS, NAME).next().is_none() {
        return NO_RECORDS.to_owned();
    }
    let first = |row: &&Row| number(table.own(row, "rank")) == Some(1.0);
    if let Some(row) = firm(table.rows_of(STEPS, "point-saving").filter(first)) {
        return point(review, table, row);
    }
    let shares = table.rows_of(STEPS, "share-of-dirt").filter(|row| row.is_firm());
    let most = shares
        .filter(|row| row.low.is_some())
        .max_by(|a, b| a.low.unwrap_or(0.0).total_cmp(&b.low.unwrap_or(0.0)));
    match most {
        Some(row) => format!(
            "The largest share of dirt, {}, enters {}.",
            Amount::of(row).full(&review.currency),
            place(table, row)
        ),
        None => format!("Too few passages in {} to say where dirt enters.", look_back(review)),
    }
}

/// Where an avoided percentage point saves the most.
fn point<'a>(review: &Review, table: &'a Table, row: &'a Row) -> String {
    let sure = first_in(table, row)
        .map_or_else(String::new, |share| format!("; first in {} of resamples", how_often(share)));
    let beside = |quantity: &'static str| {
        beside(table, row, quantity).filter(|own| own.is_firm() && own.estimate.is_some())
    };
    let enters = beside(NAME).map_or_else(String::new, |own| {
        format!(". Dirt enters there in {}", Amount::of(own).full(&review.currency))
    });
    let share = beside("share-of-dirt").filter(|_| !enters.is_empty());
    let share = share.map_or_else(String::new, |own| {
        format!(" of passages, {} of all dirt", Amount::of(own).full(&review.currency))
    });
    let passed = if share.is_empty() && !enters.is_empty() { " of passages" } else { "" };
    format!(
        "A percentage point of dirt avoided saves most {}: {} over {}{sure}{enters}{passed}{share}.",
        place(table, row),
        Amount::of(row).full(&review.currency),
        look_back(review)
    )
}

fn doubts(review: &Review, table: &Table) -> Vec<String> {
    let mut doubts = Vec::new();
    let mut usable = table.rows_of("kind", "passages");
    let is =
        |row: &&Row| matches!(table.own(row, "reason"), Value::Text(word) if word == "routine");
    if let Some(row) = usable.find(is) {
        doubts.push(format!(
            "{} of {} pairs of visits are routine passages; the rest begin or end in a way that says nothing of entry, \
             and if dirt is more or less common there, these chances are not those of all end faces.",
            whole(row.events.map(|events| events as f64)),
            whole(Some(row.n))
        ));
    }
    if let Some(row) = table.rows_of("fleet", "cap-factor").next()
        && let (Some(p), true) = (number(table.own(row, "p")), row.estimate.is_some())
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
         usual one. Passages of one end face at different times count as independent; what site-weeks share is in the \
         intervals. A hazard at 0 has the lower limit 0 and a cautious upper one."
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
