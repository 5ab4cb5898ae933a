//! Two actions that a fleet was drawn with: the one that is followed by a change is found, the one after a bad quarter is not
//! taken for one.

use motetrail::measures::actions::{Moves, Quantity, Reading, Row};
use motetrail::measures::{Flag, looks_plan};
use motetrail::synth::{Departures, Recipe};

use super::{Exports, recipe};

/// Twelve numbered sites: four with each action, four with none.
fn fleet(seed: u64) -> Recipe {
    let departures =
        Departures { action_works: Some(0.6), action_idle: Some(0.5), ..Departures::default() };
    Recipe { sites: 12, inspections: 40_000, ..recipe(seed, departures) }
}

fn of<'a>(rows: impl Iterator<Item = &'a Row>, word: &str) -> &'a Row {
    let mut named =
        rows.filter(|row| row.own.action.as_ref().is_some_and(|name| name.contains(word)));
    named.next().unwrap_or_else(|| panic!("no row of {word}"))
}

/// Of innocent months before a start one test in twenty speaks up by chance: not of two fleets in three.
#[test]
fn an_action_that_works_is_found_and_one_after_a_bad_quarter_is_not_taken_for_one() {
    let (mut firm, mut chosen, mut priced) = (0, 0, 0);
    for seed in [3, 5, 8] {
        let exports = Exports::of(&fleet(seed));
        let reviewed = exports.review();
        let table = &reviewed.review.actions;
        let works = of(table.leading_rows(), "work order");
        assert_eq!(works.own.moves, Some(Moves::Skipped));
        assert!(works.high.unwrap() < 0.0 && works.own.p.unwrap() < 0.05, "{works:?}");
        // Planted: six of ten skipped matings less, of about a third that are routine and skipped.
        assert!((-0.3..-0.08).contains(&works.estimate.unwrap()), "{works:?}");
        let placebo = table.reading(works, Reading::Placebo);
        if works.is_firm() {
            firm += 1;
            assert!(placebo.is_none_or(|row| row.own.p.unwrap() > 0.05), "{placebo:?}");
        }
        // Where the fleet's saving is not firm, a skipped mating has no price.
        if let Some(worth) = table.worth(works) {
            priced += 1;
            assert!(worth.own.cost.unwrap().0 == 450_000);
        }
        let idle = of(table.leading_rows(), "Reminder");
        assert!(!idle.is_firm() || idle.high.unwrap() > 0.0, "{idle:?}");
        if idle.flags.contains(&Flag::ChosenWhenBad) {
            chosen += 1;
            let without = table.reading(idle, Reading::WithoutQuarter).unwrap();
            // Where the months before went another way, it is no finding.
            let flagged = without.flags.contains(&Flag::NotParallel);
            assert!(flagged || without.own.p.unwrap() > 0.05, "{without:?}");
            let holds_none = without.low.unwrap() < 0.0 && without.high.unwrap() > 0.0;
            assert!(flagged || holds_none, "{without:?}");
        }
        assert_eq!(table.quantity(Quantity::Ratio).count(), 0);
        let months: Vec<i64> = table.months(works).filter_map(|row| row.own.month).collect();
        let told = months.contains(&-6) && months.contains(&3) && !months.contains(&0);
        assert!(told, "{months:?}");
    }
    assert!(firm >= 2 && chosen >= 2 && priced >= 1, "{firm} {chosen} {priced}");
}

#[test]
fn the_plan_of_looks_keeps_to_its_minutes_and_stops_nowhere() {
    let exports = Exports::of(&fleet(4));
    let reviewed = exports.review_under(|settings| {
        settings + "\n[looks]\nminutes_a_month = 20000\ntravel = true\naccept_percent = \"4.0\"\n"
    });
    let table = &reviewed.review.looks_plan;
    let gain = table.gain().unwrap();
    assert!(gain.own.budget.unwrap() <= 20_000.0 + 1e-6, "{gain:?}");
    let mut cells = 0;
    for row in table.cells() {
        let (now, planned) = (row.own.looks_now.unwrap(), row.own.looks_planned.unwrap());
        let ends = row.own.ends.unwrap();
        cells += 1;
        assert!(planned <= ends + 1e-9 && now <= ends + 1e-9, "{row:?}");
        // Half is kept, or a sample that can give the alarm.
        let sampled = row.own.sample.is_some();
        assert!(sampled || planned >= 0.5 * now - 1e-9, "{row:?}");
        if !row.is_firm() {
            assert_eq!(planned, now, "{row:?}");
            assert_eq!((row.own.rank, row.own.sample), (None, None), "{row:?}");
        }
    }
    assert!(cells > 10, "{cells}");
    // Stages without light have no cell.
    let dark = ["production", "incoming"];
    let stages = table.cells().filter_map(|row| row.group.stage.as_deref());
    assert!(!stages.into_iter().any(|stage| dark.contains(&stage)));
    let suppliers = table.rows_of(looks_plan::By::Supplier, looks_plan::Quantity::DirtyOnReceipt);
    for row in suppliers {
        assert!(
            row.own.sample.unwrap() <= row.own.lot.unwrap() && row.own.regime.is_some(),
            "{row:?}"
        );
    }
}

#[test]
fn without_actions_nothing_is_counted_by_month_and_nothing_is_judged() {
    let exports = Exports::of(&Recipe { inspections: 6_000, ..recipe(2, Departures::default()) });
    let reviewed = exports.review();
    assert!(reviewed.derived.counts.months.visit_months.is_empty());
    assert!(reviewed.derived.counts.months.mating_months.is_empty());
    assert!(reviewed.review.actions.rows.is_empty());
}
