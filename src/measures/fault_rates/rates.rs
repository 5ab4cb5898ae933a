//! Rates of first faults (5.4).
//!
//! (a) by the horizon after a mating: sum over bands of width x faults / person-time, with the
//! gamma interval of Fay & Feuer (1997). (b) per connection-month in force: Garwood (1936), FIT
//! with it. Ratio against the rest of the fleet: exact conditional, mid-P; q by Benjamini &
//! Hochberg (1995) within each grouping. All at counts over the scatter of a site's blocks of time (`scatter`).

use super::connection_months::{LEAST_MONTHS, months};
use super::declared::{By, Certainty, Quantity, Row, Table};
use super::scatter::{BlockFaults, Spread, Spreads};
use crate::calendar::{MONTH_HOURS, days_of};
use crate::derive::counts::{Band as BandNo, FollowUp, InForce, follow_up};
use crate::derive::{DeriveError, Rows};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::{
    Band, benjamini_hochberg, cumulative_hazard_dispersed, garwood_dispersed, rate_ratio_scaled,
    scatter_of_ratio,
};

const FIT_HOURS: f64 = 1e9;
/// Fewest events that either side of a ratio must expect.
const LEAST_EXPECTED: f64 = 5.0;

/// Scatter of the fleet's blocks as it is, also below 1; `phi` is what intervals take.
pub(in crate::measures) fn dispersion(quantity: Quantity, blocks: &BlockFaults, table: &mut Table) {
    for level in Certainty::ALL.iter().copied() {
        let (scatter, spread) = blocks.of_all(level);
        let Some(phi) = scatter.phi else { continue };
        let (method, own) = ("variance of blocks over Poisson", spread.own(level, 0));
        let row = Row::figure(By::Fleet, Group::default(), quantity, phi, method, own);
        let (n, events) = (scatter.clusters as f64, i64::try_from(scatter.events).ok());
        table.rows.push(Row { n, events, ..row }.flagged(spread.flag()));
    }
}

/// Adds (a): first faults by the horizon, of matings made in the period.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn by_horizon(
    evidence: &Evidence,
    made: &BlockFaults,
    by: By,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let (edges, rules) = (band_days(evidence), evidence.rules());
    let columns = by.columns::<FollowUp>();
    let groups = evidence.along::<BandNo, FollowUp>(&evidence.reviewed(), &columns)?;
    for level in Certainty::ALL.iter().copied() {
        let spreads = made.spreads(by, level);
        for found in &groups {
            let total = found.total();
            let Some((faults, seconds)) = total.first_faults(level.definition()) else { continue };
            let spread = spreads.of(&found.places);
            let bands = bands(&edges, &found.cells, level);
            let estimate = cumulative_hazard_dispersed(&bands, spread.phi, rules.level);
            let group = Group::of(&columns.columns(), &found.words);
            let cover = evidence.guessed_cover(group.site.as_deref());
            let own = spread.own(level, seconds);
            let row = Row::of(by, group, Quantity::PerMatings, &estimate, own).scaled(1000.0);
            let thin = (total.started < rules.least_count.into()).then_some(Flag::Thin);
            let row = Row { n: total.started as f64, events: Some(faults), ..row };
            table.rows.push(row.flagged(thin).flagged(spread.flag()).flagged(cover));
        }
    }
    Ok(())
}

/// The bands of one group, from its cells by band.
fn bands(edges: &[f64], cells: &[(BandNo, follow_up::Row)], level: Certainty) -> Vec<Band> {
    let band = |(edge, number): (&[f64], u32)| {
        let cell = cells.iter().find(|(band, _)| band.0 == number);
        let counts = cell.and_then(|(_, row)| row.first_faults(level.definition()));
        let (faults, seconds) = counts.unwrap_or_default();
        let width = edge[1] - edge[0];
        Band { width, events: faults.max(0) as u64, exposure: days_of(seconds) }
    };
    edges.windows(2).zip(0u32..).map(band).collect()
}

/// Edges of the follow-up bands, days.
pub(in crate::measures) fn band_days(evidence: &Evidence) -> Vec<f64> {
    let rules = evidence.rules();
    crate::derive::band_days(rules.horizon_days, rules).into_iter().map(f64::from).collect()
}

/// Adds (b): first faults of matings in force, per connection-month.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn in_force(
    evidence: &Evidence,
    blocks: &BlockFaults,
    rows: &Rows<InForce>,
    by: By,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let columns = by.columns::<InForce>();
    let groups = evidence.groups::<InForce>(rows, &columns)?;
    for level in Certainty::ALL.iter().copied() {
        let spreads = blocks.spreads(by, level);
        for found in &groups {
            let counts = found.counts.first_faults(level.definition());
            let Some((faults, seconds)) = counts else { continue };
            let spread = spreads.of(&found.places);
            let months = months(seconds);
            let rules = evidence.rules();
            let faults = faults.max(0) as u64;
            let estimate = garwood_dispersed(faults, months, spread.phi, rules.level);
            let group = Group::of(&columns.columns(), &found.words);
            let flags = [
                (months < LEAST_MONTHS).then_some(Flag::Thin),
                spread.flag(),
                evidence.guessed_cover(group.site.as_deref()),
            ];
            let own = spread.own(level, seconds);
            let rate = |quantity, factor| {
                let row = Row::of(by, group.clone(), quantity, &estimate, own.clone());
                row.scaled(factor).flagged(flags.into_iter().flatten())
            };
            table.rows.push(rate(Quantity::PerMonths, 1000.0));
            if level == Certainty::Linked {
                table.rows.push(rate(Quantity::Fit, FIT_HOURS / MONTH_HOURS));
            }
        }
    }
    Ok(())
}

/// Adds each cell's rate of linked faults against the rest of the fleet.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn ratios(
    evidence: &Evidence,
    blocks: &BlockFaults,
    by: By,
    table: &mut Table,
) -> Result<(), DeriveError> {
    if by == By::Fleet {
        return Ok(());
    }
    let (level, columns) = (Certainty::Linked, by.columns::<InForce>());
    let spreads = blocks.spreads(by, level);
    let groups = evidence.groups::<InForce>(&evidence.reviewed(), &columns)?;
    let all = groups.iter().fold((0_i64, 0_i64), |(faults, seconds), found| {
        let counts = found.counts;
        (
            faults.saturating_add(counts.linked.max(0)),
            seconds.saturating_add(counts.linked_s.max(0)),
        )
    });
    let (faults, time) = all;
    let mut rows = Vec::new();
    let mut p_values = Vec::new();
    for found in &groups {
        let (d1, t1) = (found.counts.linked.max(0), found.counts.linked_s.max(0));
        let (d0, t0) = (faults - d1, time - t1);
        let (first, rest) = ((d1 as u64, t1 as f64), (d0 as u64, t0 as f64));
        let spread = of_both(&spreads, &found.places, first.0, rest.0);
        let confidence = evidence.rules().level;
        let ratio = rate_ratio_scaled(first.0, first.1, rest.0, rest.1, spread.phi, confidence);
        let expected =
            |own: i64| if time > 0 { faults as f64 * own as f64 / time as f64 } else { 0.0 };
        let thin = expected(t1) < LEAST_EXPECTED || expected(t0) < LEAST_EXPECTED;
        let group = Group::of(&columns.columns(), &found.words);
        let cover = evidence.guessed_cover(group.site.as_deref());
        let own = spread.own(level, t1);
        let row = Row::of(by, group, Quantity::RatioToRest, &ratio.ratio, own);
        let row = Row { n: months(t1), events: Some(d1), ..row };
        rows.push(row.flagged(thin.then_some(Flag::Thin)).flagged(spread.flag()).flagged(cover));
        p_values.push(ratio.p);
    }
    for (row, (p, q)) in rows.iter_mut().zip(p_values.iter().zip(benjamini_hochberg(&p_values))) {
        // The p of a ratio is that of the ratio, not of its scatter.
        row.own.p = Some(*p).filter(|p| p.is_finite());
        row.own.q = Some(q).filter(|q| q.is_finite());
    }
    table.rows.extend(rows);
    Ok(())
}

/// That of the ratio of a cell to the rest, which takes the fleet's.
fn of_both(spreads: &Spreads, places: &[u32], d1: u64, d0: u64) -> Spread {
    let (own, rest) = (spreads.of(places), spreads.all().1);
    Spread { phi: scatter_of_ratio((d1, own.phi), (d0, rest.phi)), ..own }
}
