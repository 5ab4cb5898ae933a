//! First pass (5.1): visits by what their first look said, and the clusters that its intervals rest on.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::kept::Tallying;
use super::table::CountTable;
use crate::derive::face::event::Event;
use crate::derive::face::visit::{Ending, Look, Visit};
use crate::derive::face::visits::look_of;
use crate::records::{Finding, code_list};

code_list! {
    /// Rows of first pass: a visit is in the first that fits.
    VisitRow {
        /// Of a lens that no tool reaches.
        Recessed = "recessed",
        /// A fault was behind it.
        Prompted = "prompted",
        /// The same stage once more, with no mating between.
        Again = "again",
        /// The headline.
        Routine = "routine",
    }
}

impl VisitRow {
    /// The row of a visit.
    pub fn of_visit(visit: &Visit) -> VisitRow {
        match visit {
            visit if visit.face.is_recessed() => VisitRow::Recessed,
            visit if visit.prompted => VisitRow::Prompted,
            visit if visit.again => VisitRow::Again,
            _ => VisitRow::Routine,
        }
    }
}

words! { VisitRow: "Kind of visit: the first of these that fits."; }

declare_counts! {
    /// Visits by what their first look said (5.1), and what a look leads to (5.5).
    visits: Visits by {
        quarter: QuarterNo, site: Site, stage: Stage, family: Family, side: EndSide, capped: Cap,
        row: VisitRow,
    } counting {
        /// Visits.
        visits: Count,
        /// Visits that began with a look.
        looks: Count,
        /// First looks that passed.
        clean: Count,
        /// First looks that failed for contamination.
        contaminated: Count,
        /// First looks that failed for a defect.
        defective: Count,
        /// First looks that failed without a reason written down.
        unclear: Count,
        /// Cleanings made in the visits.
        cleanings: Count,
        /// Those of them in visits that began with a look.
        cleanings_seen: Count,
        /// Cycles closed by a look in visits that began with one.
        cycles_seen: Count,
        /// Visits that ended with the end face rejected.
        rejects: Count,
        /// Those of them that began with a look.
        rejects_seen: Count,
        /// Those of them whose first look failed for contamination.
        rejects_contaminated: Count,
    }

    /// Routine visits that are an end face's first recorded one, by who supplied it (5.1).
    suppliers: Suppliers by { quarter: QuarterNo, supplier: Supplier } counting as visits;

    /// Routine first looks by work order, by site and day where none is known (5.1's design effect), and by week, of
    /// the period and of the quarters that it is compared with (5.9).
    work_orders: WorkOrders by {
        quarter: QuarterNo, stage: Stage, family: Family, side: EndSide, site: Site,
        supplier: Supplier, capped: Cap, week: WeekNo, cluster_high: ClusterHigh, cluster_low: ClusterLow,
    } counting {
        /// Routine visits that began with a look.
        looks: Count,
        /// First looks that passed.
        clean: Count,
    }

    /// The same by site and day, whatever the work order.
    site_days: SiteDays like work_orders: WorkOrders;

    /// Routine first looks by site and week: the trend, and its design effect (5.1).
    first_looks: FirstLooks by { quarter: QuarterNo, week: WeekNo, site: Site } counting as work_orders;

    /// Looks, several fibres joined; those of them without a readable picture, and those that failed.
    unreadable: Unreadable by { month: MonthNo, site: Site, instrument: Device } counting {
        /// Looks, several fibres joined.
        looks: Count,
        /// Of these, without a readable picture.
        unreadable: Count,
        /// Of these, failing.
        failing: Count,
    }
}

declare_part! {
    /// What first pass is measured from.
    FirstPassCounts {
        visits: CountTable<Visits>,
        suppliers: CountTable<Suppliers>,
        work_orders: CountTable<WorkOrders>,
        site_days: CountTable<SiteDays>,
        first_looks: CountTable<FirstLooks>,
        unreadable: CountTable<Unreadable>,
        /// Fails that do not say what failed (R5).
        findings_missing: u64,
    }
}

/// Most work orders whose sums are kept in one period; above it the site-day is the cluster (5.1).
pub const MOST_WORK_ORDERS: usize = 1_000_000;
/// The same of the period and the two quarters that it is compared with, which are kept together.
pub const MOST_IN_ALL: usize = 3 * MOST_WORK_ORDERS;

/// Whether the work orders of the period, by its piece of the calendar's quarters, or those of all
/// quarters whose clusters are kept, are more than their limits.
pub fn has_too_many_work_orders(table: &CountTable<WorkOrders>, period: Option<u32>) -> bool {
    let in_all = table.len();
    // Most fleets stay below either limit: their cells need no counting.
    table.is_given_up()
        || in_all > MOST_IN_ALL
        || in_all > MOST_WORK_ORDERS
            && table.count(|cell| Some(cell.quarter.0) == period) > MOST_WORK_ORDERS
}

/// Counts the first look of one visit.
pub(super) fn tally(visit: &Visit, with: &Tallying, counts: &mut FirstPassCounts) {
    let quarter = with.quarter(visit.start);
    let said = |look: Look| i64::from(visit.first == Some(look));
    let seen = i64::from(visit.first.is_some());
    let rejected = i64::from(visit.ending == Ending::Rejected);
    let contaminated = said(Look::Fail(Finding::Contamination));
    let measured = visits::Row {
        visits: 1,
        looks: seen,
        clean: said(Look::Pass),
        contaminated,
        defective: said(Look::Fail(Finding::Defect)),
        unclear: said(Look::Fail(Finding::Unknown)),
        cleanings: visit.cleanings.into(),
        cleanings_seen: i64::from(visit.cleanings) * seen,
        cycles_seen: visit.cycles.len() as i64 * seen,
        rejects: rejected,
        rejects_seen: rejected * seen,
        rejects_contaminated: rejected * contaminated,
    };
    let row = VisitRow::of_visit(visit);
    let cell = |quarter| visits::Key {
        quarter,
        site: Site(visit.site),
        stage: visit.stage.into(),
        family: Family(visit.face.family),
        side: EndSide::of_event(visit.face.side),
        capped: Cap::of_record(visit.capped),
        row,
    };
    counts.visits.add(quarter.map(cell), measured);
    let is_routine = row == VisitRow::Routine;
    let supplier = Supplier(visit.face.supplier);
    let supplied = quarter.filter(|_| is_routine && visit.first_recorded);
    let cell = supplied.map(|quarter| suppliers::Key { quarter, supplier });
    counts.suppliers.add(cell, measured);
    counts.findings_missing += measured.unclear as u64;
    if !is_routine || measured.looks == 0 {
        return;
    }
    let look = work_orders::Row { looks: 1, clean: measured.clean };
    let week = with.calendar.weeks.piece(visit.start).map(WeekNo);
    let at = quarter.zip(week);
    let site = Site(visit.site);
    let cell = at.map(|(quarter, week)| first_looks::Key { quarter, week, site });
    counts.first_looks.add(cell, look);
    if let Some((quarter, week)) = at.filter(|(quarter, _)| with.is_compared(*quarter)) {
        tally_clusters(visit, (quarter, week), look, with, counts);
    }
}

/// The same first look under its work order (else its site-day) and under its site-day.
fn tally_clusters(
    visit: &Visit,
    (quarter, week): (QuarterNo, WeekNo),
    look: work_orders::Row,
    with: &Tallying,
    counts: &mut FirstPassCounts,
) {
    let cell = |high: u32, low: u32| work_orders::Key {
        quarter,
        stage: visit.stage.into(),
        family: Family(visit.face.family),
        side: EndSide::of_event(visit.face.side),
        site: Site(visit.site),
        supplier: Supplier(visit.face.supplier),
        capped: Cap::of_record(visit.capped),
        week,
        cluster_high: ClusterHigh(high),
        cluster_low: ClusterLow(low),
    };
    let day = with.calendar.days.piece(visit.start).unwrap_or(0);
    counts.site_days.add(Some(cell(0, day)), look);
    // Work orders hash to 64 bits; a site-day has the high half 0.
    let (high, low) = match visit.work_order {
        0 => (0, day),
        order => (((order >> 32) as u32).max(1), order as u32),
    };
    counts.work_orders.add(Some(cell(high, low)), look);
}

/// Counts a look, and whether its picture was readable.
pub fn tally_look(look: &Event, with: &Tallying, counts: &mut FirstPassCounts) {
    let month = with.calendar.months.piece(look.at).map(MonthNo);
    let (site, instrument) = (Site(look.site), Device(look.device));
    let said = look_of(look);
    let failing = matches!(said, Some(Look::Fail(_)));
    let cell = month.map(|month| unreadable::Key { month, site, instrument });
    counts.unreadable.add(
        cell,
        unreadable::Row { looks: 1, unreadable: said.is_none().into(), failing: failing.into() },
    );
}
