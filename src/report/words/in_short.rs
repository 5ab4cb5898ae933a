//! The front page in short: at most six sentences, the first weighs most. The terminal says the same six.

use super::action::{aim, amount, direction};
use super::changed::{Comparison, comparisons, of_fleet, sentence as change_sentence};
use super::label::label;
use super::months::in_a_year;
use super::number::Amount;
use super::purchase::{best_set, purchases, set_of, sum};
use super::ranked::leading;
use super::unanswered::reason;
use crate::measures::changes::{Against, Quantity};
use crate::measures::skipped_cost::{self, By};
use crate::measures::{AnyRow, Review, payback};

/// Where skipped looks weigh most, at which site, what looking is worth, what to buy, what changed and what was done, and the
/// worst reason not to believe it. A sentence that these records cannot make says so or is left out.
pub(in crate::report) fn in_short(review: &Review, worst_doubt: Option<&str>) -> Vec<String> {
    let mut said = match reason(review, skipped_cost::NAME) {
        Some(reason) => vec![format!("What skipped looks cost cannot be told: {reason}.")],
        None => skipped(review),
    };
    said.extend(buy(review));
    said.extend(match (changed(review), worked(review)) {
        (Some(changed), Some(worked)) => Some(format!("{changed} {worked}")),
        (changed, worked) => changed.or(worked),
    });
    said.extend(worst_doubt.map(|doubt| format!("Worst doubt: {doubt}")));
    said
}

/// What looking is worth, and where.
fn skipped(review: &Review) -> Vec<String> {
    let fleet = review.skipped_cost.rows_of(By::Fleet, skipped_cost::Quantity::NetSaving);
    let fleet = { fleet }.find(|row| row.is_firm() && row.estimate.is_some());
    let whole = fleet.map(|row| {
        let saves = row.low.is_some_and(|low| low > 0.0);
        let words = if saves { "is associated with saving" } else { "cannot be shown to save:" };
        format!(
            "Looking at both ends of every mating {words} {} {}, the looks paid for.",
            Amount::of(row).full(&review.currency),
            in_a_year(review)
        ) + &shared_out(review)
    });
    let places = [
        (
            By::StageFamily,
            ["Skipped looks cost most at", "Skipped looks rank first, not surely, at"],
        ),
        (By::SiteStage, ["Of sites, they cost most at", "Of sites, first in rank, not surely, is"]),
    ];
    let place = |(by, words): (By, [&str; 2])| {
        let (row, surely) = leading(review, by)?;
        row.estimate.filter(|saving| *saving > 0.0)?;
        Some(format!(
            "{} {}: {} {}.",
            words[usize::from(!surely)],
            label(row),
            Amount::of(row).full(&review.currency),
            in_a_year(review),
        ))
    };
    let places: Vec<String> = places.into_iter().filter_map(place).collect();
    if whole.is_none() && places.is_empty() {
        return vec!["Too few faults to say what skipped looks are associated with.".to_owned()];
    }
    places.into_iter().chain(whole).collect()
}

/// What the minutes now spent would save if they went where a look saves most; nothing where that cannot be shown.
fn shared_out(review: &Review) -> String {
    let gain = review.looks_plan.gain().filter(|gain| gain.is_firm());
    let gain = gain.filter(|gain| gain.low.is_some_and(|low| low > 0.0));
    gain.map_or_else(String::new, |gain| {
        format!(
            " The present minutes, shared out anew: {} a month.",
            Amount::of(gain).full(&review.currency)
        )
    })
}

/// The first action that surely went with what it should move, or the other way; nothing where none did.
fn worked(review: &Review) -> Option<String> {
    let mut rows = review.actions.leading_rows().filter(|row| row.is_firm());
    let row = rows.find(|row| direction(row).is_some())?;
    let (action, moves) = (row.own.action.as_deref()?, row.own.moves?);
    Some(format!(
        "Of what was done, \"{action}\" is associated with {} in {}.",
        amount(review, row),
        aim(moves)
    ))
}

/// What to buy; nothing where nothing is proposed.
fn buy(review: &Review) -> Option<String> {
    if let Some(reason) = reason(review, payback::NAME) {
        return (!purchases(review).is_empty())
            .then(|| format!("Whether a purchase pays cannot be told: {reason}."));
    }
    if let Some(best) = best_set(review) {
        if best.own.set.is_none() {
            return Some(format!(
                "To buy of the budget of {}: nothing, no proposal that it pays for is worth its price.",
                sum(review, best.own.budget)
            ));
        }
        let set = set_of(best);
        let what = match members(review, &set) {
            Some(many) if many > 1 => format!("{many} proposals"),
            _ => set,
        };
        return Some(format!(
            "To buy of the budget: {what} for {}, worth {} after the price.",
            sum(review, best.own.price),
            Amount::of(best).full(&review.currency),
        ));
    }
    let all = purchases(review);
    let best = all.first()?;
    let firm = best.worth.is_firm() && best.worth.low.is_some_and(|low| low > 0.0);
    Some(match firm {
        true => format!(
            "To buy: {} for {}, worth {} after the price.",
            best.name,
            best.price(review),
            Amount::of(best.worth).full(&review.currency)
        ),
        false => "Of no proposed purchase can it be shown that it pays.".to_owned(),
    })
}

/// How many proposals a set holds; none where its text does not tell, since a name holds what parts names.
fn members(review: &Review, set: &str) -> Option<usize> {
    let all = purchases(review);
    let mut parts = set.split(" + ");
    let count = set.split(" + ").count();
    parts.all(|part| all.iter().any(|one| one.name == part)).then_some(count)
}

/// What changed since the quarter before; of nothing shown, how large a change of the fleet there may have been.
fn changed(review: &Review) -> Option<String> {
    let all = comparisons(review);
    let before: &Comparison =
        all.iter().find(|one| one.against == Against::QuarterBefore).or(all.first())?;
    let quarter = before.quarter;
    if let Some(row) = before.changed.first() {
        let more = match before.changed.len() - 1 {
            0 => String::new(),
            1 => " One more change could be shown.".to_owned(),
            more => format!(" {more} more changes could be shown."),
        };
        return Some(format!("Since {quarter} {}.{more}", change_sentence(row)));
    }
    let fleet = of_fleet(review, Quantity::FirstPass);
    let fleet = fleet.into_iter().find(|row| row.own.against == before.against);
    let size = fleet.map(|row| {
        let amount = Amount::of(row);
        let interval = amount.interval_on(&amount.scale(""));
        format!("; clean at the first look moved by {} ({interval})", amount.short(""))
    });
    Some(format!("Since {quarter} no change could be shown{}.", size.unwrap_or_default()))
}
