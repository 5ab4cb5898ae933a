//! What the answer depends on: net present value with one uncertain number at a time at either end of its
//! interval and all others at their means.

use super::Asked;
use super::case::{Case, saving};
use super::flows::{FleetFlows, Skipped, pool};
use super::valued::{Valued, mean};
use crate::measures::table::{Table, Unit, Value};
use crate::stats::Estimate;

/// One bar.
struct Bar {
    name: String,
    source: &'static str,
    /// Of its ends: `share`, `minor units`, or none.
    unit: &'static str,
    /// Ends of the input's interval.
    ends: (f64, f64),
    /// What the purchase is worth there.
    worth: (f64, f64),
}

/// Adds a row an uncertain number, the widest first.
pub fn tornado(
    flows: &FleetFlows,
    means: &[Skipped],
    own: &Valued,
    asked: &Asked,
    table: &mut Table,
) {
    let usual = own.case.usual_shares(flows);
    let base = own.terms.present_value(saving(flows, &usual, means).money);
    let mut bars = own_inputs(flows, means, own);
    bars.extend(shared_inputs(flows, means, own, base, asked));
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
            n: own.savings.len() as f64,
            events: 0,
            method: "one input at a time",
            warnings: Vec::new(),
        };
        let values = [
            ("input", Value::Text(bar.name)),
            ("input_unit", Value::Text(bar.unit.to_owned())),
            ("source", Value::Text(bar.source.to_owned())),
            ("input_low", Some(bar.ends.0).into()),
            ("input_high", Some(bar.ends.1).into()),
            ("worth_at_low", Value::Money(bar.worth.0.round() as i64)),
            ("worth_at_high", Value::Money(bar.worth.1.round() as i64)),
        ];
        let row = own.row("proposal+input", "tornado", Unit::Money, &estimate, &values, table);
        table.rows.push(row);
    }
}

/// The numbers of its effects.
fn own_inputs(flows: &FleetFlows, means: &[Skipped], own: &Valued) -> Vec<Bar> {
    let case: &Case = &own.case;
    let at = |number: usize, end: f64| {
        let shares =
            case.shares(flows, |other, input| if other == number { end } else { input.value });
        own.terms.present_value(saving(flows, &shares, means).money)
    };
    let bar = |(number, input): (usize, &super::input::Input)| Bar {
        name: input.name.clone(),
        source: input.source,
        unit: input.unit,
        ends: (input.low, input.high),
        worth: (at(number, input.low), at(number, input.high)),
    };
    case.inputs().enumerate().filter(|(_, input)| !input.is_known()).map(bar).collect()
}

/// What all proposals share: the ratio and the cost of faults of 5.5, and the looks.
fn shared_inputs(
    flows: &FleetFlows,
    means: &[Skipped],
    own: &Valued,
    base: f64,
    asked: &Asked,
) -> Vec<Bar> {
    let usual = own.case.usual_shares(flows);
    let sum = |skipped: &[Skipped], pool: usize, of: fn(&Skipped) -> f64| -> f64 {
        let part = |(place, shares): &(usize, super::flows::Purse)| {
            shares[pool] * skipped.get(*place).map_or(0.0, of)
        };
        usual.iter().map(part).sum()
    };
    let drawn = |pool: usize, of: fn(&Skipped) -> f64| -> Vec<f64> {
        flows.skipped.iter().map(|skipped| sum(skipped, pool, of)).collect()
    };
    let ends = |values: &[f64]| {
        let found = mean(values, own.clusters, asked);
        found.low.zip(found.high)
    };
    let factor = own.terms.factor();
    let costs = drawn(pool::FAULTS, |own| own.cost);
    let associated = drawn(pool::FAULTS, |own| own.associated);
    let usual_cost = sum(means, pool::FAULTS, |own| own.cost);
    let usual_associated = sum(means, pool::FAULTS, |own| own.associated);
    let mut bars = Vec::new();
    let mut add =
        |(name, unit): (&str, &'static str), ends: (f64, f64), gain: &dyn Fn(f64) -> f64| {
            let worth = |end: f64| base + gain(end) * factor;
            if ends.0 < ends.1 {
                let (name, worth) = (name.to_owned(), (worth(ends.0), worth(ends.1)));
                bars.push(Bar { name, source: "skipped cost", unit, ends, worth });
            }
        };
    let part = |(associated, cost): (&f64, &f64)| (*cost != 0.0).then(|| associated / cost);
    let parts: Vec<f64> = associated.iter().zip(&costs).filter_map(part).collect();
    if usual_cost != 0.0 {
        if let Some(ends) = ends(&parts) {
            let name = "share of the faults' cost that goes with skipping (rate ratio)";
            add((name, "share"), ends, &|end| end * usual_cost - usual_associated);
        }
        if let Some(ends) = ends(&costs) {
            let share = usual_associated / usual_cost;
            let name = "cost of faults after skipped looks a year";
            add((name, "minor units"), ends, &|end| (end - usual_cost) * share);
        }
    }
    let looks = sum(means, pool::LOOKS, |own| own.looks);
    if let Some(ends) = ends(&drawn(pool::LOOKS, |own| own.looks)) {
        add(("cost of the added looks a year", "minor units"), ends, &|end| looks - end);
    }
    bars
}
