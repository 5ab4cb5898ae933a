//! Sites whose looks for each end mated fall while their cleanings do not: looks may have been made and not written down.
//!
//! The period against the quarters looked back before it. What a month is compared with is what its matings, stage by stage,
//! would have had at the rates before; months scatter more than chance makes them, so intervals are of counts over the
//! scatter of the months.

use std::collections::BTreeMap;

use super::super::declared::{By, Own, Quantity, Recording, Row, Table};
use super::super::sources::Sources;
use super::cells::LookedAtCells;
use super::check::SPEAKS;
use crate::derive::counts::looked_at;
use crate::measures::results::Group;
use crate::stats::benjamini_hochberg;
use crate::stats::rate::RateRatio;
use crate::stats::rate_change::{CountScatter, Exposed, rate_change};

/// Of a site: stages and months with their sums.
type Months = BTreeMap<(u32, u32), looked_at::Row>;

/// How looks and cleanings for each end mated changed at a site.
struct Change {
    site: u32,
    looks: RateRatio,
    cleanings: RateRatio,
    counted: [i64; 2],
}

pub(super) fn rows(from: &Sources, cells: &LookedAtCells, table: &mut Table) {
    let evidence = from.evidence;
    let mut sites: BTreeMap<u32, Months> = BTreeMap::new();
    let sums = cells.sums(|cell| (cell.place[0], cell.place[1], cell.month));
    for ((site, stage, month), counts) in sums {
        sites.entry(site).or_default().insert((stage, month.0), counts);
    }
    let reviewed = |month: u32| {
        let quarter = evidence.quarter_of(crate::derive::counts::MonthNo(month));
        quarter.is_some_and(|quarter| evidence.is_reviewed(quarter))
    };
    let level = evidence.rules().level;
    let mut changes = Vec::new();
    for (site, months) in &sites {
        let looks = change(months, reviewed, |counts| counts.first_looks, level);
        let cleanings = change(months, reviewed, |counts| counts.cleanings, level);
        let (Some((looks, counted)), Some((cleanings, _))) = (looks, cleanings) else { continue };
        changes.push(Change { site: *site, looks, cleanings, counted });
    }
    let p: Vec<f64> = changes.iter().map(|change| change.looks.p).collect();
    for (change, q) in changes.iter().zip(benjamini_hochberg(&p)) {
        table.rows.push(row(cells, change, q));
    }
}

/// Events of the period over those that its matings would have had at the rates before, and ends mated and events of
/// the period; none where either span has no mating.
fn change(
    months: &Months,
    reviewed: impl Fn(u32) -> bool,
    events: impl Fn(&looked_at::Row) -> i64,
    level: f64,
) -> Option<(RateRatio, [i64; 2])> {
    let mut before: BTreeMap<u32, [f64; 2]> = BTreeMap::new();
    for ((stage, month), counts) in months {
        if !reviewed(*month) {
            let sums = before.entry(*stage).or_default();
            sums[0] += counts.ends as f64;
            sums[1] += events(counts) as f64;
        }
    }
    let rate = |stage: u32| {
        let [ends, events] = *before.get(&stage)?;
        (ends > 0.0).then(|| events / ends)
    };
    let mut spans: [BTreeMap<u32, Exposed>; 2] = Default::default();
    let mut counted = [0, 0];
    for ((stage, month), counts) in months {
        // A stage without matings before says nothing of looks for each mating.
        let Some(rate) = rate(*stage) else { continue };
        let is_period = reviewed(*month);
        let unit = spans[usize::from(!is_period)].entry(*month).or_default();
        unit.events += events(counts).max(0) as u64;
        unit.exposure += counts.ends as f64 * rate;
        if is_period {
            counted[0] += counts.ends;
            counted[1] += events(counts);
        }
    }
    let strata = spans.map(|span| span.into_values().collect::<Vec<_>>());
    let total = |units: &[Exposed]| {
        let events = units.iter().map(|unit| unit.events).sum::<u64>();
        (events, units.iter().map(|unit| unit.exposure).sum::<f64>())
    };
    let [period, earlier] = [total(&strata[0]), total(&strata[1])];
    let known = period.1 > 0.0 && earlier.1 > 0.0;
    known.then(|| (rate_change(period, earlier, &CountScatter::of(&strata), level), counted))
}

fn row(cells: &LookedAtCells, Change { site, looks, cleanings, counted }: &Change, q: f64) -> Row {
    let fell = looks.ratio.value.is_some_and(|ratio| ratio < 1.0) && q <= SPEAKS;
    let apart = looks.ratio.high.zip(cleanings.ratio.low).is_some_and(|(high, low)| high < low);
    let own = Own {
        recording: Some(Recording::PassingUnrecorded),
        suspected: Some(fell && apart),
        p: Some(q),
        cleanings_ratio: cleanings.ratio.value,
        ..Own::default()
    };
    let group = Group { site: cells.sites.get(site).cloned(), ..Group::default() };
    let row = Row::of(By::Site, group, Quantity::LooksPerMating, &looks.ratio, own);
    Row { n: counted[0] as f64, events: Some(counted[1]), ..row }
}
