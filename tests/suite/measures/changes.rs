//! 5.9 on the demo: its numbers from the count tables by hand, and that nothing is found where
//! nothing was planted.

use std::collections::BTreeMap;

use motetrail::derive::compared;
use motetrail::derive::counts::{CycleNo, QuarterNo, View, VisitRow};
use motetrail::measures::changes::{Against, By, Quantity, Row};
use motetrail::measures::fault_rates::Block;
use motetrail::measures::{Review, Unit, first_pass};
use motetrail::stats::clustered::{MOST_USUAL, PRIOR_DF, PRIOR_UNITS, USUAL_CORRELATION};
use motetrail::stats::proportion::clopper_pearson;
use motetrail::stats::{Estimate, benjamini_hochberg};

use super::changed::demo_plan;
use crate::printed::{self, Printed};
use crate::review::demo::demo;

pub fn rows(review: &Review, against: Against, by: By, quantity: Quantity) -> Vec<&Row> {
    let rows = review.changes.rows_of(by, quantity);
    rows.filter(|row| row.own.against == against).collect()
}

/// Codes of the period and of the quarter before it in count tables.
pub fn quarters() -> [QuarterNo; 2] {
    let derived = &demo().derived;
    let before = compared(&derived.period).quarter_before;
    [derived.period.quarter, before]
        .map(|quarter| QuarterNo(derived.calendar.piece_of(quarter).unwrap()))
}

/// Two-sided 95 % quantile of Student's t by its expansion in 1 / df, Abramowitz & Stegun (1964), 26.7.5.
fn t_quantile(df: f64) -> f64 {
    1.959964 + 2.3723 / df + 2.82 / (df * df)
}

/// First pass of the fleet: shares of the visits, scatter of the work orders, both counted again here.
#[test]
fn the_fleets_change_of_first_pass_is_that_of_its_visits_and_work_orders() {
    let demo = demo();
    let row = rows(&demo.review, Against::QuarterBefore, By::Fleet, Quantity::FirstPass)[0];
    // Clusters are as long as first pass says.
    let block = demo.review.first_pass.rows_of(first_pass::By::Fleet, first_pass::Quantity::Clean);
    let block = block.map(|row| row.own.block).next().unwrap();
    let sides = quarters().map(|quarter| {
        let visits = demo.derived.counts.first_pass.visits.cells();
        let routine = visits
            .iter()
            .filter(|(cell, _)| cell.quarter == quarter && cell.row == VisitRow::Routine);
        let (n, y) = routine
            .fold((0.0, 0.0), |sum, (_, row)| (sum.0 + row.looks as f64, sum.1 + row.clean as f64));
        let mut orders: BTreeMap<_, (f64, f64)> = BTreeMap::new();
        for (cell, row) in demo.derived.counts.first_pass.work_orders.cells() {
            if cell.quarter == quarter {
                let within = match block {
                    None => (cell.cluster_high.0, cell.cluster_low.0),
                    Some(Block::Week) => (0, cell.week.0),
                    Some(Block::Month) => (0, cell.week.0 / 4),
                    Some(Block::Quarter) => (0, 0),
                };
                let order = orders.entry((cell.site, within)).or_default();
                *order = (order.0 + row.looks as f64, order.1 + row.clean as f64);
            }
        }
        assert_eq!(orders.values().map(|order| order.0).sum::<f64>(), n);
        let (p, m) = (y / n, orders.len() as f64);
        let gaps: f64 = orders.values().map(|order| (order.1 - p * order.0).powi(2)).sum();
        let deff = m / (m - 1.0) * gaps / (p * (1.0 - p) * n);
        // Clusters of equal weight, by units or by either outcome, whichever are fewer.
        let weigh = |of: fn(&(f64, f64)) -> f64| {
            let sum: f64 = orders.values().map(of).sum();
            sum.powi(2) / orders.values().map(|order| of(order).powi(2)).sum::<f64>()
        };
        let weights = [weigh(|order| order.0), weigh(|order| order.1), weigh(|o| o.0 - o.1)];
        let effective = weights.into_iter().fold(m, f64::min);
        // Drawn to the usual correlation, which counts as four failing looks and seven degrees of freedom.
        let size = orders.values().map(|order| order.0 * order.0).sum::<f64>() / n;
        let usual = (1.0 + (size - 1.0) * USUAL_CORRELATION).min(MOST_USUAL);
        let deff = ((n - y) * deff + PRIOR_UNITS * usual) / (n - y + PRIOR_UNITS);
        let df = effective + PRIOR_DF;
        let by = (deff * (t_quantile(df) / 1.959964).powi(2)).max(1.0);
        (n, y, by, m)
    });
    let [(n, y, by, m), (before_n, before_y, before_by, before_m)] = sides;
    assert_eq!((row.n, row.events), (n, Some(y as i64)));
    assert_eq!((row.own.n_before, row.own.events_before), (before_n, before_y as u64));
    assert_eq!((row.own.clusters, row.own.clusters_before), (m as u64, before_m as u64));
    assert!((row.own.value.unwrap() - y / n).abs() < 1e-12);
    assert!((row.own.value_before.unwrap() - before_y / before_n).abs() < 1e-12);
    let now = clopper_pearson(y / by, n / by, 0.95);
    let before = clopper_pearson(before_y / before_by, before_n / before_by, 0.95);
    let reach = |first: &Estimate, second: &Estimate| {
        (first.value.unwrap() - first.low.unwrap())
            .hypot(second.high.unwrap() - second.value.unwrap())
    };
    let value = now.value.unwrap() - before.value.unwrap();
    let (low, high) = (value - reach(&now, &before), value + reach(&before, &now));
    for (got, want) in [(row.estimate, value), (row.low, low), (row.high, high)] {
        assert!((got.unwrap() - want).abs() < 1e-5, "{got:?} {want:?}");
    }
}

/// Faults and connection-months by hand, and the scatter of site-weeks about their site.
#[test]
fn the_fleets_change_of_the_fault_rate_rests_on_its_site_weeks() {
    let demo = demo();
    let row = rows(&demo.review, Against::QuarterBefore, By::Fleet, Quantity::FaultRate)[0];
    let (mut squares, mut chance) = (0.0, 0.0);
    let rates = quarters().map(|quarter| {
        let mut weeks: BTreeMap<_, BTreeMap<_, (f64, f64)>> = BTreeMap::new();
        for (cell, row) in demo.derived.counts.rates.force_weeks.cells() {
            if cell.quarter == quarter {
                let week = weeks.entry(cell.site).or_default().entry(cell.week).or_default();
                *week = (week.0 + row.linked as f64, week.1 + row.linked_s as f64);
            }
        }
        let (mut faults, mut time) = (0.0, 0.0);
        for site in weeks.values() {
            let (d, t) =
                site.values().fold((0.0, 0.0), |sum, week| (sum.0 + week.0, sum.1 + week.1));
            for (faulted, part) in site.values() {
                let share = part / t;
                squares += (faulted - d * share).powi(2);
                chance += d * share * (1.0 - share);
            }
            (faults, time) = (faults + d, time + t);
        }
        (faults, time / (730.5 * 3600.0))
    });
    let [(faults, months), (before_faults, before_months)] = rates;
    assert_eq!((row.events, row.own.events_before), (Some(faults as i64), before_faults as u64));
    assert!((row.n / months - 1.0).abs() < 1e-9);
    assert!((row.own.n_before / before_months - 1.0).abs() < 1e-9);
    let ratio = faults / months / (before_faults / before_months);
    assert!((row.estimate.unwrap() / ratio - 1.0).abs() < 1e-9);
    assert!((row.own.phi.unwrap() - f64::max(squares / chance, 1.0)).abs() < 1e-9);
    assert!((row.own.value.unwrap() - 1000.0 * faults / months).abs() < 1e-6);
}

#[test]
fn shares_now_are_those_of_the_measures_themselves() {
    let demo = demo();
    for (table, quantity, column) in [
        ("first_pass", Quantity::FirstPass, ""),
        ("coverage", Quantity::Skipped, "base"),
        ("fault_rates", Quantity::FaultRate, "level"),
    ] {
        for by in [By::Fleet, By::Stage, By::Family, By::Site] {
            let changes = rows(&demo.review, Against::QuarterBefore, by, quantity);
            assert!(!changes.is_empty());
            for row in changes {
                let first = |other: &Printed| {
                    let word = if column.is_empty() { "" } else { other.own(column) };
                    *other.row.group == row.group && ["", "known", "linked"].contains(&word)
                };
                let same = printed::rows(&demo.review, table, by.word(), quantity.word());
                let same = same.into_iter().find(first);
                let Some(same) = same.map(|same| same.row) else {
                    assert_eq!(row.n, 0.0, "{row:?}");
                    continue;
                };
                assert_eq!(row.events, same.events, "{row:?}");
                assert!((row.n - same.n).abs() <= 1e-9 * same.n);
                let gap = row.own.value.unwrap_or(0.0) - same.estimate.unwrap_or(0.0);
                assert!(gap.abs() < 1e-9, "{row:?} {same:?}");
            }
        }
    }
}

/// The share passing at the first cycle is the hazard of cycle 1, in the look-back's last quarter.
#[test]
fn the_first_cycle_is_counted_from_visits_that_left_at_it_or_later() {
    let demo = demo();
    let [period, _] = quarters();
    let (mut made, mut passed) = (0, 0);
    for (cell, row) in demo.derived.counts.cleaning.cycles.cells() {
        if cell.quarter == period && cell.view == View::All && cell.cycle >= CycleNo(1) {
            made += row.passed + row.rejected + row.left + row.censored;
            passed += if cell.cycle == CycleNo(1) { row.passed } else { 0 };
        }
    }
    let row = rows(&demo.review, Against::QuarterBefore, By::Fleet, Quantity::FirstCycle)[0];
    assert_eq!((row.n, row.events), (made as f64, Some(passed)));
}

#[test]
fn groups_add_up_to_the_fleet_in_both_quarters() {
    let demo = demo();
    for against in Against::ALL {
        for quantity in [Quantity::FirstPass, Quantity::FirstCycle, Quantity::Skipped] {
            let sum = |by: By| {
                let rows = rows(&demo.review, *against, by, quantity);
                let events: i64 = rows.iter().map(|row| row.events.unwrap()).sum();
                let n: f64 = rows.iter().map(|row| row.n).sum();
                let n_before: f64 = rows.iter().map(|row| row.own.n_before).sum();
                let events_before: u64 = rows.iter().map(|row| row.own.events_before).sum();
                (n, events, n_before, events_before)
            };
            let fleet = sum(By::Fleet);
            assert!(fleet.0 > 0.0 && fleet.2 > 0.0);
            for by in [By::Stage, By::Family, By::StageFamily, By::Site] {
                assert_eq!(sum(by), fleet, "{against:?} {quantity:?} by {by:?}");
            }
        }
    }
}

#[test]
fn q_is_over_the_rows_that_no_flag_keeps_out_and_p_agrees_with_the_interval() {
    let demo = demo();
    for against in Against::ALL {
        let rows = demo.review.changes.rows.iter();
        let all: Vec<&Row> = rows.filter(|row| row.own.against == *against).collect();
        let firm: Vec<&Row> = all.iter().copied().filter(|row| row.is_firm()).collect();
        assert!(firm.len() > 100 && firm.len() < all.len(), "{} of {}", firm.len(), all.len());
        // The headlines are a family of their own.
        for of_fleet in [true, false] {
            let listed: Vec<&&Row> =
                firm.iter().filter(|row| (row.by == By::Fleet) == of_fleet).collect();
            assert!(!listed.is_empty());
            let p: Vec<f64> = listed.iter().map(|row| row.own.p).collect();
            for (row, q) in listed.iter().zip(benjamini_hochberg(&p)) {
                assert_eq!(row.own.q, Some(q), "{row:?}");
            }
        }
        for row in all {
            assert_eq!(row.own.q.is_some(), row.is_firm(), "{row:?}");
            let none = if row.unit() == Unit::Ratio { 1.0 } else { 0.0 };
            let out =
                row.low.is_some_and(|low| low > none) || row.high.is_some_and(|high| high < none);
            assert_eq!(out, row.own.p < 0.05, "{row:?}");
        }
    }
}

/// The demo's recipe plants one change in the year before its quarter, an action of three sites against skipped looks, and
/// nothing else is found.
#[test]
fn nothing_is_found_where_nothing_was_planted() {
    let sites = &demo_plan().actions[0].sites;
    let rows = &demo().review.changes.rows;
    let found: Vec<&Row> = rows.iter().filter(|row| row.own.q.is_some_and(|q| q <= 0.05)).collect();
    assert!(!found.is_empty());
    for row in found {
        assert_eq!((row.quantity, row.own.against), (Quantity::Skipped, Against::YearBefore));
        assert!(row.high.unwrap() < 0.0, "{row:?}");
        assert!(row.group.site.as_ref().is_none_or(|site| sites.contains(site)), "{row:?}");
    }
}
