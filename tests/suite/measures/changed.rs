//! The demo's measures on other counts than its own.

use std::path::Path;

use motetrail::derive::{
    CarrierCounts, CountTable, Counts, Derived, Glossary, PassageCounts, RateCounts,
};
use motetrail::measures::{Review, review};
use motetrail::settings::{self, Plan};

use crate::review::demo::demo;

/// The demo measured on these counts in place of its own.
pub fn reviewed(counts: Counts) -> Review {
    reviewed_as(counts, demo().derived.glossary.clone())
}

/// The same, its codes standing for other words.
pub fn reviewed_as(counts: Counts, glossary: Glossary) -> Review {
    review_of(counts, glossary, &demo_plan())
}

/// The same under other settings.
pub fn reviewed_under(counts: Counts, change: impl FnOnce(&mut Plan)) -> Review {
    let mut plan = demo_plan();
    change(&mut plan);
    review_of(counts, demo().derived.glossary.clone(), &plan)
}

fn demo_plan() -> Plan {
    let settings_file = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo/fleet.toml");
    settings::read(&settings_file).unwrap()
}

fn review_of(counts: Counts, glossary: Glossary, plan: &Plan) -> Review {
    let own = &demo().derived;
    let derived = Derived {
        counts,
        glossary,
        calendar: own.calendar.clone(),
        period: own.period.clone(),
        guessed_cover: own.guessed_cover.clone(),
        empty_fault_sources: own.empty_fault_sources.clone(),
        precision: own.precision,
        ambiguous: own.ambiguous,
        by_site_day: own.by_site_day,
        face_names: own.face_names.clone(),
        services: own.services.clone(),
    };
    review(plan, &derived, &[]).unwrap()
}

/// A table with every cell and its counts changed.
pub fn changed<const D: usize, const M: usize>(
    table: &CountTable<D, M>,
    mut change: impl FnMut([u32; D], [i64; M]) -> ([u32; D], [i64; M]),
) -> CountTable<D, M> {
    let mut other = CountTable::empty(table.name, table.dimensions, table.measures);
    for (cell, counts) in table.cells() {
        let (cell, counts) = change(cell, counts);
        other.add(Some(cell), counts);
    }
    other
}

/// A change that any count table may undergo.
pub trait Change {
    fn of<const D: usize, const M: usize>(&mut self, table: &CountTable<D, M>) -> CountTable<D, M>;
}

/// Every table changed alike. Names each, so that a new one cannot be forgotten.
pub fn every_table(counts: &Counts, change: &mut impl Change) -> Counts {
    let Counts {
        carriers,
        entry,
        worklist,
        visits,
        suppliers,
        work_orders,
        site_days,
        first_looks,
        cycles,
        cycle_trials,
        cleanings,
        matings,
        mating_weeks,
        mating_clusters,
        follow_up,
        in_force,
        since_mating,
        site_weeks,
        variants,
        faults,
        rates,
        site_months,
        unreadable,
        conflicts,
        findings_missing,
    } = counts;
    Counts {
        carriers: every_carrier_table(carriers, change),
        entry: every_passage_table(entry, change),
        // Lists of things seen, no sums.
        worklist: worklist.clone(),
        visits: change.of(visits),
        suppliers: change.of(suppliers),
        work_orders: change.of(work_orders),
        site_days: change.of(site_days),
        first_looks: change.of(first_looks),
        cycles: change.of(cycles),
        cycle_trials: change.of(cycle_trials),
        cleanings: change.of(cleanings),
        matings: change.of(matings),
        mating_weeks: change.of(mating_weeks),
        mating_clusters: change.of(mating_clusters),
        follow_up: change.of(follow_up),
        in_force: change.of(in_force),
        since_mating: change.of(since_mating),
        site_weeks: change.of(site_weeks),
        variants: change.of(variants),
        faults: change.of(faults),
        rates: every_rate_table(rates, change),
        site_months: change.of(site_months),
        unreadable: change.of(unreadable),
        conflicts: *conflicts,
        findings_missing: *findings_missing,
    }
}

fn every_rate_table(counts: &RateCounts, change: &mut impl Change) -> RateCounts {
    let RateCounts { force_weeks, follow_weeks, watched, recurrences, restores, downtimes } =
        counts;
    RateCounts {
        force_weeks: change.of(force_weeks),
        follow_weeks: change.of(follow_weeks),
        watched: change.of(watched),
        recurrences: change.of(recurrences),
        restores: change.of(restores),
        downtimes: change.of(downtimes),
    }
}

/// End faces and time lines are lists of things seen, no sums: they stay.
fn every_carrier_table(counts: &CarrierCounts, change: &mut impl Change) -> CarrierCounts {
    CarrierCounts {
        trials: change.of(&counts.trials),
        cells: change.of(&counts.cells),
        exposures: change.of(&counts.exposures),
        orders: change.of(&counts.orders),
        order_cells: change.of(&counts.order_cells),
        order_pairs: change.of(&counts.order_pairs),
        ..counts.clone()
    }
}

fn every_passage_table(counts: &PassageCounts, change: &mut impl Change) -> PassageCounts {
    let PassageCounts { passages, weeks, loads, second_looks } = counts;
    PassageCounts {
        passages: change.of(passages),
        weeks: change.of(weeks),
        loads: change.of(loads),
        second_looks: change.of(second_looks),
    }
}
