//! What a year's saving is put together of, pool by pool, so that whoever checks it can add it up again; looks one stage
//! earlier by family too, each with its price.

use std::collections::BTreeMap;

use super::asked::Asked;
use super::case::purse;
use super::declared::{By, Own, Quantity, Table};
use super::flows::{FleetFlows, Skipped};
use super::purse::{Pool, Purse};
use super::valued::{Valued, whole};
use crate::measures::results::{Group, Money};
use crate::stats::Estimate;

/// Whole minor units that add up to the sum as rounded: what a part is rounded off is handed on to the next.
#[derive(Default)]
struct Rounded {
    rest: f64,
}

impl Rounded {
    fn next(&mut self, part: f64) -> f64 {
        let whole = (part + self.rest).round();
        self.rest += part - whole;
        whole
    }
}

/// The rows of the parts; `means` are those of the draws of 5.5.
pub fn parts(
    flows: &FleetFlows,
    means: &[Skipped],
    valued: &Valued,
    asked: &Asked,
    table: &mut Table,
) {
    let draws = valued.savings.len().max(1) as f64;
    let kept = valued
        .savings
        .iter()
        .fold(Purse::NONE, |sum, saved| sum.with(saved.pools, |sum, money| sum + money / draws));
    let mut all = Purse::NONE;
    for (place, _) in valued.case.usual_shares(flows) {
        let skipped = means.get(place).copied().unwrap_or_default();
        all = all.with(purse(flows, place, &skipped), |sum, money| sum + money);
    }
    let mut rounded = Rounded::default();
    let pools = Purse::WORDS.into_iter().zip(kept.values()).zip(all.values());
    for ((pool, kept), all) in pools.filter(|((_, kept), _)| *kept != 0.0) {
        let part = rounded.next(kept);
        let own = Own {
            pool: Some(pool),
            pool_money: Some(Money::rounded(all)),
            kept_out: (all != 0.0).then(|| kept / all),
            ..Own::default()
        };
        let by = (By::ProposalPool, Group::default());
        add(valued, (by, part, "mean of the draws"), own, asked, table);
        if pool == Pool::Arrivals {
            arrivals(flows, valued, part, asked, table);
        }
    }
}

/// Looks one stage earlier, by that stage and the family: how many more a year, and the price of one. They add up to `sum`.
fn arrivals(flows: &FleetFlows, valued: &Valued, sum: f64, asked: &Asked, table: &mut Table) {
    let draws = valued.savings.len();
    let mut more: BTreeMap<(&str, &str), (f64, f64)> = BTreeMap::new();
    for draw in 0..draws {
        for (place, shares) in valued.case.drawn_shares(flows, draw) {
            for one in &flows.places[place].arrivals {
                let looks = more.entry((&one.stage, &one.family)).or_default();
                looks.0 += one.ends * shares.arrivals / draws as f64;
                looks.1 = one.price;
            }
        }
    }
    let mut rounded = Rounded::default();
    let count = more.len();
    let mut left = sum;
    for (at, ((stage, family), (times, price))) in more.into_iter().enumerate() {
        // The last takes what rounding left.
        let part = if at + 1 == count { left } else { rounded.next(-times * price) };
        left -= part;
        let own = Own {
            pool: Some(Pool::Arrivals),
            times: Some(times),
            each: Some(price / Money::MINOR),
            ..Own::default()
        };
        let group = Group {
            stage: Some(stage.to_owned()),
            family: Some(family.to_owned()),
            ..Group::default()
        };
        let by = (By::ProposalPoolFamily, group);
        add(valued, (by, part, "looks times the price of one"), own, asked, table);
    }
}

fn add(
    valued: &Valued,
    ((by, group), part, method): ((By, Group), f64, &'static str),
    own: Own,
    asked: &Asked,
    table: &mut Table,
) {
    let estimate = Estimate {
        value: Some(part),
        low: None,
        high: None,
        level: asked.drawing.level,
        n: valued.savings.len() as f64,
        events: 0,
        method,
        warnings: Vec::new(),
    };
    let mut row = valued.row(by, Quantity::PartOfSaving, &estimate, own);
    row.group = group;
    table.rows.push(whole(row));
}
