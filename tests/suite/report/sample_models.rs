//! The invented rows that rest on models: sites ranked and in the funnel, odds, adjusted curves, fits.

use motetrail::measures::first_pass;
use motetrail::measures::{Flag, Group, Row, Unit, Value};

use super::sample::{CYCLES, SITES, declared_share, figure, group, own, row, share, text};

/// Rows of `first_pass` by site.
pub fn sites() -> Vec<first_pass::Row> {
    use first_pass::{By, Own, Quantity, Signal};
    let mut rows = Vec::new();
    for (place, site) in SITES.iter().enumerate() {
        let (n, p) = (1_900.0 / (place + 1) as f64, 0.80 + 0.02 * place as f64);
        let site = group("site", &[site]);
        let ranked = Own {
            n_effective: Some(n / 1.4),
            expected_rank: Some(1.2 + place as f64),
            rank: Some(place as i64 + 1),
            probability: Some(0.99 - 0.3 * place as f64),
            ..Own::default()
        };
        let placed = Own {
            centre: Some(0.82),
            n_effective: Some(n / 1.4),
            distance: Some(-3.4 + place as f64),
            signal: (place == 0).then_some(Signal::BelowLimits),
            ..Own::default()
        };
        for (quantity, own) in [(Quantity::SiteRanked, ranked), (Quantity::SiteFunnel, placed)] {
            rows.push(declared_share(By::Site, site.clone(), quantity, (n, p), own));
        }
    }
    let of_fleet = |quantity, value, own| {
        first_pass::Row::figure(By::Fleet, Group::default(), quantity, value, "Wilson", own)
    };
    for (quantity, reach) in [(Quantity::FunnelInner, 2.0), (Quantity::FunnelOuter, 3.1)] {
        for size in [300.0f64, 700.0, 1_400.0] {
            let half = reach * (0.82 * 0.18 / size).sqrt();
            let own = Own { n_effective: Some(size), ..Own::default() };
            let (low, high) = (Some(0.82 - half), Some(0.82 + half));
            let row = of_fleet(quantity, 0.82, own);
            rows.push(first_pass::Row { n: size, events: Some(0), low, high, ..row });
        }
    }
    let phi = of_fleet(Quantity::FunnelDispersion, 2.3, Own::default());
    rows.push(first_pass::Row { n: 2.3, events: Some(2), method: "count", ..phi });
    rows
}

/// Rows of `cycles` that come from models.
pub fn cycles() -> Vec<Row> {
    let mut rows = Vec::new();
    let method = |name: &str| group("method", &[name]);
    let zone = ("zone", Value::Text("B".to_owned()));
    for (by, of, ratio, at) in [
        ("treatment", method("wet-dry"), [1.9, 1.6, 2.3], None),
        ("cycle", Group::default(), [0.74, 0.66, 0.83], Some(("cycle", Value::Count(2)))),
        ("zone", Group::default(), [0.9, 0.7, 1.2], Some(zone)),
    ] {
        let mut odds = row(by, of, "odds-ratio", Unit::Ratio, (820.0, 401), ratio);
        let named = at.into_iter().chain([("against", text("dry"))]);
        odds.own = own(CYCLES, &named.collect::<Vec<_>>());
        rows.push(odds);
    }
    let mut separated = figure("treatment", method("wet"), "odds-ratio", 0.0);
    (separated.estimate, separated.flags) = (None, vec![Flag::NotConverged]);
    separated.own = own(CYCLES, &[("against", text("dry"))]);
    rows.push(separated);
    for (name, pace) in [("dry", 0.5f64), ("wet-dry", 0.65)] {
        for cycle in 1..=5 {
            let p = 1.0 - (1.0 - pace).powi(cycle);
            let mut passed = share("treatment", method(name), "adjusted-passed-by-cycle", 900.0, p);
            passed.own = own(
                CYCLES,
                &[("cycle", Value::Count(cycle.into())), ("at_risk", Value::Count(1_100))],
            );
            rows.push(passed);
        }
    }
    for (by, of) in [("fleet", Group::default()), ("treatment", method("dry"))] {
        let mut add = |mut row: Row, values: &[(&str, Value)]| {
            row.own = own(CYCLES, values);
            rows.push(row);
        };
        for quantity in ["common-chance", "mean-chance"] {
            add(share(by, of.clone(), quantity, 2_100.0, 0.52), &[]);
        }
        for (quantity, limits) in [("chance-a", [2.9, 2.0, 4.8]), ("chance-b", [2.6, 1.7, 4.4])] {
            add(row(by, of.clone(), quantity, Unit::Cycles, (2_100.0, 0), limits), &[]);
        }
        let test = figure(by, of.clone(), "chances-differ", 41.0);
        add(test, &[("p", Value::Number(1e-10))]);
        for cycle in 1..=5 {
            let fitted = figure(by, of.clone(), "fitted-hazard", 0.0);
            let fitted = Row { estimate: Some(2.9 / (4.5 + f64::from(cycle))), ..fitted };
            add(fitted, &[("cycle", Value::Count(cycle.into())), ("bracket", text("censored"))]);
        }
    }
    let mut left_out = figure("fleet", Group::default(), "cycles-left-out", 12.0);
    (left_out.n, left_out.own) = (3_120.0, own(CYCLES, &[]));
    rows.push(left_out);
    rows
}
