//! The invented rows that rest on faults: fault rates, skipped cost.

use motetrail::measures::{Flag, Group, Row, Table, Unit, Value};

use super::sample::{
    FAMILIES, FAULT_RATES, SITES, SKIPPED_COST, STAGES, figure, group, own, row, share, text,
};

pub fn fault_rates() -> Table {
    let mut rows: Vec<Row> = Vec::new();
    let mut push = |mut row: Row, level: &str, q: Value| {
        let months = Value::Number(row.n * 2.9);
        row.own = own(FAULT_RATES, &[("level", text(level)), ("months", months), ("q", q)]);
        rows.push(row);
    };
    let mut place = |by: &'static str, group: Group, n: f64, rate: f64| {
        let around = |value: f64, spread: f64| [value, value / spread, value * spread];
        let counts = (n, (n * rate / 1000.0).round() as i64);
        for (level, scale) in [("linked", 1.0), ("confirmed", 0.7), ("suspect", 1.4)] {
            let rates = around(rate * scale, 1.5);
            let mut row = row(
                by,
                group.clone(),
                "faults-per-1000-matings",
                Unit::PerThousandMatings,
                counts,
                rates,
            );
            row.method = "Fay-Feuer";
            if n < 100.0 {
                row.flags = vec![Flag::Thin];
            }
            push(row, level, Value::Missing);
        }
        let rates = [
            ("faults-per-1000-months", Unit::PerThousandMonths, rate / 3.0),
            ("fit", Unit::Fit, rate / 3.0 * 1e6 / 730.5),
        ];
        for (quantity, unit, rate) in rates {
            let row = row(by, group.clone(), quantity, unit, counts, around(rate, 1.5));
            push(row, "linked", Value::Missing);
        }
        if by != "fleet" {
            let ratio = around(rate / 4.1, 1.6);
            let row = row(by, group.clone(), "ratio-to-rest", Unit::Ratio, counts, ratio);
            push(row, "linked", Value::Number(0.04));
        }
        let mut cost = row(by, group.clone(), "fault-cost", Unit::Money, counts, [n * 2_300.0; 3]);
        (cost.low, cost.high, cost.n) = (None, None, counts.1 as f64);
        push(cost, "linked", Value::Missing);
        push(figure(by, group, "restore-hours", 5.25), "linked", Value::Missing);
    };
    place("fleet", Group::default(), 4_820.0, 4.1);
    for (index, stage) in STAGES.iter().enumerate().skip(1) {
        place("stage", group("stage", &[stage]), 1_200.0, 2.0 + index as f64);
        for (kind, family) in FAMILIES.iter().enumerate() {
            let group = group("stage+family", &[stage, family]);
            place("stage+family", group, [820.0, 310.0, 70.0][kind], 1.8 + index as f64);
        }
    }
    for site in SITES {
        place("site", group("site", &[site]), 1_100.0, 4.0);
    }
    for (quarter, rate) in [("2025-Q4", 1.62), ("2026-Q1", 1.48), ("2026-Q2", 1.37)] {
        let rates = [rate, rate * 0.8, rate * 1.25];
        let group = group("quarter", &[quarter]);
        let row = row(
            "quarter",
            group,
            "faults-per-1000-months",
            Unit::PerThousandMonths,
            (12_000.0, 17),
            rates,
        );
        push(row, "linked", Value::Missing);
    }
    rows.extend(beside_the_rates());
    Table { name: "fault_rates", own: FAULT_RATES, rows }
}

/// Sites at the fleet's mix, faults that come back, times to restore, scatter and trend.
fn beside_the_rates() -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    let mut push = |mut row: Row, values: &[(&str, Value)]| {
        let level = [("level", text("linked"))];
        row.own = own(FAULT_RATES, &[&level[..], values].concat());
        rows.push(row);
    };
    for (at, site) in SITES.iter().enumerate() {
        let rate = 1.2 + 0.3 * at as f64;
        let rates = [rate, rate * 0.6, rate * 1.7];
        let mut row = row(
            "site",
            group("site", &[site]),
            "standardised-per-1000-months",
            Unit::PerThousandMonths,
            (2_900.0, 4),
            rates,
        );
        let weight = 0.97 - 0.1 * at as f64;
        if weight < 0.8 {
            row.flags = vec![Flag::Partial];
        }
        push(row, &[("weight", Value::Number(weight)), ("phi", Value::Number(1.3))]);
    }
    for day in (9..=90).step_by(9) {
        let mean = 0.05 * f64::from(day);
        let mean = [mean, mean * 0.7, mean * 1.4];
        let row = row(
            "fleet",
            Group::default(),
            "mean-cumulative-faults",
            Unit::PerThousandMatings,
            (18_000.0, 80),
            mean,
        );
        let left = Value::Count(18_000 - 100 * i64::from(day));
        push(row, &[("day", Value::Count(day.into())), ("at_risk", left)]);
    }
    let mut repeats = share("fleet", Group::default(), "repeat-faults", 80.0, 0.11);
    repeats.method = "Wilson";
    push(repeats, &[]);
    for (quantity, hours) in [
        ("restore-hours-lower-quartile", 1.5),
        ("restore-hours-median", 3.2),
        ("restore-hours-upper-quartile", 7.9),
        ("downtime-hours", 96.5),
    ] {
        let hours = [hours, hours * 0.8, hours * 1.3];
        push(row("fleet", Group::default(), quantity, Unit::Hours, (19.0, 19), hours), &[]);
    }
    for quantity in ["dispersion-in-force", "dispersion-by-horizon"] {
        let row = figure("fleet", Group::default(), quantity, 1.27);
        push(row, &[("p", Value::Number(0.012)), ("phi", Value::Number(1.3))]);
    }
    let growth = [1.04, 0.9, 1.19];
    let row = row("fleet", Group::default(), "rate-growth", Unit::Ratio, (36_000.0, 51), growth);
    push(row, &[("p", Value::Number(0.41)), ("clusters", Value::Count(6))]);
    rows
}

pub fn skipped_cost() -> Table {
    let mut rows = ratios();
    rows.extend(savings("stage+family"));
    rows.extend(savings("site+stage"));
    let mut fleet = saving("fleet", Group::default(), 0, 6_120_000.0, 3_100_000.0);
    fleet.own[16] = Value::Missing;
    rows.push(fleet);
    for (class, pace) in [("both", 0.02), ("one", 0.045), ("none", 0.06), ("despite-fail", 0.1)] {
        for day in 1..=90 {
            let hazard = pace * f64::from(day) * (1.0 - f64::from(day) / 300.0);
            let interval = [hazard, hazard * 0.7, hazard * 1.4];
            let group = group("coverage", &[class]);
            let mut row = row(
                "coverage",
                group,
                "cumulative-hazard",
                Unit::PerThousandMatings,
                (3_000.0, 4),
                interval,
            );
            row.own = own(
                SKIPPED_COST,
                &[
                    ("day", Value::Count(day.into())),
                    ("at_risk", Value::Count(3_000 - 11 * i64::from(day))),
                ],
            );
            rows.push(row);
        }
    }
    Table { name: "skipped_cost", own: SKIPPED_COST, rows }
}

fn ratios() -> Vec<Row> {
    let ratio = |by: &'static str, group: Group, labels: [&str; 3], ratio: [f64; 3]| {
        let mut row = row(by, group, "rate-ratio", Unit::Ratio, (410_000.0, 71), ratio);
        row.method = "Mantel-Haenszel, Greenland-Robins";
        row.own = own(
            SKIPPED_COST,
            &[
                ("exposure", text(labels[0])),
                ("faults", text(labels[1])),
                ("after_fault", text(labels[2])),
                ("p", Value::Number(0.0031)),
            ],
        );
        row
    };
    let fleet = |labels, values| ratio("fleet", Group::default(), labels, values);
    let mut rows = vec![
        fleet(["skipped", "linked", "no"], [2.13, 1.31, 3.46]),
        fleet(["one", "linked", "no"], [1.9, 1.1, 3.3]),
        fleet(["none", "linked", "no"], [2.6, 1.4, 4.9]),
        fleet(["skipped", "any", "no"], [1.3, 1.0, 1.7]),
        fleet(["skipped", "control", "no"], [1.04, 0.72, 1.5]),
    ];
    let mut one_sided = fleet(["despite-fail", "linked", "no"], [0.0, 1.8, 0.0]);
    (one_sided.estimate, one_sided.high, one_sided.flags) = (None, None, vec![Flag::Thin]);
    rows.push(one_sided);
    for stage in &STAGES[1..] {
        let group = group("stage", &[stage]);
        rows.push(ratio("stage", group, ["skipped", "linked", "no"], [2.0, 1.1, 3.6]));
    }
    rows
}

/// Places in rank order, the last two flagged.
fn savings(by: &'static str) -> Vec<Row> {
    let mut rows = Vec::new();
    let across: &[&str] = if by == "stage+family" { &FAMILIES } else { &SITES };
    for (index, other) in across.iter().enumerate() {
        for (place, stage) in STAGES.iter().enumerate().skip(2) {
            let words = if by == "stage+family" { [stage, *other] } else { [*other, *stage] };
            let net = 2_450_000.0 - 380_000.0 * (index * 3 + place - 2) as f64;
            rows.push(saving(
                by,
                group(by, &words),
                rows.len() as i64 + 1,
                net,
                net.abs() * 0.6 + 90_000.0,
            ));
        }
    }
    let all = rows.len();
    for (row, flag) in rows[all - 2..].iter_mut().zip([Flag::Borrowed, Flag::Confounded]) {
        row.flags = vec![flag];
        (row.own[15], row.own[16]) = (Value::Missing, Value::Missing);
    }
    rows
}

fn saving(by: &'static str, group: Group, rank: i64, net: f64, half: f64) -> Row {
    let interval = [net, net - half, net + half * 1.2];
    let mut row = row(by, group, "net-saving", Unit::Money, (640.0, 9), interval);
    row.method = "bootstrap, percentile";
    let money = |value: f64| Value::Money(value.round() as i64);
    row.own = own(
        SKIPPED_COST,
        &[
            ("ratio", Value::Number(2.1)),
            ("ratio_low", Value::Number(1.2)),
            ("ratio_high", Value::Number(3.4)),
            ("faults_skipped", Value::Count(9)),
            ("faults_both", Value::Count(4)),
            ("matings_skipped", Value::Count(640)),
            ("fault_cost", money(net + 1_200_000.0)),
            ("attributable", money(net + 310_000.0)),
            ("attributable_low", money(net - half + 310_000.0)),
            ("attributable_high", money(net + half + 310_000.0)),
            ("look_cost", Value::Money(310_000)),
            ("running_share", Value::Number((rank as f64 / 9.0).min(1.0))),
            ("rank", Value::Count(rank)),
        ],
    );
    row
}
