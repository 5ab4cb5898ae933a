//! Purchase cases on flows made by hand, where every figure can be worked out, and on the demo.

mod cases;
mod demo;
mod extremes;
mod kinds;
mod parts;
mod together;
mod visits;

use motetrail::measures::payback::{
    Arriving, Asked, By, Drawing, FleetFlows, Place, Purse, Quantity, Row, Skipped, Table, payback,
};
use motetrail::settings::{Effect, EffectKind, Proposal, Stated};
use motetrail::stats::shifted_odds::Exit;

pub const RATE: f64 = 0.06;

/// Two sites with one stage each, 400 draws in which costs and ratios scatter.
pub fn flows() -> FleetFlows {
    let place = |site: &str, size: f64| Place {
        site: site.to_owned(),
        stage: "installation".to_owned(),
        known: 1000.0 * size,
        both: 600.0 * size,
        skipped: 400.0 * size,
        unseen_ends: 600.0 * size,
        first_looks: 2000.0 * size,
        dirty: 500.0 * size,
        passages: [("incoming".to_owned(), 1000.0 * size)].into(),
        mated_ends: 2000.0 * size,
        counted_ends: 2000.0 * size,
        looked_before: 200.0 * size,
        cleanings: 900.0 * size,
        on_clean: 0.0,
        by_method: [("dry".to_owned(), 600.0 * size), ("wet-dry".to_owned(), 300.0 * size)].into(),
        exits: times(3),
        exits_by_method: [("dry".to_owned(), times(2)), ("wet-dry".to_owned(), exits())].into(),
        arrivals: [("LC", 1_500.0, 240.0), ("SC", 500.0, 480.0)]
            .map(|(family, ends, price)| Arriving {
                stage: "incoming".to_owned(),
                family: family.to_owned(),
                ends: ends * size,
                price,
            })
            .to_vec(),
        soiled: Default::default(),
        purse: Purse {
            labour: 351_000.0 * size,
            material: 54_000.0 * size,
            looks_again: 208_000.0 * size,
            rejects: 70_000.0 * size,
            arrivals: 600_000.0 * size,
            ..Purse::NONE
        },
        tickets: 0.0,
        unpriced: 0.0,
        downtime_min: 90.0,
        strata: Vec::new(),
        control: Vec::new(),
    };
    let draw = |number: u32| -> Vec<Skipped> {
        let scatter = 1.0 + 0.3 * f64::from(number * 37 % 101) / 100.0;
        let one = |size: f64| Skipped {
            cost: 3_000_000.0 * size * scatter,
            associated: 1_500_000.0 * size * scatter * scatter,
            faults: 20.0 * size * scatter,
            looks: 300_000.0 * size,
            busier: 0.0,
            rejects: 0.0,
        };
        vec![one(1.0), one(0.5)]
    };
    FleetFlows {
        stages: ["production", "incoming", "installation"].map(str::to_owned).to_vec(),
        places: vec![place("North", 1.0), place("South", 0.5)],
        skipped: (0..400).map(draw).collect(),
        yearly: 1.0,
        clusters: 200,
        cleaning_minutes: 3.0,
        ..FleetFlows::default()
    }
}

/// So many times [`exits`].
fn times(many: u64) -> Vec<Exit> {
    let times = |exit: Exit| Exit {
        succeeded: exit.succeeded * many,
        taken_out: exit.taken_out * many,
        gave_up: exit.gave_up * many,
        censored: exit.censored * many,
    };
    exits().into_iter().map(times).collect()
}

/// Of 500 that began dirty: half pass at the first cycle, half of the rest at the second.
pub fn exits() -> Vec<Exit> {
    let exit =
        |succeeded, taken_out, gave_up, censored| Exit { succeeded, taken_out, gave_up, censored };
    vec![exit(0, 0, 0, 0), exit(250, 10, 20, 0), exit(110, 10, 10, 90)]
}

pub fn effect(kind: EffectKind) -> Effect {
    Effect {
        kind,
        stages: Vec::new(),
        sites: Vec::new(),
        capacity: None,
        means: None,
        as_action: None,
    }
}

/// A proposal of one unit for 1,000.00 over 36 months.
pub fn proposal(name: &str, kind: EffectKind) -> Proposal {
    Proposal {
        name: name.to_owned(),
        line: 1,
        price: 100_000,
        units: 1,
        life_months: 36,
        starts_after_months: 0,
        running_cost: 0,
        monthly_price: 0,
        training_cost: 0,
        excludes: Vec::new(),
        needs: Vec::new(),
        effects: vec![effect(kind)],
    }
}

pub fn minutes(name: &str, low: f64, likely: f64, high: f64) -> Proposal {
    let minutes = Stated { low, likely, high };
    proposal(name, EffectKind::Minutes { minutes, instead_of: None })
}

pub fn coverage(name: &str, to: f64) -> Proposal {
    proposal(name, EffectKind::Coverage(Stated::known(to)))
}

pub fn drawing() -> Drawing {
    Drawing { seed: 7, draws: 400, level: 0.95 }
}

/// The table of these proposals.
pub fn table(flows: &FleetFlows, proposals: &[Proposal], budget: Option<i64>) -> Table {
    payback(flows, &Asked { proposals, budget, discount_rate: RATE, drawing: drawing() })
}

/// The row of a proposal.
pub fn row<'t>(table: &'t Table, name: &str, quantity: Quantity) -> &'t Row {
    let mut rows = table.rows_of(By::Proposal, quantity);
    rows.find(|row| row.own.proposal.as_deref() == Some(name))
        .unwrap_or_else(|| panic!("no {quantity:?} of {name}"))
}

pub fn value(table: &Table, name: &str, quantity: Quantity) -> f64 {
    row(table, name, quantity).estimate.unwrap()
}
