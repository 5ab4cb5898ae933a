//! Sites compared as if each had the fleet's mix of stages and families (5.4).
//!
//! Direct standardisation: the site's rates of linked faults per connection-month, weighted by the
//! fleet's time in force, with the interval of Fay & Feuer (1997) over the strata that the site has.

use std::collections::BTreeMap;

use super::scatter::SiteWeekFaults;
use super::{LEAST_MONTHS, MONTH_S, own};
use crate::derive::{Cell, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{WeightedStratum, fay_feuer_dispersed};

/// Fewest connection-months of a stratum that a site is said to have: the rate of less would be
/// weighted up to that of the fleet.
const LEAST_STRATUM_MONTHS: f64 = 1.0;
/// Share of the fleet's weight below which a site is `partial`.
const LEAST_WEIGHT: f64 = 0.8;

/// Adds a row a site.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn sites(
    evidence: &Evidence,
    weeks: &SiteWeekFaults,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let by = ["site", "stage", "family"];
    let cells = evidence.cells("in_force", &evidence.period(), &by, &["linked", "linked_s"])?;
    let months = |cell: &Cell| cell.sums[1].max(0) as f64 / MONTH_S;
    let mut fleet: BTreeMap<[u32; 2], f64> = BTreeMap::new();
    for cell in &cells {
        *fleet.entry([cell.places[1], cell.places[2]]).or_default() += months(cell);
    }
    let whole: f64 = fleet.values().sum();
    let spreads = weeks.spreads(&["site"], 0);
    for site in cells.chunk_by(|a, b| a.places[0] == b.places[0]) {
        let had = || site.iter().filter(|cell| months(cell) >= LEAST_STRATUM_MONTHS);
        let of_fleet = |cell: &Cell| fleet.get(&[cell.places[1], cell.places[2]]).copied();
        let weight: f64 = had().filter_map(of_fleet).sum();
        let strata: Vec<WeightedStratum> = had()
            .filter_map(|cell| {
                let events = cell.sums[0].max(0) as u64;
                let weight = of_fleet(cell)? / weight;
                Some(WeightedStratum { weight, events, exposure: months(cell) })
            })
            .collect();
        let spread = spreads.of(&site[0].places[..1]);
        let estimate = fay_feuer_dispersed(&strata, spread.phi, evidence.rules().level);
        let group = Group::of(&["site"], &site[0].group[..1]);
        let name = group.site.clone();
        let quantity = "standardised-per-1000-months";
        let row = Row::of("site", group, quantity, Unit::PerThousandMonths, &estimate);
        let seconds = had().fold(0_i64, |sum, cell| sum.saturating_add(cell.sums[1].max(0)));
        let mut values = own(table, "linked", seconds, Some(&spread));
        let share = (whole > 0.0).then_some(weight / whole);
        if let Some(at) = table.own.iter().position(|own| *own == "weight") {
            values[at] = Value::from(share);
        }
        let partial = share.is_none_or(|share| share < LEAST_WEIGHT);
        let flags = [
            (estimate.n < LEAST_MONTHS).then_some(Flag::Thin),
            partial.then_some(Flag::Partial),
            spread.flag(),
            evidence.guessed_cover(name.as_deref()),
        ];
        table.rows.push(row.scaled(1000.0).with(values).flagged(flags.into_iter().flatten()));
    }
    Ok(())
}
