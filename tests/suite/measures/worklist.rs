//! The worklist on the demo: its order, its length, and its savings worked out again from the counts.

use motetrail::derive::counts::{AfterFault, Band, Coverage, Family, QuarterNo, Stage, follow_up};
use motetrail::measures::Review;
use motetrail::measures::skipped_cost::{Exposure, Faults};
use motetrail::measures::worklist::{Finding, List, Row, When};

use super::changed::reviewed;
use super::ticket_prices::cost_of;
use crate::review::demo::{demo, demo_under};

fn rows(review: &Review, list: List) -> Vec<&Row> {
    review.worklist.listed(list).collect()
}

/// Class of a row: its whole interval above zero, firm, flagged or without a saving.
fn class(row: &Row) -> u8 {
    match (row.is_firm() && row.estimate.is_some(), row.low.is_some_and(|low| low > 0.0)) {
        (true, true) => 0,
        (true, false) => 1,
        (false, _) => 2,
    }
}

#[test]
fn lists_stand_by_what_they_save_and_flagged_rows_have_no_rank() {
    let review = &demo().review;
    let mut ranked = 0;
    for list in List::ALL {
        let rows = rows(review, *list);
        let saving = |row: &Row| row.estimate.unwrap_or(f64::NEG_INFINITY);
        let in_order = |a: &&Row, b: &&Row| (class(a), -saving(a)) <= (class(b), -saving(b));
        assert!(rows.is_sorted_by(in_order), "{list:?}");
        let firm = rows.iter().filter(|row| class(row) < 2);
        let ranks: Vec<Option<i64>> = firm.map(|row| row.own.rank).collect();
        let expected: Vec<Option<i64>> = (1..=ranks.len() as i64).map(Some).collect();
        assert_eq!(ranks, expected, "{list:?}");
        ranked += ranks.len();
        let flagged = rows.iter().filter(|row| class(row) == 2);
        assert!(flagged.into_iter().all(|row| row.own.rank.is_none()));
        for row in &rows {
            for word in [&row.own.end_face, &row.own.what_to_do, &row.own.reason] {
                assert!(word.as_ref().is_some_and(|word| !word.is_empty()), "{row:?}");
            }
            assert!(row.group.site.is_some() && row.group.time.is_some(), "{row:?}");
        }
    }
    assert!(ranked > 20, "{ranked}");
}

#[test]
fn lists_are_as_long_as_the_rules_allow_and_a_shorter_one_is_the_head_of_a_longer() {
    let long = &demo().review;
    let short = demo_under(|rules| rules.worklist_rows = 5);
    for list in List::ALL {
        let (all, head) = (rows(long, *list), rows(&short, *list));
        assert!(all.len() <= 100 && head.len() == all.len().min(5), "{list:?}: {}", all.len());
        for (a, b) in all.iter().zip(&head) {
            assert_eq!(a, b, "{list:?}");
        }
    }
}

/// Days since mating at the period's end, from the time printed (the demo's zone is two hours ahead
/// of UTC in all of the horizon but the last days of March).
fn remaining(row: &Row) -> f64 {
    let made = row.group.time.as_deref().unwrap();
    let made = chrono::NaiveDateTime::parse_from_str(made, "%Y-%m-%d %H:%M").unwrap();
    let end = chrono::NaiveDate::from_ymd_opt(2026, 7, 1).unwrap().and_hms_opt(0, 0, 0).unwrap();
    (end - made).num_minutes() as f64 / 1440.0
}

/// A mating's saving by another road: every follow-up cell of its group summed by hand.
#[test]
fn savings_of_matings_are_hazard_times_share_times_cost() {
    let demo = demo();
    let glossary = &demo.derived.glossary;
    let quarters: Vec<QuarterNo> = (0..demo.derived.calendar.quarters.count())
        .filter(|piece| {
            demo.derived.period.look_back.contains(&demo.derived.calendar.quarter(*piece))
        })
        .map(QuarterNo)
        .collect();
    let follow_up = demo.derived.counts.followed.follow_up.cells();
    let mut checked = 0;
    for row in rows(&demo.review, List::UnseenMating).into_iter().step_by(7) {
        let Some(estimate) = row.estimate else { continue };
        let (stage, family) = (row.group.stage.as_deref(), row.group.family.as_deref());
        let of_level = |level: &str, at: Stage, of: Family| {
            (!level.contains("stage") || Some(glossary.stage.0.word(at.0)) == stage)
                && (!level.contains("family") || Some(glossary.family.0.word(of.0)) == family)
        };
        let within = |level: &str, cell: &follow_up::Key| {
            quarters.contains(&cell.quarter)
                && cell.after_fault == AfterFault::No
                && of_level(level, cell.stage, cell.family)
        };
        let rates_of = row.own.rates_of.unwrap();
        let class = Coverage::of(row.group.coverage.as_deref().unwrap()).unwrap();
        let exposure = Exposure::of(class.word()).unwrap();
        assert_eq!(row.own.rates_as, Some(exposure));
        let ratio = demo
            .review
            .skipped_cost
            .ratios(rates_of.by(), exposure, Faults::Linked)
            .find(|other| {
                let (by_stage, by_family) = rates_of.parts();
                (!by_stage || other.group.stage.as_deref() == stage)
                    && (!by_family || other.group.family.as_deref() == family)
            })
            .and_then(|row| row.estimate)
            .unwrap();
        let age = remaining(row);
        let mut hazard = 0.0;
        for (band, [from, to]) in (0..).map(Band).zip([[0.0, 7.0], [7.0, 30.0], [30.0, 90.0]]) {
            let (mut faults, mut seconds) = (0, 0);
            for (cell, counts) in &follow_up {
                if within(rates_of.word(), cell) && cell.coverage == class && cell.band == band {
                    faults += counts.linked;
                    seconds += counts.linked_s;
                }
            }
            let width = (to - f64::max(from, age)).max(0.0);
            hazard += width * faults as f64 / (seconds as f64 / 86_400.0);
        }
        let level = row.own.cost_of.unwrap().word();
        // A mean price needs no whole horizon: of all matings looked back.
        let (cost, costed) = cost_of(|cell| of_level(level, cell.stage, cell.family));
        let motetrail::measures::results::Money(work) = row.own.work_cost.unwrap();
        let saving = hazard * (1.0 - 1.0 / ratio) * cost / costed as f64 - work as f64;
        // Times are printed to the minute, money is whole.
        assert!((saving - estimate).abs() <= 1.0 + 0.001 * estimate, "{saving}: {row:?}");
        assert!(estimate > 0.0);
        checked += 1;
    }
    assert!(checked > 5, "{checked}");
}

/// Without counts there is nothing to weigh by: candidates stay, and nothing is ranked.
#[test]
fn candidates_without_rates_are_listed_without_a_saving() {
    let worklist = demo().derived.counts.worklist.clone();
    assert!(worklist.left.seen() > 0 && worklist.unseen.seen() > 0);
    let none = motetrail::derive::Counts::empty(0);
    let review = reviewed(motetrail::derive::Counts { worklist, ..none });
    for list in [List::LeftFailing, List::UnseenMating] {
        let rows = rows(&review, list);
        assert!(!rows.is_empty());
        for row in rows {
            assert_eq!((row.estimate, row.own.rank), (None, None));
        }
    }
}

/// The demo under other prices.
fn priced(change: impl FnOnce(&mut motetrail::settings::Costs)) -> Review {
    let counts = demo().derived.counts.clone();
    super::changed::reviewed_under(counts, |plan| change(&mut plan.costs))
}

/// What is worth doing now is numbered over all lists by what it saves; nothing of negative worth is listed; whoever opens
/// a connection in service is told to make sure that it is dark.
#[test]
fn nothing_is_advised_that_costs_more_than_it_saves() {
    let free = priced(|costs| (costs.visit, costs.interruption) = (0, Some(0)));
    let usual = priced(|costs| costs.interruption = Some(20_000));
    let unknown = priced(|costs| (costs.visit, costs.interruption) = (0, None));
    let mut numbered = 0;
    for review in [&free, &usual, &unknown] {
        for list in List::ALL {
            for row in rows(review, *list) {
                assert!(row.estimate.is_none_or(|saving| saving > 0.0), "{row:?}");
                let what = row.own.what_to_do.as_deref().unwrap();
                let opens = what.contains("open") && *list == List::UnseenMating;
                assert!(!opens || what.contains("dark"), "{what}");
            }
        }
        let overall = review.worklist.overall();
        let places: Vec<Option<i64>> = overall.iter().map(|row| row.own.overall).collect();
        assert_eq!(places, (1..=places.len() as i64).map(Some).collect::<Vec<_>>());
        assert!(overall.iter().all(|row| row.own.when == Some(When::Now)));
        let sure = |row: &Row| row.low > Some(0.0);
        let key = |row: &&Row| (!sure(row), -row.estimate.unwrap());
        assert!(overall.is_sorted_by(|a, b| key(a) <= key(b)));
        numbered += places.len();
    }
    assert!(numbered > 20, "{numbered}");
    let opened = |review: &Review| {
        let now = review.worklist.overall();
        now.iter().filter(|row| row.own.list == List::UnseenMating).count()
    };
    // Free to open: all that saves anything. Unknown what it costs: none, and the rows say that it is not
    // known (the page asks for the key).
    assert!(opened(&free) > opened(&usual));
    assert_eq!(opened(&unknown), 0);
    let asked = rows(&unknown, List::UnseenMating);
    assert!(!asked.is_empty() && asked.iter().all(|row| row.own.interruption.is_none()));
    // The price of the trip and of the interruption is in the saving.
    let by_face = |review: &Review| -> std::collections::BTreeMap<String, (f64, i64)> {
        let rows = rows(review, List::UnseenMating).into_iter();
        let key = |row: &Row| format!("{:?} {:?}", row.own.end_face, row.group.time);
        let saved = |row: &Row| Some((row.estimate?, row.own.work_cost?.0));
        rows.filter_map(|row| Some((key(row), saved(row)?))).collect()
    };
    let (at_no_price, at_a_price) = (by_face(&free), by_face(&usual));
    let mut compared = 0;
    for (face, (saving, work)) in &at_a_price {
        if let Some((before, cheaper)) = at_no_price.get(face) {
            assert!((before - saving - (work - cheaper) as f64).abs() <= 2.0, "{face:?}");
            compared += 1;
        }
    }
    assert!(compared > 5, "{compared}");
}

/// Of a defect no saving is told, since faults of dirt say nothing of it; of dirt left where others look later only what
/// those let through.
#[test]
fn what_later_looks_stop_and_what_no_cleaning_mends_is_not_credited() {
    let rows = rows(&demo().review, List::LeftFailing);
    let defect = |row: &&&Row| row.own.finding == Some(Finding::Defect);
    let (mut defects, mut stopped) = (0, 0);
    for row in rows.iter().filter(defect) {
        assert_eq!(
            (row.estimate, row.own.rank, row.own.let_through),
            (None, None, None),
            "{row:?}"
        );
        defects += 1;
    }
    let dark = ["cord-shop", "frame-shop"];
    for row in rows.iter().filter(|row| row.own.let_through.is_some()) {
        let through = row.own.let_through.unwrap();
        assert!((0.0..=1.0).contains(&through), "{row:?}");
        if row.group.stage.as_deref().is_some_and(|stage| dark.contains(&stage)) {
            assert!(through < 0.9, "{row:?}");
            stopped += 1;
        }
    }
    assert!(defects + stopped > 0, "the demo leaves neither");
}
