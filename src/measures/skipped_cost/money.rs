//! The money of skipped inspections (5.5): what is associated with them, what the looks would have
//! cost, and the difference, with intervals that hold the scatter of counts, costs and ratios.

use super::control::Controls;
use super::draws::{DrawnCell, Money, REPLICATES, draw};
use super::look_price::LookPrices;
use super::opinions::{Opinions, opinions};
use super::rank::{Saving, rank};
use super::ratio::{FAULTS, is_thin, text};
use super::site_weeks::SiteWeeks;
use super::strata::{EXPOSURES, Exposed, FollowUp, Within};
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::flag::Flag;
use crate::measures::table::{Group, Row, Table, Unit, Value};
use crate::stats::bootstrap::{Resampled, expanded_percentile};
use crate::stats::{CellPosterior, Estimate, PersonTime, exposed_fraction, random_effects};

/// What money is reckoned from.
pub struct Books<'a> {
    pub evidence: &'a Evidence<'a>,
    pub follow_up: FollowUp,
    pub site_weeks: SiteWeeks,
    pub prices: LookPrices<'a>,
}

impl Books<'_> {
    /// The fleet's ratio of linked faults for an exposure, of matings not after a fault.
    pub fn opinions(&self, exposed: &[&str]) -> Opinions {
        let strata = self.follow_up.strata(&Within::default(), exposed, FAULTS[0].1);
        let rows = self.site_weeks.by_group(&[], exposed).remove(&[None; 3]).unwrap_or_default();
        opinions(&strata, &rows, self.evidence.rules().level)
    }

    /// What the exposed matings of a cell came to, and what looking at their ends would have cost.
    fn exposed(&self, within: &Within, exposed: &[&str]) -> (Exposed, f64) {
        let (mut total, mut looks) = (Exposed::default(), 0.0);
        for ((stage, family), own) in self.follow_up.exposed(within, exposed) {
            total.matings += own.matings;
            total.unseen_ends += own.unseen_ends;
            total.faults += own.faults;
            total.cost = total.cost.saturating_add(own.cost);
            looks += own.unseen_ends as f64 * self.prices.price(stage, family);
        }
        (total, looks)
    }
}

/// What goes into one row of money.
struct Account<'a> {
    by: &'static str,
    group: &'a Group,
    exposure: (&'static str, &'static [&'static str]),
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

fn money(value: Option<f64>) -> Value {
    value.map_or(Value::Missing, |value| Value::Money(value.round() as i64))
}

/// The rows of an account: what is associated, and the net saving.
fn account_rows(books: &Books, account: &Account, table: &Table) -> [Row; 2] {
    let within = Within { group: account.group.clone(), after_fault: false };
    let (total, looks) = books.exposed(&within, account.exposure.1);
    let value = match total.cost {
        0 => Some(0.0),
        cost => account.share.map(|share| share * cost as f64),
    };
    let net = value.map(|value| value - looks);
    let mut attributable = interval(books, account, value, |money| money.attributable);
    let mut saving = interval(books, account, net, Money::net);
    if total.cost == 0 {
        // Where no skipped mating had a fault nothing was lost that looks could have saved; how
        // much might have been is not in the records, so there is no interval.
        for estimate in [&mut attributable, &mut saving] {
            (estimate.low, estimate.high) = (None, None);
        }
    }
    let values = values(account, &total, &attributable, looks);
    let row = |quantity, estimate: &Estimate| {
        let group = account.group.clone();
        let mut row = Row::of(account.by, group, quantity, Unit::Money, estimate);
        (row.n, row.events) = (total.matings as f64, Some(total.faults));
        for value in [&mut row.estimate, &mut row.low, &mut row.high] {
            *value = value.map(f64::round);
        }
        row.with(table.fill(&values))
            .flagged(is_thin(account.strata).then_some(Flag::Thin))
            .flagged(account.confounded.then_some(Flag::Confounded))
            .flagged(books.evidence.guessed_cover(account.group.site.as_deref()))
    };
    let quantity = if account.exposure.0 == "skipped" { "net-saving" } else { "net-saving-alone" };
    [row("attributable-cost", &attributable), row(quantity, &saving)]
}

/// The own values of both rows.
fn values(
    account: &Account,
    total: &Exposed,
    attributable: &Estimate,
    looks: f64,
) -> [(&'static str, Value); 15] {
    let both: u64 = account.strata.iter().map(|stratum| stratum.d0).sum();
    [
        ("exposure", text(account.exposure.0)),
        ("faults", text("linked")),
        ("after_fault", text("no")),
        ("ratio", account.ratio.value.into()),
        ("ratio_low", account.ratio.low.into()),
        ("ratio_high", account.ratio.high.into()),
        ("clusters", Value::Count(account.clusters as i64)),
        ("faults_skipped", Value::Count(total.faults)),
        ("faults_both", Value::Count(both as i64)),
        ("matings_skipped", Value::Count(total.matings)),
        ("fault_cost", Value::Money(total.cost)),
        ("attributable", money(attributable.value)),
        ("attributable_low", money(attributable.low)),
        ("attributable_high", money(attributable.high)),
        ("look_cost", Value::Money(looks.round() as i64)),
    ]
}

/// The whole fleet, by the overall ratio: skipped, one and none each alone, and what is associated
/// with matings made despite a failing look.
pub fn fleet_money(books: &Books, table: &mut Table) {
    let level = books.evidence.rules().level;
    for exposure in EXPOSURES {
        let found = books.opinions(exposure.1);
        let strata = books.follow_up.strata(&Within::default(), exposure.1, FAULTS[0].1);
        let key = [None; 3];
        let mut cells = DrawnCell::by_group(&books.site_weeks, &[], exposure.1, &books.prices);
        let Some(cell) = cells.get_mut(&key) else { continue };
        let rows = books.site_weeks.by_group(&[], exposure.1);
        let own = rows.get(&key).map_or(&[][..], Vec::as_slice);
        cell.with_ratio(own, found.headline.value, false);
        let seed = books.evidence.rules().seed;
        let draws = draw(&[cell], &books.site_weeks.clusters, None, (seed, REPLICATES));
        let draws: Vec<Money> = draws.into_iter().flatten().collect();
        let control = Controls::of(&books.follow_up, &[Within::default()], exposure.1, level);
        let account = Account {
            by: "fleet",
            group: &Group::default(),
            exposure,
            ratio: &found.headline,
            share: exposed_fraction(&found.headline).value,
            strata: &strata,
            draws: &draws,
            clusters: cell.clusters,
            confounded: control.is_confounded(0),
        };
        let [attributable, saving] = account_rows(books, &account, table);
        table.rows.push(attributable);
        // A look would have changed nothing of a mating made despite a failing one: its looks are no
        // saving.
        if exposure.0 != "despite-fail" {
            table.rows.push(saving);
        }
    }
}

/// Cells with the integrated random effects, ranked by net saving; flagged ones below, unranked.
pub fn cell_savings(books: &Books, (by, columns): &Grouping, groups: &[Group], table: &mut Table) {
    let rules = books.evidence.rules();
    let exposure = EXPOSURES[0];
    let within = |group: &Group| Within { group: group.clone(), after_fault: false };
    let cells: Vec<Within> = groups.iter().map(within).collect();
    let strata: Vec<Vec<PersonTime>> = cells
        .iter()
        .map(|within| books.follow_up.strata(within, exposure.1, FAULTS[0].1))
        .collect();
    let posterior = random_effects(&strata, rules.ratio_spread, rules.level);
    let controls = Controls::of(&books.follow_up, &cells, exposure.1, rules.level);
    let mut drawn = DrawnCell::by_group(&books.site_weeks, columns, exposure.1, &books.prices);
    let rows = books.site_weeks.by_group(columns, exposure.1);
    let keys: Vec<[Option<u32>; 3]> =
        groups.iter().map(|group| books.site_weeks.place(group)).collect();
    for (key, cell) in keys.iter().zip(&posterior.cells) {
        let own = rows.get(key).map_or(&[][..], Vec::as_slice);
        drawn.entry(*key).or_default().with_ratio(own, cell.ratio.value, true);
    }
    let own: Vec<&DrawnCell> = keys.iter().filter_map(|key| drawn.get(key)).collect();
    let often = (rules.seed, REPLICATES);
    let draws = draw(&own, &books.site_weeks.clusters, Some(&posterior), often);
    let saving = |(place, cell): (usize, &CellPosterior)| {
        let draws: Vec<Money> = draws.iter().map(|cells| cells[place]).collect();
        let account = Account {
            by,
            group: &groups[place],
            exposure,
            ratio: &cell.ratio,
            share: cell.attributable.value,
            strata: &strata[place],
            draws: &draws,
            clusters: own[place].clusters,
            confounded: controls.is_confounded(place),
        };
        let [_, row] = account_rows(books, &account, table);
        let row = row.flagged(cell.borrowed.then_some(Flag::Borrowed));
        Saving { row, draws: draws.iter().map(Money::net).collect() }
    };
    let savings: Vec<Saving<Row>> = posterior.cells.iter().enumerate().map(saving).collect();
    let own = table.own;
    let ranked = rank(savings, |row: &mut Row, standing| {
        let values = [
            ("rank", Value::Count(standing.rank)),
            ("running_share", standing.running_share.into()),
            ("top_three", standing.top_three.into()),
        ];
        for (name, value) in values {
            if let Some(place) = own.iter().position(|own| *own == name) {
                row.own[place] = value;
            }
        }
    });
    table.rows.extend(ranked);
}
