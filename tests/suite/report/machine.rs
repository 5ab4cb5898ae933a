//! `findings.json` and `run.json`.

use serde_json::Value;

use super::full;

fn json(name: &str) -> Value {
    serde_json::from_str(&full(name)).unwrap()
}

#[test]
fn findings_hold_the_headlines_with_their_numbers_units_and_sentences() {
    let file = json("findings.json");
    assert_eq!(file["schema_version"], 2);
    assert_eq!(file["period"]["quarter"], "2026-Q2");
    assert_eq!(file["period"]["last_day"], "2026-06-30");
    let lines = file["headlines"].as_array().unwrap();
    assert_eq!(lines.len(), 3);
    assert_eq!(lines[0]["name"], "first-pass-clean");
    assert_eq!(lines[0]["value"], 0.812);
    assert_eq!(lines[0]["unit"], "share");
    assert_eq!(lines[2]["value"], 61_200.0);
    assert_eq!(lines[2]["unit"], "currency");
    let sentence = lines[0]["sentence"].as_str().unwrap();
    assert!(sentence.starts_with("end faces clean at the first look: 81.2"), "{sentence}");
    assert_eq!(file["findings"].as_array().unwrap().len(), 14);
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
    assert_eq!(places[0]["net_saving"], 24_500.0);
    // The one purchase that pays, then the head of the worklist.
    let first = file["do_first"].as_array().unwrap();
    assert_eq!(first.len(), 4);
    assert!(first[0].as_str().unwrap().starts_with("Scopes for Tal: price"), "{first:?}");
    assert!(first[1].as_str().unwrap().starts_with("TL-N-LC-2, Tal: "), "{first:?}");
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
    assert_eq!(file["tables"].as_array().unwrap().len(), 14);
}

/// The published shape holds of a report with every kind of row and of one with none; and it would not of another.
#[test]
fn findings_fit_their_published_schema() {
    let schema: Value = serde_json::from_str(motetrail::report::FINDINGS_SCHEMA).unwrap();
    let full = json("findings.json");
    assert_eq!(misfits(&schema, &schema, &full, "$"), Vec::<String>::new());
    let folder = tempfile::tempdir().unwrap();
    super::report(&super::sample::empty(), folder.path());
    let empty = serde_json::from_str(&super::text(folder.path(), "findings.json")).unwrap();
    assert_eq!(misfits(&schema, &schema, &empty, "$"), Vec::<String>::new());
    let mut review = super::sample::empty();
    let (text, changes) = ("1. Which zone?".to_owned(), "every day".to_owned());
    let answers = Vec::new();
    review.open_questions =
        vec![motetrail::settings::OpenQuestion { line: 1, text, changes, answers }];
    let folder = tempfile::tempdir().unwrap();
    super::report(&review, folder.path());
    let asked = serde_json::from_str(&super::text(folder.path(), "findings.json")).unwrap();
    assert_eq!(misfits(&schema, &schema, &asked, "$"), Vec::<String>::new());

    let spoil = |change: &dyn Fn(&mut Value)| {
        let mut spoilt = full.clone();
        change(&mut spoilt);
        misfits(&schema, &schema, &spoilt, "$")
    };
    assert_eq!(spoil(&|file| file["schema_version"] = 1.into()).len(), 1);
    assert_eq!(spoil(&|file| file["places"][0]["rank"] = "first".into()).len(), 1);
    assert_eq!(spoil(&|file| file["headlines"][0]["more"] = 1.into()).len(), 1);
    let lacking = spoil(&|file| {
        file["doubts"][0].as_object_mut().unwrap().remove("sentence");
    });
    assert_eq!(lacking, ["$.doubts[0]: lacks sentence"]);
}

/// Where a value does not fit a schema: the keywords that ours uses (JSON Schema 2020-12), any other is refused.
fn misfits(root: &Value, schema: &Value, value: &Value, at: &str) -> Vec<String> {
    let mut found = Vec::new();
    let object = schema.as_object().unwrap();
    for (keyword, rule) in object {
        match keyword.as_str() {
            "$ref" => {
                let pointer = rule.as_str().unwrap().trim_start_matches('#');
                found.extend(misfits(root, root.pointer(pointer).unwrap(), value, at));
            }
            "type" => {
                let types: Vec<&str> = match rule {
                    Value::Array(types) => types.iter().map(|one| one.as_str().unwrap()).collect(),
                    one => vec![one.as_str().unwrap()],
                };
                let is = |name: &&str| match *name {
                    "object" => value.is_object(),
                    "array" => value.is_array(),
                    "string" => value.is_string(),
                    "number" => value.is_number(),
                    "integer" => value.is_i64() || value.is_u64(),
                    "null" => value.is_null(),
                    other => panic!("{other}"),
                };
                if !types.iter().any(is) {
                    found.push(format!("{at}: {value} is no {types:?}"));
                }
            }
            "const" if value != rule => found.push(format!("{at}: {value} is not {rule}")),
            "enum" if !rule.as_array().unwrap().contains(value) => {
                found.push(format!("{at}: {value} is not among {rule}"));
            }
            "required" => {
                let names = rule.as_array().unwrap().iter().map(|name| name.as_str().unwrap());
                let lacks = names.filter(|name| value.is_object() && value.get(name).is_none());
                found.extend(lacks.map(|name| format!("{at}: lacks {name}")));
            }
            "additionalProperties" => {
                assert_eq!(*rule, Value::Bool(false));
                let known = object["properties"].as_object().unwrap();
                let fields = value.as_object().into_iter().flatten();
                let more = fields.filter(|(name, _)| !known.contains_key(*name));
                found.extend(more.map(|(name, _)| format!("{at}: {name} is not known")));
            }
            "properties" => {
                for (name, part) in rule.as_object().unwrap() {
                    if let Some(held) = value.get(name) {
                        found.extend(misfits(root, part, held, &format!("{at}.{name}")));
                    }
                }
            }
            "items" => {
                for (place, held) in value.as_array().into_iter().flatten().enumerate() {
                    found.extend(misfits(root, rule, held, &format!("{at}[{place}]")));
                }
            }
            "const" | "enum" | "format" => {}
            "$schema" | "title" | "description" | "$defs" => {}
            other => panic!("the schema uses {other}, which this check does not know"),
        }
    }
    found
}
