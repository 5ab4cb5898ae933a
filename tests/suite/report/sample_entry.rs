//! The invented rows of where dirt enters.

use motetrail::measures::entry::{By, Own, Quantity, Reason, Row, Step, Steps, Table};
use motetrail::measures::results::Money;
use motetrail::measures::{Flag, Group};

use super::sample::declared_share;

/// Steps: from, to, end faces, chance.
const STEPS: [(&str, &str, f64, f64); 5] = [
    ("frame-shop", "test-bay", 910.0, 0.07),
    ("test-bay", "depot-stores", 1_220.0, 0.11),
    ("depot-stores", "lineside-fitting", 1_300.0, 0.24),
    ("lineside-fitting", "line-upkeep", 14.0, 0.14),
    ("line-upkeep", "line-upkeep", 870.0, 0.1),
];

/// What a row says that is of one step.
fn about(from: &str, to: &str) -> Own {
    let step = Step { from: from.to_owned(), to: to.to_owned() };
    let steps = Some(Steps(vec![step]));
    Own { from: Some(from.to_owned()), steps, ..Own::default() }
}

fn placed(to: &str, capped: Option<&str>) -> Group {
    let capped = capped.map(str::to_owned);
    Group { stage: Some(to.to_owned()), capped, ..Group::default() }
}

pub fn entry() -> Table {
    let mut rows: Vec<Row> = Vec::new();
    let mut share = |by: By, group: Group, quantity: Quantity, of: (f64, f64), own: Own| {
        rows.push(declared_share(by, group, quantity, of, own));
    };
    for (from, to, n, chance) in STEPS {
        for (quantity, part) in [(Quantity::Entry, 1.0), (Quantity::EntryLessAlarms, 0.9)] {
            let own = Own { clusters: Some(52), ..about(from, to) };
            share(By::Step, placed(to, None), quantity, (n, chance * part), own);
        }
        let of = (640.0, chance * 1.5);
        share(By::Step, placed(to, None), Quantity::ShareOfDirt, of, about(from, to));
        for (cap, part, size) in [("capped", 1.2, 0.6), ("uncapped", 0.9, 0.4)] {
            let (group, of) = (placed(to, Some(cap)), (n * size, chance * part));
            share(By::StepCapped, group, Quantity::Entry, of, about(from, to));
        }
    }
    rows.push(not_parted());
    for (rank, (place, saving)) in (1..).zip([(2, 412_000.0), (4, 150_000.0), (1, 90_000.0)]) {
        rows.push(point_saving(rank, STEPS[place], saving));
    }
    rows.extend(fleet());
    Table { rows }
}

/// A step that has limits and no value.
fn not_parted() -> Row {
    let own = Own { reason: Some(Reason::NotParted), ..about("frame-shop", "frame-shop") };
    let group = placed("frame-shop", None);
    let row = Row::figure(By::Step, group, Quantity::Entry, f64::NAN, "Wilson", own);
    let (low, high) = (Some(0.0), Some(0.3));
    Row { n: 90.0, events: Some(4), low, high, ..row }.flagged([Flag::NotIdentified])
}

fn point_saving(rank: i64, (from, to, n, _): (&str, &str, f64, f64), saving: f64) -> Row {
    let own = Own {
        cleaning_cost: Some(Money(60_000)),
        downstream_cost: Some(Money(saving as i64 - 60_000)),
        rank: Some(rank),
        probability: Some([0.93, 0.05, 0.02][rank as usize - 1]),
        ..about(from, to)
    };
    let group = placed(to, None);
    let row = Row::figure(By::Step, group, Quantity::PointSaving, saving, "Wilson", own);
    let (low, high) = (Some(saving * 0.7), Some(saving * 1.4));
    Row { n, events: Some(120), low, high, ..row }
}

fn fleet() -> Vec<Row> {
    let row = |quantity, (n, events), [estimate, low, high]: [f64; 3], p| {
        let own = Own { p: Some(p), ..Own::default() };
        let row = Row::figure(By::Fleet, Group::default(), quantity, estimate, "Wilson", own);
        Row { n, events: Some(events), low: Some(low), high: Some(high), ..row }
    };
    let share = |by, quantity, of, reason| {
        declared_share(by, Group::default(), quantity, of, Own { reason, ..Own::default() })
    };
    let mut rows = vec![
        row(Quantity::CapFactor, (4_300.0, 610), [1.31, 1.12, 1.54], 0.0008),
        row(Quantity::PerMating, (2_100.0, 300), [0.0, 0.0, 0.01], 1.0),
        share(By::Fleet, Quantity::FalseAlarm, (410.0, 0.012), None),
    ];
    for (reason, n) in
        [(Reason::Routine, 4_300), (Reason::NotKnownClean, 190), (Reason::CleanedUnseen, 260)]
    {
        let of = (4_750.0, f64::from(n) / 4_750.0);
        let pairs = share(By::Reason, Quantity::Passages, of, Some(reason));
        rows.push(Row { events: Some(n.into()), ..pairs });
    }
    rows
}
