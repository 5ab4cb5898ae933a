//! What 5.4 counts by week, of faults that come back, and of times to restore.
//!
//! Source of every expected value: sections 4 and 5.4 of the design, applied by hand to the rows shown.

use motetrail::derive::counts::{
    Family, MOST_FORCE_PLACES, QuarterNo, RateCounts, Site, Stage, WeekNo, force_weeks,
};
use motetrail::derive::{Quarter, compared, compared_quarters};

use super::fleet::{Fleet, fleet};
use super::seen::{Seen, figures};

const DAY: i64 = 86_400;

/// Matings reviewed in the second quarter of 2026; a look at its end keeps the period open.
fn mated(rows: &str) -> Fleet {
    fleet()
        .looks("at,end_face,outcome\n2026-06-30 08:00,x,pass")
        .matings(&format!("record,at,end_face_a,end_face_b,demated_at\n{rows}"))
        .review("2026-Q2")
}

const ELSEWHERE: &str = "opened,end_face\n2026-06-29 08:00,x";

/// Quarter, Monday and counts of every cell of time in force.
fn weeks(seen: &Seen) -> Vec<(String, String, [i64; 7])> {
    let calendar = &seen.derived.calendar;
    let cells = seen.derived.counts.rates.force_weeks.cells().into_iter();
    cells
        .map(|(cell, row)| {
            let quarter = calendar.quarter(cell.quarter.0).to_string();
            (quarter, calendar.week(cell.week.0), figures(row))
        })
        .collect()
}

/// Counts of time that is the same at every level.
fn plain(present: i64, seconds: i64) -> [i64; 7] {
    [present, 0, seconds, 0, seconds, 0, seconds]
}

#[test]
fn a_period_is_compared_with_the_quarter_before_and_the_same_a_year_before() {
    let period = mated("").faults(ELSEWHERE).derive().derived.period;
    let quarter = |text: &str| Quarter::parse(text).unwrap();
    let compared = compared(&period);
    assert_eq!(compared.quarter_before, quarter("2026-Q1"));
    assert_eq!(compared.year_before, quarter("2025-Q2"));
    let quarters = ["2026-Q2", "2026-Q1", "2025-Q2"].map(quarter);
    assert_eq!(compared_quarters(&period), quarters);
}

#[test]
fn a_week_on_a_quarters_edge_is_cut_there() {
    // Monday 30 March noon to Thursday noon; the quarter begins on Wednesday.
    let seen = mated("M1,2026-03-30 12:00,p,q,2026-04-02 12:00").faults(ELSEWHERE).derive();
    let half = DAY / 2;
    let week = "2026-03-30".to_owned();
    let expected = [
        ("2026-Q1".to_owned(), week.clone(), plain(1, DAY + half)),
        ("2026-Q2".to_owned(), week, plain(1, DAY + half)),
    ];
    assert_eq!(weeks(&seen), expected);
}

#[test]
fn weeks_of_a_long_mating_add_up_to_its_quarters() {
    let seen = mated("M1,2026-01-10 12:00:00,p,q,2026-04-15 12:00").faults(ELSEWHERE).derive();
    let sum = |quarter: &str| -> i64 {
        weeks(&seen).iter().filter(|week| week.0 == quarter).map(|week| week.2[2]).sum()
    };
    assert_eq!((sum("2026-Q1"), sum("2026-Q2")), (80 * DAY + DAY / 2, 14 * DAY + DAY / 2));
    let whole = weeks(&seen).iter().filter(|week| week.2 == plain(1, 7 * DAY)).count();
    // From Monday 12 January: eleven whole weeks before the week of the edge, one after it.
    assert_eq!(whole, 12);
}

#[test]
fn fractions_of_seconds_are_cut_once_a_quarter_as_in_the_table_of_quarters() {
    let rows = "M1,2026-04-06 00:00:01,p,q,2026-04-27 00:00:00\nM2,2026-05-04,r,s,2026-06-20";
    let seen = mated(rows).faults(ELSEWHERE).derive();
    let by_week: i64 = weeks(&seen).iter().map(|week| week.2[2]).sum();
    let by_quarter: i64 =
        seen.derived.counts.rates.in_force.cells().iter().map(|(_, row)| row.linked_s).sum();
    assert_eq!(by_week, by_quarter);
}

#[test]
fn quarters_that_are_not_compared_are_off_the_table() {
    let rows = "M1,2025-10-01 12:00,p,q,2025-12-31 12:00\nM2,2025-06-01 12:00,r,s,2025-06-01 18:00";
    let seen = mated(rows).faults(ELSEWHERE).derive();
    let only = weeks(&seen);
    assert_eq!(only.len(), 1);
    assert_eq!((only[0].0.as_str(), only[0].2), ("2025-Q2", plain(1, DAY / 4)));
    assert_eq!(seen.derived.counts.rates.force_weeks.off_table().present, 1);
}

#[test]
fn time_of_a_level_ends_in_the_week_of_its_first_fault() {
    let faults = "opened,mating,cause,remedy
        2026-04-08 00:00,M1,no-fault-found,reseated
        2026-04-14 00:00,M1,,cleaned
        2026-04-21 00:00,M1,contamination,";
    // A Monday; four weeks in force.
    let seen = mated("M1,2026-04-06 00:00:00,p,q,2026-05-04 00:00").faults(faults).derive();
    let rows: Vec<[i64; 7]> = weeks(&seen).into_iter().map(|week| week.2).collect();
    let week = 7 * DAY;
    assert_eq!(rows[0], [1, 0, week, 0, week, 1, 2 * DAY]);
    assert_eq!(rows[1], [1, 1, DAY, 0, week, 0, 0]);
    assert_eq!(rows[2], [1, 0, 0, 1, DAY, 0, 0]);
    assert_eq!(rows[3], [1, 0, 0, 0, 0, 0, 0]);
    // The last moment in force is the first of the week after.
    assert_eq!(rows[4], [1, 0, 0, 0, 0, 0, 0]);
}

#[test]
fn dark_stages_and_sites_without_a_fault_source_are_off_the_tables() {
    let dark = fleet()
        .matings("record,at,stage,end_face_a,end_face_b\nM1,2026-01-10 12:00,incoming,p,q")
        .faults("opened,mating\n2026-01-11 12:00,M1")
        .derive();
    let uncovered = mated("M1,2026-04-06 12:00,p,q,").derive();
    for seen in [dark, uncovered] {
        let rates = &seen.derived.counts.rates;
        assert!(rates.force_weeks.is_empty() && rates.follow_weeks.is_empty());
        let off = (rates.force_weeks.off_table().present, rates.follow_weeks.off_table().started);
        assert_eq!(off, (1, 1));
        assert_eq!((rates.watched.off_table().matings, rates.watched.len()), (1, 0));
    }
}

#[test]
fn follow_up_by_week_holds_matings_after_a_fault_and_none_of_other_quarters() {
    let rows = "M0,2026-03-31 12:00,t,u,
        M1,2026-04-06 12:00,p,q,
        M2,2026-04-11 12:00,p,r,";
    let faults = "opened,mating,cause\n2026-04-10 12:00,M1,contamination";
    let seen = mated(rows).faults(faults).derive();
    let counts = &seen.derived.counts;
    assert!(seen.matings[2].after_fault);
    assert_eq!(counts.followed.site_weeks.total().started, 2, "without the mating after a fault");
    let table = &counts.rates.follow_weeks;
    assert_eq!((table.total().started, table.off_table().started), (3, 1));
    let cells: Vec<(u32, [i64; 7])> =
        table.cells().into_iter().map(|(cell, row)| (cell.band.0, figures(row))).collect();
    // Same week, in bands [0, 7), [7, 30), [30, 90]: four days to the fault of the one, 80.5 days
    // of the other, to the period's end.
    let seconds = |band: u32| -> Vec<i64> {
        cells.iter().filter(|cell| cell.0 == band).map(|cell| cell.1[2]).collect()
    };
    assert_eq!(cells[0].1[..3], [2, 1, 4 * DAY + 7 * DAY]);
    assert_eq!((seconds(1), seconds(2)), (vec![23 * DAY], vec![50 * DAY + DAY / 2 - 1]));
}

/// Day, other day, pairs, faults, firsts.
fn recurrences(seen: &Seen) -> Vec<(u32, u32, [i64; 3])> {
    let cells = seen.derived.counts.rates.recurrences.cells();
    cells.into_iter().map(|(cell, row)| (cell.day.0, cell.with_day.0, figures(row))).collect()
}

fn watched(seen: &Seen) -> Vec<(u32, i64)> {
    let cells = seen.derived.counts.rates.watched.cells();
    cells.into_iter().map(|(cell, row)| (cell.day.0, row.matings)).collect()
}

#[test]
fn a_second_fault_on_a_mating_counts_with_the_first_and_with_the_end() {
    let rows = "M1,2026-04-06 00:00:00,p,q,2026-04-26 06:00
        M2,2026-04-06 00:00:00,r,s,2026-04-09 06:00";
    let faults = "opened,mating,cause
        2026-04-09 12:00,M1,contamination
        2026-04-10 09:00,M1,contamination
        2026-04-16 00:00,M1,contamination
        2026-04-20 00:00,M1,break";
    let seen = mated(rows).faults(faults).derive();
    assert_eq!(watched(&seen), [(3, 1), (20, 1)]);
    // Tickets within a day of the first are one fault, a break is not linked.
    let expected = [
        (3, 3, [1, 0, 0]),
        (3, 10, [1, 0, 0]),
        (3, 20, [0, 1, 1]),
        (10, 3, [1, 0, 0]),
        (10, 10, [1, 0, 0]),
        (10, 20, [0, 1, 0]),
    ];
    assert_eq!(recurrences(&seen), expected);
}

#[test]
fn the_last_day_holds_the_horizon_and_faults_after_it_do_not_count() {
    let faults = "opened,mating,cause
        2026-03-31 12:00:00,M1,contamination
        2026-04-03 12:00:00,M1,contamination";
    let seen = mated("M1,2025-12-31 12:00:00,p,q,").faults(faults).derive();
    assert_eq!(watched(&seen), [(89, 1)]);
    assert_eq!(recurrences(&seen), [(89, 89, [1, 1, 1])]);
}

#[test]
fn matings_older_than_the_cover_of_their_faults_are_not_watched() {
    let keys = "covers.faults = { from = \"2026-04-10\", to = \"2026-06-30\" }";
    let faults = "opened,mating,cause\n2026-04-20 12:00,M1,contamination";
    let rows = "M1,2026-04-06 12:00,p,q,\nM2,2026-04-12 12:00,r,s,";
    let seen = mated(rows).source("tickets", "faults", faults, keys).derive();
    let rates = &seen.derived.counts.rates;
    assert_eq!((rates.watched.off_table().matings, rates.watched.total().matings), (1, 2));
    assert_eq!((figures(rates.recurrences.off_table()), rates.recurrences.len()), ([0, 1, 0], 0));
}

#[test]
fn times_to_restore_are_kept_to_the_minute_and_downtime_where_it_is_stated() {
    let faults = "opened,cleared,mating,end_face,cause,downtime_min
        2026-04-07 12:00,2026-04-07 13:30:59,M1,,contamination,45
        2026-04-12 12:00,2026-04-12 13:30,M1,,contamination,
        2026-04-20 12:00,,,x,,30
        2026-03-07 12:00,2026-03-07 13:00,,x,contamination,10";
    let seen = mated("M1,2026-04-06 12:00,p,q,").faults(faults).derive();
    let rates = &seen.derived.counts.rates;
    let minutes: Vec<(u32, i64)> = rates
        .restores
        .cells()
        .into_iter()
        .map(|(cell, row)| (cell.minutes.0, row.faults))
        .collect();
    // The one never cleared is open to the end of the quarter, 71 days and a half after the noon of 20 April.
    let to_the_end = 71 * 1440 + 720;
    assert_eq!(minutes, [(to_the_end, 0), (90, 2)]);
    assert_eq!(rates.restores.total().open, 1);
    // One of the quarter before.
    assert_eq!((rates.restores.off_table().faults, rates.restores.total().faults), (1, 3));
    assert_eq!(figures(rates.downtimes.total()), [4, 3, 85]);
    let in_period: i64 = rates
        .downtimes
        .cells()
        .into_iter()
        .filter(|(cell, _)| seen.derived.calendar.quarter(cell.quarter.0).to_string() == "2026-Q2")
        .map(|(_, row)| row.downtime_min)
        .sum();
    assert_eq!(in_period, 75);
}

#[test]
fn weeks_of_too_many_places_are_given_up_whole_and_stay_in_the_total() {
    let mut rates = RateCounts::empty(0);
    let add = |rates: &mut RateCounts, week: u32, site: u32, stage: u32| {
        let cell = force_weeks::Key {
            quarter: QuarterNo(0),
            week: WeekNo(week),
            site: Site(site),
            stage: Stage(stage),
            family: Family(0),
        };
        rates.force_weeks.add(Some(cell), force_weeks::Row { present: 1, ..Default::default() });
    };
    for site in 0..MOST_FORCE_PLACES as u32 {
        add(&mut rates, 0, site, 0);
        add(&mut rates, 1, site, 0);
    }
    rates.give_up_beyond_places();
    assert_eq!(rates.force_weeks.len(), 2 * MOST_FORCE_PLACES);
    add(&mut rates, 0, 0, 1);
    rates.give_up_beyond_places();
    assert!(rates.force_weeks.is_empty() && rates.check().is_ok());
    assert_eq!(rates.force_weeks.total().present, 2 * MOST_FORCE_PLACES as i64 + 1);
}
