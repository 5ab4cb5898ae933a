//! What 5.7 counts from visits and exposures: trials by cell and entity, sums over work orders, the
//! end faces with enough trials, and what the conspicuous ones touched.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown, or a slower
//! sum over the same rows.

use std::collections::BTreeMap;

use motetrail::derive::Later;
use motetrail::derive::counts::{CarrierCounts, CarrierKind, carrier_trials};
use proptest::prelude::*;

use super::fleet::{Fleet, fleet};
use super::minutes::minutes;
use super::seen::{figures, key, time};

fn of_kind(counts: &CarrierCounts, kind: CarrierKind) -> Vec<(carrier_trials::Key, [i64; 2])> {
    let cells = counts.trials.cells().into_iter().filter(|(cell, _)| cell.kind == kind);
    cells.map(|(cell, row)| (cell, figures(row))).collect()
}

/// Looks of `p` and cleanings of it with one tool.
fn worked(looks: &str, wipes: &str) -> CarrierCounts {
    fleet()
        .looks(&format!("at,end_face,outcome,finding\n{looks}"))
        .cleanings(&format!("at,end_face,tool\n{wipes}"))
        .derive()
        .derived
        .counts
        .carriers
}

#[test]
fn a_tool_is_tried_by_the_cycles_it_closed() {
    let counts = worked(
        "2026-03-02 08:00,p,fail,contamination
        2026-03-02 08:10,p,fail,contamination
        2026-03-02 08:20,p,pass,",
        "2026-03-02 08:05,p,pen\n2026-03-02 08:15,p,pen",
    );
    let cleaning = of_kind(&counts, CarrierKind::ToolCleaning);
    // Cycle 1 left dirt, cycle 2 did not.
    let told: Vec<(u32, [i64; 2])> =
        cleaning.iter().map(|(cell, row)| (cell.cycle.0, *row)).collect();
    assert_eq!(told, [(1, [1, 1]), (2, [1, 0])]);
    assert!(of_kind(&counts, CarrierKind::ToolSoiling).is_empty());
}

#[test]
fn cycles_begun_after_a_passing_look_count_as_soiling() {
    let counts = worked(
        "2026-03-02 08:00,p,pass,\n2026-03-02 08:10,p,fail,contamination",
        "2026-03-02 08:05,p,pen",
    );
    assert_eq!(of_kind(&counts, CarrierKind::ToolSoiling)[0].1, [1, 1]);
    assert!(of_kind(&counts, CarrierKind::ToolCleaning).is_empty());
}

#[test]
fn cycles_begun_unseen_have_cells_of_their_own() {
    let counts = worked("2026-03-02 08:10,p,pass,", "2026-03-02 08:05,p,pen");
    let cleaning = of_kind(&counts, CarrierKind::ToolCleaning);
    assert_eq!((cleaning.len(), cleaning[0].0.cycle.0, cleaning[0].1), (1, 0, [1, 0]));
}

#[test]
fn a_cycle_that_ends_at_a_defect_or_of_two_tools_is_no_trial() {
    let defect = worked(
        "2026-03-02 08:00,p,fail,contamination\n2026-03-02 08:10,p,fail,defect",
        "2026-03-02 08:05,p,pen",
    );
    assert!(of_kind(&defect, CarrierKind::ToolCleaning).is_empty());
    let two = worked(
        "2026-03-02 08:00,p,fail,contamination\n2026-03-02 08:10,p,pass,",
        "2026-03-02 08:05,p,pen\n2026-03-02 08:06,p,swab",
    );
    assert!(of_kind(&two, CarrierKind::ToolCleaning).is_empty());
}

#[test]
fn suppliers_answer_for_first_visits_and_instruments_for_routine_first_looks() {
    let counts = fleet()
        .register("end_face,supplier\np,Norrvik")
        .looks(
            "at,end_face,outcome,finding,instrument,stage
            2026-03-02 08:00,p,fail,contamination,scope-1,incoming
            2026-03-02 08:10,p,fail,contamination,scope-1,incoming
            2026-03-09 08:00,p,pass,,scope-2,incoming
            2026-03-16 08:00,p,pass,,scope-2,installation",
        )
        .derive()
        .derived
        .counts
        .carriers;
    let suppliers = of_kind(&counts, CarrierKind::Supplier);
    assert_eq!(suppliers.iter().map(|(_, row)| *row).collect::<Vec<_>>(), [[1, 1]]);
    // The visit of the 9th is `again`; the second look of the 2nd is no first look.
    let instruments = of_kind(&counts, CarrierKind::Instrument);
    let mut rows: Vec<[i64; 2]> = instruments.iter().map(|(_, row)| *row).collect();
    rows.sort_unstable();
    assert_eq!(rows, [[1, 0], [1, 1]]);
}

#[test]
fn a_first_look_that_failed_for_a_defect_or_without_a_reason_is_no_trial() {
    let tried = |finding: &str| {
        let row =
            format!("at,end_face,outcome,finding,instrument\n2026-03-02 08:00,p,fail,{finding},s");
        figures(fleet().looks(&row).derive().derived.counts.carriers.cells.total())
    };
    assert_eq!(tried("contamination"), [1, 1]);
    assert_eq!((tried("defect"), tried("")), ([0, 0], [0, 0]));
}

/// Sums over work orders, cell pairs put together again, against the plain sum of squares.
#[test]
fn sums_over_work_orders_give_the_scatter_around_any_expectation() {
    let (mut looks, mut plain) = (String::new(), BTreeMap::<usize, Vec<(usize, bool)>>::new());
    for number in 0..60 {
        let (order, stage) = (number % 7, number % 3);
        let dirty = (number * number) % 5 == 1;
        let said = if dirty { "fail,contamination" } else { "pass," };
        let stage_word = ["incoming", "installation", "change"][stage];
        let (day, hour) = (number / 10 + 2, number % 10 + 8);
        looks += &format!(
            "2026-03-{day:02} {hour:02}:00,p{number},{said},scope,A{order},{stage_word}\n"
        );
        plain.entry(order).or_default().push((stage, dirty));
    }
    let counts = fleet()
        .looks(&format!("at,end_face,outcome,finding,instrument,work_order,stage\n{looks}"))
        .derive()
        .derived
        .counts
        .carriers;
    let cells = counts.cells.cells();
    assert_eq!(cells.len(), 3);
    let share: Vec<f64> =
        cells.iter().map(|(_, row)| row.dirty as f64 / row.trials as f64).collect();
    let mut by_sums = counts.orders.cells()[0].1.squares as f64;
    for (place, row) in counts.order_cells.cells() {
        by_sums -= 2.0 * share[place.cell.0 as usize] * row.dirty_trials as f64;
    }
    for (pair, row) in counts.order_pairs.cells() {
        let (a, b) = (pair.cell.0, pair.other.0);
        let twice = if a == b { 1.0 } else { 2.0 };
        by_sums += twice * share[a as usize] * share[b as usize] * row.products as f64;
    }
    // Stages of equal word are told apart by their totals here: take them from the plain rows.
    let mut totals = [[0.0; 2]; 3];
    for (stage, dirty) in plain.values().flatten() {
        totals[*stage][0] += 1.0;
        totals[*stage][1] += f64::from(u8::from(*dirty));
    }
    let expected = |stage: usize| totals[stage][1] / totals[stage][0];
    let scatter: f64 = plain
        .values()
        .map(|order| {
            let gap: f64 = order
                .iter()
                .map(|(stage, dirty)| f64::from(u8::from(*dirty)) - expected(*stage))
                .sum();
            gap * gap
        })
        .sum();
    assert_eq!(counts.orders.cells()[0].1.orders, 7);
    assert!((by_sums - scatter).abs() < 1e-9, "{by_sums} {scatter}");
    assert!(scatter > 1.0);
}

/// A lead `l` touches `touches` ports, of which every fourth comes out dirty; `m` as many, none dirty.
fn leads(touches: usize, more: &str) -> Fleet {
    let (mut looks, mut matings) = (String::new(), String::new());
    for number in 0..touches {
        for lead in ["l", "m"] {
            let day = number / 12 + 1;
            let at = |hour: usize| format!("2026-03-{day:02} {:02}:{hour}0", number % 12 + 8);
            let said = if lead == "l" && number % 4 == 0 { "fail,contamination" } else { "pass," };
            looks += &format!("{},{lead}{number},pass,\n{},{lead}{number},{said}\n", at(0), at(2));
            matings += &format!("{},{lead},{lead}{number}\n", at(1));
        }
    }
    fleet()
        .looks(&format!("at,end_face,outcome,finding\n{looks}{more}"))
        .matings(&format!("at,end_face_a,end_face_b\n{matings}"))
}

#[test]
fn end_faces_with_enough_trials_are_kept_with_their_partners() {
    let derived = leads(20, "").derive().derived;
    let counts = &derived.counts.carriers;
    assert_eq!((counts.faces_seen, counts.faces_enough), (2, 2));
    let l = counts.faces.iter().find(|face| face.key == key("l")).unwrap();
    assert_eq!((l.shared, l.partners, l.dirty_partners), (20, 20, 5));
    assert_eq!(l.cells.iter().map(|(_, row)| figures(*row)).collect::<Vec<_>>(), [[20, 5]]);
    // 5 dirty where 20 of the cell's 5 / 40 were to be expected.
    assert_eq!(l.excess, 2_500_000);
    assert_eq!(derived.face_names[&key("l")].to_string(), "l");
    let few = leads(19, "").derive().derived.counts.carriers;
    assert_eq!((few.faces_seen, few.faces_enough, few.faces.len()), (2, 0, 0));
}

#[test]
fn the_time_line_of_the_conspicuous_tells_before_and_after_the_last_cleaning() {
    let fleet = leads(20, "2026-03-10 08:00,l1,pass,")
        .cleanings("at,end_face\n2026-03-01 12:35,l\n2026-03-01 12:38,l")
        .register("end_face,in_service_to\nl5,2026-03-20\nl6,2026-12-31");
    let derived = fleet.review("2026-Q1").derive().derived;
    let lines = &derived.counts.carriers.time_lines;
    assert_eq!(lines.len(), 1, "m left less dirt than its cell");
    let line = &lines[0];
    assert_eq!((line.face, line.matings, line.touches.len()), (key("l"), 20, 20));
    assert_eq!(line.cleaned.map(time).as_deref(), Some("2026-03-01 12:38:00"));
    assert!(line.touches.is_sorted_by_key(|touch| touch.at));
    let partner =
        |number: usize| line.touches.iter().find(|t| t.partner == key(&format!("l{number}")));
    assert_eq!(partner(4).unwrap().later, Later::Contaminated);
    assert_eq!(partner(5).unwrap().later, Later::Clean);
    assert!(!partner(5).unwrap().in_service && partner(6).unwrap().in_service);
    // The lead's last mating alone has no next one.
    assert_eq!(line.touches.iter().filter(|touch| touch.in_force).count(), 1);
    assert!(derived.face_names.contains_key(&key("l7")));
}

#[test]
fn names_that_are_a_sites_own_carry_it() {
    let looks: String = (0..20)
        .map(|n| {
            let at =
                |shift: usize| format!("2026-03-02 {:02}:{:02}", 8 + n / 10, n % 10 * 5 + shift);
            let said = if n < 3 { "fail,contamination" } else { "pass," };
            format!("{},q{n},{said}\n", at(2))
        })
        .collect();
    let before: String = (0..20).map(|n| format!("2026-03-02 07:30,q{n},pass,\n")).collect();
    let matings: String = (0..20)
        .map(|n| format!("2026-03-02 {:02}:{:02},l,q{n}\n", 8 + n / 10, n % 10 * 5))
        .collect();
    let own = "site = \"Works\"\nend_face_names = \"site\"";
    // A second lead shares the cell, so that the first has others to be compared with.
    let other = "2026-03-02 20:00,k,r\n";
    let other_looks = "2026-03-02 19:00,r,pass,\n2026-03-02 21:00,r,pass,\n";
    let derived = fleet()
        .source(
            "looks",
            "inspections",
            &format!("at,end_face,outcome,finding\n{before}{looks}{other_looks}"),
            own,
        )
        .source("m", "matings", &format!("at,end_face_a,end_face_b\n{matings}{other}"), own)
        .derive()
        .derived;
    let faces = &derived.counts.carriers.faces;
    assert_eq!(faces.len(), 1);
    assert_eq!(derived.face_names[&faces[0].key].to_string(), "l (Works)");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..Default::default() })]

    /// Tools of random minutes: trials are the closed cycles, dirty ones those that left dirt.
    #[test]
    fn trials_of_cells_and_of_entities_agree(events in "[cpf]{1,30}") {
        let counts = minutes(&events).derive().derived.counts.carriers;
        let mut by_cell = BTreeMap::new();
        for (cell, row) in counts.trials.cells() {
            let sum: &mut carrier_trials::Row = by_cell.entry(cell.without_entity()).or_default();
            sum.trials += row.trials;
            sum.dirty += row.dirty;
        }
        for (cell, row) in counts.cells.cells() {
            if cell.kind != CarrierKind::EndFace {
                prop_assert_eq!(by_cell.remove(&cell), Some(row));
            }
        }
        prop_assert!(by_cell.is_empty());
        let merged = CarrierCounts::empty(0).merge(counts.clone());
        prop_assert!(merged.check().is_ok());
        prop_assert_eq!(merged, counts);
    }
}
