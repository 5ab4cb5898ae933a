//! The invented rows of where dirt enters.

use motetrail::measures::{Flag, Group, Row, Table, Unit, Value};

use super::sample::{own, row, share, text};

pub const ENTRY: &[&str] = &[
    "from",
    "steps",
    "reason",
    "hazard",
    "hazard_low",
    "hazard_high",
    "deff",
    "clusters",
    "p",
    "cleaning_cost",
    "downstream_cost",
    "rank",
    "running_share",
    "top_three",
    "probability",
];

/// Steps: from, to, end faces, chance.
const STEPS: [(&str, &str, f64, f64); 5] = [
    ("assembly", "system-test", 910.0, 0.07),
    ("system-test", "receiving", 1_220.0, 0.11),
    ("receiving", "installation", 1_300.0, 0.24),
    ("installation", "maintenance", 14.0, 0.14),
    ("maintenance", "maintenance", 870.0, 0.1),
];

fn steps(from: &str, to: &str) -> Value {
    match from == to {
        true => text(&format!("again at {to}")),
        false => text(&format!("{from} to {to}")),
    }
}

fn placed(to: &str, capped: Option<&str>) -> Group {
    let capped = capped.map(str::to_owned);
    Group { stage: Some(to.to_owned()), capped, ..Group::default() }
}

pub fn entry() -> Table {
    let mut rows: Vec<Row> = Vec::new();
    let about = |from: &str, to: &str| [("from", text(from)), ("steps", steps(from, to))];
    for (from, to, n, chance) in STEPS {
        let [a, b] = about(from, to);
        let clusters = ("clusters", Value::Count(52));
        for (quantity, part) in [("entry", 1.0), ("entry-less-alarms", 0.9)] {
            let mut own_row = share("from+stage", placed(to, None), quantity, n, chance * part);
            own_row.own = own(ENTRY, &[a.clone(), b.clone(), clusters.clone()]);
            rows.push(own_row);
        }
        let mut of = share("from+stage", placed(to, None), "share-of-dirt", 640.0, chance * 1.5);
        of.own = own(ENTRY, &[a.clone(), b.clone()]);
        rows.push(of);
        for (cap, part, size) in [("capped", 1.2, 0.6), ("uncapped", 0.9, 0.4)] {
            let group = placed(to, Some(cap));
            let mut own_row = share("from+stage+capped", group, "entry", n * size, chance * part);
            own_row.own = own(ENTRY, &[a.clone(), b.clone()]);
            rows.push(own_row);
        }
    }
    let mut open =
        row("from+stage", placed("assembly", None), "entry", Unit::Share, (90.0, 4), [0.0; 3]);
    (open.estimate, open.high, open.flags) = (None, Some(0.3), vec![Flag::NotIdentified]);
    let [a, b] = about("assembly", "assembly");
    let reason = text("no passage parts it from its neighbours");
    open.own = own(ENTRY, &[a, b, ("reason", reason)]);
    rows.push(open);
    for (rank, (place, saving)) in (1..).zip([(2, 412_000.0), (4, 150_000.0), (1, 90_000.0)]) {
        let (from, to, n, _) = STEPS[place];
        let [a, b] = about(from, to);
        let values = [saving, saving * 0.7, saving * 1.4];
        let mut money =
            row("from+stage", placed(to, None), "point-saving", Unit::Money, (n, 120), values);
        let own_values = [
            a,
            b,
            ("cleaning_cost", Value::Money(60_000)),
            ("downstream_cost", Value::Money(saving as i64 - 60_000)),
            ("rank", Value::Count(rank)),
            ("probability", Value::Number([0.93, 0.05, 0.02][rank as usize - 1])),
        ];
        money.own = own(ENTRY, &own_values);
        rows.push(money);
    }
    rows.extend(fleet());
    Table { name: "entry", own: ENTRY, rows }
}

fn fleet() -> Vec<Row> {
    let with = |mut row: Row, values: &[(&str, Value)]| {
        row.own = own(ENTRY, values);
        row
    };
    let ratio = [1.31, 1.12, 1.54];
    let all = Group::default;
    let factor = row("fleet", all(), "cap-factor", Unit::Ratio, (4_300.0, 610), ratio);
    let mating = row("fleet", all(), "per-mating", Unit::Share, (2_100.0, 300), [0.0, 0.0, 0.01]);
    let alarm = share("fleet", all(), "false-alarm", 410.0, 0.012);
    let mut rows = vec![
        with(factor, &[("p", Value::Number(0.0008))]),
        with(mating, &[("p", Value::Number(1.0))]),
        with(alarm, &[]),
    ];
    for (kind, n) in [("routine", 4_300), ("not-known-clean", 190), ("cleaned-unseen", 260)] {
        let mut own_row = share("kind", all(), "passages", 4_750.0, f64::from(n) / 4_750.0);
        own_row.events = Some(n.into());
        rows.push(with(own_row, &[("reason", text(kind))]));
    }
    rows
}
