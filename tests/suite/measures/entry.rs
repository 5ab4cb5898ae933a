//! Entry: laws of the table on the demo, figures worked out again by hand, and what other counts do to
//! it.

use motetrail::derive::Coverage;
use motetrail::measures::skipped_cost::{By, Exposure, Quantity};
use motetrail::measures::{Flag, Review, Row, Value};

use super::changed::{add, changed, reviewed, with};
use crate::review::demo::demo;

const STEPS: &str = "from+stage";

fn rows<'a>(review: &'a Review, by: &str, quantity: &str) -> Vec<&'a Row> {
    let all = &review.entry.rows;
    all.iter().filter(|row| row.by == by && row.quantity == quantity).collect()
}

fn own(review: &Review, row: &Row, column: &str) -> String {
    match review.entry.own(row, column) {
        Value::Missing => String::new(),
        Value::Text(text) => text.clone(),
        Value::Count(count) | Value::Money(count) => count.to_string(),
        Value::Number(number) => number.to_string(),
    }
}

fn step<'a>(review: &'a Review, quantity: &str, steps: &str) -> &'a Row {
    let found =
        rows(review, STEPS, quantity).into_iter().find(|row| own(review, row, "steps") == steps);
    found.unwrap_or_else(|| panic!("no {quantity} of {steps}"))
}

/// The demo with its passages by site-week changed.
fn with_weeks(change: impl Fn([u32; 7], [i64; 2]) -> ([u32; 7], [i64; 2])) -> Review {
    let own = &demo().derived.counts;
    let weeks = changed(&own.entry.weeks, change);
    reviewed(with!(own, entry.weeks = weeks))
}

#[test]
fn all_dirt_is_shared_out() {
    let shares: f64 =
        demo().rows("entry", STEPS, "share-of-dirt").iter().map(|row| row.estimate.unwrap()).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
}

/// Repeats stand alone: their chance is the share of dirty passages, whatever the steps do.
#[test]
fn a_repeat_is_a_plain_share_of_its_passages() {
    let demo = demo();
    let stage = demo.derived.glossary.stage.0.find("maintenance").unwrap();
    let cells = demo.derived.counts.entry.weeks.coded();
    let (mut n, mut dirty) = (0, 0);
    for (cell, row) in cells.iter().filter(|(cell, _)| (cell[3], cell[4]) == (stage, stage)) {
        assert_eq!(cell.len(), 7);
        (n, dirty) = (n + row[0], dirty + row[1]);
    }
    let row = step(&demo.review, "entry", "again at maintenance");
    assert_eq!((row.n, row.events), (n as f64, Some(dirty)));
    assert!((row.estimate.unwrap() - dirty as f64 / n as f64).abs() < 1e-9);
}

#[test]
fn passages_by_cap_add_up_to_the_fleet() {
    let demo = demo();
    for whole in demo.rows("entry", STEPS, "entry") {
        let steps = demo.own("entry", whole, "steps");
        let parts = demo.rows("entry", "from+stage+capped", "entry");
        let parts: Vec<&&Row> =
            parts.iter().filter(|row| demo.own("entry", row, "steps") == steps).collect();
        let n: f64 = parts.iter().map(|row| row.n).sum();
        assert!(parts.len() >= 2 && n == whole.n, "{steps}: {n} of {}", whole.n);
    }
}

#[test]
fn pairs_of_visits_are_all_accounted_for() {
    let kinds = demo().rows("entry", "kind", "passages");
    let all: i64 = kinds.iter().map(|row| row.events.unwrap()).sum();
    assert!(kinds.iter().all(|row| row.n as i64 == all) && kinds.len() >= 5);
    let routine = kinds.iter().find(|row| demo().own("entry", row, "reason") == "routine").unwrap();
    let weeks = demo().derived.counts.entry.weeks.coded();
    assert_eq!(routine.events, Some(weeks.iter().map(|(_, row)| row[0]).sum()));
}

/// What an avoided point saves at the repeat of maintenance, by hand from other count tables.
#[test]
fn an_avoided_point_saves_what_dirty_arrivals_cost() {
    let demo = demo();
    let (derived, review) = (&demo.derived, &demo.review);
    let stage = derived.glossary.stage.0.find("maintenance").unwrap();
    let back: Vec<u32> =
        derived.period.look_back.iter().map(|q| derived.calendar.piece_of(*q).unwrap()).collect();
    let text = include_str!("../../../data-demo/fleet.toml");
    let settings: toml::Table = text.parse().unwrap();
    let price = |name: &str| {
        let value = &settings["costs"][name];
        100.0 * value.as_float().or(value.as_integer().map(|whole| whole as f64)).unwrap()
    };
    let minute = price("labour_hour") / 60.0;
    let cleaning = price("cleaning_minutes") / 100.0 * minute + price("cleaning_material");
    let look = price("look_minutes") / 100.0 * minute;
    let (mut visits, mut cost) = (0.0, 0.0);
    for (cell, row) in derived.counts.cleaning.cycles.coded() {
        // View 0: every method together.
        if back.contains(&cell[0]) && cell[2] == stage && cell[4] == 0 {
            let left: i64 = row[..4].iter().sum();
            visits += left as f64;
            cost += left as f64 * f64::from(cell[6]) * look
                + row[4] as f64 * cleaning
                + row[1] as f64 * price("reject");
        }
    }
    let sums = |cells: Vec<(bool, [i64; 2])>| -> [f64; 2] {
        cells
            .iter()
            .filter(|(own, _)| *own)
            .fold([0.0; 2], |sum, (_, row)| [sum[0] + row[0] as f64, sum[1] + row[1] as f64])
    };
    let counts = &derived.counts;
    let matings = counts.coverage.matings.coded().into_iter().map(|(cell, row)| {
        let known = cell[4] != Coverage::Unknown as u32;
        (back.contains(&cell[0]) && cell[2] == stage && known, [row[0], row[2]])
    });
    let [made, unseen_ends] = sums(matings.collect());
    let skipped = [Coverage::One as u32, Coverage::None as u32];
    let faults = counts.followed.follow_up.coded().into_iter().map(|(cell, row)| {
        let own = back.contains(&cell[0]) && cell[2] == stage && cell[5] == 0;
        (own && skipped.contains(&cell[6]), [row[1], row[12]])
    });
    let [ends, fault_cost] = sums(faults.collect());
    let looks = counts.first_pass.visits.coded().into_iter().map(|(cell, row)| {
        (back.contains(&cell[0]) && cell[2] == stage && cell[6] == 3, [row[1], row[3]])
    });
    let [looked, contaminated] = sums(looks.collect());
    let mut fleet = demo.review.skipped_cost.rows_of(By::Fleet, Quantity::AttributableCost);
    let fleet = fleet.find(|row| row.own.exposure == Some(Exposure::Skipped)).unwrap();
    let share = fleet.estimate.unwrap() / fleet.own.fault_cost.unwrap().0 as f64;
    let unseen = unseen_ends / (2.0 * made);
    let each = share * fault_cost / ends / (contaminated / looked) * unseen / (1.0 - unseen);
    let row = step(review, "point-saving", "again at maintenance");
    let wanted = row.n * 0.01 * (cost / visits + each);
    assert!((row.estimate.unwrap() - wanted).abs() < 1.0, "{row:?} against {wanted}");
    assert_eq!(own(review, row, "rank"), "1");
}

#[test]
fn savings_are_ranked_and_say_how_sure_the_first_is() {
    let savings = demo().rows("entry", STEPS, "point-saving");
    assert!(savings.is_sorted_by(|a, b| a.estimate >= b.estimate));
    let first: f64 = savings
        .iter()
        .map(|row| own(&demo().review, row, "probability").parse::<f64>().unwrap())
        .sum();
    assert!((first - 1.0).abs() < 1e-9, "{first}");
}

/// Without passages that begin or end at assembly its two steps are only passed together.
#[test]
fn steps_that_are_always_passed_together_stand_as_their_sum() {
    let assembly = demo().derived.glossary.stage.0.find("assembly").unwrap();
    let review = with_weeks(|cell, row| match [cell[3], cell[4]].contains(&assembly) {
        true => (cell, [0, 0]),
        false => (cell, row),
    });
    let sum = step(&review, "entry", "manufacture to assembly + assembly to system-test");
    assert!(sum.is_firm() && sum.estimate.is_some());
    assert_eq!(own(&review, sum, "from"), "manufacture");
    assert_eq!(sum.group.stage.as_deref(), Some("system-test"));
    assert_eq!(own(&review, sum, "reason"), "always passed together: their sum");
    let shares: f64 =
        rows(&review, STEPS, "share-of-dirt").iter().map(|row| row.estimate.unwrap()).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
}

/// Only passages over one stage: no step can be told from its neighbours.
#[test]
fn what_no_passage_parts_has_limits_and_no_value_and_is_in_no_ranking() {
    let review = with_weeks(|cell, row| {
        let over_one = cell[4] == cell[3] + 2 && cell[3] <= 2;
        (cell, if over_one || cell[3] == cell[4] { row } else { [0, 0] })
    });
    let open = step(&review, "entry", "assembly to system-test");
    assert!(open.estimate.is_none() && open.low.is_some() && open.high.is_some(), "{open:?}");
    assert!(open.flags.contains(&Flag::NotIdentified));
    let saving = step(&review, "point-saving", "assembly to system-test");
    assert_eq!((saving.estimate, own(&review, saving, "rank")), (None, String::new()));
    let share = step(&review, "share-of-dirt", "assembly to system-test");
    assert_eq!(share.estimate, None);
    assert!(step(&review, "entry", "again at maintenance").is_firm());
}

/// Sites are clusters alone: under other numbers nothing but the resamples may move, and they only a
/// little.
#[test]
fn numbering_sites_otherwise_moves_no_estimate_and_no_profile_limit() {
    let sites = demo().review.sites.len() as u32;
    let review = with_weeks(|mut cell, row| {
        cell[2] = sites - 1 - cell[2];
        (cell, row)
    });
    for quantity in ["entry", "entry-less-alarms", "share-of-dirt"] {
        let (before, after) =
            (rows(&demo().review, STEPS, quantity), rows(&review, STEPS, quantity));
        assert_eq!(before.len(), after.len());
        for (before, after) in before.iter().zip(after) {
            let slack = if quantity == "share-of-dirt" { 0.05 } else { 1e-9 };
            for (x, y) in [(before.low, after.low), (before.high, after.high)] {
                assert!((x.unwrap() / y.unwrap() - 1.0).abs() < slack, "{before:?} {after:?}");
            }
            let (x, y) = (before.estimate.unwrap(), after.estimate.unwrap());
            assert!((x / y - 1.0).abs() < 1e-9, "{before:?} {after:?}");
        }
    }
}

#[test]
fn empty_cells_of_passages_change_nothing() {
    let own = &demo().derived.counts;
    let mut counts = own.clone();
    let (cell, _) = counts.entry.weeks.coded()[0];
    let empty = [cell[0], cell[1], cell[2], 5, 5, cell[5], cell[6]];
    add(&mut counts.entry.weeks, empty, [0; 2]);
    add(&mut counts.entry.loads, [cell[0], 5, 5, 0, 7, 8], [0; 4]);
    let (before, after) = (reviewed(own.clone()), reviewed(counts));
    assert_eq!(before.entry.rows, after.entry.rows);
}

/// Without a price there is nothing to save; without skipped looks only the cleaning.
#[test]
fn without_faults_after_skipped_looks_the_cleaning_alone_is_saved_and_not_ranked() {
    let own_counts = &demo().derived.counts;
    let follow_up = changed(&own_counts.followed.follow_up, |cell, mut row| {
        if cell[6] != Coverage::Both as u32 {
            (row[2], row[12]) = (0, 0);
        }
        (cell, row)
    });
    let review = reviewed(with!(own_counts, followed.follow_up = follow_up));
    for row in rows(&review, STEPS, "point-saving") {
        assert_eq!(own(&review, row, "downstream_cost"), "0");
        assert!(row.estimate.unwrap() > 0.0);
        assert!(row.flags.contains(&Flag::Thin) && own(&review, row, "rank").is_empty());
    }
}
