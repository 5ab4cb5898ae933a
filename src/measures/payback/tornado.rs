//! What the answer depends on: net present value with one uncertain number at a time at either end of its
//! interval and all others at their means.

use rayon::prelude::*;

use super::asked::Asked;
use super::case::{Case, saving};
use super::declared::{By, InputUnit, Own, Quantity, Source, Table};
use super::flows::{FleetFlows, Skipped};
use super::input::{Input, Values};
use super::purse::Purse;
use super::valued::{Valued, mean};
use crate::measures::results::Money;
use crate::stats::Estimate;

/// One bar.
struct Bar {
    name: String,
    source: Source,
    /// Of its ends.
    unit: Option<InputUnit>,
    /// Ends of the input's interval.
    ends: (f64, f64),
    /// What the purchase is worth there.
    worth: (f64, f64),
}

/// Adds a row an uncertain number, the widest first.
pub fn tornado(
    flows: &FleetFlows,
    means: &[Skipped],
    valued: &Valued,
    asked: &Asked,
    table: &mut Table,
) {
    let usual = valued.case.usual_shares(flows);
    let base = valued.terms.present_value(saving(flows, &usual, means).money);
    let mut bars = own_inputs(flows, means, valued);
    bars.extend(shared_inputs(flows, means, valued, base, asked));
    bars.extend(visits(flows, means, valued, asked));
    let width = |bar: &Bar| (bar.worth.1 - bar.worth.0).abs();
    bars.sort_by(|a, b| width(b).total_cmp(&width(a)).then_with(|| a.name.cmp(&b.name)));
    for bar in bars {
        let (low, high) = (bar.worth.0.min(bar.worth.1), bar.worth.0.max(bar.worth.1));
        let estimate = Estimate {
            value: Some(base),
            // Where something is capped, neither end need lie beyond the middle.
            low: Some(low.min(base)),
            high: Some(high.max(base)),
            level: asked.drawing.level,
            n: valued.savings.len() as f64,
            events: 0,
            method: "one input at a time",
            warnings: Vec::new(),
        };
        let more = Own {
            input: Some(bar.name),
            input_unit: bar.unit,
            source: Some(bar.source),
            input_low: Some(bar.ends.0).filter(|end| end.is_finite()),
            input_high: Some(bar.ends.1).filter(|end| end.is_finite()),
            worth_at_low: Some(Money::rounded(bar.worth.0)),
            worth_at_high: Some(Money::rounded(bar.worth.1)),
            ..Own::default()
        };
        table.rows.push(valued.row(By::ProposalInput, Quantity::Tornado, &estimate, more));
    }
}

/// The numbers of its effects.
fn own_inputs(flows: &FleetFlows, means: &[Skipped], valued: &Valued) -> Vec<Bar> {
    let case: &Case = &valued.case;
    let at = |moved: &Input, end: f64| {
        let shares = case.shares(flows, &Values::Moved(moved, end));
        valued.terms.present_value(saving(flows, &shares, means).money)
    };
    let bar = |input: &Input| Bar {
        name: input.name.clone(),
        source: input.source,
        unit: input.unit,
        ends: (input.low, input.high),
        worth: (at(input, input.low), at(input, input.high)),
    };
    case.inputs().filter(|input| !input.is_known()).map(bar).collect()
}

/// How visits left, where better odds change that: all of it moves together, as in the draws, so that the ends are those of
/// the worth.
fn visits(flows: &FleetFlows, means: &[Skipped], valued: &Valued, asked: &Asked) -> Option<Bar> {
    let case = &valued.case;
    let draws = || 0..asked.drawing.draws as usize;
    let spared: Vec<f64> = draws().map(|draw| case.spared(draw)).collect::<Option<_>>()?;
    let worth = |draw: usize| {
        let shares = case.shares(flows, &Values::Visits(draw));
        valued.terms.present_value(saving(flows, &shares, means).money)
    };
    let worth: Vec<f64> = draws().into_par_iter().map(worth).collect();
    let ends = |values: &[f64]| {
        let found = mean(values, valued.clusters, asked);
        found.low.zip(found.high)
    };
    let (ends, worth) = ends(&spared).zip(ends(&worth))?;
    let name = "share of the cleanings of dirty end faces that better odds spare".to_owned();
    let (source, unit) = (Source::Cycles, Some(InputUnit::Share));
    (worth.0 < worth.1).then_some(Bar { name, source, unit, ends, worth })
}

/// What all proposals share: the ratio and the cost of faults of 5.5, and the looks.
fn shared_inputs(
    flows: &FleetFlows,
    means: &[Skipped],
    valued: &Valued,
    base: f64,
    asked: &Asked,
) -> Vec<Bar> {
    let usual = valued.case.usual_shares(flows);
    // What all places give together, each by the share that is kept out of it.
    let sum = |skipped: &[Skipped], of: &dyn Fn(&Purse, &Skipped) -> f64| -> f64 {
        let none = Skipped::default();
        let places = usual.iter();
        places.map(|(place, shares)| of(shares, skipped.get(*place).unwrap_or(&none))).sum()
    };
    let cost = |shares: &Purse, skipped: &Skipped| shares.faults * skipped.cost;
    let associated = |shares: &Purse, skipped: &Skipped| shares.faults * skipped.associated;
    let looks = |shares: &Purse, skipped: &Skipped| shares.looks * skipped.looks;
    let drawn = |of: &dyn Fn(&Purse, &Skipped) -> f64| -> Vec<f64> {
        flows.skipped.iter().map(|skipped| sum(skipped, of)).collect()
    };
    let ends = |values: &[f64]| {
        let found = mean(values, valued.clusters, asked);
        found.low.zip(found.high)
    };
    let factor = valued.terms.factor();
    let (costs, associated_costs) = (drawn(&cost), drawn(&associated));
    let (usual_cost, usual_associated) = (sum(means, &cost), sum(means, &associated));
    let mut bars = Vec::new();
    type Named<'a> = (&'a str, InputUnit, Source);
    let mut add = |(name, unit, source): Named, ends: (f64, f64), gain: &dyn Fn(f64) -> f64| {
        let worth = |end: f64| base + gain(end) * factor;
        if ends.0 < ends.1 {
            let (name, worth) = (name.to_owned(), (worth(ends.0), worth(ends.1)));
            let unit = Some(unit);
            bars.push(Bar { name, source, unit, ends, worth });
        }
    };
    let part = |(associated, cost): (&f64, &f64)| (*cost != 0.0).then(|| associated / cost);
    let parts: Vec<f64> = associated_costs.iter().zip(&costs).filter_map(part).collect();
    if usual_cost != 0.0 {
        if let Some(ends) = ends(&parts) {
            let name = "share of the faults' cost that goes with skipping (rate ratio)";
            let named = (name, InputUnit::Share, Source::SkippedCost);
            add(named, ends, &|end| end * usual_cost - usual_associated);
        }
        if let Some(ends) = ends(&costs) {
            let share = usual_associated / usual_cost;
            let name = "cost of faults after skipped looks a year";
            let named = (name, InputUnit::Money, Source::SkippedCost);
            add(named, ends, &|end| (end - usual_cost) * share);
        }
    }
    let of_cleanings = |(place, shares): &(usize, Purse)| -> f64 {
        let kept_out = shares.with(flows.places[*place].purse, |share, money| share * money);
        Purse::OF_CLEANINGS.with(kept_out, |grows, money| grows * money).values().iter().sum()
    };
    let cleaning: f64 = usual.iter().map(of_cleanings).sum();
    let first = |skipped: &Vec<Skipped>| skipped.first().map_or(0.0, |place| place.busier);
    let busier: Vec<f64> = flows.skipped.iter().map(first).collect();
    let usual_busier = means.first().map_or(0.0, |place| place.busier);
    if let Some(ends) = ends(&busier).filter(|_| cleaning != 0.0) {
        let name = "cleanings a year against those counted";
        let named = (name, InputUnit::Share, Source::Counts);
        add(named, ends, &|end| (end - usual_busier) * cleaning);
    }
    let rejects =
        |(place, shares): &(usize, Purse)| shares.rejects * flows.places[*place].purse.rejects;
    let rejected: f64 = usual.iter().map(rejects).sum();
    let more = |skipped: &[Skipped]| -> f64 {
        let of =
            |at: &(usize, Purse)| rejects(at) * skipped.get(at.0).map_or(0.0, |own| own.rejects);
        usual.iter().map(of).sum::<f64>() / rejected
    };
    if rejected != 0.0 {
        let drawn: Vec<f64> = flows.skipped.iter().map(|skipped| more(skipped)).collect();
        if let Some(ends) = ends(&drawn) {
            let usual_more = more(means);
            let name = "rejects of dirty end faces a year against those counted";
            let named = (name, InputUnit::Share, Source::Cycles);
            add(named, ends, &|end| (end - usual_more) * rejected * (1.0 + usual_busier));
        }
    }
    let usual_looks = sum(means, &looks);
    if let Some(ends) = ends(&drawn(&looks)) {
        let name = "cost of the added looks a year";
        let named = (name, InputUnit::Money, Source::SkippedCost);
        add(named, ends, &|end| usual_looks - end);
    }
    bars
}
