//! `findings.json` and `run.json`.

use serde_json::Value;

use super::full;

fn json(name: &str) -> Value {
    serde_json::from_str(&full(name)).unwrap()
}

#[test]
fn findings_hold_the_headlines_with_their_numbers_units_and_sentences() {
    let file = json("findings.json");
    assert_eq!(file["schema_version"], 1);
    assert_eq!(file["period"]["quarter"], "2026-Q2");
    assert_eq!(file["period"]["last_day"], "2026-06-30");
    let lines = file["headlines"].as_array().unwrap();
    assert_eq!(lines.len(), 3);
    assert_eq!(lines[0]["name"], "first-pass-clean");
    assert_eq!(lines[0]["value"], 0.812);
    assert_eq!(lines[0]["unit"], "share");
    assert_eq!(lines[2]["value"], 6_120_000.0);
    assert_eq!(lines[2]["unit"], "minor units");
    let sentence = lines[0]["sentence"].as_str().unwrap();
    assert!(sentence.starts_with("end faces clean at the first look: 81.2"), "{sentence}");
    assert_eq!(file["findings"].as_array().unwrap().len(), 12);
}

#[test]
fn ranked_places_come_in_rank_order_without_flagged_ones() {
    let file = json("findings.json");
    let places = file["places"].as_array().unwrap();
    let ranks = |by: &str| -> Vec<i64> {
        let of = places.iter().filter(|place| place["by"] == by);
        of.map(|place| place["rank"].as_i64().unwrap()).collect()
    };
    // The sample has nine and twelve places, the last two of each flagged.
    assert_eq!(ranks("stage+family"), (1..=7).collect::<Vec<_>>());
    assert_eq!(ranks("site+stage"), (1..=10).collect::<Vec<_>>());
    assert_eq!(places[0]["place"], "depot-stores, LC");
    assert_eq!(places[0]["net_saving"], 2_450_000.0);
    // The one purchase that pays, then the head of the worklist.
    let first = file["do_first"].as_array().unwrap();
    assert_eq!(first.len(), 4);
    assert!(first[0].as_str().unwrap().starts_with("Scopes for Tal: price"), "{first:?}");
}

#[test]
fn the_run_accounts_for_every_row_of_every_input() {
    let file = json("run.json");
    assert_eq!(file["seed"], 7);
    assert_eq!(file["settings_blake3"], "ab".repeat(32));
    let inputs = file["inputs"].as_array().unwrap();
    let names: Vec<&str> = inputs.iter().map(|input| input["file"].as_str().unwrap()).collect();
    assert_eq!(
        names,
        [
            "exports/tickets.csv",
            "exports/inspections-2026-q1.csv",
            "exports/inspections-2026-q2.csv",
            "exports/matings.tsv",
        ]
    );
    let rows = &file["rows"];
    let part = |name: &str| rows[name].as_u64().unwrap();
    assert_eq!(part("read"), 103_895);
    let parts = ["loaded", "superseded", "duplicate", "quarantined"].map(part);
    assert_eq!(parts.iter().sum::<u64>(), part("read"));
    assert_eq!(file["tables"].as_array().unwrap().len(), 12);
}
