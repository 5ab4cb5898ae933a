//! The invented rows of purchase cases: one that pays, one that cannot be valued, a flagged one.

use motetrail::measures::payback::{By, InputUnit, Own, Quantity, Row, Source, Table};
use motetrail::measures::results::Money;
use motetrail::measures::{Flag, Group};

/// The table with two valued proposals, one without a value, and a budget.
pub fn payback() -> Table {
    let mut rows = Vec::new();
    proposal("Scopes for Tal", 480_000, [1_860_000.0, 310_000.0, 4_120_000.0], &[], &mut rows);
    proposal("Wet sets", 90_000, [-12_050.0, -61_000.0, 48_000.0], &[Flag::Thin], &mut rows);
    let reason = "cannot be valued: the fleet has no estimate of what carriers pass on";
    let lacking = Own { reason: Some(reason.to_owned()), ..about("New leads", 30_000) };
    let worth = row(By::Proposal, Quantity::NetPresentValue, [0.0; 3], lacking);
    let worth = Row { estimate: None, low: None, high: None, ..worth };
    rows.push(worth.flagged([Flag::NotIdentified]));
    for quantity in [Quantity::BestSet, Quantity::Ladder] {
        let own = Own {
            set: Some("Scopes for Tal".to_owned()),
            price: Some(Money(480_000)),
            rung: Some(1),
            next_thousand: Some(Money(387_500)),
            probability: Some(0.985),
            chosen: Some(true),
            budget: Some(Money(600_000)),
            ..Own::default()
        };
        rows.push(row(By::Set, quantity, [1_860_000.0, 310_000.0, 4_120_000.0], own));
    }
    Table { rows }
}

fn about(name: &str, price: i64) -> Own {
    Own {
        proposal: Some(name.to_owned()),
        price: Some(Money(price)),
        units: Some(2),
        life_months: Some(60),
        ..Own::default()
    }
}

fn row(by: By, quantity: Quantity, [estimate, low, high]: [f64; 3], own: Own) -> Row {
    let method = "Monte Carlo, expanded percentile";
    let row = Row::figure(by, Group::default(), quantity, estimate, method, own);
    Row { n: 1000.0, low: Some(low), high: Some(high), ..row }
}

fn proposal(name: &str, price: i64, worth: [f64; 3], flags: &[Flag], rows: &mut Vec<Row>) {
    let about = || about(name, price);
    let mut add = |by, quantity, values, own| {
        rows.push(row(by, quantity, values, own).flagged(flags.iter().copied()));
    };
    let dearer = worth.map(|worth| worth + 240_000.0);
    let saving = worth.map(|worth| worth / 4.0 + 120_000.0);
    for (quantity, values) in [
        (Quantity::NetPresentValue, worth),
        (Quantity::BreakEvenPrice, dearer),
        (Quantity::Saving, saving),
        (Quantity::FaultsAvoided, [12.4, 6.1, 20.3]),
        (Quantity::DowntimeAvoided, [18.6, 9.2, 30.5]),
        (Quantity::PaysBack, [0.93, 0.91, 0.945]),
        (Quantity::PaybackMonth, [18.6, 11.9, 41.2]),
    ] {
        add(By::Proposal, quantity, values, about());
    }
    for month in [0, 12, 24, 36, 48, 60] {
        let part = f64::from(month) / 60.0;
        let cash = worth.map(|worth| (worth + price as f64) * part - price as f64);
        let own = Own { month: Some(month), ..about() };
        add(By::ProposalMonth, Quantity::Cash, cash, own);
    }
    for (input, source, ends) in [
        (
            "share of the faults' cost that goes with skipping (rate ratio)",
            Source::SkippedCost,
            [0.31, 0.58],
        ),
        ("coverage reached", Source::Stated, [0.86, 0.98]),
    ] {
        let own = Own {
            input: Some(input.to_owned()),
            source: Some(source),
            input_unit: Some(InputUnit::Share),
            input_low: Some(ends[0]),
            input_high: Some(ends[1]),
            worth_at_low: Some(Money(worth[1] as i64)),
            worth_at_high: Some(Money(worth[2] as i64)),
            ..about()
        };
        add(By::ProposalInput, Quantity::Tornado, worth, own);
    }
}
