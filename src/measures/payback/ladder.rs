//! A budget: the best set of proposals for every sum, and what the next sum buys.
//!
//! Sets are compared at the mean of every act and every pool, all of them tried that the proposals allow
//! (`excludes`, `needs`); what the best ones are worth is then drawn like a single proposal. Proposals that
//! are flagged, or cannot be valued, are in no set: nothing flagged is ranked.

use rayon::prelude::*;

use super::asked::Asked;
use super::case::Acts;
use super::declared::{By, Own, Quantity, Row, Table};
use super::flows::{FleetFlows, Skipped};
use super::sets::Together;
use super::terms::Terms;
use super::valued::{Valued, mean, whole};
use crate::measures::results::{Group, Money};
use crate::stats::best_sets::{Growing, Rung, Ties, best_for, best_sets};

/// Rungs that are given at most: of more, those that gain most.
const MOST_RUNGS: usize = 40;
/// A thousand of the currency, minor units.
const THOUSAND: f64 = 100_000.0;

/// Adds the ladder, and the best set for the budget.
pub fn ladder(
    flows: &FleetFlows,
    means: &[Skipped],
    valued: &[Valued],
    asked: &Asked,
    table: &mut Table,
) {
    let firm: Vec<&Valued> =
        valued.iter().filter(|one| one.case.flags.iter().all(|flag| flag.only_warns())).collect();
    let terms: Vec<Terms> = firm.iter().map(|one| one.terms).collect();
    let prices: Vec<u64> = terms.iter().map(|one| one.outlay.max(0.0) as u64).collect();
    let often = asked.drawing.draws;
    let acts: Vec<Acts> = firm.par_iter().map(|one| one.case.mean_acts(flows, often)).collect();
    let mut together = Together::new(flows, &terms, &acts, means);
    let Some(all) = best_sets(&prices, &ties(&firm), &mut together) else { return };
    let budget = asked.budget.and_then(|budget| u64::try_from(budget).ok());
    let chosen = budget.and_then(|budget| best_for(&all, budget)).copied();
    if !firm.is_empty() && chosen.is_some_and(|chosen| chosen.items == 0) {
        table.rows.push(nothing(asked));
    }
    let rungs = thinned(all.into_iter().filter(|rung| rung.items != 0).collect(), chosen);
    let draws = draws(flows, &firm, &terms, &rungs, asked);
    let clusters = firm.first().map_or(1, |one| one.clusters);
    let mut before = Rung { price: 0, worth: 0.0, items: 0 };
    let mut worth_before = 0.0;
    for ((at, rung), number) in rungs.iter().enumerate().zip(1..) {
        let values: Vec<f64> = draws.iter().map(|worth| worth[at]).collect();
        let estimate = mean(&values, clusters, asked);
        let worth = estimate.value.unwrap_or(0.0);
        let paid = values.iter().filter(|one| **one >= 0.0).count() as f64;
        let more = rung.price.saturating_sub(before.price) as f64;
        let next = (worth - worth_before) / more * THOUSAND;
        let is_chosen = chosen.is_some_and(|chosen| chosen.items == rung.items);
        let own = Own {
            set: Some(names(&firm, rung)),
            price: Some(Money(i64::try_from(rung.price).unwrap_or(i64::MAX))),
            rung: Some(number),
            // Between sets of which the dearer holds the other: else more than the sum is exchanged.
            next_thousand: (more > 0.0 && rung.items & before.items == before.items)
                .then(|| Money::rounded(next)),
            probability: Some(paid / values.len().max(1) as f64),
            chosen: Some(is_chosen),
            budget: asked.budget.map(Money),
            ..Own::default()
        };
        let row = whole(Row::of(By::Set, Group::default(), Quantity::Ladder, &estimate, own));
        if is_chosen {
            table.rows.push(Row { quantity: Quantity::BestSet, ..row.clone() });
        }
        table.rows.push(row);
        (before, worth_before) = (*rung, worth);
    }
}

/// What the proposals allow to be bought together. One that needs a proposal that is in no set is in none either.
fn ties(firm: &[&Valued]) -> Vec<Ties> {
    let mask = |names: &[String]| -> u32 {
        let bit = |name: &String| {
            let at = firm.iter().position(|other| other.case.proposal.name == *name);
            // A bit beyond all items is in no set.
            1 << at.unwrap_or(u32::BITS as usize - 1)
        };
        names.iter().fold(0, |mask, name| mask | bit(name))
    };
    let of = |one: &&Valued| {
        let own = one.case.proposal;
        let known = |name: &&String| firm.iter().any(|other| other.case.proposal.name == **name);
        let excludes: Vec<String> = own.excludes.iter().filter(known).cloned().collect();
        Ties { excludes: mask(&excludes), needs: mask(&own.needs) }
    };
    firm.iter().map(of).collect()
}

/// The row of a budget that pays for nothing that is worth its price.
fn nothing(asked: &Asked) -> Row {
    let own = Own {
        price: Some(Money(0)),
        budget: asked.budget.map(Money),
        reason: Some("nothing that it pays for is worth its price".to_owned()),
        ..Own::default()
    };
    Row::figure(By::Set, Group::default(), Quantity::BestSet, 0.0, "all sets tried", own)
}

/// The rungs that gain most over the one before; the chosen one stays.
fn thinned(mut rungs: Vec<Rung>, chosen: Option<Rung>) -> Vec<Rung> {
    while rungs.len() > MOST_RUNGS {
        let gain = |at: usize| {
            let before = if at == 0 { 0.0 } else { rungs[at - 1].worth };
            rungs[at].worth - before
        };
        let may_go = |at: &usize| chosen.is_none_or(|one| one.items != rungs[*at].items);
        let least =
            (0..rungs.len() - 1).filter(may_go).min_by(|a, b| gain(*a).total_cmp(&gain(*b)));
        let Some(least) = least else { break };
        rungs.remove(least);
    }
    rungs
}

/// What each rung is worth, draw by draw.
fn draws(
    flows: &FleetFlows,
    firm: &[&Valued],
    terms: &[Terms],
    rungs: &[Rung],
    asked: &Asked,
) -> Vec<Vec<f64>> {
    if rungs.is_empty() {
        return Vec::new();
    }
    let draw = |draw: usize| -> Vec<f64> {
        let acts: Vec<Acts> = firm.iter().map(|one| one.case.drawn_acts(flows, draw)).collect();
        let skipped = flows.skipped.get(draw).map_or(&[][..], Vec::as_slice);
        let mut together = Together::new(flows, terms, &acts, skipped);
        let worth = |rung: &Rung| {
            let members: Vec<usize> = rung.members().collect();
            members.iter().for_each(|item| together.add(*item));
            let worth = together.worth();
            members.iter().rev().for_each(|item| together.take_back(*item));
            worth
        };
        rungs.iter().map(worth).collect()
    };
    (0..asked.drawing.draws as usize).into_par_iter().map(draw).collect()
}

fn names(firm: &[&Valued], rung: &Rung) -> String {
    let names = rung.members().filter_map(|item| firm.get(item));
    names.map(|one| one.case.proposal.name.as_str()).collect::<Vec<_>>().join(" + ")
}
