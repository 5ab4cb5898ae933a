//! The money of skipped inspections (5.5): what is associated with them, what the looks would have
//! cost, and the difference, with intervals that hold the scatter of counts, costs and ratios.

use super::books::{Books, Cells};
use super::declared::{By, Exposure, Faults, Own, Quantity, Row, Table};
use super::draws::{DrawnCell, Money, REPLICATES, draw};
use super::places::Key;
use super::rank::{Saving, rank};
use super::ratio::{faults_of, is_thin};
use super::strata::{AYear, Within};
use crate::measures::evidence::names_apart;
use crate::measures::flag::Flag;
use crate::measures::months::short_history;
use crate::measures::prices::Price;
use crate::measures::results::{self, Group};
use crate::stats::bootstrap::{Resampled, expanded_percentile};
use crate::stats::exact_ratio::exact_ratio;
use crate::stats::{CellPosterior, Estimate, PersonTime, exposed_fraction};

/// What goes into one row of money.
struct Account<'a> {
    by: By,
    group: &'a Group,
    exposure: Exposure,
    ratio: &'a Estimate,
    /// Share of the exposed faults' cost that goes with the exposure.
    share: Option<f64>,
    strata: &'a [PersonTime],
    /// By replicate.
    draws: &'a [Money],
    clusters: u64,
    confounded: bool,
}

/// A sum of money with its interval, minor units.
fn interval(
    books: &Books,
    account: &Account,
    value: Option<f64>,
    of: fn(&Money) -> Option<f64>,
) -> Estimate {
    let draws: Vec<Option<f64>> = account.draws.iter().map(of).collect();
    let events = account.strata.iter().map(|stratum| stratum.d1).sum();
    let resampled = Resampled { value, n: 0.0, events, clusters: account.clusters };
    expanded_percentile(resampled, &draws, books.evidence.rules().level)
}

/// The rows of an account: what is associated, and the net saving.
fn account_rows(books: &Books, account: &Account) -> [Row; 2] {
    let within = Within { group: account.group.clone(), after_fault: false };
    let total = books.exposed(&within, account.exposure);
    let price = books.price(account.group, account.exposure.coverages());
    let nothing = price.sums.tickets == 0.0;
    let value = match nothing {
        true => Some(0.0),
        false => account.share.zip(price.cost).map(|(share, cost)| share * cost),
    };
    let net = value.map(|value| value - total.looks);
    let mut attributable = interval(books, account, value, |money| money.attributable);
    let mut saving = interval(books, account, net, Money::net);
    if nothing || value.is_none() {
        // Where no skipped mating had a fault nothing was lost that looks could have saved; how
        // much might have been is not in the records, so there is no interval.
        for estimate in [&mut attributable, &mut saving] {
            (estimate.low, estimate.high) = (None, None);
        }
    }
    let apart = books.evidence.apart(account.group);
    let own = Own { apart, ..columns(books, account, (&total, &price), &attributable) };
    let row = |quantity, estimate: &Estimate| {
        let mut row = Row::of(account.by, account.group.clone(), quantity, estimate, own.clone());
        (row.n, row.events) = (total.matings as f64, Some(total.faults));
        for value in [&mut row.estimate, &mut row.low, &mut row.high] {
            *value = value.map(f64::round);
        }
        row.flagged(is_thin(account.strata).then_some(Flag::Thin))
            .flagged(account.confounded.then_some(Flag::Confounded))
            .flagged(books.unpriced(&price))
            .flagged(books.evidence.guessed_cover(account.group.site.as_deref()))
            .flagged(names_apart(apart))
            .flagged(total.recorded_months().and_then(short_history))
    };
    let quantity = if account.exposure == Exposure::Skipped {
        Quantity::NetSaving
    } else {
        Quantity::NetSavingAlone
    };
    [row(Quantity::AttributableCost, &attributable), row(quantity, &saving)]
}

/// What both rows say.
fn columns(
    books: &Books,
    account: &Account,
    (total, price): (&AYear, &Price),
    attributable: &Estimate,
) -> Own {
    let money = |value: Option<f64>| value.map(results::Money::rounded);
    let [_, both] = faults_of(account.strata);
    Own {
        exposure: Some(account.exposure),
        faults: Some(Faults::Linked),
        after_fault: Some(false),
        ratio: account.ratio.value,
        ratio_low: account.ratio.low,
        ratio_high: account.ratio.high,
        clusters: Some(account.clusters),
        faults_skipped: Some(total.faults),
        faults_both: Some(both),
        matings_skipped: Some(total.matings),
        months: total.months(),
        recorded_months: total.recorded_months(),
        matings_of: books.matings_of(),
        fault_cost: money(price.cost),
        unpriced: (price.sums.tickets > 0.0).then(|| price.unpriced()),
        attributable: money(attributable.value),
        attributable_low: money(attributable.low),
        attributable_high: money(attributable.high),
        look_cost: money(Some(total.looks)),
        ..Own::default()
    }
}

/// The whole fleet, by the overall ratio: skipped, one and none each alone, and what is associated
/// with matings made despite a failing look.
pub fn fleet_money(books: &Books, table: &mut Table) {
    for exposure in Exposure::ALL.iter().copied() {
        let found = books.opinions(exposure);
        let key = Key::default();
        let mut cells = DrawnCell::by_group(&books.site_weeks, By::Fleet, exposure, &books.prices);
        let Some(cell) = cells.get_mut(&key) else { continue };
        let rows = books.site_weeks.by_group(By::Fleet, exposure);
        let rows = rows.get(&key).map_or(&[][..], Vec::as_slice);
        let strata = books.linked(rows, &Within::default(), exposure);
        cell.with_ratio(rows, found.headline.value, false);
        let seed = books.evidence.rules().seed;
        let draws = draw(&[cell], &books.site_weeks, None, (seed, REPLICATES));
        let draws: Vec<Money> = draws.into_iter().flatten().collect();
        let control = books.controls(By::Fleet, &[Within::default()], exposure);
        let account = Account {
            by: By::Fleet,
            group: &Group::default(),
            exposure,
            ratio: &found.headline,
            share: exposed_fraction(&found.headline).value,
            strata: &strata,
            draws: &draws,
            clusters: cell.clusters,
            confounded: control.is_confounded(0),
        };
        let [attributable, saving] = account_rows(books, &account);
        table.rows.push(attributable);
        // A look would have changed nothing of a mating made despite a failing one: its looks are no
        // saving.
        if exposure != Exposure::DespiteFail {
            table.rows.push(saving);
        }
    }
}

/// Cells with the integrated random effects, ranked by net saving; flagged ones below, unranked.
pub fn cell_savings(books: &Books, by: By, cells: &Cells, table: &mut Table) {
    let rules = books.evidence.rules();
    let exposure = Exposure::Skipped;
    let Cells { groups, strata, posterior, drawn } = cells;
    let within = |group: &Group| Within { group: group.clone(), after_fault: false };
    let all: Vec<Within> = groups.iter().map(within).collect();
    let controls = books.controls(by, &all, exposure);
    let draws = cells.draws(books, (rules.seed, REPLICATES));
    let saving = |(place, cell): (usize, &CellPosterior)| {
        let draws: Vec<Money> = draws.iter().map(|cells| cells[place]).collect();
        let alone = exact_ratio(&strata[place], rules.level);
        let leading = cell.leading(&alone);
        let account = Account {
            by,
            group: &groups[place],
            exposure,
            ratio: leading,
            share: cell.attributable.value,
            strata: &strata[place],
            draws: &draws,
            clusters: drawn[place].clusters,
            confounded: controls.is_confounded(place),
        };
        let [_, mut row] = account_rows(books, &account);
        row.own.stands_apart = Some(cell.apart).filter(|_| !cell.borrowed);
        row.own.ratio_alone = alone.value;
        (row.own.ratio_alone_low, row.own.ratio_alone_high) = (alone.low, alone.high);
        let row = row.flagged(cell.borrowed.then_some(Flag::Borrowed));
        Saving { row, draws: draws.iter().map(Money::net).collect() }
    };
    let savings: Vec<Saving<Row>> = posterior.cells.iter().enumerate().map(saving).collect();
    table.rows.extend(rank(savings, |row, standing| {
        row.own.rank = Some(standing.rank);
        row.own.running_share = standing.running_share;
        row.own.top_three = standing.top_three;
    }));
}
