//! The invented changes: some of them more than chance, the others not, a few flagged.

use motetrail::measures::changes::{Against, By, Own, Quantity, Row, Table};
use motetrail::measures::{Flag, Group};

use super::sample::{FAMILIES, SITES, STAGES, group};

/// The period's quarter is 2026-Q2.
const QUARTERS: [(Against, &str); 2] =
    [(Against::QuarterBefore, "2026-Q1"), (Against::YearBefore, "2025-Q2")];

/// Share now and before, the half width of the interval of their difference, p and q.
struct Moved {
    now: f64,
    before: f64,
    half: f64,
    chance: Option<[f64; 2]>,
}

fn share(
    (against, quarter): (Against, &str),
    (by, place): (By, Group),
    quantity: Quantity,
    Moved { now, before, half, chance }: Moved,
) -> Row {
    let (n, by_share) = (1_400.0, now - before);
    let own = Own {
        against,
        quarter: quarter.to_owned(),
        value: Some(now),
        n_before: 1_350.0,
        events_before: (1_350.0 * before).round() as u64,
        value_before: Some(before),
        p: chance.map_or(1.0, |chance| chance[0]),
        q: chance.map(|chance| chance[1]),
        deff: Some(1.2),
        deff_before: Some(1.1),
        clusters: 140,
        clusters_before: 131,
        phi: None,
        apart: None,
    };
    let method = "hybrid of Clopper-Pearson on effective sizes";
    let row = Row::figure(by, place, quantity, by_share, method, own);
    let (low, high) = (Some(by_share - half), Some(by_share + half));
    Row { n, events: Some((n * now).round() as i64), low, high, ..row }
        .flagged(chance.is_none().then_some(Flag::Thin))
}

fn rate(
    (against, quarter): (Against, &str),
    (by, place): (By, Group),
    [now, before]: [f64; 2],
    [low, high]: [f64; 2],
    [p, q]: [f64; 2],
) -> Row {
    let own = Own {
        against,
        quarter: quarter.to_owned(),
        value: Some(now),
        n_before: 2_250.0,
        events_before: (2.25 * before) as u64,
        value_before: Some(before),
        p,
        q: Some(q),
        deff: None,
        deff_before: None,
        clusters: 52,
        clusters_before: 52,
        phi: Some(1.3),
        apart: None,
    };
    let method = "exact conditional mid-P over scatter";
    let row = Row::figure(by, place, Quantity::FaultRate, now / before, method, own);
    Row { n: 2_300.0, events: Some((2.3 * now) as i64), low: Some(low), high: Some(high), ..row }
}

/// Since the quarter before, one share fell and one rate rose by more than chance; since the year
/// before nothing did.
pub fn changes() -> Table {
    let mut rows = Vec::new();
    for (place, quarter) in QUARTERS.into_iter().enumerate() {
        let recent = place == 0;
        let moved = |now, before, chance| Moved { now, before, half: 0.026, chance };
        let fleet = || (By::Fleet, Group::default());
        rows.push(share(
            quarter,
            fleet(),
            Quantity::FirstPass,
            moved(0.812, 0.795, Some([0.2, 0.6])),
        ));
        for (kind, stage) in STAGES.iter().enumerate() {
            let fell = recent && *stage == "depot-stores";
            let at = (By::Stage, group("stage", &[stage]));
            let own = match fell {
                true => moved(0.813, 0.881, Some([0.000_04, 0.001])),
                false => {
                    moved(0.9 - 0.05 * kind as f64, 0.89 - 0.04 * kind as f64, Some([0.3, 0.7]))
                }
            };
            rows.push(share(quarter, at, Quantity::FirstPass, own));
            for family in FAMILIES {
                let chance = (family != "SC").then_some([0.4, 0.8]);
                let at = (By::StageFamily, group("stage+family", &[stage, family]));
                rows.push(share(quarter, at, Quantity::Skipped, moved(0.31, 0.28, chance)));
            }
        }
        let at = |site: &str| (By::Site, group("site", &[site]));
        for site in SITES {
            let (values, ends, chance) = match recent && site == "Tal" {
                true => ([22.1, 15.0], [1.2, 1.8], [0.000_2, 0.003]),
                false => ([14.0, 13.1], [0.8, 1.4], [0.5, 0.8]),
            };
            rows.push(rate(quarter, at(site), values, ends, chance));
        }
    }
    Table { rows }
}
