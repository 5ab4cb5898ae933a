//! Carriers: count tables against each other, people left out, other labels, huge counts, none.

use motetrail::derive::counts::{CarrierCounts, Entity, Fate, carrier_trials};
use motetrail::derive::{CarrierKind, Counts};
use motetrail::measures::Review;
use motetrail::measures::carriers::{By, Carrier, Outcome, Quantity, Row, Verdict};
use motetrail::stats::hypergeometric::{DrawCell, draw_tail};

use super::changed::{each_figure, recounted, reviewed, with};
use crate::review::demo::{demo, demo_under};

fn entities(review: &Review) -> Vec<&Row> {
    review.carriers.rows_of(By::KindEntity, Quantity::AgainstOthers).collect()
}

/// The entities of one kind.
fn of_kind(review: &Review, kind: Carrier) -> Vec<&Row> {
    let mut rows = entities(review);
    rows.retain(|row| row.own.kind == Some(kind));
    rows
}

fn kinds(review: &Review) -> Vec<&Row> {
    review.carriers.rows_of(By::Kind, Quantity::Listed).collect()
}

fn name(row: &Row) -> &str {
    row.own.entity.as_deref().unwrap()
}

#[test]
fn every_kind_has_a_row_and_lists_no_more_than_it_tests() {
    let review = &demo().review;
    let listed: Vec<Carrier> = kinds(review).iter().map(|row| row.own.kind.unwrap()).collect();
    assert_eq!(listed, Carrier::ALL);
    for row in kinds(review) {
        let (tested, listed) = (row.own.tested.unwrap(), row.own.listed.unwrap());
        assert!(row.n > 0.0 && tested > 0 && listed <= tested, "{row:?}");
        assert!(row.own.dispersion.unwrap() >= 1.0);
        let kind = row.own.kind.unwrap();
        if kind == Carrier::Operator {
            continue;
        }
        let (mut yes, mut tried) = (0, 0);
        for row in of_kind(review, kind) {
            let verdict = row.own.carrier.unwrap();
            yes += u64::from(verdict == Verdict::Listed);
            tried += u64::from(verdict != Verdict::NotTested);
            assert_eq!(verdict == Verdict::NotTested, row.n < 20.0, "{row:?}");
        }
        assert_eq!((yes, tried), (listed, tested), "{kind:?}");
    }
}

/// The words of the table are those of the count tables.
#[test]
fn kinds_and_fates_are_called_in_the_table_what_they_are_counted_as() {
    for kind in CarrierKind::ALL {
        assert_eq!(Carrier::from(*kind).word(), kind.word());
    }
    for fate in Fate::ALL {
        assert_eq!(Outcome::from(*fate).word(), fate.word());
    }
}

/// Promise 7: without the settings' word people are counted, and not one is shown.
#[test]
fn no_person_is_shown_unless_the_settings_say_so() {
    let operators = |review: &Review| of_kind(review, Carrier::Operator).len() as u64;
    assert_eq!(operators(&demo().review), 0);
    let shown = demo_under(|rules| rules.show_people = true);
    let tested = |review: &Review| {
        let rows = kinds(review);
        let row = rows.iter().find(|row| row.own.kind == Some(Carrier::Operator)).unwrap();
        row.own.tested.unwrap()
    };
    assert!(operators(&shown) >= tested(&shown) && tested(&shown) > 3);
    assert_eq!(tested(&shown), tested(&demo().review));
}

/// Trials of all entities of a kind are those of its cells, counted by other code.
#[test]
fn trials_of_entities_add_up_to_those_of_cells() {
    let counts = &demo().derived.counts.carriers;
    let mut cells = counts.cells.cells();
    for kind in CarrierKind::ALL.iter().filter(|kind| **kind != CarrierKind::EndFace) {
        let trials = counts.trials.cells().into_iter().filter(|(cell, _)| cell.kind == *kind);
        let by_entity: i64 = trials.map(|(_, row)| row.trials).sum();
        let of_kind = cells.iter().filter(|(cell, _)| cell.kind == *kind);
        let by_cell: i64 = of_kind.map(|(_, row)| row.trials).sum();
        assert!(by_entity > 0 && by_entity == by_cell, "{kind:?}: {by_entity} {by_cell}");
    }
    let mut exposures = counts.exposures.cells();
    exposures.retain(|(cell, _)| matches!(cell.fate, Fate::Clean | Fate::Contaminated));
    let exposed: i64 = exposures.iter().map(|(_, row)| row.ends).sum();
    cells.retain(|(cell, _)| cell.kind == CarrierKind::EndFace);
    let tried: i64 = cells.iter().map(|(_, row)| row.trials).sum();
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
    let all = counts.cells.cells();
    for row in of_kind(review, Carrier::ToolSoiling) {
        if row.own.carrier == Some(Verdict::NotTested) {
            continue;
        }
        let code = devices.find(name(row)).unwrap();
        let (mut cells, mut dirty) = (Vec::new(), 0);
        for (cell, trials) in counts.trials.cells() {
            if (cell.kind, cell.entity.0) != (CarrierKind::ToolSoiling, code) {
                continue;
            }
            let of_all = all.iter().find(|(at, _)| *at == cell.without_entity()).unwrap().1;
            if of_all.trials > trials.trials {
                let [total, marked, drawn] =
                    [of_all.trials, of_all.dirty, trials.trials].map(|count| count as u64);
                cells.push(DrawCell { total, marked, drawn });
                dirty += trials.dirty as u64;
            }
        }
        let want = draw_tail(&cells, dirty).p;
        assert!((row.own.p_exact.unwrap() / want).ln().abs() < 1e-9, "{row:?}");
        compared += 1;
    }
    assert!(compared > 5, "{compared}");
}

/// Both tests must agree before anybody is listed.
#[test]
fn listed_is_only_who_stands_out_under_both_tests() {
    let review = &demo().review;
    let listed: Vec<&Row> = entities(review)
        .into_iter()
        .filter(|row| row.own.carrier == Some(Verdict::Listed))
        .collect();
    for row in &listed {
        assert!(row.own.q_exact.unwrap() <= 0.05 && row.own.q_dispersed.unwrap() <= 0.05);
        assert!(row.estimate.unwrap() > 1.0 && row.is_firm());
    }
    assert!(listed.len() >= 3);
    assert_eq!(review.carriers.listed().collect::<Vec<_>>(), listed);
}

#[test]
fn touches_stand_in_time_order_and_only_for_the_listed() {
    let review = &demo().review;
    let listed: Vec<&str> = review.carriers.listed().map(name).collect();
    let mut before = (String::new(), String::new());
    let mut met = 0;
    for row in review.carriers.rows_of(By::EntityPartner, Quantity::Touch) {
        let now = (name(row).to_owned(), row.group.time.clone().unwrap());
        assert!(listed.contains(&name(row)), "{row:?}");
        assert!(now.0 != before.0 || now.1 >= before.1, "{row:?}");
        if row.own.inspect.unwrap() {
            assert_eq!((row.own.in_service, row.own.since_cleaned), (Some(true), Some(true)));
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
    let is_device = |kind: CarrierKind| {
        let devices =
            [CarrierKind::Instrument, CarrierKind::ToolCleaning, CarrierKind::ToolSoiling];
        devices.contains(&kind)
    };
    let mut used = counts.trials.cells();
    used.retain(|(cell, _)| is_device(cell.kind));
    let codes = || used.iter().map(|(cell, _)| cell.entity.0);
    let (least, most) = (codes().min().unwrap(), codes().max().unwrap());
    let trials = recounted(&counts.trials, |cell, row| match is_device(cell.kind) {
        true => (carrier_trials::Key { entity: Entity(least + most - cell.entity.0), ..cell }, row),
        false => (cell, row),
    });
    let review = reviewed(with!(own.counts, carriers.trials = trials));
    // The names now belong to others, the numbers do not change.
    let numbers = |review: &Review| {
        let rows = of_kind(review, Carrier::Instrument).into_iter();
        let mut all: Vec<String> =
            rows.map(|row| format!("{} {:?} {:?}", row.n, row.estimate, row.own.p_exact)).collect();
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
        let more = |count: i64| count.saturating_mul(factor);
        let mut faces = own.carriers.faces.clone();
        for (_, row) in faces.iter_mut().flat_map(|face| &mut face.cells) {
            (row.trials, row.dirty) = (more(row.trials), more(row.dirty));
        }
        let carriers = CarrierCounts {
            trials: each_figure(&own.carriers.trials, more),
            cells: each_figure(&own.carriers.cells, more),
            orders: each_figure(&own.carriers.orders, more),
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
    let soiling = |kind: CarrierKind| kind == CarrierKind::ToolSoiling;
    let trials = recounted(&counts.trials, |cell, row| {
        let others = soiling(cell.kind) && cell.entity != Entity(tool);
        (cell, carrier_trials::Row { dirty: if others { 0 } else { row.dirty }, ..row })
    });
    let mut cells = recounted(&counts.cells, |cell, row| {
        (cell, if soiling(cell.kind) { carrier_trials::Row::default() } else { row })
    });
    for (cell, row) in trials.cells().into_iter().filter(|(cell, _)| soiling(cell.kind)) {
        cells.add(Some(cell.without_entity()), row);
    }
    let review = reviewed(with!(own.counts, carriers.trials = trials, carriers.cells = cells));
    let tools = of_kind(&review, Carrier::ToolSoiling);
    let row = tools.into_iter().find(|row| row.own.rank == Some(1)).unwrap();
    assert_eq!(name(row), "CW-DRY-2");
    assert!(row.estimate.is_none() && row.high.is_none() && row.low.unwrap() > 2.0, "{row:?}");
    assert!(row.is_firm());
}
