//! 5.7, Q7: what carries dirt from one end face to the next.
//!
//! Each entity's dirty results against those of the others in the same cells, as families of tests: an
//! exact tail given the totals of the cells, and a tail for results that come in work orders. Listed is
//! only who stands out under both, at a false discovery rate of 5 % a family.

mod kinds;
mod tests;
mod touches;

use crate::derive::counts::Fate;
use crate::derive::{CarrierKind, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use kinds::{Entity, Kind, kinds};
use tests::{Tested, Tried, tests};
use touches::touches;

const OWN: &[&str] = &[
    "kind",
    "entity",
    "trials",
    "expected",
    "p_exact",
    "tail",
    "q_exact",
    "p_dispersed",
    "q_dispersed",
    "shrunken",
    "shrunken_low",
    "shrunken_high",
    "partners",
    "dirty_partners",
    "carrier",
    "rank",
    "tested",
    "listed",
    "orders",
    "dispersion",
    "partner",
    "later",
    "since_cleaned",
    "in_service",
    "inspect",
];
/// Entities of a kind that are shown: all carriers and, of the others, those with most trials.
const MOST_ROWS: usize = 10_000;

/// The table of carriers.
///
/// # Errors
/// None yet; count tables are read cell by cell.
pub fn carriers(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("carriers", OWN);
    let rules = evidence.rules();
    let mut named = Vec::new();
    for kind in kinds(evidence) {
        let tried = tests(&kind, rules.least_count.into(), rules.level);
        table.rows.push(summary(&kind, &tried, &table));
        let is_person = kind.word == CarrierKind::Operator.word();
        // Promise 7: of people only how many, unless the settings say otherwise.
        if is_person && !rules.show_people {
            continue;
        }
        let order = in_order(&kind, &tried);
        let mut rank = 0;
        for at in order.into_iter().take(MOST_ROWS) {
            let (entity, own) = (&kind.entities[at], &tried[at]);
            let is_carrier = own.tested.as_ref().is_some_and(Tested::is_carrier);
            rank += i64::from(is_carrier);
            table.rows.push(row(&kind, entity, own, is_carrier.then_some(rank), &table));
            named.extend(entity.key.filter(|_| is_carrier).map(|key| (key, entity.name.clone())));
        }
    }
    exposures(evidence, &mut table);
    for (key, name) in named {
        touches(evidence, key, &name, &mut table);
    }
    Ok(table)
}

/// Whether a row is of something listed that may be named and ranked.
pub(in crate::measures) fn is_listed(table: &Table, row: &Row) -> bool {
    row.quantity == "against-others"
        && row.is_firm()
        && matches!(table.own(row, "carrier"), Value::Text(word) if word == "yes")
}

/// How many of a kind were tested and listed.
fn summary(kind: &Kind, tried: &[Tried], table: &Table) -> Row {
    let tested = tried.iter().filter(|own| own.tested.is_some()).count();
    let listed =
        tried.iter().filter(|own| own.tested.as_ref().is_some_and(Tested::is_carrier)).count();
    let (trials, dirty) = kind.cells.iter().fold((0_u64, 0_u64), |sum, cell| {
        (sum.0.saturating_add(cell.0), sum.1.saturating_add(cell.1))
    });
    let method = "Benjamini-Hochberg 5 %, both tails";
    let mut row = Row::figure(
        "kind",
        Group::default(),
        "carriers-listed",
        Unit::Count,
        listed as f64,
        method,
    );
    (row.n, row.events) = (trials as f64, Some(whole(dirty)));
    row.with(table.fill(&[
        ("kind", Value::Text(kind.word.to_owned())),
        ("trials", Value::Count(whole(trials))),
        ("tested", Value::Count(tested as i64)),
        ("listed", Value::Count(listed as i64)),
        ("orders", Value::Count(kind.orders)),
        ("dispersion", Value::Number(kind.scatter.phi)),
    ]))
}

/// Carriers by the low end of their shrunken ratio, then the tested by trials, then the rest.
fn in_order(kind: &Kind, tried: &[Tried]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..tried.len()).collect();
    let low = |own: &Tested| own.shrunken.low.unwrap_or(0.0);
    let class = |own: &Tried| match &own.tested {
        Some(tested) if tested.is_carrier() => (0, low(tested)),
        Some(_) => (1, 0.0),
        None => (2, 0.0),
    };
    order.sort_by(|a, b| {
        let (x, y) = (class(&tried[*a]), class(&tried[*b]));
        x.0.cmp(&y.0)
            .then_with(|| y.1.total_cmp(&x.1))
            .then_with(|| tried[*b].shared.cmp(&tried[*a].shared))
            .then_with(|| kind.entities[*a].name.cmp(&kind.entities[*b].name))
            .then(a.cmp(b))
    });
    order
}

fn row(kind: &Kind, entity: &Entity, own: &Tried, rank: Option<i64>, table: &Table) -> Row {
    let group = Group { site: entity.site.clone(), ..Group::default() };
    let mut row = Row::of("kind+entity", group, "against-others", Unit::Ratio, &own.ratio);
    row.n = own.shared as f64;
    let text = |word: &str| Value::Text(word.to_owned());
    let mut values = vec![
        ("kind", text(kind.word)),
        ("entity", text(&entity.name)),
        ("trials", Value::Count(whole(own.trials))),
        ("expected", Value::from(Some(own.tail.mean))),
        ("dispersion", Value::Number(kind.scatter.phi)),
        ("rank", rank.map_or(Value::Missing, Value::Count)),
    ];
    if let Some([partners, dirty]) = entity.partners {
        values.push(("partners", Value::Count(partners)));
        values.push(("dirty_partners", Value::Count(dirty)));
    }
    let Some(tested) = &own.tested else {
        values.push(("carrier", text("not tested")));
        return row.with(table.fill(&values)).flagged([Flag::Thin]);
    };
    values.extend([
        ("carrier", text(if tested.is_carrier() { "yes" } else { "no" })),
        ("p_exact", Value::Number(own.tail.p)),
        ("tail", text(if own.is_exact() { "exact" } else { "normal" })),
        ("q_exact", Value::Number(tested.q_exact)),
        ("p_dispersed", Value::Number(tested.p_dispersed)),
        ("q_dispersed", Value::Number(tested.q_dispersed)),
        ("shrunken", tested.shrunken.value.into()),
        ("shrunken_low", tested.shrunken.low.into()),
        ("shrunken_high", tested.shrunken.high.into()),
    ]);
    let theirs = tested.conspicuous && tested.of_one_partner;
    row.with(table.fill(&values)).flagged(theirs.then_some(Flag::NotIdentified))
}

/// What became of ends that were seen clean and then mated, in the months looked back.
fn exposures(evidence: &Evidence, table: &mut Table) {
    let cells = evidence.derived.counts.carriers.exposures.cells();
    for fate in Fate::ALL {
        let of = cells.iter().filter(|(cell, _)| cell.fate == *fate);
        let ends: i64 = of.map(|(_, row)| row.ends).sum();
        let (group, unit) = (Group::default(), Unit::Count);
        let mut row = Row::figure("later", group, "exposures", unit, ends as f64, "count");
        row.n = ends as f64;
        row = row.with(table.fill(&[("later", Value::Text(fate.word().to_owned()))]));
        table.rows.push(row);
    }
}

fn whole(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
