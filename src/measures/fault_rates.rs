//! 5.4, Q4: how often contamination-linked faults occur, and what they cost.
//!
//! (a) by the horizon after a mating: sum over bands of width x faults / person-time, with the
//! gamma interval of Fay & Feuer (1997). (b) per connection-month in force: Garwood (1936), FIT
//! beside it. Ratio against the rest of the fleet: exact conditional, mid-P; q by Benjamini &
//! Hochberg (1995) within each grouping.

use super::evidence::{Evidence, Grouping};
use super::flag::Flag;
use super::table::{Group, Row, Table, Unit, Value};
use crate::derive::{Cell, DeriveError, Only};
use crate::stats::{Band, benjamini_hochberg, cumulative_hazard, garwood, rate_ratio};

const OWN: &[&str] = &["level", "months", "q"];
const GROUPINGS: &[Grouping] = &[
    ("fleet", &[]),
    ("stage", &["stage"]),
    ("family", &["family"]),
    ("stage+family", &["stage", "family"]),
    ("site", &["site"]),
];
/// Levels with their columns of events and seconds.
const LEVELS: [(&str, [&str; 2]); 3] = [
    ("linked", ["linked", "linked_s"]),
    ("confirmed", ["confirmed", "confirmed_s"]),
    ("suspect", ["suspect", "suspect_s"]),
];
/// Seconds of a connection-month: 730.5 hours.
pub const MONTH_S: f64 = 730.5 * 3600.0;
const DAY_S: f64 = 86_400.0;
/// Fewest connection-months of a rate that is not `thin`.
pub(super) const LEAST_MONTHS: f64 = 20.0;
/// Fewest events that either side of a ratio must expect.
const LEAST_EXPECTED: f64 = 5.0;

/// The table of fault rates.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn fault_rates(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("fault_rates", OWN);
    for (by, columns) in GROUPINGS {
        by_horizon(evidence, by, columns, &mut table)?;
        in_force(evidence, &evidence.period(), by, columns, &mut table)?;
        ratios(evidence, by, columns, &mut table)?;
        costs(evidence, by, columns, &mut table)?;
    }
    in_force(evidence, &evidence.so_far(), "quarter", &["quarter"], &mut table)?;
    Ok(table)
}

fn own(level: &str, seconds: i64, q: Option<f64>) -> Vec<Value> {
    let months = (seconds > 0).then_some(seconds as f64 / MONTH_S);
    vec![Value::Text(level.to_owned()), months.into(), q.into()]
}

/// (a) first faults by the horizon, of matings made in the period.
fn by_horizon(
    evidence: &Evidence,
    by: &'static str,
    columns: &[&'static str],
    table: &mut Table,
) -> Result<(), DeriveError> {
    let edges = band_days(evidence);
    for (level, [events, seconds]) in LEVELS {
        let by_band: Vec<&str> = columns.iter().copied().chain(["band"]).collect();
        let cells = evidence.cells(
            "follow_up",
            &evidence.period(),
            &by_band,
            &["started", events, seconds],
        )?;
        let same = |a: &Cell, b: &Cell| a.group[..columns.len()] == b.group[..columns.len()];
        for chunk in cells.chunk_by(same) {
            let bands: Vec<Band> = edges
                .windows(2)
                .zip(0u32..)
                .map(|(edge, number)| {
                    let cell = chunk.iter().find(|cell| cell.places[columns.len()] == number);
                    let sum = |at: usize| cell.map_or(0, |cell| cell.sums[at].max(0));
                    let width = edge[1] - edge[0];
                    Band { width, events: sum(1) as u64, exposure: sum(2) as f64 / DAY_S }
                })
                .collect();
            let total = |at: usize| chunk.iter().map(|cell| cell.sums[at]).sum::<i64>();
            let estimate = cumulative_hazard(&bands, evidence.rules().level);
            let group = Group::of(columns, &chunk[0].group);
            let site = group.site.clone();
            let mut row =
                Row::of(by, group, "faults-per-1000-matings", Unit::PerThousandMatings, &estimate)
                    .scaled(1000.0);
            (row.n, row.events) = (total(0) as f64, Some(total(1)));
            let thin = (total(0) < evidence.rules().least_count.into()).then_some(Flag::Thin);
            let row = row.with(own(level, total(2), None)).flagged(thin);
            table.rows.push(row.flagged(evidence.guessed_cover(site.as_deref())));
        }
    }
    Ok(())
}

/// Edges of the follow-up bands, days.
pub fn band_days(evidence: &Evidence) -> Vec<f64> {
    let rules = evidence.rules();
    let inner = rules.bands_days.iter().copied();
    std::iter::once(0).chain(inner).chain([rules.horizon_days]).map(f64::from).collect()
}

/// (b) first faults of matings in force, per connection-month.
fn in_force(
    evidence: &Evidence,
    only: &Only,
    by: &'static str,
    columns: &[&'static str],
    table: &mut Table,
) -> Result<(), DeriveError> {
    for (level, [events, seconds]) in LEVELS {
        for cell in evidence.cells("in_force", only, columns, &[events, seconds])? {
            let (faults, time) = (cell.sums[0].max(0), cell.sums[1].max(0));
            let months = time as f64 / MONTH_S;
            let estimate = garwood(faults as u64, months, evidence.rules().level);
            let group = Group::of(columns, &cell.group);
            let flags: Vec<Flag> = (months < LEAST_MONTHS)
                .then_some(Flag::Thin)
                .into_iter()
                .chain(evidence.guessed_cover(group.site.as_deref()))
                .collect();
            let rate = Row::of(
                by,
                group.clone(),
                "faults-per-1000-months",
                Unit::PerThousandMonths,
                &estimate,
            );
            table
                .rows
                .push(rate.scaled(1000.0).with(own(level, time, None)).flagged(flags.clone()));
            if level == "linked" {
                let fit = Row::of(by, group, "fit", Unit::Fit, &estimate).scaled(1e9 / 730.5);
                table.rows.push(fit.with(own(level, time, None)).flagged(flags));
            }
        }
    }
    Ok(())
}

/// Each cell's rate of linked faults against the rest of the fleet.
fn ratios(
    evidence: &Evidence,
    by: &'static str,
    columns: &[&'static str],
    table: &mut Table,
) -> Result<(), DeriveError> {
    if columns.is_empty() {
        return Ok(());
    }
    let cells = evidence.cells("in_force", &evidence.period(), columns, &["linked", "linked_s"])?;
    let total = |at: usize| cells.iter().map(|cell| cell.sums[at].max(0)).sum::<i64>();
    let (faults, time) = (total(0), total(1));
    let mut rows = Vec::new();
    let mut p_values = Vec::new();
    for cell in &cells {
        let (d1, t1) = (cell.sums[0].max(0), cell.sums[1].max(0));
        let (d0, t0) = (faults - d1, time - t1);
        let ratio = rate_ratio(d1 as u64, t1 as f64, d0 as u64, t0 as f64, evidence.rules().level);
        let expected =
            |own: i64| if time > 0 { faults as f64 * own as f64 / time as f64 } else { 0.0 };
        let thin = expected(t1) < LEAST_EXPECTED || expected(t0) < LEAST_EXPECTED;
        let group = Group::of(columns, &cell.group);
        let site = group.site.clone();
        let mut row = Row::of(by, group, "ratio-to-rest", Unit::Ratio, &ratio.ratio)
            .with(own("linked", t1, None))
            .flagged(thin.then_some(Flag::Thin))
            .flagged(evidence.guessed_cover(site.as_deref()));
        (row.n, row.events) = (t1 as f64 / MONTH_S, Some(d1));
        rows.push(row);
        p_values.push(ratio.p);
    }
    for (row, q) in rows.iter_mut().zip(benjamini_hochberg(&p_values)) {
        row.own[2] = Some(q).into();
    }
    table.rows.extend(rows);
    Ok(())
}

/// What linked faults of the period cost, and how long service was out.
fn costs(
    evidence: &Evidence,
    by: &'static str,
    columns: &[&'static str],
    table: &mut Table,
) -> Result<(), DeriveError> {
    let only = evidence.period().with("level", &["probable", "confirmed"]);
    let sums = ["faults", "cost", "restored", "restore_s"];
    for cell in evidence.cells("faults", &only, columns, &sums)? {
        let [faults, cost, restored, restore_s] = std::array::from_fn(|at| cell.sums[at]);
        let group = || Group::of(columns, &cell.group);
        let mut row = Row::figure(by, group(), "fault-cost", Unit::Money, cost as f64, "sum");
        (row.n, row.events) = (faults as f64, Some(faults));
        table.rows.push(row.with(own("linked", 0, None)));
        if restored > 0 {
            let hours = restore_s as f64 / 3600.0 / restored as f64;
            let mut row = Row::figure(by, group(), "restore-hours", Unit::Count, hours, "mean");
            (row.n, row.events) = (restored as f64, Some(restored));
            table.rows.push(row.with(own("linked", 0, None)));
        }
    }
    Ok(())
}
