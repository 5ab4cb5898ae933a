//! Period: which quarter is reviewed, what belongs to it, where it cuts.
//!
//! Source of every expected value: section 4 "Period", applied by hand to the rows shown.

use std::fs;

use chrono::{Days, NaiveDate};
use motetrail::derive::{DeriveError, Period, derive};
use motetrail::settings::read_text;
use motetrail::store::Store;

use super::fleet::{Fleet, fleet};
use super::seen::time;

/// Looks from January to May.
fn spring() -> Fleet {
    fleet().looks("at,end_face,outcome\n2026-01-10 08:00,x,pass\n2026-05-10 08:00,y,pass")
}

fn chosen(fleet: Fleet) -> String {
    fleet.derive().derived.period.quarter.to_string()
}

#[test]
fn the_last_quarter_that_was_over_is_chosen_and_none_later_than_the_last_record() {
    assert_eq!(chosen(spring().set("as_of = \"2026-06-30\"")), "2026-Q2");
    assert_eq!(chosen(spring().set("as_of = \"2026-06-29\"")), "2026-Q1");
    assert_eq!(chosen(spring().set("as_of = \"2027-06-30\"")), "2026-Q2");
    // Where none was over, the first that has records.
    assert_eq!(chosen(spring().set("as_of = \"2026-02-15\"")), "2026-Q1");
}

#[test]
fn without_as_of_the_day_of_the_last_intake_decides() {
    // The harness takes its exports in on 5 July 2026: the second quarter was over.
    let fleet = fleet()
        .set("# no as_of")
        .looks("at,end_face,outcome\n2026-01-10 08:00,x,pass\n2026-07-05 08:00,y,pass");
    assert_eq!(chosen(fleet), "2026-Q2");
}

/// What is said of a last look on this day, taken in on 5 July 2026 without `as_of`.
fn refused(last: &str) -> Option<String> {
    let looks = format!("at,end_face,outcome\n2024-01-10 08:00,x,pass\n{last} 08:00,y,pass");
    match fleet().set("# no as_of").looks(&looks).try_derive() {
        Ok(_) => None,
        Err(error @ DeriveError::Clock { .. }) => Some(error.to_string()),
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn a_day_of_intake_that_does_not_fit_the_records_is_refused_with_both_days() {
    for fits in ["2026-07-06", "2026-07-05", "2025-05-31"] {
        assert_eq!(refused(fits), None, "{fits}");
    }
    for does_not in ["2026-07-07", "2036-07-05", "2025-05-30"] {
        let said = refused(does_not).unwrap();
        let line = format!("as_of = \"{does_not}\"");
        assert!(said.contains("2026-07-05") && said.ends_with(&line), "{said}");
    }
    // A stated day stands whatever the records are.
    let stated = fleet().looks("at,end_face,outcome\n2024-01-10 08:00,x,pass");
    assert_eq!(chosen(stated.set("as_of = \"2031-01-01\"")), "2024-Q1");
}

#[test]
fn the_newest_fault_counts_as_a_record_too() {
    let fleet = fleet()
        .set("# no as_of")
        .looks("at,end_face,outcome\n2026-05-10 08:00,x,pass")
        .faults("opened,end_face\n2026-07-09 08:00,x");
    let error = fleet.try_derive().err().expect("the day lies before the newest fault");
    assert!(error.to_string().contains("the newest record is of 2026-07-09"), "{error}");
}

#[test]
fn eight_quarters_taken_one_after_another_without_as_of_each_review_their_own() {
    let folder = tempfile::tempdir().unwrap();
    let settings = "[fleet]\nname = \"Demo\"\ncurrency = \"EUR\"\ntimezone = \"UTC\"\n\
        [[source]]\nname = \"looks\"\nfiles = [\"looks*.csv\"]\nsite = \"Works\"\n\
        end_face_names = \"fleet\"\n[[source.record]]\ntable = \"inspections\"\n\
        columns = { at = \"at\", end_face = \"face\", outcome = \"outcome\" }\n\
        dates = { at = \"%Y-%m-%d\" }\nconstants = { stage = \"installation\" }\n";
    let plan = read_text(settings, folder.path(), "fleet.toml").unwrap();
    let mut reviewed = Vec::new();
    let mut expected = Vec::new();
    for number in 0..8 {
        let (year, quarter) = (2025 + number / 4, 1 + number % 4);
        let month = 3 * quarter;
        let rows = format!("at,face,outcome\n{year}-{month:02}-20,f{number},pass\n");
        fs::write(folder.path().join(format!("looks-{number}.csv")), rows).unwrap();
        let over = NaiveDate::from_ymd_opt(year, month as u32, 30).unwrap();
        let mut store = Store::open(&plan).unwrap();
        store.take(&plan, over + Days::new(9), &()).unwrap();
        // Taken again some weeks later with nothing new: the day stays.
        store.take(&plan, over + Days::new(60), &()).unwrap();
        reviewed.push(derive(&plan, &store, None, &()).unwrap().period.quarter.to_string());
        expected.push(format!("{year}-Q{quarter}"));
    }
    assert_eq!(reviewed, expected);
}

#[test]
fn quarters_are_those_of_the_fiscal_year() {
    let seen = spring().set("fiscal_year_starts = 4").review("2025-Q4").derive();
    let period = &seen.derived.period;
    assert_eq!(
        [time(period.start), time(period.end)],
        ["2026-01-01 00:00:00", "2026-04-01 00:00:00"]
    );
    assert_eq!(period.first_day.to_string(), "2026-01-01");
    assert_eq!(period.last_day.to_string(), "2026-03-31");
    let odd = spring().set("fiscal_year_starts = 2").review("2026-Q1").derive();
    assert_eq!(time(odd.derived.period.start), "2026-02-01 00:00:00");
}

#[test]
fn quarters_begin_at_midnight_of_the_fleets_zone() {
    let seen = spring().set("timezone = \"Europe/Vienna\"").review("2026-Q2").derive();
    let period = &seen.derived.period;
    assert_eq!(
        [time(period.start), time(period.end)],
        ["2026-03-31 22:00:00", "2026-06-30 22:00:00"]
    );
}

#[test]
fn the_look_back_is_the_quarters_of_so_many_months_with_the_period_last() {
    let seen = spring().review("2026-Q1").derive();
    let words = |period: &Period| -> Vec<String> {
        period.look_back.iter().map(|quarter| quarter.to_string()).collect()
    };
    assert_eq!(words(&seen.derived.period), ["2025-Q2", "2025-Q3", "2025-Q4", "2026-Q1"]);
    assert_eq!(seen.derived.period.look_back_from().to_string(), "2025-04-01");
    let short = spring().also("[rules]\nlook_back_months = 6").review("2026-Q1").derive();
    assert_eq!(words(&short.derived.period), ["2025-Q4", "2026-Q1"]);
}

#[test]
fn a_period_without_records_is_an_error_that_names_the_span() {
    match spring().review("2026-Q3").try_derive() {
        Err(DeriveError::Period { asked, first, last }) => {
            let named = [asked, first, last].map(|quarter| quarter.to_string());
            assert_eq!(named, ["2026-Q3", "2026-Q1", "2026-Q2"]);
        }
        other => panic!("{:?}", other.err()),
    }
}

#[test]
fn a_store_without_looks_cleanings_and_matings_is_an_error() {
    let fleet = fleet().register("end_face\np").faults("opened,end_face\n2026-02-01 08:00,p");
    assert!(matches!(fleet.try_derive(), Err(DeriveError::Empty)));
}

#[test]
fn a_visit_belongs_to_the_quarter_in_which_it_starts() {
    let seen = fleet()
        .looks("at,end_face,outcome\n2026-03-31 23:30,p,fail\n2026-04-01 00:30,p,pass")
        .derive();
    let cells = seen.derived.counts.first_pass.visits.cells();
    assert_eq!(cells.len(), 1);
    assert_eq!(seen.derived.calendar.quarter(cells[0].0.quarter.0).to_string(), "2026-Q1");
}

/// A mating in March, another of the same end in April, a fault in each month.
fn across() -> Fleet {
    fleet()
        .matings(
            "record,at,end_face_a,end_face_b
            M1,2026-03-10 08:00,p,q
            M2,2026-04-02 08:00,p,r",
        )
        .faults("opened,mating\n2026-03-20 08:00,M1\n2026-04-01 00:00,M1\n2026-04-03 08:00,M2")
}

#[test]
fn faults_opened_after_the_periods_end_are_not_read() {
    let faults = |quarter| {
        let seen = across().review(quarter).derive();
        seen.derived.counts.faults.total().faults
    };
    assert_eq!([faults("2026-Q1"), faults("2026-Q2")], [1, 3]);
}

#[test]
fn later_matings_end_follow_up_and_have_none_themselves() {
    let seen = across().review("2026-Q1").derive();
    assert_eq!(seen.matings[0].in_force_end, "2026-04-02 08:00:00");
    assert_eq!(seen.matings[1].at_risk, None);
    let counts = &seen.derived.counts;
    assert_eq!(
        (counts.coverage.matings.total().matings, counts.followed.follow_up.total().started),
        (1, 1)
    );
}

#[test]
fn a_past_review_is_the_same_before_and_after_more_records_came_in() {
    let stated = "covers.faults = { from = \"2026-01-01\", to = \"2026-12-31\" }";
    let faults = "opened,mating\n2026-03-20 08:00,M1";
    let early = fleet()
        .matings("record,at,end_face_a,end_face_b\nM1,2026-03-10 08:00,p,q")
        .source("tickets", "faults", faults, stated)
        .review("2026-Q1")
        .derive();
    let late = fleet()
        .matings("record,at,end_face_a,end_face_b\nM1,2026-03-10 08:00,p,q")
        .again("M2,2026-05-10 08:00,p,q")
        .source("tickets", "faults", faults, stated)
        .again("2026-06-01 08:00,M2")
        .review("2026-Q1")
        .derive();
    assert_eq!(early.derived.counts.followed.follow_up, late.derived.counts.followed.follow_up);
    assert_eq!(early.derived.counts.rates.in_force, late.derived.counts.rates.in_force);
    assert_eq!(early.derived.counts.faults, late.derived.counts.faults);
}
