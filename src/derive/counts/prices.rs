//! What tickets say of their price, and what they do not (5.5): enough to put means in the place of what is missing,
//! in the fleet and in every resample of it.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::table::CountTable;
use crate::derive::mating::describe::{Coverage, Mating};
use crate::derive::mating::fault::Fault;
use crate::derive::mating::price::{PricePart, Stated};

declare_counts! {
    /// Prices of the linked faults of 5.5's site-weeks, all of them and not only the first, by the week of
    /// the mating and its quarter.
    week_prices: WeekPrices by {
        week: WeekNo, quarter: QuarterNo, site: Site, stage: Stage, family: Family, coverage: Coverage, source: FaultSource,
    } counting {
        /// Faults, each with the source of its first ticket.
        faults: Count,
        /// Their tickets.
        tickets: Count,
        /// Tickets that state neither a cost nor a part of one.
        unpriced: Count,
        /// What the tickets state: the cost, else those parts of it that are given, at the fleet's rates.
        stated: MinorUnits,
        /// Tickets that state another part of a cost, but not the downtime.
        downtime_missing: Count,
        /// Tickets that state the downtime.
        downtime_known: Count,
        /// Price of that.
        downtime_cost: MinorUnits,
        /// Tickets that state another part of a cost, but not the labour.
        labour_missing: Count,
        /// Tickets that state the labour.
        labour_known: Count,
        /// Price of that.
        labour_cost: MinorUnits,
        /// Tickets that state another part of a cost, but not the trips.
        trips_missing: Count,
        /// Tickets that state the trips.
        trips_known: Count,
        /// Price of these.
        trips_cost: MinorUnits,
    }

    /// The same under the other rules of 5.5's sensitivity.
    variant_prices: VariantPrices by {
        variant: Variant, quarter: QuarterNo, site: Site, stage: Stage, family: Family,
        coverage: Coverage, source: FaultSource,
    } counting as week_prices;

    /// Prices of all faults as merged (5.4), attached to a mating or not.
    fault_prices: FaultPrices by {
        quarter: QuarterNo, site: Site, stage: Stage, family: Family, level: Level,
        source: FaultSource,
    } counting as week_prices;
}

declare_part! {
    /// What money of faults is reckoned from.
    PriceCounts {
        week_prices: CountTable<WeekPrices>,
        variant_prices: CountTable<VariantPrices>,
        fault_prices: CountTable<FaultPrices>,
    }
}

impl week_prices::Row {
    /// Tickets that state another part of a cost but not this one, tickets that state this one, and the price of that.
    pub fn part(&self, part: PricePart) -> [i64; 3] {
        match part {
            PricePart::Downtime => [self.downtime_missing, self.downtime_known, self.downtime_cost],
            PricePart::Labour => [self.labour_missing, self.labour_known, self.labour_cost],
            PricePart::Trips => [self.trips_missing, self.trips_known, self.trips_cost],
        }
    }

    fn of(stated: &Stated, first: bool) -> week_prices::Row {
        let missing = |part: PricePart| stated.lacks(part).into();
        let known = |part: PricePart| stated.parts[part as usize].is_some().into();
        let cost = |part: PricePart| stated.parts[part as usize].unwrap_or(0);
        week_prices::Row {
            faults: first.into(),
            tickets: 1,
            unpriced: stated.is_silent().into(),
            stated: stated.sum(),
            downtime_missing: missing(PricePart::Downtime),
            downtime_known: known(PricePart::Downtime),
            downtime_cost: cost(PricePart::Downtime),
            labour_missing: missing(PricePart::Labour),
            labour_known: known(PricePart::Labour),
            labour_cost: cost(PricePart::Labour),
            trips_missing: missing(PricePart::Trips),
            trips_known: known(PricePart::Trips),
            trips_cost: cost(PricePart::Trips),
        }
    }
}

/// What each ticket of a fault says, with the code of its source.
fn rows(fault: &Fault) -> impl Iterator<Item = (FaultSource, week_prices::Row)> {
    let bills = fault.bills.iter().enumerate();
    bills.map(|(at, bill)| (FaultSource(bill.source), week_prices::Row::of(&bill.stated, at == 0)))
}

/// Counts the price of a linked fault of a mating made in this week.
pub(super) fn tally_week(
    fault: &Fault,
    mating: &Mating,
    (week, quarter): (WeekNo, QuarterNo),
    table: &mut CountTable<WeekPrices>,
) {
    for (source, row) in rows(fault) {
        let cell = week_prices::Key {
            week,
            quarter,
            site: Site(mating.site),
            stage: mating.stage.into(),
            family: Family(mating.family),
            coverage: mating.coverage,
            source,
        };
        table.add(Some(cell), row);
    }
}

/// Counts the price of a fault of a mating under another rule.
pub(super) fn tally_variant(
    fault: &Fault,
    mating: &Mating,
    (variant, quarter, coverage): (Variant, QuarterNo, Coverage),
    table: &mut CountTable<VariantPrices>,
) {
    for (source, row) in rows(fault) {
        let cell = variant_prices::Key {
            variant,
            quarter,
            site: Site(mating.site),
            stage: mating.stage.into(),
            family: Family(mating.family),
            coverage,
            source,
        };
        table.add(Some(cell), row);
    }
}

/// Counts the price of a fault under the stage and family of its mating, or where it was found.
pub(super) fn tally_fault(
    fault: &Fault,
    (quarter, stage, family): (Option<QuarterNo>, Stage, Family),
    table: &mut CountTable<FaultPrices>,
) {
    let (site, level) = (Site(fault.site), fault.level);
    for (source, row) in rows(fault) {
        let cell = quarter.map(|quarter| fault_prices::Key {
            quarter,
            site,
            stage,
            family,
            level,
            source,
        });
        table.add(cell, row);
    }
}
