//! 5.5's page of sensitivity: the headline ratio and the net saving under other rules, a row each.
//!
//! All from one pass: variants are count tables of their own, or the usual follow-up read another
//! way. They are not counted by site-week; their intervals are widened as much as the headline's
//! was for its clusters. Same strata, exposure and reference as the headline but for what the row
//! names.

use std::collections::BTreeMap;

use super::books::Books;
use super::declared::{By, Exposure, Own, Quantity, Row, Rule, Table};
use super::late_tickets;
use super::look_price::LookPrices;
use super::opinions::{Opinions, as_headline};
use super::places::Place;
use super::ratio::{faults_of, is_thin, months_at_risk};
use super::strata::{AYear, Exposed, add_side, linked};
use super::years::Years;
use crate::by;
use crate::derive::counts::{
    self, AfterFault, Band, Coverage, Criteria, Family, FollowUp, Has, QuarterNo, Row as _, Site,
    Stage, Variants, site_weeks,
};
use crate::derive::{Along, ByColumns, DeriveError, LAGS_HOURS, Rows, Variant};
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::flag::Flag;
use crate::measures::months::Months;
use crate::measures::prices::{Price, Sums as Prices};
use crate::measures::results::{Group, Money};
use crate::stats::{PersonTime, exposed_fraction};

/// Follow-up of one stratum, by coverage.
#[derive(Clone)]
struct Stratum {
    /// Places of all that makes the stratum.
    key: Vec<u32>,
    /// Where its site, stage and family stand.
    place: Place,
    /// Quarter of its matings, by its piece of the calendar.
    quarter: u32,
    stage: String,
    family: String,
    by_coverage: Vec<(Coverage, site_weeks::Row)>,
}

/// Which coverages are on which side.
#[derive(Clone, Copy)]
struct Sides {
    exposed: &'static [Coverage],
    reference: &'static [Coverage],
}

impl Sides {
    /// Those of the headline, but for where a rule puts matings of unknown coverage.
    fn under(rule: Rule) -> Sides {
        let usual = Sides { exposed: Exposure::Skipped.coverages(), reference: &[Coverage::Both] };
        match rule {
            Rule::UnknownAsSkipped => {
                Sides { exposed: &[Coverage::One, Coverage::None, Coverage::Unknown], ..usual }
            }
            Rule::UnknownAsBoth => {
                Sides { reference: &[Coverage::Both, Coverage::Unknown], ..usual }
            }
            _ => usual,
        }
    }

    /// Whether matings of a coverage are exposed (true) or what these are compared with; none where they are neither.
    fn side(&self, coverage: Coverage) -> Option<bool> {
        if self.exposed.contains(&coverage) {
            return Some(true);
        }
        self.reference.contains(&coverage).then_some(false)
    }
}

/// Adds the rows: as the rules say, then every variant that is another rule.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn sensitivity(books: &Books, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = books.evidence;
    let headline = books.opinions(Exposure::Skipped);
    let rows = evidence.looked_back().with([AfterFault::No]);
    let usual = evidence.along::<Coverage, FollowUp>(&rows, &strata_columns())?;
    let usual: Vec<Stratum> = usual.iter().map(|found| Stratum::of(found, linked)).collect();
    table.rows.push(row(books, &headline, Rule::AsRuled, &usual));
    for variant in Variant::ALL.into_iter().filter(|other| !is_the_rule(*other, evidence)) {
        let rows = Rows::all().with([variant]);
        let found = evidence.along::<Coverage, Variants>(&rows, &strata_columns())?;
        let strata: Vec<Stratum> =
            found.iter().map(|found| Stratum::of(found, |counts| *counts)).collect();
        let strata = if variant.is_difference() { moved(&usual, strata) } else { strata };
        table.rows.push(row(books, &headline, Rule::But(variant), &strata));
    }
    for rule in [Rule::UnknownAsSkipped, Rule::UnknownAsBoth] {
        table.rows.push(row(books, &headline, rule, &usual));
    }
    late_tickets::flag(evidence, &headline.headline, table);
    Ok(())
}

/// Whether the rules say the same anyway.
fn is_the_rule(variant: Variant, evidence: &Evidence) -> bool {
    let windows = &evidence.derived.windows;
    match variant {
        Variant::Lag(place) => windows.of_hours(LAGS_HOURS[place]) == *windows,
        _ => variant.is_the_rule(evidence.rules()),
    }
}

/// The strata with what other windows of tickets change in them, in the order of display.
fn moved(usual: &[Stratum], changes: Vec<Stratum>) -> Vec<Stratum> {
    let keyed = usual.iter().map(|stratum| (stratum.key.clone(), stratum.clone()));
    let mut strata: BTreeMap<Vec<u32>, Stratum> = keyed.collect();
    for change in changes {
        let Some(stratum) = strata.get_mut(&change.key) else {
            strata.insert(change.key.clone(), change);
            continue;
        };
        for (coverage, more) in change.by_coverage {
            match stratum.by_coverage.iter_mut().find(|(own, _)| *own == coverage) {
                Some((_, counts)) => counts.add(&more),
                None => stratum.by_coverage.push((coverage, more)),
            }
        }
    }
    strata.into_values().collect()
}

/// The columns that make a stratum.
fn strata_columns<T>() -> ByColumns<T>
where
    T: Has<Site> + Has<Stage> + Has<Family> + Has<Band> + Has<QuarterNo> + Has<Criteria>,
{
    by!(Site, Stage, Family, Band, QuarterNo, Criteria)
}

impl Stratum {
    /// From the cells of a stratum, whose counts `of` reads.
    fn of<T: counts::Counted>(
        found: &Along<T, Coverage>,
        of: impl Fn(&T::Row) -> site_weeks::Row,
    ) -> Stratum {
        Stratum {
            key: found.places.clone(),
            place: [found.places[0], found.places[1], found.places[2]],
            quarter: found.places[4],
            stage: found.words[1].clone(),
            family: found.words[2].clone(),
            by_coverage: found.cells.iter().map(|(coverage, row)| (*coverage, of(row))).collect(),
        }
    }
}

/// What the strata of one variant come to.
#[derive(Default)]
struct Sums {
    strata: Vec<PersonTime>,
    exposed: AYear,
}

fn sums(
    prices: &LookPrices,
    (years, months): (&Years, &Months),
    strata: &[Stratum],
    sides: Sides,
) -> Sums {
    let mut sums = Sums::default();
    let mut priced: BTreeMap<[u32; 2], f64> = BTreeMap::new();
    for Stratum { place, quarter, stage, family, by_coverage, key: _ } in strata {
        let mut stratum: Option<PersonTime> = None;
        for (coverage, counts) in by_coverage {
            let is_exposed = sides.exposed.contains(coverage);
            if !is_exposed && !sides.reference.contains(coverage) {
                continue;
            }
            let stratum = stratum.get_or_insert_default();
            add_side(stratum, is_exposed, counts.faults, counts.seconds);
            if is_exposed && months.is_whole(*quarter) {
                let exposed = Exposed {
                    matings: counts.started,
                    unseen_ends: counts.unseen_ends,
                    faults: counts.faults,
                };
                let [site, of_stage, of_family] = *place;
                let price = priced.entry([of_stage, of_family]);
                let price = price.or_insert_with(|| prices.price(stage, family));
                sums.exposed.add(exposed, *price, years.at(site));
            }
        }
        sums.strata.extend(stratum);
    }
    sums
}

/// What the faults of the exposed matings cost a year under a rule: by the means of the faults as ruled.
fn price_under(books: &Books, rule: Rule, (years, months): (&Years, &Months)) -> Price {
    let exposed = Sides::under(rule).exposed;
    let Some(variant) = rule.variant() else { return books.price(&Group::default(), exposed) };
    let derived = books.evidence.derived;
    let prices = books.evidence.prices();
    let mut found: Vec<_> = derived
        .counts
        .prices
        .variant_prices
        .cells()
        .into_iter()
        .filter(|(cell, _)| cell.variant == variant && exposed.contains(&cell.coverage))
        .filter(|(cell, _)| months.is_whole(cell.quarter.0))
        .map(|(cell, row)| (prices.places.place(cell.site, cell.stage, cell.family), cell, row))
        .collect();
    found.sort_unstable_by_key(|(place, cell, _)| (*place, cell.coverage, cell.source));
    // Where the count is the difference to the rules, the price is theirs and the difference.
    let mut price = match variant.is_difference() {
        true => books.price(&Group::default(), exposed),
        false => Price::default(),
    };
    for ([site, stage, family], cell, row) in found {
        let sums = Prices::of(&row);
        let put_in = prices.other(cell.source, [stage, family], &sums);
        price.add_times(&sums, put_in, years.at(site).faults);
    }
    price
}

fn row(books: &Books, headline: &Opinions, rule: Rule, strata: &[Stratum]) -> Row {
    let evidence = books.evidence;
    // Under a longer horizon fewer matings have run it.
    let horizon = rule.variant().map(|variant| variant.horizon_days(evidence.rules()));
    let usual = evidence.rules().horizon_days;
    let other = horizon
        .filter(|days| *days != usual)
        .map(|days| Months::within(evidence.rules(), days, evidence.derived))
        .map(|months| (Years::by(&months, &books.follow_up.places), months));
    let from = match &other {
        Some((years, months)) => (years, months),
        None => (&books.follow_up.years, &evidence.months),
    };
    let Sums { strata, exposed } = sums(&books.prices, from, strata, Sides::under(rule));
    let rules = books.evidence.rules();
    let side = |coverage| Sides::under(rule).side(coverage);
    let events = books.site_weeks.risk_sets.under(rule, rules, &side);
    let events = events.as_ref().unwrap_or(&strata);
    let ratio = as_headline(events, headline, rules.level);
    let price = price_under(books, rule, from);
    let attributable = match price.sums.tickets > 0.0 {
        false => Some(0.0),
        true => exposed_fraction(&ratio).value.zip(price.cost).map(|(share, cost)| share * cost),
    };
    // The row is of a ratio, which prices do not touch, so it cannot carry their flag.
    let attributable = attributable.filter(|_| books.unpriced(&price).is_none());
    let [skipped, both] = faults_of(&strata);
    let apart = books.evidence.apart(&Group::default());
    let own = Own {
        exposure: Some(Exposure::Skipped),
        after_fault: Some(false),
        variant: Some(rule),
        faults_skipped: Some(skipped),
        faults_both: Some(both),
        matings_skipped: Some(exposed.matings),
        months: exposed.months(),
        recorded_months: exposed.recorded_months(),
        fault_cost: price.cost.map(Money::rounded),
        unpriced: (price.sums.tickets > 0.0).then(|| price.unpriced()),
        attributable: attributable.map(Money::rounded),
        look_cost: Some(Money::rounded(exposed.looks)),
        net_saving: attributable.map(|value| Money::rounded(value - exposed.looks)),
        apart,
        ..Own::default()
    };
    let row = Row::of(By::Fleet, Group::default(), Quantity::Sensitivity, &ratio, own);
    Row { n: months_at_risk(&strata), events: Some(skipped + both), ..row }
        .flagged(is_thin(events).then_some(Flag::Thin))
        .flagged(books.evidence.guessed_cover(None))
        .flagged(names_apart(apart))
}
