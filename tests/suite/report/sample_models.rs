//! The invented rows that rest on models: sites ranked and in the funnel, odds, adjusted curves, fits.

use motetrail::measures::{Flag, Group, Row, Unit, Value};

use super::sample::{CYCLES, FIRST_PASS, SITES, figure, group, own, row, share, text};

/// Rows of `first_pass` by site.
pub fn sites() -> Vec<Row> {
    let mut rows = Vec::new();
    for (place, site) in SITES.iter().enumerate() {
        let (n, p) = (1_900.0 / (place + 1) as f64, 0.80 + 0.02 * place as f64);
        let number = Value::Number;
        let mut ranked = share("site", group("site", &[site]), "site-ranked", n, p);
        ranked.own = own(
            FIRST_PASS,
            &[
                ("n_effective", number(n / 1.4)),
                ("expected_rank", number(1.2 + place as f64)),
                ("rank", Value::Count(place as i64 + 1)),
                ("probability", number(0.99 - 0.3 * place as f64)),
            ],
        );
        rows.push(ranked);
        let mut placed = share("site", group("site", &[site]), "site-funnel", n, p);
        let signal = if place == 0 { text("below the limits") } else { Value::Missing };
        placed.own = own(
            FIRST_PASS,
            &[
                ("centre", number(0.82)),
                ("n_effective", number(n / 1.4)),
                ("distance", number(-3.4 + place as f64)),
                ("signal", signal),
            ],
        );
        rows.push(placed);
    }
    for (quantity, reach) in [("funnel-limits-inner", 2.0), ("funnel-limits-outer", 3.1)] {
        for size in [300.0f64, 700.0, 1_400.0] {
            let half = reach * (0.82 * 0.18 / size).sqrt();
            let limits = [0.82, 0.82 - half, 0.82 + half];
            let mut row = row("fleet", Group::default(), quantity, Unit::Share, (size, 0), limits);
            row.own = own(FIRST_PASS, &[("n_effective", Value::Number(size))]);
            rows.push(row);
        }
    }
    let mut phi = figure("fleet", Group::default(), "funnel-dispersion", 2.3);
    phi.own = own(FIRST_PASS, &[]);
    rows.push(phi);
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
