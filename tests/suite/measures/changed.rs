//! The demo's measures on other counts than its own.

use std::path::Path;

use motetrail::derive::counts::{
    CarrierCounts, CleaningCounts, Codes, CountTable, Counted, CoverageCounts, Figures,
    FirstPassCounts, FollowUpCounts, Key, LateCounts, MonthCounts, PassageCounts, PriceCounts,
    RateCounts, RecordingCounts, RiskCounts, Row, TrustCounts,
};
use motetrail::derive::{Counts, Derived, Glossary};
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

pub fn demo_plan() -> Plan {
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
        fault_covers: own.fault_covers.clone(),
        empty_fault_sources: own.empty_fault_sources.clone(),
        withdrawn: own.withdrawn.clone(),
        meeting: own.meeting.clone(),
        precision: own.precision,
        ambiguous: own.ambiguous,
        windows: own.windows.clone(),
        shown_hours: own.shown_hours,
        by_site_day: own.by_site_day,
        face_names: own.face_names.clone(),
        services: own.services.clone(),
    };
    review(plan, &derived, &[]).unwrap()
}

/// Adds plain numbers to a table; the codes must be those of a cell that can be.
pub fn add<T: Counted>(table: &mut CountTable<T>, cell: Codes<T>, figures: Figures<T>) {
    table.add(Some(Key::of(cell).expect("a cell")), Row::of(figures));
}

/// A table with every cell and its counts changed.
pub fn changed<T: Counted>(
    table: &CountTable<T>,
    mut change: impl FnMut(Codes<T>, Figures<T>) -> (Codes<T>, Figures<T>),
) -> CountTable<T> {
    let mut other = CountTable::default();
    for (cell, figures) in table.coded() {
        let (cell, figures) = change(cell, figures);
        add(&mut other, cell, figures);
    }
    other
}

/// A table with every cell and its counts changed, by the names of its columns and figures.
pub fn recounted<T: Counted>(
    table: &CountTable<T>,
    mut change: impl FnMut(T::Key, T::Row) -> (T::Key, T::Row),
) -> CountTable<T> {
    let mut other = CountTable::default();
    for (cell, row) in table.cells() {
        let (cell, row) = change(cell, row);
        other.add(Some(cell), row);
    }
    other
}

/// A table with every figure of every cell changed alike.
pub fn each_figure<T: Counted>(
    table: &CountTable<T>,
    mut change: impl FnMut(i64) -> i64,
) -> CountTable<T> {
    changed(table, |cell, mut figures| {
        figures.as_mut().iter_mut().for_each(|figure| *figure = change(*figure));
        (cell, figures)
    })
}

/// Counts with some of their tables exchanged: `with!(counts, first_pass.visits = visits)`.
macro_rules! with {
    ($counts:expr, $($($part:ident).+ = $value:expr),+ $(,)?) => {{
        let mut counts = $counts.clone();
        $(counts.$($part).+ = $value;)+
        counts
    }};
}

pub(crate) use with;

/// A change that any count table may undergo.
pub trait Change {
    fn of<T: Counted>(&mut self, table: &CountTable<T>) -> CountTable<T>;
}

/// Every table of a part changed alike. Names each, so that a new one cannot be forgotten.
macro_rules! every {
    ($counts:expr, $change:expr, $part:ident { $($table:ident),+ } $(as they are $($kept:ident),+)?) => {{
        let $part { $($table,)+ $($($kept,)+)? } = $counts;
        $part { $($table: $change.of($table),)+ $($($kept: $kept.clone(),)+)? }
    }};
}

/// Every table changed alike.
pub fn every_table(counts: &Counts, change: &mut impl Change) -> Counts {
    let Counts {
        first_pass,
        cleaning,
        coverage,
        followed,
        risks,
        rates,
        faults,
        prices,
        recording,
        late,
        entry,
        carriers,
        trust,
        months,
        worklist,
        conflicts,
    } = counts;
    Counts {
        first_pass: every!(first_pass, change, FirstPassCounts {
            visits, suppliers, work_orders, site_days, first_looks, unreadable
        } as they are findings_missing),
        cleaning: every!(
            cleaning,
            change,
            CleaningCounts { cycles, cycle_trials, cleanings, beginnings }
        ),
        coverage: every!(
            coverage,
            change,
            CoverageCounts { matings, mating_weeks, mating_clusters, mated_ends, site_months }
        ),
        followed: every!(
            followed,
            change,
            FollowUpCounts { follow_up, since_mating, site_weeks, variants }
        ),
        risks: every!(risks, change, RiskCounts { risk_sets, risk_faults, risk_variants }),
        rates: every!(
            rates,
            change,
            RateCounts {
                in_force,
                force_weeks,
                follow_weeks,
                watched,
                recurrences,
                restores,
                downtimes
            }
        ),
        faults: change.of(faults),
        prices: every!(prices, change, PriceCounts { week_prices, variant_prices, fault_prices }),
        recording: every!(recording, change, RecordingCounts { looked_at, fault_records }),
        late: every!(late, change, LateCounts { tickets, sources, replacements }),
        entry: every!(entry, change, PassageCounts { passages, weeks, loads, second_looks }),
        // End faces and time lines are lists of things seen, no sums: they stay.
        carriers: every!(carriers, change, CarrierCounts {
            trials, cells, exposures, orders, order_cells, order_pairs
        } as they are faces, faces_seen, faces_enough, time_lines),
        trust: every!(trust, change, TrustCounts { look_pairs, end_faces, escapes }),
        months: every!(months, change, MonthCounts { visit_months, mating_months }),
        // So do candidates.
        worklist: worklist.clone(),
        conflicts: *conflicts,
    }
}
