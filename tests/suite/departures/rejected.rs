//! Tickets whose cells cannot be read: the whole of them, or a part; in a cell that a ticket needs, or in one it can do
//! without.

use std::process::{Command, Output};

use motetrail::measures::Review;
use motetrail::measures::results::AnyTable;
use motetrail::measures::trust::{By, NEEDS, Quantity};
use motetrail::records::{Misread, Table};
use motetrail::synth::Departures;
use serde_json::Value;

use super::{Exports, recipe, seeds};

/// Text with its special spaces made plain.
fn plain(text: &str) -> String {
    text.replace(['\u{A0}', '\u{202F}', '\u{2007}', '\u{2008}'], " ")
}

/// Runs the program's own review: how it ended, all its pages as one file, its findings.
fn reviewed(exports: &Exports) -> (Output, String, Value) {
    let out = exports.folder.path().join("reports");
    let output = Command::new(env!("CARGO_BIN_EXE_motetrail"))
        .args(["review", "--single"])
        .arg(exports.folder.path().join("fleet.toml"))
        .arg("--out")
        .arg(&out)
        .output()
        .unwrap();
    let report = std::fs::read_dir(&out).unwrap().next().unwrap().unwrap().path();
    let page = plain(&std::fs::read_to_string(report.join("report.html")).unwrap());
    let findings = std::fs::read(report.join("findings.json")).unwrap();
    (output, page, serde_json::from_slice(&findings).unwrap())
}

fn tickets(spoil: impl FnOnce(&mut Departures)) -> Exports {
    let mut departures = Departures::default();
    spoil(&mut departures);
    Exports::of(&recipe(1, departures))
}

/// The share of tickets refused, and cells left out of them by column and reason.
fn doubted(review: &Review) -> (f64, Vec<(String, Misread, f64)>) {
    let refused = review.trust.rows_of(By::Table, Quantity::Refused);
    let mut refused = refused.filter(|row| row.own.table == Some(Table::Faults));
    let share = refused.next().and_then(|row| row.estimate).unwrap();
    let cells = review.trust.quantity(Quantity::LostCells).map(|row| {
        let (column, why) = (row.own.column.clone().unwrap(), row.own.why.unwrap());
        (column, why, row.estimate.unwrap())
    });
    (share, cells.collect())
}

#[test]
fn a_source_rejected_whole_ends_with_code_1_and_the_first_page_names_what_has_no_answer() {
    let exports = tickets(|plant| plant.opened_in_words = Some(1.0));
    let faults = exports.truth.counts.faults;
    assert!(faults > 50, "{faults}");
    let (output, page, findings) = reviewed(&exports);
    let said = plain(&String::from_utf8(output.stderr).unwrap());
    assert_eq!(output.status.code(), Some(1), "{said}");
    for part in [
        "source faults: ",
        "(100.0 %) rows were rejected; quarantine_limit is 2.0 %",
        "faults \u{201c}opened\u{201d}",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
    assert!(said.contains("found \"before the weekend\", expected a time written"), "{said}");
    assert!(said.contains("change the map of the [[source]] on line"), "{said}");
    let first = page.split("<section id=").next().unwrap();
    assert!(first.contains("Without an answer."), "{first}");
    assert!(first.contains("cannot be told: there are no faults: "), "{first}");
    let rates = page.split("<section id=\"fault_rates\">").nth(1).unwrap();
    let rates = rates.split("</section>").next().unwrap();
    assert!(rates.contains("no answer</p>") && rates.contains("there are no faults: "), "{rates}");
    assert!(!first.contains("No matings") && !first.contains("connection-months."), "{first}");
    let without: Vec<&str> = findings["unanswered"]
        .as_array()
        .unwrap()
        .iter()
        .map(|lack| lack["measure"].as_str().unwrap())
        .collect();
    assert_eq!(without, ["fault_rates", "skipped_cost", "payback", "looks_plan"]);
    let worst = findings["doubts"][0]["sentence"].as_str().unwrap();
    assert!(worst.starts_with("There are no faults: "), "{worst}");
    assert!(
        worst.contains("most of them for \u{201c}opened\u{201d} of the source faults"),
        "{worst}"
    );
    assert_eq!(findings["doubts"][0]["weight"], 1.0);
    let rate = &findings["headlines"][1];
    assert!(rate["value"].is_null() && rate["name"] == "faults-per-1000-months", "{rate}");
}

#[test]
fn a_source_rejected_in_part_is_doubted_and_answered() {
    let exports = tickets(|plant| plant.opened_in_words = Some(0.2));
    let (output, page, findings) = reviewed(&exports);
    assert_eq!(output.status.code(), Some(1));
    assert!(!page.contains("Without an answer."));
    assert_eq!(findings["unanswered"].as_array().unwrap().len(), 0);
    let doubts = findings["doubts"].as_array().unwrap();
    let rejected = |doubt: &&Value| doubt["sentence"].as_str().unwrap().contains("rows of faults");
    let weight = doubts.iter().find(rejected).unwrap()["weight"].as_f64().unwrap();
    assert!((0.1..0.3).contains(&weight), "{weight}");
    let weights = doubts.iter().map(|doubt| doubt["weight"].as_f64().unwrap());
    assert!(weights.is_sorted_by(|a, b| a >= b), "{doubts:?}");
}

#[test]
fn a_downtime_that_cannot_be_read_costs_no_ticket_and_is_read_once_the_map_says_how() {
    let exports = tickets(|plant| plant.downtime_as_clock = Some(1.0));
    let (output, page, _) = reviewed(&exports);
    let said = plain(&String::from_utf8(output.stderr).unwrap());
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(said.contains("could not be read and are left out"), "{said}");
    assert!(said.contains("say in the map's durations how lengths of time are written"), "{said}");
    assert!(page.contains("could not be read and count as not given."));
    let strange = exports.review();
    let (refused, cells) = doubted(&strange.review);
    assert_eq!(refused, 0.0);
    assert_eq!(cells, [("downtime_min".to_owned(), Misread::NoDuration, 1.0)]);
    let told = exports.review_under(|settings| {
        let faults = settings.find("table = \"faults\"\n").unwrap();
        let (before, after) = settings.split_at(faults);
        format!("{before}durations = {{ downtime_min = \"h:mm\" }}\n{after}")
    });
    assert_eq!(doubted(&told.review), (0.0, Vec::new()));
    let sound = tickets(|_| ()).review();
    let rows = |review: &Review| format!("{:?}", review.skipped_cost.leading());
    assert_eq!(rows(&told.review), rows(&sound.review));
    assert_ne!(rows(&strange.review), rows(&sound.review));
}

#[test]
fn a_cause_that_cannot_be_read_costs_no_ticket_and_is_counted() {
    let exports = tickets(|plant| plant.unknown_cause = Some(0.5));
    let reviewed = exports.review();
    let (refused, cells) = doubted(&reviewed.review);
    assert_eq!(refused, 0.0);
    let [(column, why, share)] = &cells[..] else { panic!("{cells:?}") };
    assert_eq!((column.as_str(), *why), ("cause", Misread::NotListed));
    assert!((0.4..0.6).contains(share), "{share}");
}

#[test]
fn sound_fleets_have_nothing_rejected_and_nothing_left_out() {
    for seed in seeds(2) {
        let review = Exports::of(&recipe(seed, Departures::default())).review().review;
        assert_eq!(doubted(&review), (0.0, Vec::new()), "{seed}");
        assert_eq!(review.trust.quantity(Quantity::Unanswered).count(), 0, "{seed}");
    }
}

/// What a question needs stands beside the question: one that is added says so too.
#[test]
fn every_question_says_which_tables_it_needs_records_of() {
    let reviewed = Exports::of(&recipe(1, Departures::default())).review();
    let tables = reviewed.review.tables().into_iter().map(AnyTable::name);
    let questions: Vec<&str> = tables.filter(|name| !["trust", "intake"].contains(name)).collect();
    let said: Vec<&str> = NEEDS.iter().map(|(name, _)| *name).collect();
    assert_eq!(said, questions);
    assert!(NEEDS.iter().all(|(_, tables)| !tables.is_empty()));
}
