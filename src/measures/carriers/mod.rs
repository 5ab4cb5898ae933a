//! 5.7, Q7: what carries dirt from one end face to the next.
//!
//! Each entity's dirty results against those of the others in the same cells, as families of tests: an
//! exact tail given the totals of the cells, and a tail for results that come in work orders. Listed is
//! only who stands out under both, at a false discovery rate of 5 % a family.

mod declared;
mod excess;
mod kinds;
mod tests;
mod touches;

pub use declared::*;
pub use excess::expected_of_others;

use crate::derive::CarrierKind;
use crate::derive::counts::Fate;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use kinds::{Entity, Kind, kinds};
use tests::{Tested, Tried, tests};
use touches::touches;

/// Entities of a kind that are shown: all carriers and, of the others, those with most trials.
const MOST_ROWS: usize = 10_000;

/// The table of carriers.
pub fn carriers(evidence: &Evidence) -> Table {
    let mut table = Table::default();
    let rules = evidence.rules();
    let mut named = Vec::new();
    for kind in kinds(evidence) {
        let tried = tests(&kind, rules.least_count.into(), rules.level);
        table.rows.push(summary(&kind, &tried));
        // Promise 7: of people only how many, unless the settings say otherwise.
        if kind.kind == CarrierKind::Operator && !rules.show_people {
            continue;
        }
        let order = in_order(&kind, &tried);
        let mut rank = 0;
        for at in order.into_iter().take(MOST_ROWS) {
            let (entity, tried) = (&kind.entities[at], &tried[at]);
            let is_carrier = is_carrier(tried);
            rank += i64::from(is_carrier);
            table.rows.push(row(&kind, entity, tried, is_carrier.then_some(rank)));
            named.extend(entity.key.filter(|_| is_carrier).map(|key| (key, entity.name.clone())));
        }
    }
    exposures(evidence, &mut table);
    for (key, name) in named {
        touches(evidence, key, &name, &mut table);
    }
    table
}

/// Whether it was tested and is listed.
fn is_carrier(tried: &Tried) -> bool {
    tried.tested.as_ref().is_some_and(Tested::is_carrier)
}

/// How many of a kind were tested and listed.
fn summary(kind: &Kind, tried: &[Tried]) -> Row {
    let tested = tried.iter().filter(|tried| tried.tested.is_some()).count();
    let listed = tried.iter().filter(|tried| is_carrier(tried)).count();
    let (trials, dirty) = kind.cells.iter().fold((0_u64, 0_u64), |sum, cell| {
        (sum.0.saturating_add(cell.0), sum.1.saturating_add(cell.1))
    });
    let own = Own {
        kind: Some(kind.kind.into()),
        trials: Some(trials),
        tested: Some(tested as u64),
        listed: Some(listed as u64),
        orders: Some(kind.orders),
        dispersion: Some(kind.scatter.phi),
        ..Own::default()
    };
    let (group, method) = (Group::default(), "Benjamini-Hochberg 5 %, both tails");
    let row = Row::figure(By::Kind, group, Quantity::Listed, listed as f64, method, own);
    Row { n: trials as f64, events: Some(whole(dirty)), ..row }
}

/// Carriers by the low end of their shrunken ratio, then the tested by trials, then the rest.
fn in_order(kind: &Kind, tried: &[Tried]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..tried.len()).collect();
    let class = |tried: &Tried| match &tried.tested {
        Some(tested) if tested.is_carrier() => (0, tested.shrunken.low.unwrap_or(0.0)),
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

fn row(kind: &Kind, entity: &Entity, tried: &Tried, rank: Option<i64>) -> Row {
    let group = Group { site: entity.site.clone(), ..Group::default() };
    let [partners, dirty_partners] = match entity.partners {
        Some(counts) => counts.map(Some),
        None => [None; 2],
    };
    let own = Own {
        kind: Some(kind.kind.into()),
        entity: Some(entity.name.clone()),
        trials: Some(tried.trials),
        expected: Some(tried.tail.mean).filter(|mean| mean.is_finite()),
        dispersion: Some(kind.scatter.phi),
        rank,
        partners,
        dirty_partners,
        ..Own::default()
    };
    let tail = if tried.is_exact() { Tail::Exact } else { Tail::Normal };
    let own = match &tried.tested {
        None => Own { carrier: Some(Verdict::NotTested), ..own },
        Some(tested) => Own {
            carrier: Some(if tested.is_carrier() { Verdict::Listed } else { Verdict::NotListed }),
            p_exact: Some(tried.tail.p),
            tail: Some(tail),
            q_exact: Some(tested.q_exact),
            p_dispersed: Some(tested.p_dispersed),
            q_dispersed: Some(tested.q_dispersed),
            shrunken: tested.shrunken.value,
            shrunken_low: tested.shrunken.low,
            shrunken_high: tested.shrunken.high,
            ..own
        },
    };
    let flag = match &tried.tested {
        None => Some(Flag::Thin),
        // Conspicuous, but by the dirt of one partner, which may be that partner's.
        Some(tested) => {
            (tested.conspicuous && tested.of_one_partner).then_some(Flag::NotIdentified)
        }
    };
    let row = Row::of(By::KindEntity, group, Quantity::AgainstOthers, &tried.ratio, own);
    Row { n: tried.shared as f64, ..row }.flagged(flag)
}

/// What became of ends that were seen clean and then mated, in the months looked back.
fn exposures(evidence: &Evidence, table: &mut Table) {
    let cells = evidence.derived.counts.carriers.exposures.cells();
    for fate in Fate::ALL {
        let of_fate = cells.iter().filter(|(cell, _)| cell.fate == *fate);
        let ends = of_fate.map(|(_, row)| row.ends).sum::<i64>() as f64;
        let own = Own { later: Some(Outcome::from(*fate)), ..Own::default() };
        let (group, quantity) = (Group::default(), Quantity::Exposures);
        let row = Row::figure(By::Later, group, quantity, ends, "count", own);
        table.rows.push(Row { n: ends, ..row });
    }
}

fn whole(count: u64) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
