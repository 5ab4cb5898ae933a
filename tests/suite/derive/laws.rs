//! What holds for every fleet: counts add up however the rows are split, nothing depends on the
//! order of files, the number of buckets or threads, and the slow formulation agrees.

use motetrail::derive::counts::{
    CountTable, QuarterNo, SecondLookCounts, Site, Stage, all_to_arrow, second_looks,
};
use motetrail::derive::{Ending, Look, Visit};
use proptest::collection::vec;
use proptest::prelude::*;

use super::fleet::{Fleet, fleet};
use super::random::{Case, FACES, STAGES, case, instant, written, written_half};
use super::seen::{Seen, time};
use super::slow::{self, Told};
use super::slow_faults;

/// Any declared table will do: what holds for one holds for all.
type Table = CountTable<SecondLookCounts>;

fn tally(rows: &[(Option<[u32; 2]>, [i64; 2])]) -> Table {
    let mut table = Table::default();
    for (cell, [looks, failing]) in rows {
        let cell = cell.map(|[quarter, site]| second_looks::Key {
            quarter: QuarterNo(quarter),
            site: Site(site),
            stage: Stage(0),
        });
        table.add(cell, second_looks::Row { looks: *looks, failing: *failing });
    }
    table
}

proptest! {
    #[test]
    fn any_split_of_the_rows_gives_the_same_table(
        rows in vec((proptest::option::of([0u32..4, 0u32..4]), [0i64..1000, -5i64..5]), 0..60),
        cut in 0usize..60,
    ) {
        let (left, right) = rows.split_at(cut.min(rows.len()));
        let whole = tally(&rows);
        prop_assert_eq!(&whole, &tally(left).merge(tally(right)));
        prop_assert_eq!(&whole, &tally(right).merge(tally(left)));
        prop_assert_eq!(&whole, &tally(&[]).merge(tally(&rows)));
        prop_assert_eq!(&whole, &tally(&rows).merge(tally(&[])));
        prop_assert!(whole.check().is_ok());
        let cells = whole.cells();
        let in_cells: i64 = cells.iter().map(|(_, row)| row.looks).sum();
        prop_assert_eq!(in_cells + whole.off_table().looks, whole.total().looks);
        prop_assert_eq!(whole.total().looks, rows.iter().map(|(_, counts)| counts[0]).sum::<i64>());
    }
}

#[test]
fn a_cleared_table_keeps_its_sum_off_the_table() {
    let mut table = tally(&[(Some([1, 2]), [3, 1]), (None, [4, 0])]);
    table.clear();
    assert!(table.is_empty() && table.check().is_ok());
    let sum = second_looks::Row { looks: 7, failing: 1 };
    assert_eq!((table.off_table(), table.total()), (sum, sum));
}

/// All count tables as text: what anything downstream sees, in its order.
fn printed(seen: &Seen) -> Vec<String> {
    let derived = &seen.derived;
    let batches = all_to_arrow(&derived.counts, &derived.glossary, &derived.calendar).unwrap();
    let mut tables: Vec<String> = batches
        .iter()
        .map(|(name, batch)| {
            let schema = batch.schema();
            let columns: Vec<&String> = schema.fields().iter().map(|field| field.name()).collect();
            format!("{name} {columns:?} {:?}", batch.columns())
        })
        .collect();
    tables.sort();
    tables
}

fn derived_with(threads: usize, fleet: &Fleet) -> Seen {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    pool.install(|| fleet.derive())
}

/// The same rows, last first.
fn reversed(case: &Case) -> Case {
    let mut case = case.clone();
    case.work.reverse();
    case.matings.reverse();
    case.tickets.reverse();
    case
}

fn endings(visit: &Visit) -> &'static str {
    match visit.ending {
        Ending::Unverified => "unverified",
        Ending::Rejected => "rejected",
        Ending::Passed => "passed",
        Ending::LeftFailing => "left-failing",
    }
}

/// A visit as the slow formulation tells it.
fn told(seen: &Seen, visit: &Visit) -> Told {
    let passed = |look: Look| look == Look::Pass;
    let stage = seen.derived.glossary.stage.0.word(visit.stage.into());
    let cycles = visit.cycles.iter().map(|cycle| {
        (seen.method(cycle.method).to_owned(), cycle.cleanings as usize, passed(cycle.closed_by))
    });
    (
        (visit.start - instant(0)) / 3_600_000_000,
        STAGES.iter().position(|known| *known == stage).unwrap(),
        visit.first.map(passed),
        cycles.collect(),
        visit.passed_at.map(|cycle| cycle as usize),
        endings(visit),
        visit.cleanings as usize,
    )
}

fn sorted(mut visits: Vec<Told>) -> Vec<Told> {
    visits.sort();
    visits
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..Default::default() })]

    #[test]
    fn the_slow_formulation_agrees_on_every_visit_and_mating(case in case()) {
        let seen = case.fleet(1).derive();
        for (face, name) in FACES.iter().enumerate() {
            let fast = seen.of_face(name).into_iter().map(|visit| told(&seen, visit)).collect();
            prop_assert_eq!(sorted(fast), sorted(slow::told(&case, face)), "end face {}", name);
        }
        let total = seen.derived.counts.entry.passages.total();
        let visits: Vec<Vec<Told>> = (0..FACES.len()).map(|face| slow::told(&case, face)).collect();
        let counted = [total.passages, total.clean, total.dirty];
        prop_assert_eq!(counted, slow::passages(&visits));
        let fast: Vec<(&str, String)> =
            seen.matings.iter().map(|m| (m.coverage, m.in_force_end.clone())).collect();
        let slow: Vec<(&str, String)> = slow::matings(&case)
            .into_iter()
            .map(|(class, end)| (class, end.map_or("never".to_owned(), written)))
            .collect();
        prop_assert_eq!(fast, slow);
    }

    #[test]
    fn the_slow_formulation_agrees_on_every_ticket_and_on_what_it_prompts(case in case()) {
        let seen = case.fleet(1).derive();
        for (face, name) in FACES.iter().enumerate() {
            let fast = seen.of_face(name).into_iter().map(|visit| {
                let told = told(&seen, visit);
                (told.0, told.1, visit.prompted)
            });
            let (mut fast, mut slow): (Vec<_>, _) =
                (fast.collect(), slow_faults::prompted(&case, face));
            fast.sort();
            slow.sort();
            prop_assert_eq!(fast, slow, "end face {}", name);
        }
        let fast: Vec<bool> = seen.matings.iter().map(|mating| mating.reseat).collect();
        prop_assert_eq!(fast, slow_faults::reseats(&case));
        let fast: Vec<Vec<(String, u32)>> = seen.matings.iter().map(|mating| {
            mating.faults.iter().map(|fault| (time(fault.at), fault.tickets)).collect()
        }).collect();
        let slow: Vec<Vec<(String, u32)>> = slow_faults::faults(&case).into_iter().map(|faults| {
            faults.into_iter().map(|(at, tickets)| (written_half(at), tickets)).collect()
        }).collect();
        prop_assert_eq!(fast, slow);
        let kept = seen.derived.counts.faults.total().tickets;
        prop_assert_eq!(kept, case.tickets.len() as i64);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 30, failure_persistence: None, ..Default::default() })]

    #[test]
    fn no_count_depends_on_files_their_order_or_the_number_of_threads(case in case()) {
        let one = derived_with(1, &case.fleet(1));
        let two = derived_with(2, &case.fleet(1));
        prop_assert_eq!(printed(&one), printed(&two));
        let split = derived_with(2, &reversed(&case).fleet(3));
        prop_assert_eq!(printed(&one), printed(&split));
    }
}

#[test]
fn nothing_depends_on_the_number_of_buckets() {
    // 70,000 rows of the register make several buckets of what was one.
    let small = |padding: usize| {
        let mut register = "end_face".to_owned();
        for number in 0..padding {
            register += &format!("\nz{number}");
        }
        let (mut looks, mut matings) =
            ("at,end_face,outcome".to_owned(), "at,end_face_a,end_face_b".to_owned());
        for number in 0..300 {
            let (hour, day) = (number % 24, number % 28 + 1);
            looks += &format!("\n2026-03-{day:02} {hour:02}:00,p{},pass", number % 50);
            matings += &format!("\n2026-03-{day:02} {hour:02}:30,p{},q{}", number % 50, number % 7);
        }
        fleet().register(&register).looks(&looks).matings(&matings).derive()
    };
    let (one, two) = (small(1), small(70_000));
    assert!(one.visits.len() > 100 && one.visits == two.visits);
    assert_eq!(one.matings, two.matings);
    // The padding is in the register alone, and counted as that; nothing else may know of it.
    let printed = |seen| -> Vec<String> {
        let all = printed(seen).into_iter();
        all.filter(|table| !table.starts_with("end_faces ")).collect()
    };
    assert_eq!(printed(&one), printed(&two));
    let only_registered = |seen: &Seen| seen.derived.counts.trust.end_faces.total().only_registered;
    assert_eq!(only_registered(&two) - only_registered(&one), 69_999);
}
