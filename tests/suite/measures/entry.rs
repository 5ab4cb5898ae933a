//! Entry: laws of the table on the demo, figures worked out again by hand, and what other counts do to
//! it.

use motetrail::derive::Coverage;
use motetrail::derive::counts::passage_weeks::{Key as Week, Row as Passages};
use motetrail::derive::counts::{
    AfterFault, Cap, CycleNo, DayClass, FromStage, MatingClass, PassageKind, Site, Stage, View,
    VisitRow, follow_up, passage_loads, week_prices,
};
use motetrail::measures::entry::{By, Quantity, Reason, Row, Step, Steps};
use motetrail::measures::results::Money;
use motetrail::measures::{Flag, Review, skipped_cost};

use super::changed::{recounted, reviewed, with};
use super::ticket_prices::{cost_of, whole_quarters};
use crate::review::demo::demo;

fn rows(review: &Review, by: By, quantity: Quantity) -> Vec<&Row> {
    review.entry.rows_of(by, quantity).collect()
}

/// A step from one stage to another, or the repeat of one.
fn step(from: &str, to: &str) -> Step {
    Step { from: from.to_owned(), to: to.to_owned() }
}

/// The row of these steps.
fn row_of<'a>(review: &'a Review, quantity: Quantity, steps: &[Step]) -> &'a Row {
    let is_of = |row: &&Row| row.own.steps.as_ref().is_some_and(|own| own.0 == steps);
    let found = rows(review, By::Step, quantity).into_iter().find(is_of);
    found.unwrap_or_else(|| panic!("no {quantity:?} of {steps:?}"))
}

/// The demo with its passages by site-week changed.
fn with_weeks(change: impl Fn(Week, Passages) -> (Week, Passages)) -> Review {
    let own = &demo().derived.counts;
    let weeks = recounted(&own.entry.weeks, change);
    reviewed(with!(own, entry.weeks = weeks))
}

#[test]
fn all_dirt_is_shared_out() {
    let shares = rows(&demo().review, By::Step, Quantity::ShareOfDirt);
    let sum: f64 = shares.iter().map(|row| row.estimate.unwrap()).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
}

/// Repeats stand alone: their chance is the share of dirty passages, whatever the steps do.
#[test]
fn a_repeat_is_a_plain_share_of_its_passages() {
    let demo = demo();
    let stage = demo.derived.glossary.stage.0.find("line-upkeep").unwrap();
    let mut weeks = demo.derived.counts.entry.weeks.cells();
    weeks.retain(|(cell, _)| (cell.from.0, cell.stage.0) == (stage, stage));
    let n: i64 = weeks.iter().map(|(_, row)| row.passages).sum();
    let dirty: i64 = weeks.iter().map(|(_, row)| row.dirty).sum();
    let row = row_of(&demo.review, Quantity::Entry, &[step("line-upkeep", "line-upkeep")]);
    assert_eq!((row.n, row.events), (n as f64, Some(dirty)));
    assert!((row.estimate.unwrap() - dirty as f64 / n as f64).abs() < 1e-9);
}

#[test]
fn passages_by_cap_add_up_to_the_fleet() {
    let review = &demo().review;
    for whole in rows(review, By::Step, Quantity::Entry) {
        let mut parts = rows(review, By::StepCapped, Quantity::Entry);
        parts.retain(|row| row.own.steps == whole.own.steps);
        let n: f64 = parts.iter().map(|row| row.n).sum();
        assert!(parts.len() >= 2 && n == whole.n, "{n} of {whole:?}");
    }
}

#[test]
fn pairs_of_visits_are_all_accounted_for() {
    let kinds = rows(&demo().review, By::Reason, Quantity::Passages);
    let all: i64 = kinds.iter().map(|row| row.events.unwrap()).sum();
    assert!(kinds.iter().all(|row| row.n as i64 == all) && kinds.len() >= 5);
    let routine = kinds.iter().find(|row| row.own.reason == Some(Reason::Routine)).unwrap();
    // Cells alone: what is off the table was before the look-back.
    let weeks = demo().derived.counts.entry.weeks.cells();
    assert_eq!(routine.events, Some(weeks.iter().map(|(_, row)| row.passages).sum()));
}

/// The words of the table are those of the count tables.
#[test]
fn pairs_of_visits_are_called_in_the_table_what_they_are_counted_as() {
    for kind in PassageKind::ALL {
        assert_eq!(Reason::from(*kind).word(), kind.word());
    }
}

#[test]
fn steps_are_written_as_from_one_stage_to_another_or_again_at_one() {
    let steps = Steps(vec![step("a", "b"), step("b", "c")]);
    assert_eq!(steps.to_string(), "a to b + b to c");
    assert_eq!(Steps(vec![step("b", "b")]).to_string(), "again at b");
}

/// What an avoided point saves at the repeat of line-upkeep, by hand from other count tables. Faults and the unseen ends
/// that they are shared out over are of matings that have run their horizon.
#[test]
fn an_avoided_point_saves_what_dirty_arrivals_cost() {
    let demo = demo();
    let (derived, review) = (&demo.derived, &demo.review);
    let stage = derived.glossary.stage.0.find("line-upkeep").unwrap();
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
    for (cell, row) in derived.counts.cleaning.cycles.cells() {
        let here = back.contains(&cell.quarter.0) && cell.stage.0 == stage;
        if here && cell.view == View::All {
            let CycleNo(cycles) = cell.cycle;
            let left = (row.passed + row.rejected + row.left + row.censored) as f64;
            visits += left;
            cost += left * f64::from(cycles) * look
                + row.cleanings as f64 * cleaning
                + row.rejected as f64 * price("reject");
        }
    }
    let sums = |pairs: &mut dyn Iterator<Item = [i64; 2]>| -> [f64; 2] {
        pairs.fold([0.0; 2], |sum, pair| [sum[0] + pair[0] as f64, sum[1] + pair[1] as f64])
    };
    let counts = &derived.counts;
    let matings = counts.coverage.matings.cells().into_iter().filter(|(cell, _)| {
        let here = back.contains(&cell.quarter.0) && cell.stage.0 == stage;
        here && !matches!(cell.coverage, Coverage::Unknown | Coverage::Apart)
    });
    let [made, unseen_ends] = sums(&mut matings.map(|(_, row)| [row.matings, row.unseen_ends]));
    let whole = whole_quarters();
    let is_skipped = |class: Coverage| matches!(class, Coverage::One | Coverage::None);
    let faults = counts.followed.follow_up.cells().into_iter().filter(|(cell, _)| {
        let here = whole.contains(&cell.quarter.0) && cell.stage.0 == stage;
        here && is_skipped(cell.coverage) && cell.after_fault == AfterFault::No
    });
    let [ends, _] = sums(&mut faults.map(|(_, row)| [row.unseen_ends, 0]));
    let (fault_cost, _) = cost_of(|cell| {
        let here = whole.contains(&cell.quarter.0) && cell.stage.0 == stage;
        here && is_skipped(cell.coverage)
    });
    let looks = counts.first_pass.visits.cells().into_iter().filter(|(cell, _)| {
        let here = back.contains(&cell.quarter.0) && cell.stage.0 == stage;
        here && cell.row == VisitRow::Routine
    });
    let [looked, contaminated] = sums(&mut looks.map(|(_, row)| [row.looks, row.contaminated]));
    let attributable = skipped_cost::Quantity::AttributableCost;
    let mut fleet = demo.review.skipped_cost.rows_of(skipped_cost::By::Fleet, attributable);
    let skipped = Some(skipped_cost::Exposure::Skipped);
    let fleet = fleet.find(|row| row.own.exposure == skipped).unwrap();
    let share = fleet.estimate.unwrap() / fleet.own.fault_cost.unwrap().0 as f64;
    let unseen = unseen_ends / (2.0 * made);
    let each = share * fault_cost / ends / (contaminated / looked) * unseen / (1.0 - unseen);
    let row = row_of(review, Quantity::PointSaving, &[step("line-upkeep", "line-upkeep")]);
    let wanted = row.n * 0.01 * (cost / visits + each);
    assert!((row.estimate.unwrap() - wanted).abs() < 1.0, "{row:?} against {wanted}");
    assert_eq!(row.own.rank, Some(1));
}

#[test]
fn savings_are_ranked_and_say_how_sure_the_first_is() {
    let savings = rows(&demo().review, By::Step, Quantity::PointSaving);
    assert!(savings.is_sorted_by(|a, b| a.estimate >= b.estimate));
    let first: f64 = savings.iter().map(|row| row.own.probability.unwrap()).sum();
    assert!((first - 1.0).abs() < 1e-9, "{first}");
}

/// Without passages that begin or end at frame-shop its two steps are only passed together.
#[test]
fn steps_that_are_always_passed_together_stand_as_their_sum() {
    let shop = demo().derived.glossary.stage.0.find("frame-shop").unwrap();
    let review = with_weeks(|cell, row| match [cell.from.0, cell.stage.0].contains(&shop) {
        true => (cell, Passages::default()),
        false => (cell, row),
    });
    let steps = [step("cord-shop", "frame-shop"), step("frame-shop", "test-bay")];
    let sum = row_of(&review, Quantity::Entry, &steps);
    assert!(sum.is_firm() && sum.estimate.is_some());
    assert_eq!(sum.own.from.as_deref(), Some("cord-shop"));
    assert_eq!(sum.group.stage.as_deref(), Some("test-bay"));
    assert_eq!(sum.own.reason, Some(Reason::Summed));
    let shares = rows(&review, By::Step, Quantity::ShareOfDirt);
    let shares: f64 = shares.iter().map(|row| row.estimate.unwrap()).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
}

/// Only passages over one stage: no step can be told from its neighbours.
#[test]
fn what_no_passage_parts_has_limits_and_no_value_and_is_in_no_ranking() {
    let review = with_weeks(|cell, row| {
        let (from, to) = (cell.from.0, cell.stage.0);
        let over_one = to == from + 2 && from <= 2;
        (cell, if over_one || from == to { row } else { Passages::default() })
    });
    let steps = [step("frame-shop", "test-bay")];
    let open = row_of(&review, Quantity::Entry, &steps);
    assert!(open.estimate.is_none() && open.low.is_some() && open.high.is_some(), "{open:?}");
    assert!(open.flags.contains(&Flag::NotIdentified));
    assert_eq!(open.own.reason, Some(Reason::NotParted));
    let saving = row_of(&review, Quantity::PointSaving, &steps);
    assert_eq!((saving.estimate, saving.own.rank), (None, None));
    assert_eq!(row_of(&review, Quantity::ShareOfDirt, &steps).estimate, None);
    let repeat = [step("line-upkeep", "line-upkeep")];
    assert!(row_of(&review, Quantity::Entry, &repeat).is_firm());
}

/// Sites are clusters alone: under other numbers nothing but the resamples may move, and they only a
/// little.
#[test]
fn numbering_sites_otherwise_moves_no_estimate_and_no_profile_limit() {
    let sites = demo().review.sites.len() as u32;
    let review =
        with_weeks(|cell, row| (Week { site: Site(sites - 1 - cell.site.0), ..cell }, row));
    for quantity in [Quantity::Entry, Quantity::EntryLessAlarms, Quantity::ShareOfDirt] {
        let (before, after) =
            (rows(&demo().review, By::Step, quantity), rows(&review, By::Step, quantity));
        assert_eq!(before.len(), after.len());
        for (before, after) in before.iter().zip(after) {
            let slack = if quantity == Quantity::ShareOfDirt { 0.05 } else { 1e-9 };
            for (x, y) in [(before.low, after.low), (before.high, after.high)] {
                assert!((x.unwrap() / y.unwrap() - 1.0).abs() < slack, "{before:?} {after:?}");
            }
            let (x, y) = (before.estimate.unwrap(), after.estimate.unwrap());
            assert!((x / y - 1.0).abs() < 1e-9, "{before:?} {after:?}");
        }
    }
}

/// A step that nobody went is no row while its cells are empty, and one as soon as somebody did.
#[test]
fn empty_cells_of_passages_change_nothing_and_a_passage_in_them_does() {
    let counts = &demo().derived.counts;
    let (cell, _) = counts.entry.weeks.cells()[0];
    let (from, stage) = (FromStage(5), Stage(5));
    let taken = |(cell, _): &(Week, Passages)| (cell.from, cell.stage) == (from, stage);
    assert!(!counts.entry.weeks.cells().iter().any(taken));
    let load = passage_loads::Key {
        quarter: cell.quarter,
        from,
        stage,
        capped: Cap::Unknown,
        matings: MatingClass::TenAndMore,
        days: DayClass::Over365,
    };
    let with = |passages: Passages, row: passage_loads::Row| {
        let mut counts = counts.clone();
        counts.entry.weeks.add(Some(Week { from, stage, ..cell }), passages);
        counts.entry.loads.add(Some(load), row);
        reviewed(counts)
    };
    let before = &demo().review;
    let empty = with(Passages::default(), passage_loads::Row::default());
    assert_eq!(before.entry.rows, empty.entry.rows);
    let row = passage_loads::Row { passages: 40, dirty: 4, matings_between: 480, seconds: 1 << 30 };
    let filled = with(Passages { passages: 40, dirty: 4 }, row);
    assert!(filled.entry.rows.len() > before.entry.rows.len());
}

/// Without a price there is nothing to save; without skipped looks only the cleaning.
#[test]
fn without_faults_after_skipped_looks_the_cleaning_alone_is_saved_and_not_ranked() {
    let own_counts = &demo().derived.counts;
    let follow_up = recounted(&own_counts.followed.follow_up, |cell, row| {
        let seen = cell.coverage == Coverage::Both;
        (cell, if seen { row } else { follow_up::Row { linked: 0, ..row } })
    });
    let prices = recounted(&own_counts.prices.week_prices, |cell, row| {
        let seen = cell.coverage == Coverage::Both;
        (cell, if seen { row } else { week_prices::Row::default() })
    });
    let changed = with!(own_counts, followed.follow_up = follow_up, prices.week_prices = prices);
    let review = reviewed(changed);
    for row in rows(&review, By::Step, Quantity::PointSaving) {
        assert_eq!(row.own.downstream_cost, Some(Money(0)));
        assert_eq!(row.own.reason, Some(Reason::CleaningAlone));
        assert!(row.estimate.unwrap() > 0.0);
        assert!(row.flags.contains(&Flag::Thin) && row.own.rank.is_none());
    }
}
