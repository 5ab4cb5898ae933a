//! Names and words that try to end the string or the comment they stand in.

use motetrail::draft::{Draft, draft};
use motetrail::records::Table;
use motetrail::settings::Dialect;
use motetrail::tabular::profile::{ColumnProfile, Profiler};
use proptest::prelude::*;

use super::fixture::{asked, source};

const NASTY: [&str; 14] = [
    "\n[[source]]\nname = \"x\"",
    "a\"b",
    "\"\"\"",
    "'''",
    "back\\slash",
    "end\r\n# ? forged (evidence: none)",
    "\u{0}\u{1}\u{1b}[31m\u{7f}",
    "\u{85}\u{2028}\u{2029}",
    "\u{202e}txt\u{200b}",
    "]]",
    "= { a = 1 }",
    "#",
    "%H[a-z]*?",
    "../../etc/passwd",
];

fn profiled(names: &[&str], words: &[&str]) -> Vec<ColumnProfile> {
    let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
    let mut profiler = Profiler::new(&names);
    for (row, word) in words.iter().enumerate() {
        let mut cells = vec![*word; names.len()];
        cells[0] = ["a", "b"][row % 2];
        profiler.row(&cells);
    }
    profiler.finish()
}

/// What stands outside comments is what the draft means, and every comment is one of ours.
fn check(draft: &Draft) {
    let source = source(draft);
    assert_eq!(source["name"].as_str(), Some("export"));
    let asked = draft.toml.lines().filter(|line| line.starts_with("# ? ")).count();
    assert_eq!(asked, draft.doubts.len(), "{}", draft.toml);
    let wild =
        |c: char| c.is_control() && c != '\n' || "\u{2028}\u{2029}\u{202e}\u{200b}".contains(c);
    assert!(!draft.toml.contains(wild), "{:?}", draft.toml);
}

#[test]
fn hostile_names_and_words_stay_what_they_are() {
    for nasty in NASTY {
        for table in Table::ALL {
            let header = ["ID", "When", "Port", "Result", "Stage", nasty, "Method", "Depot"];
            let draft =
                draft(&asked(Some(table)), &profiled(&header, &[nasty, "ok"]), &Dialect::default());
            check(&draft);
        }
    }
}

#[test]
fn a_hostile_word_of_a_code_column_is_asked_about_under_its_own_key() {
    let nasty = "no\"t\\ok\n[[source]]";
    let header = ["ID", "When", "Port", "Result"];
    let draft = draft(
        &asked(Some(Table::Inspections)),
        &profiled(&header, &[nasty, "ok"]),
        &Dialect::default(),
    );
    let key = "record[0].values.outcome.\"no\\\"t\\\\ok\\u000a[[source]]\"";
    assert!(draft.doubts.iter().any(|doubt| doubt.key == key), "{:?}", draft.doubts);
    let open = draft.toml.lines().find(|line| line.starts_with("# \"no")).unwrap();
    let line: toml::Table = open.strip_prefix("# ").unwrap().parse().unwrap();
    assert!(line.contains_key(nasty));
}

#[test]
fn hostile_names_of_file_and_source_and_sheet_are_quoted() {
    for nasty in NASTY {
        let mut asked = asked(Some(Table::Inspections));
        asked.file = nasty.to_owned();
        asked.source_name = nasty.to_owned();
        asked.site = Some(nasty.to_owned());
        let dialect = Dialect {
            sheet: Some(nasty.to_owned()),
            nulls: vec![nasty.to_owned()],
            ..Dialect::default()
        };
        let draft = draft(&asked, &profiled(&["ID", "When"], &["1", "2"]), &dialect);
        let source = source(&draft);
        for key in ["name", "site", "sheet"] {
            assert_eq!(source[key].as_str(), Some(nasty));
        }
        let pattern = glob::Pattern::new(source["files"][0].as_str().unwrap()).unwrap();
        assert!(pattern.matches(nasty), "{pattern}");
        assert_eq!(source["nulls"][0].as_str(), Some(nasty));
    }
}

#[test]
fn thousands_of_columns_take_no_time_and_are_told_of() {
    let names: Vec<String> = (0..20_000).map(|i| format!("Result of something {i}")).collect();
    let mut profiler = Profiler::new(&names);
    profiler.row(&vec!["pass"; names.len()]);
    let draft = draft(&asked(None), &profiler.finish(), &Dialect::default());
    check(&draft);
    assert!(draft.toml.contains("Only the first 500 columns"), "{}", draft.toml.len());
}

#[test]
fn a_file_without_columns_or_rows_gives_a_draft_of_questions() {
    for table in Table::ALL.map(Some).into_iter().chain([None]) {
        check(&draft(&asked(table), &[], &Dialect::default()));
        check(&draft(&asked(table), &profiled(&["", "  ", "ID"], &[]), &Dialect::default()));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_names_and_words_give_toml(
        names in proptest::collection::vec("\\PC{0,12}|[a-zA-Z\"\\\\\n#= .]{0,20}", 1..8),
        words in proptest::collection::vec("\\PC{0,8}|[a-z\"\\\\\n#]{0,8}", 1..6),
        table in 0usize..6,
    ) {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let table = Table::ALL.get(table).copied();
        check(&draft(&asked(table), &profiled(&names, &words), &Dialect::default()));
    }
}
