//! "Do first" on the front page: the decisions that are worth most, then the head of the worklist.

use super::label::label;
use super::number::{Amount, level};
use super::purchase::{Purchase, best_set, chance, is_in_set, purchases};
use super::ranked::ranked;
use crate::charts::number::{fixed, percent};
use crate::measures::payback::{By, InputUnit, Quantity, Row as PaybackRow};
use crate::measures::results::Money;
use crate::measures::worklist::{List, Row};
use crate::measures::{Review, Unit, skipped_cost};

/// Purchases that are named at most.
const MOST_PURCHASES: usize = 3;
/// Places to look that are named at most where no purchase is proposed.
const MOST_PLACES: usize = 2;
/// What would prove looking at a place wrong.
const PLACE_WRONG_IF: &str = "It rests on what goes together with skipped looks, not on a trial: if faults there do not fall \
    within a year of looking, it was wrong. What instruments it takes and what they cost can be judged once they stand as \
    [[proposal]] in the settings.";
/// Rows of the worklist that are named at most.
const MOST_ROWS: usize = 3;

/// A row of the worklist in "Do first".
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Advice {
    /// Which end face or connection, and where.
    pub place: String,
    /// Its site, where it is known.
    pub site: Option<String>,
    /// What to do with it.
    pub what: String,
    /// Why.
    pub reason: String,
    /// What that is expected to save after its price: "210 EUR (90 to 400) in the first month".
    pub saving: String,
    /// What, why and the saving in sentences.
    pub words: String,
}

/// A decision for whoever signs the money: what it costs, what it is worth, how sure that is, and what would prove it
/// wrong.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Decision {
    /// What to decide.
    pub name: String,
    /// What it costs: "4 800 EUR".
    pub price: String,
    /// What it is worth, with its interval.
    pub worth: String,
    /// How likely it is to pay: "over 99 % chance of paying back".
    pub chance: String,
    /// What would prove it wrong.
    pub wrong_if: String,
}

impl Decision {
    /// All of it but the name, in a sentence or two.
    pub(in crate::report) fn words(&self) -> String {
        format!("{}; worth {}, {}. {}", self.price, self.worth, self.chance, self.wrong_if)
    }
}

/// The two or three decisions that are worth most: the members of the best set of what is proposed, else what is worth
/// most by itself; where nothing is proposed, the places where looking would save most.
pub(in crate::report) fn decisions(review: &Review) -> Vec<Decision> {
    let all = purchases(review);
    if all.is_empty() {
        return places(review);
    }
    let set = best_set(review).filter(|row| row.own.set.is_some());
    let worth = |one: &Purchase| one.worth.estimate.unwrap_or(0.0);
    let gains = |one: &&Purchase| one.worth.is_firm() && worth(one) > 0.0;
    let chosen = |one: &&Purchase| set.is_none_or(|row| is_in_set(row, one.name));
    let mut best: Vec<&Purchase> = all.iter().filter(gains).filter(chosen).collect();
    best.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    best.into_iter().take(MOST_PURCHASES).map(|one| purchase(review, one)).collect()
}

fn purchase(review: &Review, one: &Purchase) -> Decision {
    let share = one.row(Quantity::PaysBack).and_then(|row| row.estimate);
    let chance = share.map_or_else(|| "unknown chance".to_owned(), chance);
    Decision {
        name: one.name.to_owned(),
        price: format!("price {}", one.price(review)),
        worth: format!(
            "{} over {} after its price",
            Amount::of(one.worth).full(&review.currency),
            one.months()
        ),
        chance: format!("{chance} of paying back"),
        wrong_if: purchase_wrong_if(review, one),
    }
}

/// What would prove a purchase wrong: the number that it depends on most, at the end that is worst for it.
pub(in crate::report) fn purchase_wrong_if(review: &Review, one: &Purchase) -> String {
    let avoided = one.row(Quantity::FaultsAvoided).and_then(|row| row.estimate);
    let rests_on = match avoided {
        Some(faults) if faults > 0.0 => {
            "It rests on what goes together with skipped looks, not on a trial: if faults do not fall within a year of \
             buying, it was wrong."
        }
        _ => {
            "It rests on what was counted and stated, not on a trial: if the work does not get less within a year of \
             buying, it was wrong."
        }
    };
    let worst = |row: &PaybackRow| {
        let ends = [
            (row.own.input_low, row.own.worth_at_low),
            (row.own.input_high, row.own.worth_at_high),
        ];
        let known = ends.into_iter().filter_map(|(end, worth)| Some((end?, worth?)));
        known.min_by_key(|(_, Money(worth))| *worth)
    };
    let most = one.rows(By::ProposalInput, Quantity::Tornado).next();
    let Some((row, (end, worth))) = most.and_then(|row| Some((row, worst(row)?))) else {
        return rests_on.to_owned();
    };
    let at = match row.own.input_unit {
        Some(InputUnit::Share) => percent(end, 0),
        Some(InputUnit::Money) => Amount::plain(Some(end), Unit::Money).short(&review.currency),
        None => fixed(end, 2),
    };
    let input = row.own.input.as_deref().unwrap_or_default();
    let then = if worth.0 < 0 { "it would lose" } else { "it would still be worth" };
    // A worth is an estimate: no cents of it are known.
    let amount = Amount::money(Some(Money(worth.0.saturating_abs()))).short(&review.currency);
    format!("Most depends on {input}: at {at} {then} {amount}. {rests_on}")
}

/// Where looking would save most, nothing being proposed.
fn places(review: &Review) -> Vec<Decision> {
    let rows = ranked(review, skipped_cost::By::SiteStage).into_iter();
    let gains = rows.filter(|row| row.estimate.is_some_and(|saving| saving > 0.0));
    let decision = |row: &skipped_cost::Row| Decision {
        name: format!("Look at both ends before mating at {}", label(row)),
        price: match row.own.look_cost {
            Some(cost) => {
                format!("looks for {} a year", Amount::money(Some(cost)).short(&review.currency))
            }
            None => "looks of unknown price".to_owned(),
        },
        worth: format!("{} a year after the looks", Amount::of(row).full(&review.currency)),
        chance: match row.low {
            Some(low) if low > 0.0 => {
                format!("the whole {} interval above zero", level(review.level))
            }
            _ => "the interval reaches zero, so it may save nothing".to_owned(),
        },
        wrong_if: PLACE_WRONG_IF.to_owned(),
    };
    gains.take(MOST_PLACES).map(decision).collect()
}

/// The rows of the worklist that are worth doing now and are expected to save most, of all lists.
pub(in crate::report) fn work(review: &Review) -> Vec<Advice> {
    let rows = review.worklist.overall().into_iter().filter(|row| saves(row)).take(MOST_ROWS);
    rows.map(|row| advice(review, row)).collect()
}

/// Whether the worklist has ranked rows that save something, be it only when somebody is there anyhow.
pub(in crate::report) fn is_any_worth(review: &Review) -> bool {
    let mut listed = List::ALL.iter().flat_map(|list| review.worklist.listed(*list));
    listed.any(saves)
}

/// Whether a row may be ranked and is expected to save something.
fn saves(row: &Row) -> bool {
    row.is_firm() && row.own.rank.is_some() && row.estimate.is_some_and(|saving| saving > 0.0)
}

/// Both in sentences, the decisions first.
pub(in crate::report) fn do_first(review: &Review) -> Vec<String> {
    let decided = decisions(review).into_iter();
    let decided = decided.map(|decision| format!("{}: {}", decision.name, decision.words()));
    let work = work(review).into_iter();
    decided.chain(work.map(|advice| format!("{}: {}", advice.place, advice.words))).collect()
}

fn advice(review: &Review, row: &Row) -> Advice {
    let span = match row.own.list {
        List::Carrier => " in the first month".to_owned(),
        List::UnseenMating => match row.own.remaining_days {
            Some(1) => " on the day that is left to the horizon".to_owned(),
            Some(days) => format!(" in the {days} days to the horizon"),
            None => String::new(),
        },
        List::LeftFailing => {
            format!(" within {} days of being mated as it is", review.horizon_days)
        }
    };
    let sure = match row.low {
        Some(low) if low > 0.0 => "",
        _ => "; the interval reaches zero, so it may save nothing",
    };
    let what = row.own.what_to_do.clone().unwrap_or_default();
    let reason = row.own.reason.clone().unwrap_or_default();
    let saving = format!("{}{span}{sure}", Amount::of(row).full(&review.currency));
    Advice {
        place: place(row),
        site: row.group.site.clone(),
        words: format!(
            "{what}. Reason: {reason}. Expected saving after the price of the work: {saving}."
        ),
        what,
        reason,
        saving,
    }
}

/// "A with B, Tal": the end face, its partner where there is one, the site.
pub(in crate::report) fn place(row: &Row) -> String {
    match row.group.site.as_deref() {
        Some(site) => format!("{}, {site}", face(row)),
        None => face(row),
    }
}

/// "A with B": the end face, and its partner where there is one.
pub(in crate::report) fn face(row: &Row) -> String {
    match (&row.own.end_face, &row.own.partner) {
        (None, None) => "an end face without a name".to_owned(),
        (Some(face), None) | (None, Some(face)) => face.clone(),
        (Some(face), Some(partner)) => format!("{face} with {partner}"),
    }
}
