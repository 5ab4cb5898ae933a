//! Faults without a price, and what that does to every figure of money (5.5).

use super::declared::{By, MoneyOf, Own, Quantity, Row, Table};
use super::sources::{Sources, of_fleet};
use crate::derive::DeriveError;
use crate::derive::counts::{Coverage, QuarterNo};
use crate::measures::evidence::Evidence;
use crate::measures::prices::{Line, Price};
use crate::measures::results::Group;
use crate::measures::skipped_cost::years::Years;
use crate::measures::skipped_cost::{self, Exposure};
use crate::stats::wilson;

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    let book = evidence.fault_prices();
    let fleet = book.fleet();
    shares(evidence, (By::Fleet, None), &fleet, table);
    for (source, price) in book.by_source() {
        shares(evidence, (By::Source, Some(source)), &price, table);
    }
    for (part, missing) in fleet.lacking().filter(|(part, _)| book.is_outside(*part)) {
        if missing > 0.0 {
            let own = Own { part: Some(part), ..Own::default() };
            table.rows.push(of_fleet(Quantity::PartOutside, missing as i64, own));
        }
    }
    let of_period =
        book.price(&Group::default(), |line| evidence.is_reviewed(QuarterNo(line.time)));
    put_in(MoneyOf::FaultCost, &of_period, 1.0, table);
    let followed = evidence.prices();
    let skipped = |coverage: Coverage| Exposure::Skipped.side(coverage) == Some(true);
    let years = Years::of(evidence, &followed.places);
    let is_skipped =
        |line: &Line| evidence.months.is_whole(line.quarter) && line.coverage.is_some_and(skipped);
    let of_skipped =
        followed.price_times(&Group::default(), is_skipped, |site| years.at(site).faults);
    put_in(MoneyOf::SkippedCost, &of_skipped, 1.0, table);
    if let Some(share) = associated(from.skipped_cost) {
        put_in(MoneyOf::Associated, &of_skipped, share, table);
    }
    Ok(())
}

/// How many tickets state nothing, and how many lack a part.
fn shares(evidence: &Evidence, (by, source): (By, Option<&str>), price: &Price, table: &mut Table) {
    let (rules, tickets) = (evidence.rules(), price.sums.tickets);
    let own = Own { source: source.map(str::to_owned), ..Own::default() };
    let row = |quantity, count: f64, own: Own| {
        let estimate = wilson(count, tickets, rules.level);
        Row {
            events: Some(count as i64),
            ..Row::of(by, Group::default(), quantity, &estimate, own)
        }
    };
    let flag = evidence.fault_prices().flag(price, rules.unpriced_limit);
    table.rows.push(row(Quantity::Unpriced, price.sums.unpriced, own.clone()).flagged(flag));
    for (part, missing) in price.lacking().filter(|(_, missing)| *missing > 0.0) {
        let own = Own { part: Some(part), ..own.clone() };
        table.rows.push(row(Quantity::PartMissing, missing, own));
    }
}

/// What of a figure of money rests on means; the figure has this share of the price.
fn put_in(money: MoneyOf, price: &Price, share: f64, table: &mut Table) {
    let part = |put_in: f64| price.cost.filter(|cost| *cost != 0.0).map(|cost| put_in / cost);
    let put_in = price.put_in;
    let own = Own { money: Some(money), share_put_in: put_in.and_then(part), ..Own::default() };
    let row = of_fleet(Quantity::MoneyPutIn, 0, own);
    let (n, events) = (price.sums.tickets, Some(price.sums.unpriced as i64));
    table.rows.push(Row {
        n,
        events,
        estimate: put_in.map(|put_in| (share * put_in).round()),
        ..row
    });
}

/// The share of the cost after skipped looks that is associated with the skipping.
fn associated(table: &skipped_cost::Table) -> Option<f64> {
    let quantity = skipped_cost::Quantity::AttributableCost;
    let mut rows = table.rows_of(skipped_cost::By::Fleet, quantity);
    let row = rows.find(|row| row.own.exposure == Some(Exposure::Skipped))?;
    let cost = row.own.fault_cost?.0 as f64;
    row.estimate.filter(|_| cost != 0.0).map(|associated| associated / cost)
}
