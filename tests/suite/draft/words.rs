//! The word lists themselves.

use motetrail::draft::Vocabulary;
use motetrail::records::{Table, columns, fixed_codes};

use super::fixture::{asked, drafted, keys, part};

/// Columns of the lists that are no canonical ones.
const OTHERS: [&str; 3] = ["cleaned_first", "action", "person"];

fn is_column(name: &str) -> bool {
    let (table, column) = match name.split_once('.') {
        Some((table, column)) => (Some(Table::named(table).unwrap()), column),
        None => (None, name),
    };
    let known = |table: Table| columns(table).iter().any(|one| one.name == column);
    OTHERS.contains(&name) || table.map_or_else(|| Table::ALL.into_iter().any(known), known)
}

#[test]
fn every_key_of_the_lists_is_a_column_or_a_code() {
    let asked = asked(None);
    for key in Vocabulary::get().keys() {
        let Some((column, code)) = key.split_once('=') else {
            assert!(is_column(&key), "{key}");
            continue;
        };
        let codes: Vec<&str> = match column {
            "action" => Table::ALL.map(Table::name).to_vec(),
            _ => fixed_codes(column).map(<[_]>::to_vec).or_else(|| asked.allowed(column)).unwrap(),
        };
        assert!(codes.contains(&code), "{key}");
    }
}

/// A word of two codes is asked about; a list full of such would ask too much.
#[test]
fn no_word_of_an_outcome_or_a_flag_means_two_codes() {
    for column in ["outcome", "capped", "side", "method"] {
        for (word, meanings) in Vocabulary::get().words(column) {
            assert_eq!(meanings.len(), 1, "{column} {word} {meanings:?}");
        }
    }
}

/// Words of stages that a fleet without names of its own does not have.
#[test]
fn words_of_other_lifecycles_are_mapped_or_asked_about() {
    let mapped = [
        ("Manufacturing", "production"),
        ("Konfektionierung", "production"),
        ("goods in", "incoming"),
        ("réception", "incoming"),
        ("montaje", "installation"),
        ("collaudo", "acceptance"),
        ("Störungsbehebung", "repair"),
        ("reparação", "repair"),
    ];
    // Of each the likeliest: planned work is a change, mending a repair, and a test may be either side of the door.
    let asked =
        [("maintenance", "change"), ("Instandhaltung", "change"), ("system test", "acceptance")];
    for (words, is_asked) in [(&mapped[..], false), (&asked[..], true)] {
        for (word, code) in words {
            let text = format!(
                "ID|When|End face|Stage|Result\n1|2025-04-13 08:15:00|A1|{word}|pass\n\
                 2|2025-04-14 08:15:00|A2|installation|pass"
            );
            let draft = drafted(Table::Inspections, &text);
            let values = part(&draft, 0, "values");
            let found = values["stage"].get(*word).and_then(|code| code.as_str());
            assert_eq!(found, Some(*code), "{word}\n{}", draft.toml);
            let doubted = keys(&draft).iter().any(|key| key.contains("values.stage"));
            assert_eq!(doubted, is_asked, "{word}\n{}", draft.toml);
        }
    }
}
