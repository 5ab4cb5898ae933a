//! 5.4, Q4: how often contamination-linked faults occur, and what they cost.
//!
//! (a) by the horizon after a mating: sum over bands of width x faults / person-time, with the
//! gamma interval of Fay & Feuer (1997). (b) per connection-month in force: Garwood (1936), FIT
//! beside it. Ratio against the rest of the fleet: exact conditional, mid-P; q by Benjamini &
//! Hochberg (1995) within each grouping. All at counts over the scatter of site-weeks
//! (`rate_scatter`). Sites standardised, recurrences, trend and times to restore have files of their own.

mod recurring;
mod restore_times;
mod scatter;
mod standard;
mod trend;

use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::{
    Band, benjamini_hochberg, cumulative_hazard_dispersed, garwood_dispersed, rate_ratio_scaled,
};
use scatter::{LEVELS, SiteWeekFaults, Spread, Spreads};

/// `p` is of the scatter, in the rows of a ratio of the ratio, in those of a trend of the trend; `weight` is the
/// share of the fleet's mix; `day` and `at_risk` are of the mean number of faults since mating.
const OWN: &[&str] = &["level", "months", "phi", "p", "q", "clusters", "weight", "day", "at_risk"];
const GROUPINGS: &[Grouping] = &[
    ("fleet", &[]),
    ("stage", &["stage"]),
    ("family", &["family"]),
    ("stage+family", &["stage", "family"]),
    ("site", &["site"]),
];
/// Seconds of a connection-month: 730.5 hours.
pub const MONTH_S: f64 = 730.5 * 3600.0;
const DAY_S: f64 = 86_400.0;
/// Fewest connection-months of a rate that is not `thin`.
pub const LEAST_MONTHS: f64 = 20.0;
/// Fewest events that either side of a ratio must expect.
const LEAST_EXPECTED: f64 = 5.0;

/// The table of fault rates.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn fault_rates(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("fault_rates", OWN);
    let made = SiteWeekFaults::by_horizon(evidence)?;
    let weeks = SiteWeekFaults::in_force(evidence, &evidence.period())?;
    for (by, columns) in GROUPINGS {
        by_horizon(evidence, &made, (by, columns), &mut table)?;
        in_force(evidence, &weeks, &evidence.period(), (by, columns), &mut table)?;
        ratios(evidence, &weeks, (by, columns), &mut table)?;
        self::restore_times::restore_times(evidence, (by, columns), &mut table)?;
    }
    self::standard::sites(evidence, &weeks, &mut table)?;
    dispersion("dispersion-by-horizon", &made, &mut table);
    dispersion("dispersion-in-force", &weeks, &mut table);
    let phi = made.spreads(&[], 0).all().1.phi;
    self::recurring::recurring_faults(evidence, phi, &mut table)?;
    // The quarters that have no weeks of their own take the scatter of those that are compared.
    let all = SiteWeekFaults::in_force(evidence, &Only::all())?;
    in_force(evidence, &all, &evidence.so_far(), ("quarter", &["quarter"]), &mut table)?;
    let phi = all.spreads(&[], 0).all().1.phi;
    self::trend::rate_trend(evidence, phi, &mut table)?;
    Ok(table)
}

/// The measure's own values of a rate.
pub fn own(table: &Table, level: &str, seconds: i64, spread: Option<&Spread>) -> Vec<Value> {
    let months = (seconds > 0).then_some(seconds as f64 / MONTH_S);
    table.fill(&[
        ("level", Value::Text(level.to_owned())),
        ("months", months.into()),
        ("phi", spread.map(|spread| spread.phi).into()),
        ("p", spread.and_then(|spread| spread.p).into()),
        ("clusters", spread.map_or(Value::Missing, |own| Value::Count(own.clusters as i64))),
    ])
}

/// Scatter of the fleet's site-weeks as it is, also below 1; `phi` is what intervals take.
fn dispersion(quantity: &'static str, weeks: &SiteWeekFaults, table: &mut Table) {
    for (at, (level, _)) in LEVELS.iter().enumerate() {
        let (scatter, spread) = weeks.spreads(&[], at).all();
        let Some(phi) = scatter.phi else { continue };
        let mut row = Row::figure(
            "fleet",
            Group::default(),
            quantity,
            Unit::Ratio,
            phi,
            "variance of site-weeks over Poisson",
        );
        (row.n, row.events) = (scatter.clusters as f64, i64::try_from(scatter.events).ok());
        let own = own(table, level, 0, Some(&spread));
        table.rows.push(row.with(own).flagged(spread.flag()));
    }
}

/// (a) first faults by the horizon, of matings made in the period.
fn by_horizon(
    evidence: &Evidence,
    made: &SiteWeekFaults,
    (by, columns): Grouping,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let edges = band_days(evidence);
    for (at, (level, [events, seconds])) in LEVELS.into_iter().enumerate() {
        let spreads = made.spreads(columns, at);
        let by_band: Vec<&str> = columns.iter().copied().chain(["band"]).collect();
        let sums = ["started", events, seconds];
        let cells = evidence.cells("follow_up", &evidence.period(), &by_band, &sums)?;
        let same = |a: &Cell, b: &Cell| a.group[..columns.len()] == b.group[..columns.len()];
        for chunk in cells.chunk_by(same) {
            let spread = spreads.of(&chunk[0].places[..columns.len()]);
            let bands = bands(&edges, chunk, columns.len());
            let total =
                |at: usize| chunk.iter().fold(0_i64, |sum, cell| sum.saturating_add(cell.sums[at]));
            let estimate = cumulative_hazard_dispersed(&bands, spread.phi, evidence.rules().level);
            let group = Group::of(columns, &chunk[0].group);
            let site = group.site.clone();
            let mut row =
                Row::of(by, group, "faults-per-1000-matings", Unit::PerThousandMatings, &estimate)
                    .scaled(1000.0);
            (row.n, row.events) = (total(0) as f64, Some(total(1)));
            let thin = (total(0) < evidence.rules().least_count.into()).then_some(Flag::Thin);
            let row = row.with(own(table, level, total(2), Some(&spread))).flagged(thin);
            let row = row.flagged(spread.flag());
            table.rows.push(row.flagged(evidence.guessed_cover(site.as_deref())));
        }
    }
    Ok(())
}

/// The bands of one group, from its cells by band; the band stands at `place`.
fn bands(edges: &[f64], cells: &[Cell], place: usize) -> Vec<Band> {
    let band = |(edge, number): (&[f64], u32)| {
        let cell = cells.iter().find(|cell| cell.places[place] == number);
        let sum = |at: usize| cell.map_or(0, |cell| cell.sums[at].max(0));
        let width = edge[1] - edge[0];
        Band { width, events: sum(1) as u64, exposure: sum(2) as f64 / DAY_S }
    };
    edges.windows(2).zip(0u32..).map(band).collect()
}

/// Edges of the follow-up bands, days.
pub fn band_days(evidence: &Evidence) -> Vec<f64> {
    let rules = evidence.rules();
    crate::derive::band_days(rules.horizon_days, rules).into_iter().map(f64::from).collect()
}

/// (b) first faults of matings in force, per connection-month.
fn in_force(
    evidence: &Evidence,
    weeks: &SiteWeekFaults,
    only: &Only,
    (by, columns): Grouping,
    table: &mut Table,
) -> Result<(), DeriveError> {
    for (at, (level, [events, seconds])) in LEVELS.into_iter().enumerate() {
        let spreads = weeks.spreads(columns, at);
        for cell in evidence.cells("in_force", only, columns, &[events, seconds])? {
            let spread = spreads.of(&cell.places);
            let (faults, time) = (cell.sums[0].max(0), cell.sums[1].max(0));
            let months = time as f64 / MONTH_S;
            let level_of = evidence.rules().level;
            let estimate = garwood_dispersed(faults as u64, months, spread.phi, level_of);
            let group = Group::of(columns, &cell.group);
            let flags: Vec<Flag> = (months < LEAST_MONTHS)
                .then_some(Flag::Thin)
                .into_iter()
                .chain(spread.flag())
                .chain(evidence.guessed_cover(group.site.as_deref()))
                .collect();
            let quantity = "faults-per-1000-months";
            let rate = Row::of(by, group.clone(), quantity, Unit::PerThousandMonths, &estimate);
            let values = own(table, level, time, Some(&spread));
            table.rows.push(rate.scaled(1000.0).with(values.clone()).flagged(flags.clone()));
            if level == "linked" {
                let fit = Row::of(by, group, "fit", Unit::Fit, &estimate).scaled(1e9 / 730.5);
                table.rows.push(fit.with(values).flagged(flags));
            }
        }
    }
    Ok(())
}

/// Each cell's rate of linked faults against the rest of the fleet.
fn ratios(
    evidence: &Evidence,
    weeks: &SiteWeekFaults,
    (by, columns): Grouping,
    table: &mut Table,
) -> Result<(), DeriveError> {
    if columns.is_empty() {
        return Ok(());
    }
    let spreads = weeks.spreads(columns, 0);
    let cells = evidence.cells("in_force", &evidence.period(), columns, &["linked", "linked_s"])?;
    let total =
        |at: usize| cells.iter().fold(0_i64, |sum, cell| sum.saturating_add(cell.sums[at].max(0)));
    let (faults, time) = (total(0), total(1));
    let mut rows = Vec::new();
    let mut p_values = Vec::new();
    for cell in &cells {
        let (d1, t1) = (cell.sums[0].max(0), cell.sums[1].max(0));
        let (d0, t0) = (faults - d1, time - t1);
        let spread = of_both(&spreads, &cell.places, d1, d0);
        let (first, rest) = ((d1 as u64, t1 as f64), (d0 as u64, t0 as f64));
        let level = evidence.rules().level;
        let ratio = rate_ratio_scaled(first.0, first.1, rest.0, rest.1, spread.phi, level);
        let expected =
            |own: i64| if time > 0 { faults as f64 * own as f64 / time as f64 } else { 0.0 };
        let thin = expected(t1) < LEAST_EXPECTED || expected(t0) < LEAST_EXPECTED;
        let group = Group::of(columns, &cell.group);
        let site = group.site.clone();
        let mut row = Row::of(by, group, "ratio-to-rest", Unit::Ratio, &ratio.ratio)
            .with(own(table, "linked", t1, Some(&spread)))
            .flagged(thin.then_some(Flag::Thin))
            .flagged(spread.flag())
            .flagged(evidence.guessed_cover(site.as_deref()));
        (row.n, row.events) = (t1 as f64 / MONTH_S, Some(d1));
        rows.push(row);
        p_values.push(ratio.p);
    }
    for (row, (p, q)) in rows.iter_mut().zip(p_values.iter().zip(benjamini_hochberg(&p_values))) {
        // The p of a ratio is that of the ratio, not of its scatter.
        for (name, value) in [("p", *p), ("q", q)] {
            if let Some(at) = OWN.iter().position(|own| *own == name) {
                row.own[at] = Some(value).into();
            }
        }
    }
    table.rows.extend(rows);
    Ok(())
}

/// Over-dispersion of the log ratio of a cell to the rest: its variance is phi1 / d1 + phi0 / d0, which
/// is the over-dispersion times 1 / d1 + 1 / d0. The rest takes the fleet's, the cell the larger of its own
/// and the fleet's: a few weeks of one cell can look calmer than they are, and a test would then cry
/// wolf.
fn of_both(spreads: &Spreads, places: &[u32], d1: i64, d0: i64) -> Spread {
    let (own, rest) = (spreads.of(places), spreads.all().1);
    let (d1, d0) = (d1 as f64, d0 as f64);
    let larger = own.phi.max(rest.phi);
    let both = (larger * d0 + rest.phi * d1) / (d1 + d0);
    Spread { phi: if both.is_finite() { both } else { larger }, ..own }
}
