//! An invented review: what the measures would hand over for a small fleet, and how to spoil it.

use chrono::NaiveDate;
use motetrail::derive::{Period, Quarter};
use motetrail::measures::results::{self, Measure};
use motetrail::measures::{Flag, Group, Review};
use motetrail::store::{FileAccount, RowAccount};

pub const STAGES: [&str; 5] =
    ["frame-shop", "test-bay", "depot-stores", "lineside-fitting", "line-upkeep"];
pub const FAMILIES: [&str; 3] = ["LC", "MPO", "SC"];
pub const SITES: [&str; 4] = ["Nordhafen", "Tal", "Altberg", "Weiher"];

/// A review without any row.
pub fn empty() -> Review {
    let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
    let quarter = Quarter(2026 * 4 + 1);
    let names = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect();
    Review {
        fleet: "Kestrel Carrier".to_owned(),
        currency: "EUR".to_owned(),
        period: Period {
            quarter,
            start: 1_774_994_400_000_000,
            end: 1_782_856_800_000_000,
            first_day: day(2026, 4, 1),
            last_day: day(2026, 6, 30),
            look_back: (0..4).rev().map(|back| Quarter(quarter.0 - back)).collect(),
            as_of: day(2026, 7, 3),
        },
        level: 0.95,
        horizon_days: 90,
        window_hours: 24,
        look_back_months: 12,
        quarantine_limit: 0.02,
        site_pages: 300,
        priced: true,
        open_questions: Vec::new(),
        first_pass: Default::default(),
        cycles: Default::default(),
        coverage: Default::default(),
        fault_rates: Default::default(),
        skipped_cost: Default::default(),
        entry: Default::default(),
        carriers: Default::default(),
        payback: Default::default(),
        changes: Default::default(),
        actions: Default::default(),
        looks_plan: Default::default(),
        worklist: Default::default(),
        trust: Default::default(),
        intake: Default::default(),
        stages: names(&STAGES),
        families: names(&FAMILIES),
        sites: names(&SITES),
    }
}

/// A review with every kind of row.
pub fn full() -> Review {
    Review {
        first_pass: super::sample_looks::first_pass(),
        cycles: super::sample_looks::cycles(),
        coverage: super::sample_looks::coverage(),
        fault_rates: super::sample_faults::fault_rates(),
        skipped_cost: super::sample_faults::skipped_cost(),
        entry: super::sample_entry::entry(),
        carriers: super::sample_carriers::carriers(),
        payback: super::sample_purchases::payback(),
        changes: super::sample_changes::changes(),
        worklist: super::sample_worklist::worklist(),
        trust: super::sample_trust::trust(),
        intake: super::sample_intake::intake(),
        ..empty()
    }
}

/// Two exports, one with quarantined rows.
pub fn accounts() -> Vec<FileAccount> {
    let line = |source: &str, file: &str, parts: [u64; 4]| FileAccount {
        source: source.to_owned(),
        file: file.to_owned(),
        hash: "9f".repeat(32),
        rows: RowAccount {
            read: parts.iter().sum(),
            loaded: parts[0],
            superseded: parts[1],
            duplicate: parts[2],
            quarantined: parts[3],
            ..RowAccount::default()
        },
        records: Vec::new(),
        reasons: Vec::new(),
        lost: Vec::new(),
        expired: Vec::new(),
    };
    vec![
        line("scopes", "exports/inspections-2026-q2.csv", [41_204, 310, 2_218, 187]),
        line("scopes", "exports/inspections-2026-q1.csv", [38_871, 1_904, 0, 96]),
        line("works", "exports/matings.tsv", [18_402, 0, 0, 12]),
        line("desk", "exports/tickets.csv", [612, 45, 3, 31]),
    ]
}

/// A group from its columns and words.
pub fn group(columns: &str, words: &[&str]) -> Group {
    let columns: Vec<&str> = columns.split('+').collect();
    let words: Vec<String> = words.iter().map(|word| (*word).to_owned()).collect();
    Group::of(&columns, &words)
}

/// A row with an estimate and its interval.
pub fn declared<M: Measure>(
    (by, group, quantity): (M::By, Group, M::Quantity),
    method: &'static str,
    (n, events): (f64, i64),
    [estimate, low, high]: [f64; 3],
    own: M::Own,
) -> results::Row<M> {
    let row = results::Row::figure(by, group, quantity, estimate, method, own);
    let (estimate, low, high) = (Some(estimate), Some(low), Some(high));
    results::Row { n, events: Some(events), estimate, low, high, ..row }
}

/// A share with a plausible interval.
pub fn declared_share<M: Measure>(
    by: M::By,
    group: Group,
    quantity: M::Quantity,
    (n, p): (f64, f64),
    own: M::Own,
) -> results::Row<M> {
    let half = 1.96 * (p * (1.0 - p) / n.max(1.0)).sqrt();
    let row = results::Row::figure(by, group, quantity, p, "Wilson", own);
    let (low, high) = (Some((p - half).max(0.0)), Some((p + half).min(1.0)));
    let row = results::Row { n, events: Some((n * p).round() as i64), low, high, ..row };
    row.flagged((n < 20.0).then_some(Flag::Thin))
}

/// Every word of a review's rows put through `change`.
pub fn reworded(mut review: Review, change: impl Fn(&str) -> String) -> Review {
    review.fleet = change(&review.fleet);
    for list in [&mut review.stages, &mut review.families, &mut review.sites] {
        list.iter_mut().for_each(|word| *word = change(word));
    }
    let mut groups: Vec<&mut Group> = Vec::new();
    groups.extend(review.worklist.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.payback.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.changes.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.coverage.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.cycles.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.fault_rates.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.skipped_cost.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.entry.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.carriers.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.first_pass.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.trust.rows.iter_mut().map(|row| &mut row.group));
    groups.extend(review.intake.rows.iter_mut().map(|row| &mut row.group));
    for group in groups {
        let Group { site, stage, family, supplier, treatment, .. } = group;
        for word in [site, stage, family, supplier, treatment].into_iter().flatten() {
            *word = change(word);
        }
    }
    review
}
