//! The invented rows that rest on models: sites ranked and in the funnel, odds, adjusted curves, fits.

use motetrail::derive::counts::ZoneOf;
use motetrail::measures::cycles;
use motetrail::measures::first_pass;
use motetrail::measures::results::Money;
use motetrail::measures::{Flag, Group};

use super::sample::{SITES, declared, declared_share, group};

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

/// Rows of `cycles` that come from models, the stopping rule among them.
pub fn cycles() -> Vec<cycles::Row> {
    use cycles::{Bracket, By, Own, Quantity, Row};
    let mut rows = Vec::new();
    let method = |name: &str| group("method", &[name]);
    let dry = || Own { against: Some("dry".to_owned()), ..Own::default() };
    for (by, of, ratio, own) in [
        (By::Treatment, method("wet-dry"), [1.9, 1.6, 2.3], dry()),
        (By::Cycle, Group::default(), [0.74, 0.66, 0.83], Own { cycle: Some(2), ..dry() }),
        (
            By::Zone,
            Group::default(),
            [0.9, 0.7, 1.2],
            Own { zone: Some(ZoneOf::Cladding), ..dry() },
        ),
    ] {
        rows.push(declared((by, of, Quantity::OddsRatio), "Wilson", (820.0, 401), ratio, own));
    }
    let (by, quantity) = (By::Treatment, Quantity::OddsRatio);
    let separated = Row::figure(by, method("wet"), quantity, f64::NAN, "count", dry());
    rows.push(Row { events: Some(0), ..separated }.flagged([Flag::NotConverged]));
    for (name, pace) in [("dry", 0.5f64), ("wet-dry", 0.65)] {
        for cycle in 1..=5_u32 {
            let p = 1.0 - (1.0 - pace).powi(cycle as i32);
            let own = Own { cycle: Some(cycle), at_risk: Some(1_100), ..Own::default() };
            let quantity = Quantity::AdjustedPassedByCycle;
            rows.push(declared_share(by, method(name), quantity, (900.0, p), own));
        }
    }
    for (by, of) in [(By::Fleet, Group::default()), (By::Treatment, method("dry"))] {
        let nothing = Own::default;
        for quantity in [Quantity::CommonChance, Quantity::MeanChance] {
            rows.push(declared_share(by, of.clone(), quantity, (2_100.0, 0.52), nothing()));
        }
        for (quantity, limits) in
            [(Quantity::ChanceA, [2.9, 2.0, 4.8]), (Quantity::ChanceB, [2.6, 1.7, 4.4])]
        {
            let counts = (2_100.0, 0);
            rows.push(declared((by, of.clone(), quantity), "Wilson", counts, limits, nothing()));
        }
        let figure = |quantity, value, own| {
            let row = Row::figure(by, of.clone(), quantity, value, "count", own);
            Row { n: value, events: Some(value as i64), ..row }
        };
        let test = Own { p: Some(1e-10), ..Own::default() };
        rows.push(figure(Quantity::ChancesDiffer, 41.0, test));
        for cycle in 1..=5 {
            let bracket = Some(Bracket::Censored);
            let own = Own { cycle: Some(cycle), bracket, ..Own::default() };
            let hazard = 2.9 / (4.5 + f64::from(cycle));
            rows.push(Row { n: 0.0, ..figure(Quantity::FittedHazard, hazard, own) });
        }
    }
    let left_out =
        Row::count(By::Fleet, Group::default(), Quantity::CyclesLeftOut, 12, Own::default());
    rows.push(Row { n: 3_120.0, ..left_out });
    rows.extend(stopping());
    rows
}

/// When to stop: a limit beyond the data, its costs, the present practice, cleanings without a look.
fn stopping() -> Vec<cycles::Row> {
    use cycles::{By, Own, Quantity};
    let fleet = |quantity, limits, own| {
        declared((By::Fleet, Group::default(), quantity), "Wilson", (1_640.0, 1_480), limits, own)
    };
    let mut rows = Vec::new();
    let found = Own {
        at_least: Some(6),
        extended: Some(8),
        advised: Some(4),
        flat_to: Some(6),
        ..Own::default()
    };
    let limit = fleet(Quantity::StoppingLimit, [6.0, 4.0, 6.0], found);
    let limit = cycles::Row { estimate: None, high: None, ..limit };
    rows.push(limit.flagged([Flag::BeyondData]));
    for limit in 0..=8_u32 {
        let cost = 1_100.0 + 60.0 * (8.0 - f64::from(limit)).powi(2);
        let money = |value: f64| Some(Money(value as i64));
        let own = Own {
            cycle: Some(limit),
            at_risk: Some(1_640 >> limit),
            chosen: (limit <= 6).then_some(if limit == 6 { 0.7 } else { 0.05 }),
            excess: money(cost - 1_100.0),
            excess_low: money(0.0),
            excess_high: money(cost - 1_000.0),
            ..Own::default()
        };
        let row = fleet(Quantity::CostAtLimit, [cost, cost * 0.9, cost * 1.1], own);
        rows.push(row.flagged((limit > 6).then_some(Flag::BeyondData)));
    }
    rows.push(fleet(Quantity::PresentCost, [1_310.0, 1_250.0, 1_390.0], Own::default()));
    let advised = Own { advised: Some(4), ..Own::default() };
    rows.push(fleet(Quantity::PresentExcess, [210.0, 90.0, 340.0], advised.clone()));
    let limits = [344_400.0, 147_600.0, 557_600.0];
    rows.push(fleet(Quantity::PresentExcessYear, limits, advised));
    let saved = Own { looks_saved: Some(Money(52_000)), ..Own::default() };
    rows.push(fleet(Quantity::NeedlessUnseenCost, [61_000.0, 58_000.0, 64_000.0], saved));
    rows
}
