//! The invented rows of purchase cases: one that pays, one that cannot be valued, a flagged one.

use motetrail::measures::{Flag, Group, Row, Table, Unit, Value};

use super::sample::{own, row, text};

pub const PAYBACK: &[&str] = &[
    "proposal",
    "price",
    "units",
    "life_months",
    "input",
    "input_unit",
    "source",
    "input_low",
    "input_high",
    "worth_at_low",
    "worth_at_high",
    "month",
    "set",
    "rung",
    "next_thousand",
    "probability",
    "chosen",
    "budget",
    "reason",
];

/// The table with two valued proposals, one without a value, and a budget.
pub fn payback() -> Table {
    let mut rows = Vec::new();
    proposal("Scopes for Tal", 480_000, [1_860_000.0, 310_000.0, 4_120_000.0], &[], &mut rows);
    proposal("Wet sets", 90_000, [-12_050.0, -61_000.0, 48_000.0], &[Flag::Thin], &mut rows);
    let mut lacking = money("proposal", "net-present-value", [0.0; 3]);
    (lacking.estimate, lacking.low, lacking.high) = (None, None, None);
    lacking.flags = vec![Flag::NotIdentified];
    let reason = "cannot be valued: the fleet has no estimate of what carriers pass on";
    lacking.own = about("New leads", 30_000, &[("reason", text(reason))]);
    rows.push(lacking);
    for (by, quantity) in [("set", "best-set"), ("set", "ladder")] {
        let mut set = money(by, quantity, [1_860_000.0, 310_000.0, 4_120_000.0]);
        let values = [
            ("set", text("Scopes for Tal")),
            ("price", Value::Money(480_000)),
            ("rung", Value::Count(1)),
            ("next_thousand", Value::Money(387_500)),
            ("probability", Value::Number(0.985)),
            ("chosen", text("yes")),
            ("budget", Value::Money(600_000)),
        ];
        set.own = own(PAYBACK, &values);
        rows.push(set);
    }
    Table { name: "payback", own: PAYBACK, rows }
}

fn about(name: &str, price: i64, more: &[(&str, Value)]) -> Vec<Value> {
    let mut values = vec![
        ("proposal", text(name)),
        ("price", Value::Money(price)),
        ("units", Value::Count(2)),
        ("life_months", Value::Count(60)),
    ];
    values.extend(more.iter().cloned());
    own(PAYBACK, &values)
}

fn money(by: &'static str, quantity: &'static str, values: [f64; 3]) -> Row {
    let mut row = row(by, Group::default(), quantity, Unit::Money, (1000.0, 0), values);
    (row.events, row.method) = (None, "Monte Carlo, expanded percentile");
    row
}

fn proposal(name: &str, price: i64, worth: [f64; 3], flags: &[Flag], rows: &mut Vec<Row>) {
    let mut add = |mut row: Row, more: &[(&str, Value)]| {
        row.own = about(name, price, more);
        row.flags = flags.to_vec();
        rows.push(row);
    };
    add(money("proposal", "net-present-value", worth), &[]);
    add(money("proposal", "break-even-price", worth.map(|own| own + 240_000.0)), &[]);
    add(money("proposal", "saving-a-year", worth.map(|own| own / 4.0 + 120_000.0)), &[]);
    let plain = |quantity, unit, values| {
        row("proposal", Group::default(), quantity, unit, (1000.0, 0), values)
    };
    add(plain("faults-avoided-a-year", Unit::Count, [12.4, 6.1, 20.3]), &[]);
    add(plain("downtime-avoided-a-year", Unit::Hours, [18.6, 9.2, 30.5]), &[]);
    add(plain("pays-back", Unit::Share, [0.93, 0.91, 0.945]), &[]);
    add(plain("payback-month", Unit::Months, [18.6, 11.9, 41.2]), &[]);
    for month in [0, 12, 24, 36, 48, 60] {
        let part = f64::from(month) / 60.0;
        let cash = worth.map(|own| (own + price as f64) * part - price as f64);
        add(money("proposal+month", "cash", cash), &[("month", Value::Count(month.into()))]);
    }
    for (input, source, unit, ends) in [
        (
            "share of the faults' cost that goes with skipping (rate ratio)",
            "skipped cost",
            "share",
            [0.31, 0.58],
        ),
        ("coverage reached", "stated", "share", [0.86, 0.98]),
    ] {
        let more = [
            ("input", text(input)),
            ("source", text(source)),
            ("input_unit", text(unit)),
            ("input_low", Value::Number(ends[0])),
            ("input_high", Value::Number(ends[1])),
            ("worth_at_low", Value::Money(worth[1] as i64)),
            ("worth_at_high", Value::Money(worth[2] as i64)),
        ];
        add(money("proposal+input", "tornado", worth), &more);
    }
}
