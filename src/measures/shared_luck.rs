//! How long the luck lasts that the units of shares have in common, and clusters that last as long (5.1, 5.2, 5.3, 5.6).
//!
//! One length a kind of unit, from all sites and all quarters whose clusters are kept. Stops at clusters: what rows take
//! of them is `stats::Lasting`.

use crate::by;
use crate::derive::counts::{
    CountTable, Counted, Has, QuarterNo, Site, SiteDays, WeekNo, WorkOrders, cycle_trials,
    mating_clusters, passage_weeks, work_orders,
};
use crate::derive::{ByColumns, Clusters, DeriveError, Listing, Rows};
use crate::measures::evidence::{Evidence, Units};
use crate::measures::fault_rates::Block;
use crate::measures::flag::Flag;
use crate::stats::{Lasting, Piece, Span};

/// The block of a site's time that a length stands for; none for work orders.
pub(in crate::measures) fn block(span: Span) -> Option<Block> {
    match span {
        Span::Order => None,
        Span::Week => Some(Block::Week),
        Span::Month => Some(Block::Month),
        Span::Quarter => Some(Block::Quarter),
    }
}

/// Number of the block of a week in a table that tells weeks through all quarters; an order counts as its week.
pub(in crate::measures) fn block_of(span: Span, week: u32) -> u32 {
    block(span).map_or(week, |block| block.of_week(week))
}

/// Clusters of every group, each that long a block of a site's time; an order counts as its week.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn blocks<T: Has<Site> + Has<QuarterNo> + Has<WeekNo>>(
    evidence: &Evidence,
    rows: &Rows<T>,
    by: &ByColumns<T>,
    span: Span,
) -> Result<Vec<Clusters<T>>, DeriveError> {
    match span {
        Span::Order | Span::Week => evidence.clusters(rows, by, &by!(Site, QuarterNo, WeekNo)),
        _ => evidence.blocks(rows, by, |WeekNo(week)| span.block(week)),
    }
}

/// Clusters of a group, with the flag that they are too short where they are.
pub(in crate::measures) type Flagged<T> = (Clusters<T>, Option<Flag>);

/// The same for rows that have nothing to take from others: a group with fewer blocks than a variance rests on has weeks,
/// and is `narrow` where luck lasts longer.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn blocks_or_weeks<T: Has<Site> + Has<QuarterNo> + Has<WeekNo>>(
    evidence: &Evidence,
    rows: &Rows<T>,
    by: &ByColumns<T>,
    span: Span,
) -> Result<Vec<Flagged<T>>, DeriveError> {
    let found = blocks(evidence, rows, by, span)?;
    let few = |found: &Clusters<T>| found.clusters.len() < evidence.rules().few_clusters as usize;
    if span <= Span::Week || !found.iter().any(few) {
        return Ok(found.into_iter().map(|found| (found, None)).collect());
    }
    let weeks = blocks(evidence, rows, by, Span::Week)?;
    let of = |(blocks, weeks)| match few(&blocks) {
        true => (weeks, Some(Flag::Narrow)),
        false => (blocks, None),
    };
    Ok(found.into_iter().zip(weeks).map(of).collect())
}

/// How long the luck of routine first looks lasts.
pub(in crate::measures) fn of_looks(evidence: &Evidence) -> Lasting {
    evidence.lasting(Units::Looks, || {
        let counts = &evidence.derived.counts.first_pass;
        let pieces = match evidence.derived.by_site_day {
            true => pieces_of_looks(evidence, &counts.site_days),
            false => pieces_of_looks(evidence, &counts.work_orders),
        };
        Lasting::of(&pieces, Span::Order, evidence.rules().few_clusters.into())
    })
}

fn pieces_of_looks<T>(evidence: &Evidence, table: &CountTable<T>) -> Vec<Piece>
where
    T: Counted<Key = work_orders::Key, Row = work_orders::Row>,
{
    let places = Places::of(evidence);
    let piece = |(cell, row): (work_orders::Key, work_orders::Row)| {
        let family = places.families.place(cell.family.0);
        let stratum = [(places.stages.place(cell.stage.0), 8), (family, 32)];
        let of = (cell.quarter, cell.week, places.sites.place(cell.site.0));
        let order = u64::from(cell.cluster_high.0) << 32 | u64::from(cell.cluster_low.0);
        Piece { order, ..piece(of, stratum, (row.looks, row.clean)) }
    };
    table.cells().into_iter().map(piece).collect()
}

/// Clusters of routine first looks that last as long as their luck: work orders (else days of a site), or blocks.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn look_clusters(
    evidence: &Evidence,
    rows: &Rows<WorkOrders>,
    by: &ByColumns<WorkOrders>,
) -> Result<Vec<Clusters<WorkOrders>>, DeriveError> {
    let span = of_looks(evidence).span;
    if span == Span::Order {
        return evidence.look_clusters(rows, by);
    }
    if !evidence.derived.by_site_day {
        return blocks(evidence, rows, by, span);
    }
    let found = blocks::<SiteDays>(evidence, &rows.like(), &by.like(), span)?;
    Ok(found.into_iter().map(Clusters::like).collect())
}

/// How long the luck of matings lasts that decides whether a look is skipped.
pub(in crate::measures) fn of_matings(evidence: &Evidence) -> Lasting {
    evidence.lasting(Units::Matings, || {
        let places = Places::of(evidence);
        let cells = evidence.derived.counts.coverage.mating_clusters.cells().into_iter();
        let piece = |(cell, row): (mating_clusters::Key, mating_clusters::Row)| {
            let family = places.families.place(cell.family.0);
            let stratum = [(places.stages.place(cell.stage.0), 8), (family, 32)];
            let of = (cell.quarter, cell.week, places.sites.place(cell.site.0));
            piece(of, stratum, (row.known, row.skipped))
        };
        by_weeks(evidence, cells.map(piece).collect())
    })
}

/// How long the luck of cleaning cycles lasts that decides whether they pass.
pub(in crate::measures) fn of_cycles(evidence: &Evidence) -> Lasting {
    evidence.lasting(Units::Cycles, || {
        let places = Places::of(evidence);
        let cells = evidence.derived.counts.cleaning.cycle_trials.cells().into_iter();
        let cells = cells.filter(|(cell, _)| evidence.is_looked_back(cell.quarter));
        let piece = |(cell, row): (cycle_trials::Key, cycle_trials::Row)| {
            let method = places.methods.place(cell.method.0);
            let stratum = [(places.stages.place(cell.stage.0), 8), (method, 24), (cell.cycle.0, 8)];
            let of = (cell.quarter, cell.week, places.sites.place(cell.site.0));
            piece(of, stratum, (row.trials, row.passed))
        };
        by_weeks(evidence, cells.map(piece).collect())
    })
}

/// How long the luck of routine passages lasts that decides whether dirt came in.
pub(in crate::measures) fn of_passages(evidence: &Evidence) -> Lasting {
    evidence.lasting(Units::Passages, || {
        let places = Places::of(evidence);
        let cells = evidence.derived.counts.entry.weeks.cells().into_iter();
        let piece = |(cell, row): (passage_weeks::Key, passage_weeks::Row)| {
            let [from, stage] = [cell.from.0, cell.stage.0].map(|stage| places.stages.place(stage));
            let stratum = [(from, 8), (stage, 8), (places.families.place(cell.family.0), 24)];
            let of = (cell.quarter, cell.week, places.sites.place(cell.site.0));
            piece(of, stratum, (row.passages, row.dirty))
        };
        by_weeks(evidence, cells.map(piece).collect())
    })
}

fn by_weeks(evidence: &Evidence, pieces: Vec<Piece>) -> Lasting {
    Lasting::of(&pieces, Span::Week, evidence.rules().few_clusters.into())
}

/// Where words stand in the order of display: sums depend on the order of their numbers, codes on that of the rows.
struct Places {
    sites: Listing,
    stages: Listing,
    families: Listing,
    methods: Listing,
}

impl Places {
    fn of(evidence: &Evidence) -> Places {
        let glossary = &evidence.derived.glossary;
        Places {
            sites: Listing::of(&glossary.site),
            stages: Listing::of(&glossary.stage),
            families: Listing::of(&glossary.family),
            methods: Listing::of(&glossary.method),
        }
    }
}

/// Units and events of a site in a week; what tells strata apart beside the site is given as numbers with their bits.
fn piece<const N: usize>(
    (QuarterNo(quarter), WeekNo(week), site): (QuarterNo, WeekNo, u32),
    stratum: [(u32, u32); N],
    (n, events): (i64, i64),
) -> Piece {
    let number = |sum: u64, (place, bits): (u32, u32)| (sum << bits) | u64::from(place);
    let stratum = stratum.into_iter().fold(site.into(), number);
    let count = |figure: i64| figure.max(0).unsigned_abs();
    Piece { site, quarter, week, order: 0, stratum, n: count(n), events: count(events) }
}
