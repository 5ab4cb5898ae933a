//! The invented changes: some of them more than chance, the others not, a few flagged.

use motetrail::measures::{Flag, Group, Row, Table, Unit, Value};

use super::sample::{CHANGES, FAMILIES, SITES, STAGES, group, own, row, text};

/// The period's quarter is 2026-Q2.
const QUARTERS: [(&str, &str); 2] = [("quarter-before", "2026-Q1"), ("year-before", "2025-Q2")];

/// Share now and before, the half width of the interval of their difference, p and q.
struct Moved {
    now: f64,
    before: f64,
    half: f64,
    chance: Option<[f64; 2]>,
}

fn share(
    (against, quarter): (&str, &str),
    (by, place): (&'static str, Group),
    quantity: &'static str,
    Moved { now, before, half, chance }: Moved,
) -> Row {
    let (n, by_share) = (1_400.0, now - before);
    let interval = [by_share, by_share - half, by_share + half];
    let mut row =
        row(by, place, quantity, Unit::Difference, (n, (n * now).round() as i64), interval);
    row.method = "Newcombe on effective sizes";
    let number = |at: usize| Value::from(chance.map(|chance| chance[at]));
    row.own = own(
        CHANGES,
        &[
            ("against", text(against)),
            ("quarter", text(quarter)),
            ("value", Value::Number(now)),
            ("n_before", Value::Number(1_350.0)),
            ("events_before", Value::Count((1_350.0 * before).round() as i64)),
            ("value_before", Value::Number(before)),
            ("p", number(0)),
            ("q", number(1)),
            ("deff", Value::Number(1.2)),
            ("deff_before", Value::Number(1.1)),
            ("clusters", Value::Count(140)),
            ("clusters_before", Value::Count(131)),
        ],
    );
    if chance.is_none() {
        row.flags.push(Flag::Thin);
    }
    row
}

fn rate(
    (against, quarter): (&str, &str),
    (by, place): (&'static str, Group),
    [now, before]: [f64; 2],
    [low, high]: [f64; 2],
    [p, q]: [f64; 2],
) -> Row {
    let interval = [now / before, low, high];
    let quantity = "faults-per-1000-months";
    let mut row = row(by, place, quantity, Unit::Ratio, (2_300.0, (2.3 * now) as i64), interval);
    row.method = "exact conditional mid-P over scatter";
    row.own = own(
        CHANGES,
        &[
            ("against", text(against)),
            ("quarter", text(quarter)),
            ("value", Value::Number(now)),
            ("n_before", Value::Number(2_250.0)),
            ("events_before", Value::Count((2.25 * before) as i64)),
            ("value_before", Value::Number(before)),
            ("p", Value::Number(p)),
            ("q", Value::Number(q)),
            ("clusters", Value::Count(52)),
            ("clusters_before", Value::Count(52)),
            ("phi", Value::Number(1.3)),
        ],
    );
    row
}

/// Since the quarter before, one share fell and one rate rose by more than chance; since the year
/// before nothing did.
pub fn changes() -> Table {
    let mut rows = Vec::new();
    for (place, quarter) in QUARTERS.into_iter().enumerate() {
        let recent = place == 0;
        let moved = |now, before, chance| Moved { now, before, half: 0.026, chance };
        let fleet = || ("fleet", Group::default());
        rows.push(share(
            quarter,
            fleet(),
            "first-pass-clean",
            moved(0.812, 0.795, Some([0.2, 0.6])),
        ));
        for (kind, stage) in STAGES.iter().enumerate() {
            let fell = recent && *stage == "receiving";
            let at = ("stage", group("stage", &[stage]));
            let own = match fell {
                true => moved(0.813, 0.881, Some([0.000_04, 0.001])),
                false => {
                    moved(0.9 - 0.05 * kind as f64, 0.89 - 0.04 * kind as f64, Some([0.3, 0.7]))
                }
            };
            rows.push(share(quarter, at, "first-pass-clean", own));
            for family in FAMILIES {
                let chance = (family != "SC").then_some([0.4, 0.8]);
                let at = ("stage+family", group("stage+family", &[stage, family]));
                rows.push(share(quarter, at, "skipped", moved(0.31, 0.28, chance)));
            }
        }
        let at = |site: &str| ("site", group("site", &[site]));
        for site in SITES {
            let (values, ends, chance) = match recent && site == "Tal" {
                true => ([22.1, 15.0], [1.2, 1.8], [0.000_2, 0.003]),
                false => ([14.0, 13.1], [0.8, 1.4], [0.5, 0.8]),
            };
            rows.push(rate(quarter, at(site), values, ends, chance));
        }
    }
    Table { name: "changes", own: CHANGES, rows }
}
