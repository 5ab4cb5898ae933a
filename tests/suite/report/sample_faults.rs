//! The invented rows that rest on faults: fault rates, skipped cost.

use motetrail::measures::fault_rates::{self, Certainty};
use motetrail::measures::results::Money;
use motetrail::measures::skipped_cost::{self, By, Own, Quantity};
use motetrail::measures::{Flag, Group};

use super::sample::{FAMILIES, SITES, STAGES, declared, declared_share, group};

pub fn fault_rates() -> fault_rates::Table {
    use fault_rates::{By, Own, Quantity};
    let linked = || Own::with(Certainty::Linked);
    let around = |value: f64, spread: f64| [value, value / spread, value * spread];
    let mut rows: Vec<fault_rates::Row> = Vec::new();
    let mut place = |by: By, group: Group, n: f64, rate: f64| {
        let months = |level| Own { months: Some(n * 2.9), ..Own::with(level) };
        let counts = (n, (n * rate / 1000.0).round() as i64);
        for (level, scale) in
            [(Certainty::Linked, 1.0), (Certainty::Confirmed, 0.7), (Certainty::Suspect, 1.4)]
        {
            let rates = around(rate * scale, 1.5);
            let quantity = Quantity::PerMatings;
            let row =
                declared((by, group.clone(), quantity), "Wilson", counts, rates, months(level));
            let row = fault_rates::Row { method: "Fay-Feuer", ..row };
            rows.push(row.flagged((n < 100.0).then_some(Flag::Thin)));
        }
        let level = Certainty::Linked;
        for (quantity, rate) in
            [(Quantity::PerMonths, rate / 3.0), (Quantity::Fit, rate / 3.0 * 1e6 / 730.5)]
        {
            let rates = around(rate, 1.5);
            rows.push(declared(
                (by, group.clone(), quantity),
                "Wilson",
                counts,
                rates,
                months(level),
            ));
        }
        if by != By::Fleet {
            let (ratio, own) = (around(rate / 4.1, 1.6), Own { q: Some(0.04), ..months(level) });
            let quantity = Quantity::RatioToRest;
            rows.push(declared((by, group.clone(), quantity), "Wilson", counts, ratio, own));
        }
        let of = (counts.1 as f64, Some(counts.1));
        for (quantity, value, (n, events)) in [
            (Quantity::FaultCost, n * 2_300.0, of),
            (Quantity::RestoreHours, 5.25, (5.25, Some(5))),
        ] {
            let row =
                fault_rates::Row::figure(by, group.clone(), quantity, value, "count", linked());
            rows.push(fault_rates::Row { n, events, ..row });
        }
    };
    place(By::Fleet, Group::default(), 4_820.0, 4.1);
    for (index, stage) in STAGES.iter().enumerate().skip(1) {
        place(By::Stage, group("stage", &[stage]), 1_200.0, 2.0 + index as f64);
        for (kind, family) in FAMILIES.iter().enumerate() {
            let group = group("stage+family", &[stage, family]);
            place(By::StageFamily, group, [820.0, 310.0, 70.0][kind], 1.8 + index as f64);
        }
    }
    for site in SITES {
        place(By::Site, group("site", &[site]), 1_100.0, 4.0);
    }
    for (quarter, rate) in [("2025-Q4", 1.62), ("2026-Q1", 1.48), ("2026-Q2", 1.37)] {
        let (group, rates) = (group("quarter", &[quarter]), [rate, rate * 0.8, rate * 1.25]);
        let (quantity, counts) = (Quantity::PerMonths, (12_000.0, 17));
        rows.push(declared((By::Quarter, group, quantity), "Wilson", counts, rates, linked()));
    }
    rows.extend(not_of_the_rates());
    fault_rates::Table { rows }
}

/// Sites at the fleet's mix, faults that come back, times to restore, scatter and trend.
fn not_of_the_rates() -> Vec<fault_rates::Row> {
    use fault_rates::{By, Own, Quantity};
    let linked = || Own::with(Certainty::Linked);
    let fleet = |quantity, counts, limits, own| {
        declared((By::Fleet, Group::default(), quantity), "Wilson", counts, limits, own)
    };
    let mut rows: Vec<fault_rates::Row> = Vec::new();
    for (at, site) in SITES.iter().enumerate() {
        let rate = 1.2 + 0.3 * at as f64;
        let rates = [rate, rate * 0.6, rate * 1.7];
        let weight = 0.97 - 0.1 * at as f64;
        let own = Own { weight: Some(weight), phi: Some(1.3), ..linked() };
        let (group, quantity) = (group("site", &[site]), Quantity::Standardised);
        let row = declared((By::Site, group, quantity), "Wilson", (2_900.0, 4), rates, own);
        rows.push(row.flagged((weight < 0.8).then_some(Flag::Partial)));
    }
    for day in (9..=90_u32).step_by(9) {
        let mean = 0.05 * f64::from(day);
        let mean = [mean, mean * 0.7, mean * 1.4];
        let left = 18_000 - 100 * u64::from(day);
        let own = Own { day: Some(day), at_risk: Some(left), ..linked() };
        rows.push(fleet(Quantity::MeanCumulative, (18_000.0, 80), mean, own));
    }
    let repeats = (80.0, 0.11);
    let (by, quantity) = (By::Fleet, Quantity::RepeatFaults);
    rows.push(declared_share(by, Group::default(), quantity, repeats, linked()));
    for (quantity, hours) in [
        (Quantity::RestoreLowerQuartile, 1.5),
        (Quantity::RestoreMedian, 3.2),
        (Quantity::RestoreUpperQuartile, 7.9),
        (Quantity::DowntimeHours, 96.5),
    ] {
        rows.push(fleet(quantity, (19.0, 19), [hours, hours * 0.8, hours * 1.3], linked()));
    }
    for quantity in [Quantity::DispersionInForce, Quantity::DispersionByHorizon] {
        let own = Own { p: Some(0.012), phi: Some(1.3), ..linked() };
        let (by, group) = (By::Fleet, Group::default());
        let row = fault_rates::Row::figure(by, group, quantity, 1.27, "count", own);
        rows.push(fault_rates::Row { n: 1.27, events: Some(1), ..row });
    }
    let own = Own { p: Some(0.41), clusters: Some(6), ..linked() };
    rows.push(fleet(Quantity::RateGrowth, (36_000.0, 51), [1.04, 0.9, 1.19], own));
    rows
}

pub fn skipped_cost() -> skipped_cost::Table {
    let mut rows = ratios();
    rows.extend(savings(By::StageFamily));
    rows.extend(savings(By::SiteStage));
    let mut fleet = saving(By::Fleet, Group::default(), 0, 6_120_000.0, 3_100_000.0);
    fleet.own.rank = None;
    rows.push(fleet);
    for (class, pace) in [("both", 0.02), ("one", 0.045), ("none", 0.06), ("despite-fail", 0.1)] {
        for day in 1..=90 {
            let hazard = pace * f64::from(day) * (1.0 - f64::from(day) / 300.0);
            let interval = [hazard, hazard * 0.7, hazard * 1.4];
            let at_risk = 3_000 - 11 * i64::from(day);
            let own = Own { day: Some(day), at_risk: Some(at_risk), ..Own::default() };
            let what = (By::Coverage, group("coverage", &[class]), Quantity::CumulativeHazard);
            rows.push(declared(what, "Wilson", (3_000.0, 4), interval, own));
        }
    }
    skipped_cost::Table { rows }
}

fn ratios() -> Vec<skipped_cost::Row> {
    use skipped_cost::{Exposure, Faults};
    let ratio = |by: By, group: Group, (exposure, faults), ratio: [f64; 3]| {
        let own = Own {
            exposure: Some(exposure),
            faults: Some(faults),
            after_fault: Some(false),
            p: Some(0.0031),
            ..Own::default()
        };
        let what = (by, group, Quantity::RateRatio);
        declared(what, "Mantel-Haenszel, Greenland-Robins", (410_000.0, 71), ratio, own)
    };
    let fleet = |of, values| ratio(By::Fleet, Group::default(), of, values);
    let mut rows = vec![
        fleet((Exposure::Skipped, Faults::Linked), [2.13, 1.31, 3.46]),
        fleet((Exposure::One, Faults::Linked), [1.9, 1.1, 3.3]),
        fleet((Exposure::None, Faults::Linked), [2.6, 1.4, 4.9]),
        fleet((Exposure::Skipped, Faults::Any), [1.3, 1.0, 1.7]),
        fleet((Exposure::Skipped, Faults::Control), [1.04, 0.72, 1.5]),
    ];
    let mut one_sided = fleet((Exposure::DespiteFail, Faults::Linked), [0.0, 1.8, 0.0]);
    (one_sided.estimate, one_sided.high, one_sided.flags) = (None, None, vec![Flag::Thin]);
    rows.push(one_sided);
    for stage in &STAGES[1..] {
        let group = group("stage", &[stage]);
        rows.push(ratio(By::Stage, group, (Exposure::Skipped, Faults::Linked), [2.0, 1.1, 3.6]));
    }
    rows
}

/// Places in rank order, the last two flagged.
fn savings(by: By) -> Vec<skipped_cost::Row> {
    let mut rows = Vec::new();
    let across: &[&str] = if by == By::StageFamily { &FAMILIES } else { &SITES };
    for (index, other) in across.iter().enumerate() {
        for (place, stage) in STAGES.iter().enumerate().skip(2) {
            let words = if by == By::StageFamily { [stage, *other] } else { [*other, *stage] };
            let net = 2_450_000.0 - 380_000.0 * (index * 3 + place - 2) as f64;
            rows.push(saving(
                by,
                group(by.word(), &words),
                rows.len() as i64 + 1,
                net,
                net.abs() * 0.6 + 90_000.0,
            ));
        }
    }
    let all = rows.len();
    for (row, flag) in rows[all - 2..].iter_mut().zip([Flag::Borrowed, Flag::Confounded]) {
        row.flags = vec![flag];
        (row.own.running_share, row.own.rank) = (None, None);
    }
    rows
}

fn saving(by: By, group: Group, rank: i64, net: f64, half: f64) -> skipped_cost::Row {
    let money = |value: f64| Some(Money::rounded(value));
    let own = Own {
        ratio: Some(2.1),
        ratio_low: Some(1.2),
        ratio_high: Some(3.4),
        faults_skipped: Some(9),
        faults_both: Some(4),
        matings_skipped: Some(640),
        fault_cost: money(net + 1_200_000.0),
        attributable: money(net + 310_000.0),
        attributable_low: money(net - half + 310_000.0),
        attributable_high: money(net + half + 310_000.0),
        look_cost: money(310_000.0),
        running_share: Some((rank as f64 / 9.0).min(1.0)),
        rank: Some(rank),
        ..Own::default()
    };
    let interval = [net, net - half, net + half * 1.2];
    let what = (by, group, Quantity::NetSaving);
    declared(what, "bootstrap, percentile", (640.0, 9), interval, own)
}
