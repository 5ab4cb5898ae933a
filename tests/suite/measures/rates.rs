//! 5.4 on the demo: its count tables against each other, its figures worked out again, and what it says
//! of other counts.

use std::collections::BTreeMap;

use motetrail::derive::counts::{Codes, CountTable, Counted, Figures, RateCounts};
use motetrail::derive::{Counts, compared_quarters};
use motetrail::measures::fault_rates::{By, Certainty, NAME, Quantity, Row};
use motetrail::measures::{Flag, Review};
use motetrail::stats::garwood_dispersed;

use super::changed::{add, changed, each_figure, reviewed, with};
use super::extremes::{sound, times};
use crate::review::demo::demo;

const MONTH_S: f64 = 730.5 * 3600.0;

fn rates() -> &'static RateCounts {
    &demo().derived.counts.rates
}

fn rows(by: By, quantity: Quantity) -> Vec<&'static Row> {
    let rows = demo().review.fault_rates.rows_of(by, quantity);
    rows.filter(|row| row.own.level == Certainty::Linked).collect()
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-9 * (1.0 + b.abs()), "{a} against {b}");
}

fn period() -> u32 {
    demo().derived.calendar.piece_of(demo().derived.period.quarter).unwrap()
}

/// Sums of counts by a part of each cell.
fn summed<T: Counted, K: Ord>(
    table: &CountTable<T>,
    key: impl Fn(Codes<T>) -> Option<K>,
) -> BTreeMap<K, Figures<T>> {
    let mut sums: BTreeMap<K, Figures<T>> = BTreeMap::new();
    for (cell, mut row) in table.coded() {
        let Some(key) = key(cell) else { continue };
        if let Some(sum) = sums.get(&key) {
            row.as_mut().iter_mut().zip(sum.as_ref()).for_each(|(row, sum)| *row += sum);
        }
        sums.insert(key, row);
    }
    sums
}

/// Two count tables of the same matings, filled by different code: to the second.
#[test]
fn weeks_in_force_add_up_to_the_quarters_that_are_compared() {
    let derived = &demo().derived;
    let quarters: Vec<u32> = compared_quarters(&derived.period)
        .iter()
        .filter_map(|quarter| derived.calendar.piece_of(*quarter))
        .collect();
    assert_eq!(quarters.len(), 3);
    let weeks = summed(&rates().force_weeks, |[quarter, _, site, stage, family]| {
        Some([quarter, site, stage, family])
    });
    let mut compared = 0;
    for (cell, row) in derived.counts.rates.in_force.coded() {
        if quarters.contains(&cell[0]) {
            assert_eq!(weeks[&cell][1..], row[1..7], "{cell:?}");
            compared += 1;
        }
    }
    assert_eq!(compared, weeks.len());
    assert!(compared > 200, "{compared}");
}

#[test]
fn weeks_of_matings_add_up_to_the_follow_up_of_the_period() {
    let weeks = summed(&rates().follow_weeks, |[_, site, stage, family, band]| {
        Some([site, stage, family, band])
    });
    let usual = summed(&demo().derived.counts.followed.follow_up, |cell| {
        (cell[0] == period()).then_some([cell[1], cell[2], cell[3], cell[7]])
    });
    assert_eq!(weeks.len(), usual.len());
    for (cell, row) in &usual {
        let own = &weeks[cell];
        assert_eq!((own[0], &own[1..]), (row[0], &row[2..8]), "{cell:?}");
    }
}

#[test]
fn pairs_of_faults_are_the_same_in_both_orders_and_hold_each_fault() {
    let pairs = summed(&rates().recurrences, |[_, _, _, day, with]| Some([day, with]));
    let (mut squares, mut faults, mut firsts, mut others) = (0, 0, 0, 0);
    for ([day, with], row) in &pairs {
        let turned = pairs.get(&[*with, *day]).map_or(0, |row| row[0]);
        assert_eq!(row[0], turned, "days {day} and {with}");
        squares += if day == with { row[0] } else { 0 };
        others += if day == with { 0 } else { row[0] };
        faults += row[1];
        firsts += row[2];
    }
    assert_eq!(squares, faults, "no two faults of a mating count on one day");
    // The generator's crews make a failed mating anew, so none of the demo's comes back: what second
    // faults count as is tested on rows.
    assert!(firsts > 100 && others == 2 * (faults - firsts), "{firsts} {faults} {others}");
}

/// Nelson by hand: faults of each day over the matings still followed.
#[test]
fn mean_number_of_faults_is_that_of_its_days() {
    let back: Vec<u32> = demo()
        .derived
        .period
        .look_back
        .iter()
        .map(|quarter| demo().derived.calendar.piece_of(*quarter).unwrap())
        .collect();
    let within = |quarter: u32| back.contains(&quarter);
    let ended = summed(&rates().watched, |[quarter, _, _, day]| within(quarter).then_some(day));
    let faults =
        summed(&rates().recurrences, |[quarter, _, _, day, _]| within(quarter).then_some(day));
    let mut mean = 0.0;
    for (day, row) in &faults {
        let at_risk: i64 = ended.range(day..).map(|(_, row)| row[0]).sum();
        mean += row[1] as f64 / at_risk as f64;
    }
    let curve = rows(By::Fleet, Quantity::MeanCumulative);
    let last = curve[curve.len() - 1];
    close(last.estimate.unwrap(), 1000.0 * mean);
    assert_eq!(last.own.day, Some(90));
    assert_eq!(last.n, ended.values().map(|row| row[0]).sum::<i64>() as f64);
    assert!(curve.is_sorted_by(|a, b| a.estimate <= b.estimate));
    let repeats = rows(By::Fleet, Quantity::RepeatFaults)[0];
    let sum = |at: usize| faults.values().map(|row| row[at]).sum::<i64>();
    assert_eq!((repeats.n, repeats.events), (sum(1) as f64, Some(sum(1) - sum(2))));
}

/// Slow: gaps and variances of site-weeks from the rates of stage and family, cell by cell.
#[test]
fn scatter_of_site_weeks_by_hand() {
    let within = |quarter: u32| quarter == period();
    let table = &rates().force_weeks;
    let strata =
        summed(table, |[quarter, _, _, stage, family]| within(quarter).then_some([stage, family]));
    let mut weeks: BTreeMap<[u32; 2], (f64, f64)> = BTreeMap::new();
    for ([quarter, week, site, stage, family], row) in table.coded() {
        if !within(quarter) || row[2] == 0 {
            continue;
        }
        let all = strata[&[stage, family]];
        let share = row[2] as f64 / all[2] as f64;
        let own = weeks.entry([site, week]).or_default();
        own.0 += row[1] as f64 - all[1] as f64 * share;
        own.1 += all[1] as f64 * share * (1.0 - share);
    }
    let phi = weeks.values().map(|own| own.0 * own.0).sum::<f64>()
        / weeks.values().map(|own| own.1).sum::<f64>();
    let row = rows(By::Fleet, Quantity::DispersionInForce)[0];
    close(row.estimate.unwrap(), phi);
    assert_eq!(row.n, weeks.len() as f64);
    let taken = row.own.phi.unwrap();
    assert!(taken >= phi.max(1.0) && taken <= 1.1 * phi.max(1.0), "{taken} for {phi}");
}

#[test]
fn every_rate_takes_the_scatter_that_its_row_states() {
    let mut wide = 0;
    for by in [By::Fleet, By::Stage, By::Family, By::StageFamily, By::Site, By::Quarter] {
        for row in rows(by, Quantity::PerMonths) {
            let phi = row.own.phi.unwrap();
            let want =
                garwood_dispersed(row.events.unwrap() as u64, row.n, phi, demo().review.level);
            close(row.high.unwrap(), 1000.0 * want.high.unwrap());
            close(row.low.unwrap(), 1000.0 * want.low.unwrap());
            assert_eq!(row.method, want.method);
            wide += usize::from(phi > 1.0);
        }
    }
    assert!(wide > 5, "{wide}");
}

/// By hand: the site's rates weighted by the fleet's time, over the strata in which it has a month.
#[test]
fn sites_are_standardised_to_the_fleets_time() {
    let cells = summed(&demo().derived.counts.rates.in_force, |[quarter, site, stage, family]| {
        (quarter == period()).then_some([site, stage, family])
    });
    let mut fleet: BTreeMap<[u32; 2], f64> = BTreeMap::new();
    for ([_, stage, family], row) in &cells {
        *fleet.entry([*stage, *family]).or_default() += row[2] as f64 / MONTH_S;
    }
    let whole: f64 = fleet.values().sum();
    let found = rows(By::Site, Quantity::Standardised);
    assert!(found.len() >= 9, "{}", found.len());
    for row in found {
        let name = row.group.site.as_deref().unwrap();
        let site = demo().derived.glossary.site.0.find(name).unwrap();
        let (mut sum, mut weight) = (0.0, 0.0);
        for ([own, stage, family], counts) in &cells {
            let months = counts[2] as f64 / MONTH_S;
            if *own == site && months >= 1.0 {
                weight += fleet[&[*stage, *family]];
                sum += fleet[&[*stage, *family]] * counts[1] as f64 / months;
            }
        }
        // A site of matings that last minutes has no stratum of a month.
        match row.estimate {
            Some(estimate) => close(estimate, 1000.0 * sum / weight),
            None => assert_eq!(weight, 0.0, "{row:?}"),
        }
        close(row.own.weight.unwrap(), weight / whole);
        assert_eq!(row.flags.contains(&Flag::Partial), weight / whole < 0.8, "{row:?}");
    }
}

#[test]
fn quartiles_of_the_time_to_restore_are_in_order_and_of_the_faults_that_were_cleared() {
    let quartiles =
        [Quantity::RestoreLowerQuartile, Quantity::RestoreMedian, Quantity::RestoreUpperQuartile];
    for by in [By::Fleet, By::Stage, By::Family, By::Site] {
        let [low, middle, high] = quartiles.map(|quantity| rows(by, quantity));
        let means = rows(by, Quantity::RestoreHours);
        assert_eq!(means.len(), middle.len());
        for (at, mean) in means.iter().enumerate() {
            let value = |row: &Row| row.estimate.unwrap();
            assert!(value(low[at]) <= value(middle[at]) && value(middle[at]) <= value(high[at]));
            assert_eq!((mean.n, &mean.group), (middle[at].n, &middle[at].group));
        }
    }
    let hours: f64 =
        rows(By::Site, Quantity::DowntimeHours).iter().filter_map(|row| row.estimate).sum();
    close(hours, rows(By::Fleet, Quantity::DowntimeHours)[0].estimate.unwrap());
}

#[test]
fn trend_is_of_the_quarters_of_the_trend() {
    let quarters = rows(By::Quarter, Quantity::PerMonths);
    let growth = rows(By::Fleet, Quantity::RateGrowth)[0];
    assert_eq!(growth.own.clusters, Some(quarters.len() as u64));
    assert_eq!(growth.events, Some(quarters.iter().filter_map(|row| row.events).sum()));
    let test = rows(By::Fleet, Quantity::RateTrend)[0];
    assert_eq!(test.own.p.unwrap(), growth.own.p.unwrap());
    // A chi-square of one degree of freedom beyond 3.84 has a p below 0.05.
    assert_eq!(test.estimate.unwrap() > 3.841_458_821, test.own.p.unwrap() < 0.05);
}

fn fault_rows(review: &Review) -> &[Row] {
    &review.fault_rates.rows
}

/// Weeks that were too many to be kept: the site stands for them.
#[test]
fn without_weeks_sites_are_the_clusters() {
    let own = &demo().derived.counts;
    let mut rates = own.rates.clone();
    rates.force_weeks.clear();
    rates.follow_weeks.clear();
    let review = reviewed(with!(own, rates = rates));
    sound(&review, NAME);
    let row = review.fault_rates.rows_of(By::Fleet, Quantity::PerMonths).next().unwrap();
    let sites = demo().review.sites.len() as u64;
    let clusters = row.own.clusters.unwrap();
    assert!((5..=sites).contains(&clusters), "{clusters}");
    assert_eq!(row.estimate, rows(By::Fleet, Quantity::PerMonths)[0].estimate);
}

#[test]
fn no_count_and_huge_counts_say_nothing_that_is_no_number() {
    sound(&reviewed(Counts::empty(0)), NAME);
    let own = &demo().derived.counts;
    for factor in [1_000_000, 1_000_000_000_000] {
        let rates = &own.rates;
        let review = reviewed(with!(
            own,
            followed.follow_up = times(&own.followed.follow_up, factor),
            faults = times(&own.faults, factor),
            rates = RateCounts {
                in_force: times(&rates.in_force, factor),
                force_weeks: times(&rates.force_weeks, factor),
                follow_weeks: times(&rates.follow_weeks, factor),
                watched: times(&rates.watched, factor),
                recurrences: times(&rates.recurrences, factor),
                restores: times(&rates.restores, factor),
                downtimes: times(&rates.downtimes, factor),
            },
        ));
        assert!(sound(&review, NAME) > 300);
    }
}

#[test]
fn empty_cells_change_no_rate() {
    let own = &demo().derived.counts;
    let mut counts = own.clone();
    let rates = &mut counts.rates;
    let ([quarter, week, ..], _) = rates.force_weeks.coded()[0];
    add(&mut rates.force_weeks, [quarter, week, 0, 0, 0], [0; 7]);
    let ([quarter, stage, family, _], _) = rates.watched.coded()[0];
    add(&mut rates.watched, [quarter, stage, family, 88], [0]);
    add(&mut rates.recurrences, [quarter, stage, family, 3, 4], [0; 3]);
    let fleet = |review: &Review| -> Vec<Row> {
        fault_rows(review).iter().filter(|row| row.by == By::Fleet).cloned().collect()
    };
    assert_eq!(fleet(&reviewed(counts)), fleet(&demo().review));
}

/// Counts split in two and added again, as threads do.
#[test]
fn split_and_merged_counts_are_the_same_counts() {
    let half = |even: bool| {
        fn part<T: Counted>(table: &CountTable<T>, even: bool) -> CountTable<T> {
            let part = |count: i64| if even { count / 3 } else { count - count / 3 };
            let mut other = each_figure(table, part);
            if !even {
                other.add(None, table.off_table());
            }
            other
        }
        let rates = rates();
        RateCounts {
            in_force: part(&rates.in_force, even),
            force_weeks: part(&rates.force_weeks, even),
            follow_weeks: part(&rates.follow_weeks, even),
            watched: part(&rates.watched, even),
            recurrences: part(&rates.recurrences, even),
            restores: part(&rates.restores, even),
            downtimes: part(&rates.downtimes, even),
        }
    };
    let merged = half(true).merge(half(false));
    assert!(merged.check().is_ok());
    assert_eq!(&merged, rates());
    assert_eq!(&half(false).merge(half(true)), rates());
}

/// Sites under other numbers are the same clusters: rates and scatter of stages stay what they were.
#[test]
fn numbering_sites_otherwise_changes_no_rate_of_a_stage() {
    let own = &demo().derived.counts;
    let sites = demo().review.sites.len() as u32;
    let turned = |site: u32| sites - 1 - site;
    let rates = RateCounts {
        force_weeks: changed(&own.rates.force_weeks, |mut cell, row| {
            cell[2] = turned(cell[2]);
            (cell, row)
        }),
        follow_weeks: changed(&own.rates.follow_weeks, |mut cell, row| {
            cell[1] = turned(cell[1]);
            (cell, row)
        }),
        ..own.rates.clone()
    };
    let other = reviewed(with!(own, rates = rates));
    for quantity in [Quantity::PerMonths, Quantity::PerMatings, Quantity::RatioToRest] {
        let table = &demo().review.fault_rates;
        let before: Vec<&Row> = table.rows_of(By::Stage, quantity).collect();
        let after: Vec<&Row> = other.fault_rates.rows_of(By::Stage, quantity).collect();
        assert_eq!(before.len(), after.len());
        for (a, b) in before.iter().zip(after) {
            for (a, b) in [(a.low, b.low), (a.estimate, b.estimate), (a.high, b.high)] {
                assert_eq!(a.is_some(), b.is_some());
                close(a.unwrap_or(0.0), b.unwrap_or(0.0));
            }
        }
    }
}
