//! Carriers: count tables against each other, people left out, other labels, huge counts, none.

use motetrail::derive::Counts;
use motetrail::derive::counts::CarrierCounts;
use motetrail::measures::{Review, Row, Value};
use motetrail::stats::hypergeometric::{DrawCell, draw_tail};

use super::changed::{add, changed, reviewed, with};
use crate::review::demo::{demo, demo_under};

fn entities(review: &Review) -> Vec<&Row> {
    review.carriers.rows_of("kind+entity", "against-others").collect()
}

fn kinds(review: &Review) -> Vec<&Row> {
    review.carriers.rows_of("kind", "carriers-listed").collect()
}

fn text(review: &Review, row: &Row, column: &str) -> String {
    match review.carriers.own(row, column) {
        Value::Text(text) => text.clone(),
        Value::Count(count) => count.to_string(),
        Value::Number(number) => number.to_string(),
        Value::Missing | Value::Money(_) => String::new(),
    }
}

fn number(review: &Review, row: &Row, column: &str) -> f64 {
    text(review, row, column).parse().unwrap_or_else(|_| panic!("{column} of {row:?}"))
}

#[test]
fn every_kind_has_a_row_and_lists_no_more_than_it_tests() {
    let review = &demo().review;
    let words: Vec<String> = kinds(review).iter().map(|row| text(review, row, "kind")).collect();
    let all = ["end-face", "operator", "supplier", "instrument", "tool-cleaning", "tool-soiling"];
    assert_eq!(words, all);
    for row in kinds(review) {
        let (tested, listed) = (number(review, row, "tested"), number(review, row, "listed"));
        assert!(row.n > 0.0 && tested > 0.0 && listed <= tested, "{row:?}");
        assert!(number(review, row, "dispersion") >= 1.0);
        let kind = text(review, row, "kind");
        if kind == "operator" {
            continue;
        }
        let of = entities(review).into_iter().filter(|row| text(review, row, "kind") == kind);
        let (mut yes, mut tried) = (0.0, 0.0);
        for row in of {
            let carrier = text(review, row, "carrier");
            yes += f64::from(u8::from(carrier == "yes"));
            tried += f64::from(u8::from(carrier != "not tested"));
            assert_eq!(carrier == "not tested", row.n < 20.0, "{row:?}");
        }
        assert_eq!((yes, tried), (listed, tested), "{kind}");
    }
}

/// Promise 7: without the settings' word people are counted, and not one is shown.
#[test]
fn no_person_is_shown_unless_the_settings_say_so() {
    let operators = |review: &Review| {
        let rows = entities(review).into_iter();
        rows.filter(|row| text(review, row, "kind") == "operator").count()
    };
    assert_eq!(operators(&demo().review), 0);
    let shown = demo_under(|rules| rules.show_people = true);
    let tested = |review: &Review| {
        let rows = kinds(review);
        let row = rows.iter().find(|row| text(review, row, "kind") == "operator").unwrap();
        number(review, row, "tested")
    };
    assert!(operators(&shown) as f64 >= tested(&shown) && tested(&shown) > 3.0);
    assert_eq!(tested(&shown), tested(&demo().review));
}

/// Trials of all entities of a kind are those of its cells, counted by other code.
#[test]
fn trials_of_entities_add_up_to_those_of_cells() {
    let counts = &demo().derived.counts.carriers;
    for kind in 1..6 {
        let by_entity: i64 = counts
            .trials
            .coded()
            .iter()
            .filter(|(cell, _)| cell[0] == kind)
            .map(|(_, row)| row[0])
            .sum();
        let by_cell: i64 = counts
            .cells
            .coded()
            .iter()
            .filter(|(cell, _)| cell[0] == kind)
            .map(|(_, row)| row[0])
            .sum();
        assert!(by_entity > 0 && by_entity == by_cell, "{kind}: {by_entity} {by_cell}");
    }
    let exposed: i64 = counts
        .exposures
        .coded()
        .iter()
        .filter(|(cell, _)| cell[1] < 2)
        .map(|(_, row)| row[0])
        .sum();
    let tried: i64 =
        counts.cells.coded().iter().filter(|(cell, _)| cell[0] == 0).map(|(_, row)| row[0]).sum();
    // An exposure whose other end is not identified is no trial of an end face.
    assert!(tried > 0 && tried <= exposed, "{tried} {exposed}");
}

/// The exact p value of a row, computed here from the count tables.
#[test]
fn exact_p_values_are_those_of_the_counts() {
    let review = &demo().review;
    let counts = &demo().derived.counts.carriers;
    let devices = &demo().derived.glossary.device.0;
    let mut compared = 0;
    for row in entities(review) {
        if text(review, row, "kind") != "tool-soiling"
            || text(review, row, "carrier") == "not tested"
        {
            continue;
        }
        let code = devices.find(&text(review, row, "entity")).unwrap();
        let (mut cells, mut dirty) = (Vec::new(), 0);
        for (cell, own) in counts.trials.coded() {
            let [kind, entity, rest @ ..] = cell;
            if (kind, entity) != (5, code) {
                continue;
            }
            let all = counts.cells.coded();
            let total = all.iter().find(|(at, _)| at[0] == 5 && at[1..] == rest).unwrap().1;
            if total[0] > own[0] {
                let [total, marked] = total.map(|count| count as u64);
                cells.push(DrawCell { total, marked, drawn: own[0] as u64 });
                dirty += own[1] as u64;
            }
        }
        let want = draw_tail(&cells, dirty).p;
        assert!((number(review, row, "p_exact") / want).ln().abs() < 1e-9, "{row:?}");
        compared += 1;
    }
    assert!(compared > 5, "{compared}");
}

/// Both tests must agree before anybody is listed.
#[test]
fn listed_is_only_who_stands_out_under_both_tests() {
    let review = &demo().review;
    let mut listed = 0;
    for row in entities(review).iter().filter(|row| text(review, row, "carrier") == "yes") {
        assert!(
            number(review, row, "q_exact") <= 0.05 && number(review, row, "q_dispersed") <= 0.05
        );
        assert!(row.estimate.unwrap() > 1.0 && row.is_firm());
        listed += 1;
    }
    assert!(listed >= 3);
}

#[test]
fn touches_stand_in_time_order_and_only_for_the_listed() {
    let review = &demo().review;
    let mut before = (String::new(), String::new());
    let mut met = 0;
    for row in review.carriers.rows_of("entity+partner", "touch") {
        let now = (text(review, row, "entity"), row.group.time.clone().unwrap());
        assert!(now.0 != before.0 || now.1 >= before.1, "{row:?}");
        if text(review, row, "inspect") == "yes" {
            assert_eq!(text(review, row, "in_service"), "yes");
            assert_eq!(text(review, row, "since_cleaned"), "yes");
        }
        before = now;
        met += 1;
    }
    assert!(met > 40, "{met}");
}

/// Codes are the order in which threads met words: other codes, the same table.
#[test]
fn other_codes_of_entities_change_nothing() {
    let own = &demo().derived;
    // Tools and instruments share a list: turn the codes of those tried round, names with them.
    let counts = &own.counts.carriers;
    let used: Vec<u32> = counts
        .trials
        .coded()
        .iter()
        .filter(|(cell, _)| cell[0] >= 3)
        .map(|(cell, _)| cell[1])
        .collect();
    let (least, most) = (*used.iter().min().unwrap(), *used.iter().max().unwrap());
    let turned =
        |code: u32| if (least..=most).contains(&code) { least + most - code } else { code };
    let trials = changed(&counts.trials, |mut cell, row| {
        if cell[0] >= 3 {
            cell[1] = turned(cell[1]);
        }
        (cell, row)
    });
    let review = reviewed(with!(own.counts, carriers.trials = trials));
    // The names now belong to others, the numbers do not change.
    let numbers = |review: &Review| {
        let mut all: Vec<String> = entities(review)
            .iter()
            .filter(|row| text(review, row, "kind") == "instrument")
            .map(|row| format!("{} {:?} {}", row.n, row.estimate, text(review, row, "p_exact")))
            .collect();
        all.sort();
        all
    };
    assert_eq!(numbers(&review), numbers(&demo().review));
    assert!(numbers(&review).len() > 3);
}

/// Nothing counted, and counts far beyond any fleet's.
#[test]
fn no_counts_and_huge_counts_give_numbers() {
    let empty = reviewed(Counts::empty(0));
    assert_eq!((kinds(&empty).len(), entities(&empty).len()), (6, 0));
    let own = &demo().derived.counts;
    for factor in [1_000_000, 1_000_000_000_000] {
        let more = |row: [i64; 2]| row.map(|count| count.saturating_mul(factor));
        let mut faces = own.carriers.faces.clone();
        for (_, row) in faces.iter_mut().flat_map(|face| &mut face.cells) {
            row.trials = row.trials.saturating_mul(factor);
            row.dirty = row.dirty.saturating_mul(factor);
        }
        let carriers = CarrierCounts {
            trials: changed(&own.carriers.trials, |cell, row| (cell, more(row))),
            cells: changed(&own.carriers.cells, |cell, row| (cell, more(row))),
            orders: changed(&own.carriers.orders, |cell, row| (cell, more(row))),
            faces,
            ..own.carriers.clone()
        };
        let review = reviewed(with!(own, carriers = carriers));
        assert!(entities(&review).len() > 20);
        for row in entities(&review) {
            let numbers = [row.low, row.estimate, row.high];
            assert!(numbers.into_iter().flatten().all(|x| x.is_finite() && x >= 0.0), "{row:?}");
            assert!(row.n.is_finite());
        }
    }
}

/// A lead that left dirt where the others left none has no ratio, and is listed with its low limit.
#[test]
fn who_alone_left_dirt_is_listed_without_a_ratio() {
    let own = &demo().derived;
    let counts = &own.counts.carriers;
    let tool = own.glossary.device.0.find("CW-DRY-2").unwrap();
    let alone = |[kind, entity]: [u32; 2], row: [i64; 2]| match (kind, entity == tool) {
        (5, false) => [row[0], 0],
        _ => row,
    };
    let trials = changed(&counts.trials, |cell, row| (cell, alone([cell[0], cell[1]], row)));
    let mut cells =
        changed(&counts.cells, |cell, row| (cell, if cell[0] == 5 { [0, 0] } else { row }));
    for (cell, row) in trials.coded().into_iter().filter(|(cell, _)| cell[0] == 5) {
        let [kind, _, stage, family, side, site, method, cycle] = cell;
        add(&mut cells, [kind, stage, family, side, site, method, cycle], row);
    }
    let review = reviewed(with!(own.counts, carriers.trials = trials, carriers.cells = cells));
    let row = entities(&review)
        .into_iter()
        .find(|row| {
            text(&review, row, "kind") == "tool-soiling" && text(&review, row, "rank") == "1"
        })
        .unwrap();
    assert_eq!(text(&review, row, "entity"), "CW-DRY-2");
    assert!(row.estimate.is_none() && row.high.is_none() && row.low.unwrap() > 2.0, "{row:?}");
    assert!(row.is_firm());
}
