//! What 5.5 is reckoned from, and the cells of its groupings: other questions that rest on skipped looks go by the same.

use std::sync::OnceLock;

use super::control::Controls;
use super::declared::{By, Exposure};
use super::draws::{DrawnCell, Money, draw};
use super::groups::groups;
use super::look_price::LookPrices;
use super::opinions::{Opinions, opinions};
use super::places::Key;
use super::site_weeks::SiteWeeks;
use super::strata::{AYear, FollowUp, Within};
use crate::derive::{Coverage, Definition, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::prices::Price;
use crate::measures::results::Group;
use crate::stats::random_effects::RandomEffects;
use crate::stats::stratified_poisson::StratifiedRow;
use crate::stats::{CellPosterior, PersonTime, random_effects};

/// What ratios and money of skipped looks are reckoned from: worked out once for all questions that ask.
pub struct Books<'a> {
    /// Count tables and settings.
    pub evidence: &'a Evidence<'a>,
    /// Follow-up by stratum.
    pub follow_up: FollowUp,
    /// Follow-up by stratum and cluster.
    pub site_weeks: SiteWeeks<'a>,
    /// What a look costs.
    pub prices: LookPrices<'a>,
    /// Of the skipped by site and stage, once somebody asked.
    by_site_stage: OnceLock<Cells>,
}

impl<'a> Books<'a> {
    /// From the count tables.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &'a Evidence<'a>) -> Result<Books<'a>, DeriveError> {
        Ok(Books {
            evidence,
            follow_up: FollowUp::of(evidence),
            site_weeks: SiteWeeks::of(evidence),
            prices: LookPrices::of(evidence)?,
            by_site_stage: OnceLock::new(),
        })
    }

    /// The skipped by site and stage: what 5.5 and purchases (5.8) go by.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn by_site_stage(&self) -> Result<&Cells, DeriveError> {
        if let Some(cells) = self.by_site_stage.get() {
            return Ok(cells);
        }
        // Worked out on all threads, so not while others wait for the lock.
        let made = Cells::of(self, By::SiteStage, groups(self.evidence, By::SiteStage)?);
        Ok(self.by_site_stage.get_or_init(|| made))
    }

    /// The fleet's ratio of linked faults for an exposure, of matings not after a fault.
    pub fn opinions(&self, exposure: Exposure) -> Opinions {
        let mut rows = self.site_weeks.by_group(By::Fleet, exposure);
        let rows = rows.remove(&Key::default()).unwrap_or_default();
        let strata = self.linked(&rows, &Within::default(), exposure);
        opinions(&strata, &rows, self.evidence.rules().level)
    }

    /// The linked faults of these rows, with who was at risk.
    pub fn linked(
        &self,
        rows: &[StratifiedRow],
        within: &Within,
        exposure: Exposure,
    ) -> Vec<PersonTime> {
        self.follow_up.events(rows, within, exposure, Definition::Linked)
    }

    /// The negative controls of these cells of a grouping.
    pub fn controls(&self, by: By, cells: &[Within], exposure: Exposure) -> Controls {
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
    pub fn exposed(&self, within: &Within, exposure: Exposure) -> AYear {
        let mut total = AYear::default();
        let FollowUp { places, years, .. } = &self.follow_up;
        for ([site, stage, family], exposed) in self.follow_up.exposed(within, exposure) {
            let price = self.prices.price(places.stage(stage), places.family(family));
            total.add(exposed, price, years.at(site));
        }
        total
    }
}

/// Cells of a grouping with the integrated random effects: what the skipped of each come to in draws.
pub struct Cells {
    /// In the order of display, as all that follows.
    pub groups: Vec<Group>,
    /// What each ratio rests on.
    pub strata: Vec<Vec<PersonTime>>,
    /// Ratios of all.
    pub posterior: RandomEffects,
    /// What is resampled of each.
    pub drawn: Vec<DrawnCell>,
}

impl Cells {
    /// Of these groups of a grouping.
    pub fn of(books: &Books, by: By, groups: Vec<Group>) -> Cells {
        let (rules, exposure) = (books.evidence.rules(), Exposure::Skipped);
        let rows = books.site_weeks.by_group(by, exposure);
        let keys: Vec<Key> =
            groups.iter().map(|group| books.site_weeks.places.key(group)).collect();
        let of_cell = |key: &Key| rows.get(key).map_or(&[][..], Vec::as_slice);
        let strata = |(group, key): (&Group, &Key)| {
            let within = Within { group: group.clone(), after_fault: false };
            books.linked(of_cell(key), &within, exposure)
        };
        let strata: Vec<Vec<PersonTime>> = groups.iter().zip(&keys).map(strata).collect();
        let posterior = random_effects(&strata, rules.ratio_spread, rules.level);
        let mut drawn = DrawnCell::by_group(&books.site_weeks, by, exposure, &books.prices);
        let cell = |(key, cell): (&Key, &CellPosterior)| {
            let mut drawn = drawn.remove(key).unwrap_or_default();
            drawn.with_ratio(of_cell(key), cell.ratio.value, true);
            drawn
        };
        let drawn = keys.iter().zip(&posterior.cells).map(cell).collect();
        Cells { groups, strata, posterior, drawn }
    }

    /// The money of each cell in every replicate.
    pub fn draws(&self, books: &Books, often: (u64, u64)) -> Vec<Vec<Money>> {
        let drawn: Vec<&DrawnCell> = self.drawn.iter().collect();
        draw(&drawn, &books.site_weeks, Some(&self.posterior), often)
    }
}
