//! What 5.5 counts beside the usual follow-up: the same by week, and under other rules.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use motetrail::derive::counts::WeekNo;
use motetrail::derive::{Coverage, Variant};

use super::fleet::{Fleet, fleet};
use super::seen::figures;

const DAY: i64 = 86_400;

/// Sums over a variant's cells: matings, unseen ends, faults, days, stated cost; and the coverages in it.
fn counted(fleet: &Fleet, word: &str) -> ([i64; 5], Vec<Coverage>) {
    let at = Variant::WORDS.iter().position(|own| *own == word).unwrap();
    let mut sums = [0; 5];
    let mut coverages = Vec::new();
    let counts = fleet.derive().derived.counts;
    for (cell, row) in counts.prices.variant_prices.cells() {
        if cell.variant == Variant::ALL[at] {
            sums[4] += row.stated;
        }
    }
    for (cell, row) in counts.followed.variants.cells() {
        if cell.variant != Variant::ALL[at] {
            continue;
        }
        sums.iter_mut().zip(figures(row)).for_each(|(sum, more)| *sum += more);
        if row.started > 0 {
            coverages.push(cell.coverage);
        }
    }
    sums[3] /= DAY;
    (sums, coverages)
}

/// One mating on 10 January, `q` seen an hour and `p` ten hours before; a late look keeps the
/// period open until the end of the year.
fn mated(extra: &str) -> Fleet {
    fleet()
        .looks(
            "at,end_face,outcome
            2026-01-10 02:00,p,pass
            2026-01-10 11:00,q,pass
            2026-12-01 08:00,x,pass",
        )
        .matings(&format!("record,at,end_face_a,end_face_b,demated_at\n{extra}"))
}

const REJOINED: &str = "M1,2026-01-10 12:00:00,p,q,2026-02-01 00:00
    M2,2026-02-01 01:00,p,q,";

#[test]
fn a_reseat_taken_as_a_suspect_fault_is_one_at_the_demating_not_at_the_end_of_service() {
    let faults = |fleet: Fleet| {
        let fleet = fleet.faults("opened,end_face\n2026-12-01 08:00,x");
        counted(&fleet, "reseats-as-suspect").0[2]
    };
    assert_eq!(faults(mated(REJOINED)), 1);
    let ended = |day: &str| {
        let register = format!("end_face,in_service_to\np,{day} 08:00");
        faults(mated(REJOINED).register(&register))
    };
    assert_eq!(ended("2026-02-10"), 1);
    // Out of service long before anybody took it apart: no fault inside the follow-up.
    assert_eq!(ended("2026-01-20"), 0);
}

const ONE: &str = "M1,2026-01-10 12:00:00,p,q,";

#[test]
fn windows_judge_the_same_mating_each_for_itself() {
    let fleet = mated(ONE).faults("opened,end_face\n2026-12-01 08:00,x");
    let (both, one) = (Coverage::Both, Coverage::One);
    assert_eq!(counted(&fleet, "window-8h").1, [one]);
    assert_eq!(counted(&fleet, "window-72h").1, [both]);
    // 24 hours is the rule itself: not counted twice.
    assert_eq!(counted(&fleet, "window-24h"), ([0; 5], vec![]));
    let wide = mated(ONE)
        .also("[rules]\ncoverage_window_hours = 72")
        .faults("opened,end_face\n2026-12-01 08:00,x");
    assert_eq!(counted(&wide, "window-24h").1, [both]);
    assert_eq!(counted(&wide, "window-8h").0[1], 1, "one unseen end");
}

#[test]
fn horizons_cut_the_same_follow_up_at_their_own_day() {
    let faults = "opened,mating,cause,cost
        2026-03-01 12:00,M1,contamination,1.00
        2026-05-30 12:00,M1,contamination,10.00";
    let fleet = mated(ONE).faults(faults);
    // The first fault comes after 50 days, the second after 140.
    assert_eq!(counted(&fleet, "horizon-30d").0, [1, 0, 0, 30, 0]);
    assert_eq!(counted(&fleet, "horizon-180d").0, [1, 0, 1, 50, 1100]);
    let counts = fleet.derive().derived.counts;
    assert_eq!(figures(counts.followed.site_weeks.total()), [1, 0, 1, 50 * DAY]);
    assert_eq!(counts.prices.week_prices.total().stated, 100);
}

#[test]
fn levels_end_follow_up_with_their_own_first_fault_and_cost() {
    let faults = "opened,mating,cause,remedy,cost
        2026-01-20 12:00,M1,no-fault-found,reseated,1.00
        2026-01-30 12:00,M1,,cleaned,10.00
        2026-02-09 12:00,M1,contamination,,100.00";
    let fleet = mated(ONE).faults(faults);
    assert_eq!(counted(&fleet, "suspect-too").0, [1, 0, 1, 10, 11_100]);
    assert_eq!(counted(&fleet, "confirmed-only").0, [1, 0, 1, 30, 10_000]);
}

#[test]
fn a_reseat_counts_as_a_suspect_fault_at_its_demating_without_a_cost() {
    let rows = "M1,2026-01-10 12:00:00,p,q,2026-01-15 12:00\nM2,2026-01-15 13:00:00,p,q,";
    let fleet = mated(rows).faults("opened,end_face\n2026-12-01 08:00,x");
    // Five days to the reseat, then the second mating to its horizon.
    assert_eq!(counted(&fleet, "reseats-as-suspect").0, [2, 2, 1, 95, 0]);
    assert_eq!(counted(&fleet, "suspect-too").0, [2, 2, 0, 95, 0]);
}

#[test]
fn matings_known_to_the_day_are_left_out_of_the_variant_that_says_so() {
    let rows = format!("{ONE}\nM2,2026-02-10,r,s,");
    let fleet = mated(&rows).faults("opened,end_face\n2026-12-01 08:00,x");
    assert_eq!(counted(&fleet, "day-precision-left-out").0[0], 1);
    assert_eq!(counted(&fleet, "suspect-too").0[0], 2);
    let derived = fleet.derive().derived;
    let table = &derived.counts.followed.variants;
    assert_eq!(table.off_table().started, 1, "left out, but not lost");
}

#[test]
fn site_weeks_hold_the_follow_up_of_the_look_back_week_by_week() {
    let rows = format!("{ONE}\nM2,2026-01-19 12:00:00,r,s,\nM3,2026-01-20 12:00:00,t,u,");
    let derived = mated(&rows).faults("opened,mating\n2026-12-01 08:00,x").derive().derived;
    let weeks = derived.counts.followed.site_weeks.cells();
    let mut started: Vec<(WeekNo, i64)> = Vec::new();
    for (cell, row) in weeks {
        match started.last_mut() {
            Some((week, sum)) if *week == cell.week => *sum += row.started,
            _ => started.push((cell.week, row.started)),
        }
    }
    // 10 January is a Saturday; the 19th and 20th are a Monday and the day after.
    assert_eq!(started.iter().map(|(_, sum)| *sum).collect::<Vec<i64>>(), [1, 2]);
    assert_eq!(started[1].0.0 - started[0].0.0, 2);
}
