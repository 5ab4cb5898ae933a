//! Sites compared as if each had the fleet's mix of stages and families (5.4).
//!
//! Direct standardisation: the site's rates of linked faults per connection-month, weighted by the
//! fleet's time in force, with the interval of Fay & Feuer (1997) over the strata that the site has.

use std::collections::BTreeMap;

use super::connection_months::{LEAST_MONTHS, months};
use super::declared::{By, Certainty, Own, Quantity, Row, Table};
use super::scatter::BlockFaults;
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Family, InForce, Site, Stage};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
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
pub(in crate::measures) fn sites(
    evidence: &Evidence,
    blocks: &BlockFaults,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let rows = evidence.reviewed::<InForce>();
    // The fleet's time by stage and family, connection-months.
    let fleet: BTreeMap<Vec<String>, f64> = evidence
        .groups(&rows, &by!(Stage, Family))?
        .into_iter()
        .map(|found| (found.words, months(found.counts.linked_s)))
        .collect();
    let whole: f64 = fleet.values().sum();
    let level = Certainty::Linked;
    let spreads = blocks.spreads(By::Site, level);
    let strata = evidence.groups(&rows, &by!(Site, Stage, Family))?;
    for site in strata.chunk_by(|a, b| a.words[0] == b.words[0]) {
        let name = &site[0].words[0];
        let had = || site.iter().filter(|own| months(own.counts.linked_s) >= LEAST_STRATUM_MONTHS);
        let of_fleet = |own: &Stratum| fleet.get(&own.words[1..]).copied();
        let weight: f64 = had().filter_map(of_fleet).sum();
        let strata: Vec<WeightedStratum> = had()
            .filter_map(|own| {
                let (events, exposure) =
                    (own.counts.linked.max(0) as u64, months(own.counts.linked_s));
                Some(WeightedStratum { weight: of_fleet(own)? / weight, events, exposure })
            })
            .collect();
        let spread = spreads.of(&site[0].places[..1]);
        let estimate = fay_feuer_dispersed(&strata, spread.phi, evidence.rules().level);
        let seconds = had().fold(0_i64, |sum, own| sum.saturating_add(own.counts.linked_s.max(0)));
        let share = (whole > 0.0).then_some(weight / whole);
        let partial = share.is_none_or(|share| share < LEAST_WEIGHT);
        let flags = [
            (estimate.n < LEAST_MONTHS).then_some(Flag::Thin),
            partial.then_some(Flag::Partial),
            spread.flag(),
            evidence.guessed_cover(Some(name)),
        ];
        let group = Group { site: Some(name.clone()), ..Group::default() };
        let own = Own { weight: share, ..spread.own(level, seconds) };
        let row = Row::of(By::Site, group, Quantity::Standardised, &estimate, own);
        table.rows.push(row.scaled(1000.0).flagged(flags.into_iter().flatten()));
    }
    Ok(())
}

/// Time in force at a site, by stage and family: its words are site, stage, family.
type Stratum = crate::derive::Group<InForce>;
