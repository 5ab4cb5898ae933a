//! The invented rows that rest on faults: fault rates, skipped cost, trust.

use motetrail::measures::fault_rates::{self, By, Certainty, Own, Quantity};
use motetrail::measures::{Flag, Group, Row, Table, Unit, Value};

use super::sample::{
    FAMILIES, SITES, SKIPPED_COST, STAGES, TRUST, accounts, declared_row, declared_share, figure,
    group, own, row, share, text,
};

pub fn fault_rates() -> fault_rates::Table {
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
            let row = declared_row(by, group.clone(), quantity, counts, rates, months(level));
            let row = fault_rates::Row { method: "Fay-Feuer", ..row };
            rows.push(row.flagged((n < 100.0).then_some(Flag::Thin)));
        }
        let level = Certainty::Linked;
        for (quantity, rate) in
            [(Quantity::PerMonths, rate / 3.0), (Quantity::Fit, rate / 3.0 * 1e6 / 730.5)]
        {
            let rates = around(rate, 1.5);
            rows.push(declared_row(by, group.clone(), quantity, counts, rates, months(level)));
        }
        if by != By::Fleet {
            let (ratio, own) = (around(rate / 4.1, 1.6), Own { q: Some(0.04), ..months(level) });
            let quantity = Quantity::RatioToRest;
            rows.push(declared_row(by, group.clone(), quantity, counts, ratio, own));
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
        rows.push(declared_row(By::Quarter, group, quantity, counts, rates, linked()));
    }
    rows.extend(not_of_the_rates());
    fault_rates::Table { rows }
}

/// Sites at the fleet's mix, faults that come back, times to restore, scatter and trend.
fn not_of_the_rates() -> Vec<fault_rates::Row> {
    let linked = || Own::with(Certainty::Linked);
    let fleet = |quantity, counts, limits, own| {
        declared_row(By::Fleet, Group::default(), quantity, counts, limits, own)
    };
    let mut rows: Vec<fault_rates::Row> = Vec::new();
    for (at, site) in SITES.iter().enumerate() {
        let rate = 1.2 + 0.3 * at as f64;
        let rates = [rate, rate * 0.6, rate * 1.7];
        let weight = 0.97 - 0.1 * at as f64;
        let own = Own { weight: Some(weight), phi: Some(1.3), ..linked() };
        let (group, quantity) = (group("site", &[site]), Quantity::Standardised);
        let row = declared_row(By::Site, group, quantity, (2_900.0, 4), rates, own);
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

pub fn trust() -> Table {
    let mut rows = Vec::new();
    let mut count =
        |by: &'static str, quantity: &'static str, value: f64, values: &[(&str, Value)]| {
            let mut row = figure(by, Group::default(), quantity, value);
            row.own = own(TRUST, values);
            rows.push(row);
        };
    for line in accounts() {
        let values = [
            ("source", text(&line.source)),
            ("file", text(&line.file)),
            ("read", Value::Count(line.read as i64)),
            ("loaded", Value::Count(line.loaded as i64)),
        ];
        count("file", "rows", line.read as f64, &values);
    }
    for (how, faults) in [
        ("record", 402.0),
        ("end-face", 171.0),
        ("lagged", 9.0),
        ("ambiguous", 3.0),
        ("unattached", 27.0),
        ("outside", 14.0),
    ] {
        count("fleet", "faults-attached", faults, &[("how", text(how))]);
    }
    count("fleet", "conflicts", 18.0, &[]);
    count("fleet", "findings-missing", 77.0, &[]);
    count("fleet", "silent-months", 1.0, &[]);
    count("fleet", "fault-source-without-faults", 0.0, &[("source", text("desk-tal"))]);
    for (name, p) in [("inspections", 0.001), ("matings", 0.31)] {
        let mut row = share("table", Group::default(), "day-precision", 18_402.0, p);
        row.own = own(TRUST, &[("table", text(name))]);
        rows.push(row);
    }
    for site in SITES {
        let mut row = share("site", group("site", &[site]), "unreadable", 20_000.0, 0.004);
        row.own = own(TRUST, &[]);
        rows.push(row);
    }
    Table { name: "trust", own: TRUST, rows }
}
