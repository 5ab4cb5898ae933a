//! 5.13, Q13: with the minutes we have, where should we look, and where is a sample enough?
//!
//! What one more look before mating saves in every cell of site, stage and family, in the draws of 5.5; the looks shared out so
//! that they save most on average over the draws, site by site unless minutes travel. Cells of which too little is known keep
//! what they have, and so do stages without light, where no fault can show and this measure sees nothing. Nowhere does the plan
//! say to stop looking: a cell may lose half of its looks at most, or keeps a sample that gives the alarm.

mod allocation;
mod cells;
mod declared;
mod suppliers;

use allocation::Floors;
pub use allocation::{Share, allocate};
pub use declared::*;

use std::collections::BTreeMap;

use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::months::YEAR;
use crate::measures::results::{Group, Money};
use crate::measures::skipped_cost::books::Books;
use crate::measures::skipped_cost::draws::REPLICATES;
use crate::settings::LookMinutes;
use crate::stats::bootstrap::{Resampled, expanded_percentile};
use crate::stats::sampling::plan::{Demand, Plan, stream_plan};
use cells::{Cell, cells};

/// Chance from which on looking at everything counts as costing more than it saves.
const SURE: f64 = 0.95;
/// Most chance of a false alarm at the present share, and of none at the share at which looking at everything pays.
const RISK: f64 = 0.1;
/// Part of its looks that a cell keeps, whatever others save: our own rule.
const KEPT: f64 = 0.5;
/// Months of a quarter: a sample is drawn afresh every quarter where the quarter has enough looks.
const QUARTER: f64 = 3.0;
/// Change of looks that counts as none.
const SAME: f64 = 0.01;

/// A cell with what may become of it.
struct Planned {
    cell: Cell,
    plan: Option<Plan>,
    /// Months in which a sample is drawn once.
    sample_months: f64,
    firm: bool,
    share: Share,
}

/// The table of the plan of looks.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn looks_plan(books: &Books) -> Result<Table, DeriveError> {
    let (mut table, evidence) = (Table::default(), books.evidence);
    let travel = evidence.plan.looks.travel;
    let cells = cells(books)?;
    let sites: Vec<String> = site_names(&cells);
    let planned: Vec<Planned> =
        cells.into_iter().map(|cell| Planned::of(cell, &sites, travel)).collect();
    if !planned.is_empty() {
        table.rows = plan(evidence, &planned, &sites);
    }
    table.rows.extend(suppliers::rows(evidence)?);
    Ok(table)
}

fn site_names(cells: &[Cell]) -> Vec<String> {
    let mut sites: Vec<String> = cells.iter().filter_map(|cell| cell.group.site.clone()).collect();
    sites.dedup();
    sites
}

impl Planned {
    fn of(cell: Cell, sites: &[String], travel: bool) -> Planned {
        let firm = !cell.thin && !cell.borrowed && cell.minutes > 0.0;
        let plan = if firm { sample(&cell) } else { None };
        let sample_months = plan.map_or(QUARTER, |plan| {
            if plan.sample as f64 <= QUARTER * cell.seen { QUARTER } else { YEAR }
        });
        let floor = match plan {
            Some(plan) => plan.sample as f64 / sample_months,
            // What costs more than it saves, but not surely, stays as it is.
            None if firm && cell.mean() > 0.0 => KEPT * cell.seen,
            None => cell.seen,
        };
        let most = if firm && plan.is_none() { cell.ends } else { cell.seen };
        let site = sites.iter().position(|site| Some(site) == cell.group.site.as_ref());
        let purse = if travel { 0 } else { site.unwrap_or(0) as u32 };
        let share = Share { purse, minutes: cell.minutes, floor, most };
        Planned { cell, plan, sample_months, firm, share }
    }
}

/// The sampling plan of a cell in which looking at everything surely costs more than it saves; none where that is not so, where no
/// share of dirty ends would make it pay, or where the sample would be more than a year's looks.
fn sample(cell: &Cell) -> Option<Plan> {
    let (good, bad) = (cell.dirty_share()?, cell.share_that_pays()?);
    if cell.costs_more() < SURE || bad <= good {
        return None;
    }
    let demand = Demand { good, bad, false_alarm: RISK, missed: RISK };
    stream_plan(&demand, (YEAR * cell.seen) as u64)
}

/// Minutes a month of every purse: as the settings say, else as spent now.
fn purses(evidence: &Evidence, planned: &[Planned], sites: &[String]) -> BTreeMap<u32, f64> {
    let looks = &evidence.plan.looks;
    let mut now: BTreeMap<u32, f64> = BTreeMap::new();
    for own in planned {
        *now.entry(own.share.purse).or_default() += own.cell.seen * own.share.minutes;
    }
    let spent: f64 = now.values().sum();
    match &looks.minutes_a_month {
        None => now,
        Some(LookMinutes::Fleet(minutes)) => {
            let share = |own: f64| if spent > 0.0 { own / spent } else { 1.0 / now.len() as f64 };
            now.iter().map(|(purse, own)| (*purse, minutes * share(*own))).collect()
        }
        Some(LookMinutes::BySite(by_site)) => {
            let of_site = |(at, site): (usize, &String)| {
                let own = planned.iter().filter(|own| own.cell.group.site.as_ref() == Some(site));
                let now: f64 = own.map(|own| own.cell.seen * own.share.minutes).sum();
                (at as u32, by_site.get(site).copied().unwrap_or(now))
            };
            let minutes = sites.iter().enumerate().map(of_site);
            if !looks.travel {
                return minutes.collect();
            }
            BTreeMap::from([(0, minutes.map(|(_, minutes)| minutes).sum())])
        }
    }
}

fn plan(evidence: &Evidence, planned: &[Planned], sites: &[String]) -> Vec<Row> {
    let shares: Vec<Share> = planned.iter().map(|own| own.share.clone()).collect();
    let purses = purses(evidence, planned, sites);
    let floors = Floors::of(&shares, &purses);
    let firm: Vec<usize> = (0..planned.len()).filter(|at| planned[*at].firm).collect();
    let looks = |saving: &dyn Fn(usize) -> f64| {
        let mut looks = floors.looks.clone();
        let saving: Vec<(usize, f64)> = firm.iter().map(|at| (*at, saving(*at))).collect();
        floors.more(&saving).into_iter().for_each(|(at, more)| looks[at] = more);
        looks
    };
    let chosen = looks(&|at| planned[at].cell.mean());
    let net: Vec<Vec<f64>> = planned.iter().map(|own| own.cell.net().collect()).collect();
    let (mut more, mut less) = (vec![0_u32; planned.len()], vec![0_u32; planned.len()]);
    let mut gain = |draw: usize| {
        let best = looks(&|at| net[at][draw]);
        let mut gain = 0.0;
        for at in firm.iter().copied() {
            let own = &planned[at];
            more[at] += u32::from(best[at] > own.cell.seen * (1.0 + SAME));
            less[at] += u32::from(best[at] < own.cell.seen * (1.0 - SAME));
            gain += (chosen[at] - own.cell.seen) * net[at][draw];
        }
        Some(gain)
    };
    let gains: Vec<Option<f64>> = (0..REPLICATES as usize).map(&mut gain).collect();
    let mut rows = cell_rows(evidence, planned, &net, (&chosen, &more, &less));
    rank(&mut rows);
    rows.push(gain_row(evidence, planned, &chosen, &gains));
    rows
}

fn cell_rows(
    evidence: &Evidence,
    planned: &[Planned],
    net: &[Vec<f64>],
    (chosen, more, less): (&[f64], &[u32], &[u32]),
) -> Vec<Row> {
    let level = evidence.rules().level;
    let row = |(at, own): (usize, &Planned)| {
        let cell = &own.cell;
        let draws: Vec<Option<f64>> = net[at].iter().map(|net| Some(*net)).collect();
        let often = |count: u32| f64::from(count) / REPLICATES as f64;
        let known = !cell.thin;
        let mean = cell.mean();
        let of = Resampled {
            value: known.then_some(mean),
            n: 0.0,
            events: cell.faults,
            clusters: REPLICATES,
        };
        let estimate = expanded_percentile(of, &draws, level);
        let planned = chosen[at];
        let advice = if own.plan.is_some() {
            Advice::Sample
        } else if own.firm && planned > cell.seen * (1.0 + SAME) {
            Advice::More
        } else if own.firm && planned < cell.seen * (1.0 - SAME) {
            Advice::Less
        } else {
            Advice::Keep
        };
        let of_firm = |share: f64| own.firm.then_some(share);
        let column = Own {
            advice: Some(advice),
            minutes: Some(cell.minutes),
            saving_per_hour: (known && cell.minutes > 0.0)
                .then(|| Money::rounded(mean / cell.minutes * 60.0)),
            looks_now: Some(cell.seen),
            looks_planned: Some(planned),
            ends: Some(cell.ends),
            more_often: of_firm(often(more[at])),
            less_often: of_firm(often(less[at])),
            costs_more: of_firm(cell.costs_more()),
            dirty: cell.dirty_share(),
            dirty_pays: cell.share_that_pays().filter(|_| known),
            sample: own.plan.map(|plan| plan.sample),
            accept: own.plan.map(|plan| plan.accept),
            sample_months: own.plan.map(|_| own.sample_months),
            ..Own::default()
        };
        let (by, quantity) = (By::SiteStageFamily, Quantity::SavingPerLook);
        let row = Row::of(by, cell.group.clone(), quantity, &estimate, column);
        let (low, high) = if known { (row.low, row.high) } else { (None, None) };
        Row { n: cell.ends * YEAR, low, high, ..row }
            .flagged(cell.thin.then_some(Flag::Thin))
            .flagged(cell.borrowed.then_some(Flag::Borrowed))
            .flagged(evidence.guessed_cover(cell.group.site.as_deref()))
    };
    planned.iter().enumerate().map(row).collect()
}

/// Firm cells by saving an hour, the largest first.
fn rank(rows: &mut [Row]) {
    let mut firm: Vec<usize> = (0..rows.len())
        .filter(|at| rows[*at].is_firm() && rows[*at].own.saving_per_hour.is_some())
        .collect();
    let saving = |at: usize| rows[at].own.saving_per_hour;
    firm.sort_by(|a, b| saving(*b).cmp(&saving(*a)).then(a.cmp(b)));
    for (place, at) in (1..).zip(firm) {
        rows[at].own.rank = Some(place);
    }
}

fn gain_row(
    evidence: &Evidence,
    planned: &[Planned],
    chosen: &[f64],
    gains: &[Option<f64>],
) -> Row {
    let minutes = |looks: &dyn Fn(usize, &Planned) -> f64| -> f64 {
        planned.iter().enumerate().map(|(at, own)| looks(at, own) * own.share.minutes).sum()
    };
    let changed =
        |(at, own): &(usize, &Planned)| (chosen[*at] - own.cell.seen).abs() > SAME * own.cell.seen;
    let mean = gains.iter().flatten().sum::<f64>() / gains.len().max(1) as f64;
    let of = Resampled {
        value: Some(mean),
        n: planned.iter().map(|own| own.cell.seen).sum(),
        events: planned.iter().enumerate().filter(changed).count() as u64,
        clusters: gains.len() as u64,
    };
    let estimate = expanded_percentile(of, gains, evidence.rules().level);
    let own = Own {
        budget: Some(minutes(&|at, _| chosen[at])),
        spent: Some(minutes(&|_, own| own.cell.seen)),
        ..Own::default()
    };
    let none_firm = !planned.iter().any(|own| own.firm);
    Row::of(By::Fleet, Group::default(), Quantity::Gain, &estimate, own)
        .flagged(none_firm.then_some(Flag::Thin))
        .flagged(evidence.guessed_cover(None))
}
