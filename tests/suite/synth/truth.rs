//! The planted truth is stated in full, and what was drawn agrees with what was planted.

use super::demo;

#[test]
fn truth_file_holds_what_the_function_returns() {
    let (folder, truth) = demo();
    let text = std::fs::read_to_string(folder.path().join("truth.json")).unwrap();
    assert_eq!(text, serde_json::to_string_pretty(truth).unwrap() + "\n");
}

#[test]
fn truth_names_worst_cells_carriers_and_the_step_where_dirt_enters() {
    let truth = &demo().1;
    let worst = &truth.linked_faults.worst_cells;
    assert_eq!(worst[0].site.as_deref(), Some("Pellorin"));
    assert_eq!(worst[0].stage, "lineside-fitting");
    assert_eq!((worst[1].stage.as_str(), worst[1].family.as_deref()), ("line-upkeep", Some("MPO")));
    assert!(worst.iter().all(|cell| cell.rate_ratio > truth.linked_faults.rate_ratio_elsewhere));
    assert_eq!(truth.carriers.leads, ["TL-CW-LC-2", "TL-CW-SC-4"]);
    assert_eq!(truth.carriers.tool.as_deref(), Some("CW-DRY-2"));
    let (from, to) = &truth.entry.largest_step;
    assert_eq!((from.as_str(), to.as_str()), ("depot-stores", "lineside-fitting"));
    assert_eq!(truth.first_pass.len(), 6 * 6 * 2);
    assert_eq!(truth.entry.steps.len(), 5 + 6);
}

/// Source: the planted odds: dry passes with odds 1.3, wet-dry with twice that, each further cycle
/// with 0.75 of the odds before.
#[test]
fn pass_hazards_follow_from_the_planted_odds() {
    let methods = &demo().1.cycles.methods;
    let odds = |method: usize, cycle: usize| {
        let p = methods[method].pass[cycle - 1];
        p / (1.0 - p)
    };
    assert!((odds(0, 1) - 1.3).abs() < 1e-4);
    assert!((odds(1, 1) / odds(0, 1) - 2.0).abs() < 1e-4);
    assert!((odds(0, 3) / odds(0, 2) - 0.75).abs() < 1e-4);
}

/// The expected ratio is a weighted mean of the planted ratios of the cells.
#[test]
fn expected_rate_ratio_lies_between_the_planted_ones() {
    let linked = &demo().1.linked_faults;
    let expected = linked.rate_ratio_expected.unwrap();
    assert!((2.1..2.6).contains(&expected), "{expected}");
    assert!(expected > linked.rate_ratio_elsewhere && expected < linked.worst_cells[0].rate_ratio);
}

/// Every linked fault of the truth stands in a ticket; second tickets come on top.
#[test]
fn tickets_are_the_faults_of_the_truth_and_a_few_second_ones() {
    let truth = &demo().1;
    let linked = &truth.linked_faults;
    let others: u64 = linked.others.iter().map(|(_, n)| n).sum();
    let first = linked.confirmed + linked.probable + others;
    let second = truth.counts.faults - first;
    assert!(second > 5 && second * 10 < linked.confirmed + linked.probable, "{second}");
    assert!(linked.lagged > 20 && linked.lagged < linked.confirmed);
    let classes = &truth.counts;
    let sum = classes.matings_both
        + classes.matings_one
        + classes.matings_none
        + classes.matings_despite_fail;
    assert_eq!(sum, classes.matings);
}
