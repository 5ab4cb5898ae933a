//! 5.5, Q5: what skipped inspections cost, and where most.
//!
//! Exposed: matings with one or no end seen; reference: both. Overall ratio: Mantel-Haenszel over
//! strata of site, stage, family, band, quarter, criteria and after-fault state, with the interval
//! of Greenland & Robins (1985). Per cell: conditional binomials with log ratios drawn from a
//! common normal whose mean and spread are integrated over. Figures say 'associated with'.

use super::evidence::{Evidence, Grouping};
use super::flag::Flag;
use super::look_price::LookPrices;
use super::skipped_ratio::{FAULTS, is_confounded, is_thin, ratio_rows, text};
use super::strata::{EXPOSURES, Exposed, FollowUp, Within};
use super::table::{Group, Row, Table, Unit, Value};
use crate::derive::{Cell, DeriveError};
use crate::stats::{
    CellPosterior, Estimate, PersonTime, exposed_fraction, mantel_haenszel, random_effects,
};

const OWN: &[&str] = &[
    "exposure",
    "faults",
    "after_fault",
    "p",
    "ratio",
    "ratio_low",
    "ratio_high",
    "faults_skipped",
    "faults_both",
    "matings_skipped",
    "fault_cost",
    "attributable",
    "attributable_low",
    "attributable_high",
    "look_cost",
    "running_share",
    "rank",
    "day",
    "at_risk",
];
const SKIPPED: &[&str] = EXPOSURES[0].1;
const RATIO_GROUPINGS: &[Grouping] = &[
    ("fleet", &[]),
    ("stage", &["stage"]),
    ("family", &["family"]),
    ("site", &["site"]),
    ("stage+family", &["stage", "family"]),
    ("site+stage", &["site", "stage"]),
];
const CELL_GROUPINGS: &[Grouping] =
    &[("stage+family", &["stage", "family"]), ("site+stage", &["site", "stage"])];

/// The table of skipped cost.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn skipped_cost(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("skipped_cost", OWN);
    let follow_up = FollowUp::of(evidence)?;
    let prices = LookPrices::of(evidence)?;
    for (by, columns) in RATIO_GROUPINGS {
        for group in groups(evidence, columns)? {
            ratio_rows(evidence, &follow_up, by, &group, &mut table);
        }
    }
    fleet_saving(evidence, &follow_up, &prices, &mut table);
    for (by, columns) in CELL_GROUPINGS {
        let groups = groups(evidence, columns)?;
        cell_savings(evidence, &follow_up, &prices, by, &groups, &mut table);
    }
    super::since_mating::since_mating(evidence, &mut table)?;
    Ok(table)
}

/// The groups that have follow-up in the look-back, in the order of display.
fn groups(evidence: &Evidence, columns: &[&'static str]) -> Result<Vec<Group>, DeriveError> {
    let cells: Vec<Cell> =
        evidence.cells("follow_up", &evidence.look_back(), columns, &["started"])?;
    Ok(cells.iter().map(|cell| Group::of(columns, &cell.group)).collect())
}

/// A cell's money before it is ranked.
struct Saving {
    row: Row,
    net: f64,
}

/// Cost of the looks not made in a cell, minor units.
fn look_cost(
    exposed: &std::collections::BTreeMap<(&str, &str), Exposed>,
    prices: &LookPrices,
) -> f64 {
    exposed
        .iter()
        .map(|((stage, family), own)| own.unseen_ends as f64 * prices.price(stage, family))
        .sum()
}

/// What goes into one row of net saving.
struct Account<'a> {
    by: &'static str,
    group: &'a Group,
    ratio: &'a Estimate,
    /// Share of the exposed faults' cost that goes with the exposure.
    share: &'a Estimate,
    strata: &'a [PersonTime],
}

fn saving(
    evidence: &Evidence,
    follow_up: &FollowUp,
    prices: &LookPrices,
    account: &Account,
    table: &Table,
) -> Saving {
    let within = Within { group: account.group.clone(), after_fault: false };
    let exposed = follow_up.exposed(&within, SKIPPED);
    let total = exposed.values().fold(Exposed::default(), |sum, own| Exposed {
        matings: sum.matings + own.matings,
        unseen_ends: sum.unseen_ends + own.unseen_ends,
        faults: sum.faults + own.faults,
        cost: sum.cost.saturating_add(own.cost),
    });
    let looks = look_cost(&exposed, prices);
    let (cost, share) = (total.cost as f64, account.share);
    // Where no skipped mating had a fault nothing was lost that looks could have saved; how much
    // might have been is not in the records, so there is no interval.
    let attributable = match total.cost {
        0 => [Some(0.0), None, None],
        _ => [share.value, share.low, share.high].map(|share| share.map(|share| share * cost)),
    };
    let money = |value: Option<f64>| {
        value.map_or(Value::Missing, |value| Value::Money(value.round() as i64))
    };
    let both: u64 = account.strata.iter().map(|stratum| stratum.d0).sum();
    let values = [
        ("exposure", text("skipped")),
        ("faults", text("linked")),
        ("after_fault", text("no")),
        ("ratio", account.ratio.value.into()),
        ("ratio_low", account.ratio.low.into()),
        ("ratio_high", account.ratio.high.into()),
        ("faults_skipped", Value::Count(total.faults)),
        ("faults_both", Value::Count(both as i64)),
        ("matings_skipped", Value::Count(total.matings)),
        ("fault_cost", Value::Money(total.cost)),
        ("attributable", money(attributable[0])),
        ("attributable_low", money(attributable[1])),
        ("attributable_high", money(attributable[2])),
        ("look_cost", Value::Money(looks.round() as i64)),
    ];
    let net = attributable.map(|value| value.map(|value| (value - looks).round()));
    let mut row =
        Row::of(account.by, account.group.clone(), "net-saving", Unit::Money, account.share);
    (row.n, row.events) = (total.matings as f64, Some(total.faults));
    [row.estimate, row.low, row.high] = net;
    row.flags.clear();
    let confounded = is_confounded(evidence, follow_up, &within, SKIPPED);
    let row = row
        .with(table.fill(&values))
        .flagged(is_thin(account.strata).then_some(Flag::Thin))
        .flagged(confounded.then_some(Flag::Confounded))
        .flagged(evidence.guessed_cover(account.group.site.as_deref()));
    Saving { net: net[0].unwrap_or(f64::NEG_INFINITY), row }
}

/// The whole fleet, by the overall ratio.
fn fleet_saving(evidence: &Evidence, follow_up: &FollowUp, prices: &LookPrices, table: &mut Table) {
    let strata = follow_up.strata(&Within::default(), SKIPPED, FAULTS[0].1);
    let ratio = mantel_haenszel(&strata, evidence.rules().level).ratio;
    let share = exposed_fraction(&ratio);
    let group = Group::default();
    let account =
        Account { by: "fleet", group: &group, ratio: &ratio, share: &share, strata: &strata };
    table.rows.push(saving(evidence, follow_up, prices, &account, table).row);
}

/// Cells with the integrated random effects, ranked by net saving; flagged ones below, unranked.
fn cell_savings(
    evidence: &Evidence,
    follow_up: &FollowUp,
    prices: &LookPrices,
    by: &'static str,
    groups: &[Group],
    table: &mut Table,
) {
    let within = |group: &Group| Within { group: group.clone(), after_fault: false };
    let strata: Vec<Vec<PersonTime>> =
        groups.iter().map(|group| follow_up.strata(&within(group), SKIPPED, FAULTS[0].1)).collect();
    let posterior = random_effects(&strata, evidence.rules().ratio_spread, evidence.rules().level);
    let account = |(posterior, (group, strata)): (&CellPosterior, (&Group, &Vec<PersonTime>))| {
        let account =
            Account { by, group, ratio: &posterior.ratio, share: &posterior.attributable, strata };
        let mut saving = saving(evidence, follow_up, prices, &account, table);
        saving.row = saving.row.flagged(posterior.borrowed.then_some(Flag::Borrowed));
        saving
    };
    let cells = groups.iter().zip(&strata);
    let mut savings: Vec<Saving> = posterior.cells.iter().zip(cells).map(account).collect();
    savings.sort_by(|a, b| b.row.is_firm().cmp(&a.row.is_firm()).then(b.net.total_cmp(&a.net)));
    rank(&mut savings);
    table.rows.extend(savings.into_iter().map(|saving| saving.row));
}

/// Ranks and running shares of what firm cells save.
fn rank(savings: &mut [Saving]) {
    let place = |name: &str| OWN.iter().position(|own| *own == name);
    let gains = |saving: &Saving| saving.net.max(0.0);
    let total: f64 = savings.iter().filter(|saving| saving.row.is_firm()).map(gains).sum();
    let mut running = 0.0;
    for (rank, saving) in (1..).zip(savings.iter_mut().filter(|saving| saving.row.is_firm())) {
        running += gains(saving);
        let share = (total > 0.0).then(|| running / total);
        for (name, value) in [("rank", Value::Count(rank)), ("running_share", share.into())] {
            if let Some(place) = place(name) {
                saving.row.own[place] = value;
            }
        }
    }
}
