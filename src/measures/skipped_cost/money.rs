//! The money of skipped inspections (5.5): what is associated with them, what the looks would have
//! cost, and the difference, with intervals that hold the scatter of counts, costs and ratios.

use super::control::Controls;
use super::declared::{By, Exposure, Faults, Own, Quantity, Row, Table};
use super::draws::{DrawnCell, Money, REPLICATES, draw};
use super::look_price::LookPrices;
use super::opinions::{Opinions, opinions};
use super::places::Key;
use super::rank::{Saving, rank};
use super::ratio::{faults_of, is_thin};
use super::site_weeks::SiteWeeks;
use super::strata::{AYear, FollowUp, Within};
use crate::derive::{Coverage, Definition};
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::flag::Flag;
use crate::measures::months::short_history;
use crate::measures::prices::Price;
use crate::measures::results::{self, Group};
use crate::stats::bootstrap::{Resampled, expanded_percentile};
use crate::stats::exact_ratio::exact_ratio;
use crate::stats::stratified_poisson::StratifiedRow;
use crate::stats::{CellPosterior, Estimate, PersonTime, exposed_fraction, random_effects};

/// What money is reckoned from.
pub struct Books<'a> {
    /// Count tables and settings.
    pub evidence: &'a Evidence<'a>,
    /// Follow-up by stratum.
    pub follow_up: FollowUp,
    /// Follow-up by stratum and cluster.
    pub site_weeks: SiteWeeks<'a>,
    /// What a look costs.
    pub prices: LookPrices<'a>,
}

impl Books<'_> {
    /// The fleet's ratio of linked faults for an exposure, of matings not after a fault.
    pub fn opinions(&self, exposure: Exposure) -> Opinions {
        let mut rows = self.site_weeks.by_group(By::Fleet, exposure);
        let rows = rows.remove(&Key::default()).unwrap_or_default();
        let strata = self.linked(&rows, &Within::default(), exposure);
        opinions(&strata, &rows, self.evidence.rules().level)
    }

    /// The linked faults of these rows, with who was at risk.
    fn linked(
        &self,
        rows: &[StratifiedRow],
        within: &Within,
        exposure: Exposure,
    ) -> Vec<PersonTime> {
        self.follow_up.events(rows, within, exposure, Definition::Linked)
    }

    /// The negative controls of these cells of a grouping.
    fn controls(&self, by: By, cells: &[Within], exposure: Exposure) -> Controls {
        let level = self.evidence.rules().level;
        let counted = (&self.follow_up, &self.site_weeks);
        Controls::of(counted, by.parts(), cells, exposure, level)
    }

    /// What the linked faults of the exposed matings of a cell cost a year, all of them, of matings that have run their
    /// horizon.
    pub fn price(&self, group: &Group, exposed: &[Coverage]) -> Price {
        let prices = self.evidence.prices();
        let months = &self.evidence.months;
        let is_exposed = |coverage: &Coverage| exposed.contains(coverage);
        let years = &self.follow_up.years;
        prices.price_times(
            group,
            |line| months.is_whole(line.quarter) && line.coverage.as_ref().is_some_and(is_exposed),
            |site| years.at(site).faults,
        )
    }

    /// First and last quarter of the matings that money is of: those that have run their horizon.
    pub fn matings_of(&self) -> Option<String> {
        let calendar = &self.evidence.derived.calendar;
        let (first, last) = self.evidence.months.whole_quarters()?;
        let (first, last) = (calendar.quarter(first), calendar.quarter(last));
        Some(if first == last { first.to_string() } else { format!("{first} to {last}") })
    }

    /// Whether prices are known well enough.
    pub fn unpriced(&self, price: &Price) -> Option<Flag> {
        self.evidence.prices().flag(price, self.evidence.rules().unpriced_limit)
    }

    /// What the exposed matings of a cell came to, and what looking at their ends would have cost.
    fn exposed(&self, within: &Within, exposure: Exposure) -> AYear {
        let mut total = AYear::default();
        let FollowUp { places, years, .. } = &self.follow_up;
        for ([site, stage, family], exposed) in self.follow_up.exposed(within, exposure) {
            let price = self.prices.price(places.stage(stage), places.family(family));
            total.add(exposed, price, years.at(site));
        }
        total
    }
}

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
pub fn cell_savings(books: &Books, by: By, groups: &[Group], table: &mut Table) {
    let rules = books.evidence.rules();
    let exposure = Exposure::Skipped;
    let within = |group: &Group| Within { group: group.clone(), after_fault: false };
    let cells: Vec<Within> = groups.iter().map(within).collect();
    let rows = books.site_weeks.by_group(by, exposure);
    let keys: Vec<Key> = groups.iter().map(|group| books.site_weeks.places.key(group)).collect();
    let of_cell = |key: &Key| rows.get(key).map_or(&[][..], Vec::as_slice);
    let strata: Vec<Vec<PersonTime>> = cells
        .iter()
        .zip(&keys)
        .map(|(within, key)| books.linked(of_cell(key), within, exposure))
        .collect();
    let posterior = random_effects(&strata, rules.ratio_spread, rules.level);
    let controls = books.controls(by, &cells, exposure);
    let mut drawn = DrawnCell::by_group(&books.site_weeks, by, exposure, &books.prices);
    for (key, cell) in keys.iter().zip(&posterior.cells) {
        drawn.entry(*key).or_default().with_ratio(of_cell(key), cell.ratio.value, true);
    }
    let drawn: Vec<&DrawnCell> = keys.iter().filter_map(|key| drawn.get(key)).collect();
    let often = (rules.seed, REPLICATES);
    let draws = draw(&drawn, &books.site_weeks, Some(&posterior), often);
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
