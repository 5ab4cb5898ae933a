//! Q1: how clean end faces arrive.

mod picture;
mod picture_funnel;
mod picture_weeks;
mod site_table;

use super::{NO_RECORDS, Side, apart, beyond, firm};
use crate::measures::first_pass::{By, NAME, Quantity, Row, Table};
use crate::measures::{Review, Unit};
use crate::report::page::over_time::{OverTime, over_time};
use crate::report::page::page_table::PageTable;
use crate::report::page::section::{Section, counted};
use crate::report::words::flags::explained;
use crate::report::words::label::{in_order, label};
use crate::report::words::number::{Amount, count_or_dash};
use picture::{by_site as first_pass_by_site, by_stage as first_pass_by_stage};
use picture_funnel::funnel as first_pass_funnel;
use picture_weeks::by_week as first_pass_by_week;
use site_table::{ranking, unranked};

/// How it is counted. Shares of false alarms and of intervals that miss are those simulated in
/// `tests/reference/proof.csv`.
const METHOD: &str = "Visits whose first event is a look that passes, of all visits whose first event is a look; \
    prompted and repeated visits stand apart. The interval is the exact one (Clopper and Pearson 1934) on n divided by the design effect of work orders \
    within sites (Rao and Scott 1992; Korn and Graubard 1998). The design effect is drawn towards that of the other \
    rows, or, for the fleet, of a correlation of 0.3, as four looks with the rarer result would, and widened for \
    the number of work orders that carry the rarer result: tried on 8 to 1,000 work orders, 0.5 to 50 % dirty, \
    correlations of 0 to 0.3, at least 95 in a hundred hold; where next to nothing is dirty they are wider than \
    need be. Where the luck of a site lasts longer than a work order, its weeks, four weeks or quarters are the \
    clusters: the shortest whose scatter about each site's own shares the next longer exceeds by no more than its \
    standard error, work orders where weeks scatter no more than they; one length for all rows, from the quarters that are \
    compared. A row with fewer of these than a variance can rest on takes the correlation of all sites. Where luck outlasts \
    weeks and all sites together have too few quarters to tell a month's luck from a quarter's, rows say that they may be \
    too narrow. \
    Luck that all sites share in a month is in no interval, and how a site and its crews differ from others for good is no luck. \
    Quarters of the trend rest on site-weeks or longer; kinds of visit rest on n as it is and are too narrow where \
    work orders are alike. Sites: shares drawn towards the mean by a beta-binomial fit of effective sizes (maximum \
    likelihood), ranked by expected rank (Laird and Louis 1989); their limits are the outermost of the fit's and of \
    the site's own exact ones, so that they hold for the site that is lowest and for the one that looks lowest. The funnel's limits are widened for sites that differ (Spiegelhalter 2005), the \
    widening corrected for the outliers that it cuts off; where few fail, or sites of many looks differ, five to \
    eight in a thousand fall outside the outer limits by chance instead of two. Limits by week are those of the \
    p-prime chart (Laney 2002), signals those of the Western Electric rules (1956): of charts of half a year on \
    which nothing happens one in four to six shows a signal somewhere, two in five where fewer than one look a week \
    fails or passes; where luck lasts weeks or months, or one look of 200 fails, three to five weeks in a hundred \
    signal by chance.";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.first_pass;
    let places = in_order(review, table.rows_of(By::StageFamily, Quantity::Clean));
    let sites = in_order(review, table.rows_of(By::Site, Quantity::Clean));
    let fleet = table.rows_of(By::Fleet, Quantity::Clean).next().and_then(|row| row.estimate);
    let by_site = match fleet {
        Some(value) => apart(review, &sites, value, "sites", "the fleet's share"),
        None => "No share of the fleet to compare sites with".to_owned(),
    };
    let trend = OverTime {
        picture: "first-pass-by-quarter",
        drawn: "Share of end faces clean at the first look, routine visits",
        counted: "first looks",
    };
    let finding = finding(review, table, &places);
    let mut doubts = explained(table.quantity(Quantity::Clean));
    doubts.extend(unranked(table));
    let pictures = [
        first_pass_by_stage(review, place_sentence(review, &places, fleet)),
        first_pass_by_site(review, by_site),
        first_pass_funnel(review),
        over_time(
            review,
            trend,
            table.rows_of(By::Quarter, Quantity::Clean),
            "Clean at the first look",
            "Intervals rest on site-weeks at least; that of the answer may rest on work orders, and be narrower.",
        ),
        first_pass_by_week(review),
    ];
    Section {
        id: NAME,
        question: "How clean do end faces arrive?",
        finding,
        pictures: pictures.into_iter().flatten().collect(),
        tables: vec![by_place(review, &places), ranking(review, table), others(review, table)],
        method: METHOD.to_owned(),
        doubts,
    }
}

fn finding(review: &Review, table: &Table, places: &[&Row]) -> String {
    let fleet = table.rows_of(By::Fleet, Quantity::Clean).next();
    let Some(row) = firm(fleet.into_iter()) else {
        return match fleet {
            Some(row) => format!(
                "Too little is known to say how clean end faces arrive ({}).",
                counted(row.n, "first look", "first looks")
            ),
            None => NO_RECORDS.to_owned(),
        };
    };
    let said = |row: &&Row| Amount::of(*row).full(&review.currency);
    let worst = beyond(places, row.estimate.unwrap_or(0.0), Side::Below, said)
        .map_or_else(String::new, |clause| format!("; {clause}"));
    format!(
        "{} of end faces were clean at the first look, of {}{worst}.",
        Amount::of(row).full(&review.currency),
        counted(row.n, "visit", "visits")
    )
}

fn place_sentence(review: &Review, places: &[&Row], fleet: Option<f64>) -> String {
    let Some(fleet) = fleet else {
        return "No share of the fleet to compare places with".to_owned();
    };
    let said = |row: &&Row| Amount::of(*row).full(&review.currency);
    beyond(places, fleet, Side::Below, said).map_or_else(
        || "No stage and family lies below the fleet by more than its interval".to_owned(),
        |clause| format!("Clean at the first look {clause}"),
    )
}

fn by_place(review: &Review, rows: &[&Row]) -> PageTable {
    PageTable::over(rows)
        .words("stage, family", label)
        .n("first looks")
        .events("clean")
        .estimates(review, "clean")
        .numbers("failed: dirt", |row| count_or_dash(row.own.contaminated))
        .numbers("defect", |row| count_or_dash(row.own.defective))
        .numbers("not said", |row| count_or_dash(row.own.unclear))
        .numbers("begun without a look, %", |row| {
            let unseen = Amount::plain(row.own.cleaned_unseen, Unit::Share);
            unseen.value_on(&unseen.scale(""))
        })
        .flags()
        .set("By stage and family", NAME)
}

/// Side, dust cap, kind of visit, supplier in one table.
fn others(review: &Review, table: &Table) -> PageTable {
    let groupings = [By::VisitKind, By::Side, By::Capped, By::Family, By::Stage, By::Supplier];
    let rows = groupings
        .into_iter()
        .flat_map(|by| in_order(review, table.rows_of(by, Quantity::Clean)))
        .filter(|row| row.n > 0.0)
        .collect::<Vec<_>>();
    PageTable::over(&rows)
        .words("group", |row| named(row))
        .n("first looks")
        .events("clean")
        .estimates(review, "clean")
        .flags()
        .set("By kind of visit, side, dust cap, family, stage, supplier", NAME)
}

/// A group with the name of what it groups by: "dust cap: yes".
fn named(row: &Row) -> String {
    match (row.by, row.own.visit_kind) {
        (By::VisitKind, Some(kind)) => format!("visits: {}", kind.word()),
        (By::Capped, _) => format!("dust cap: {}", label(row)),
        (by, _) => format!("{}: {}", by.word(), label(row)),
    }
}
