//! What a draft asks, and how it asks it.

use motetrail::draft::draft;
use motetrail::records::Table;
use motetrail::settings::Dialect;

use super::fixture::{asked, drafted, keys, part, profiles, source};

const HEADER: &str = "ID|When|End face|Stage|Result";

fn looks(rows: &[&str]) -> String {
    [HEADER].into_iter().chain(rows.iter().copied()).collect::<Vec<_>>().join("\n")
}

#[test]
fn every_doubt_stands_in_the_text_with_its_evidence() {
    let text = looks(&["1|03/04/2025 08:15|A1|incoming|ok", "2|05/06/2025 09:15|A2|see note|??"]);
    let draft = drafted(Table::Inspections, &text);
    assert!(!draft.doubts.is_empty());
    let comments: Vec<&str> =
        draft.toml.lines().filter(|line| line.trim_start().starts_with("# ? ")).collect();
    assert_eq!(comments.len(), draft.doubts.len());
    for (comment, doubt) in comments.iter().zip(&draft.doubts) {
        assert_eq!(*comment, format!("# ? {} (evidence: {})", doubt.question, doubt.evidence));
    }
}

#[test]
fn what_nobody_can_know_is_always_asked() {
    let text = looks(&["1|2025-04-03 08:15:00|A1|incoming|pass"]);
    let draft = drafted(Table::Inspections, &text);
    for key in ["site", "timezone", "end_face_names", "finding_default"] {
        assert!(keys(&draft).contains(&key), "{key}\n{}", draft.toml);
        assert!(!source(&draft).contains_key(key), "{key}");
    }
}

#[test]
fn times_with_their_zone_leave_no_question_about_it() {
    let text = looks(&["1|2025-04-03T08:15:00+0200|A1|incoming|pass"]);
    assert!(!keys(&drafted(Table::Inspections, &text)).contains(&"timezone"));
}

#[test]
fn an_ambiguous_order_of_day_and_month_is_left_open() {
    let text =
        looks(&["1|03/04/2025 08:15|A1|incoming|pass", "2|05/06/2025 09:15|A2|incoming|pass"]);
    let draft = drafted(Table::Inspections, &text);
    assert!(keys(&draft).contains(&"record[0].dates.at"), "{}", draft.toml);
    assert_eq!(part(&draft, 0, "columns")["at"].as_str(), Some("When"));
    assert!(!part(&draft, 0, "dates").contains_key("at"));
    for order in ["%d/%m/%Y %H:%M", "%m/%d/%Y %H:%M"] {
        assert!(draft.toml.contains(order), "{order}\n{}", draft.toml);
    }
}

#[test]
fn two_digit_years_and_seconds_since_1970_are_asked_about() {
    let text = looks(&["1|23-04-25|A1|incoming|pass", "2|24-04-25|A2|incoming|pass"]);
    let draft = drafted(Table::Inspections, &text);
    assert!(keys(&draft).contains(&"two_digit_years_from"), "{}", draft.toml);
    let text = looks(&["1|1736762580|A1|incoming|pass", "2|1736812020|A2|incoming|pass"]);
    let draft = drafted(Table::Inspections, &text);
    assert!(keys(&draft).contains(&"record[0].dates.at"), "{}", draft.toml);
    assert_eq!(part(&draft, 0, "dates")["at"].as_str(), Some("epoch-s"));
}

#[test]
fn unknown_words_are_asked_about_with_their_counts() {
    let text = looks(&[
        "1|2025-04-13 08:15:00|A1|incoming|ok",
        "2|2025-04-14 08:15:00|A2|incoming|ok",
        "3|2025-04-15 08:15:00|A3|incoming|see note",
    ]);
    let draft = drafted(Table::Inspections, &text);
    let key = "record[0].values.outcome.\"see note\"";
    let doubt = draft.doubts.iter().find(|doubt| doubt.key == key).unwrap();
    assert!(doubt.evidence.starts_with("1 of 3 cells"), "{}", doubt.evidence);
    let outcome = part(&draft, 0, "values")["outcome"].as_table().unwrap().clone();
    assert_eq!(outcome["ok"].as_str(), Some("pass"));
    assert!(!outcome.contains_key("see note"));
}

#[test]
fn a_required_column_that_nothing_fills_is_left_open() {
    let draft = drafted(
        Table::Cleanings,
        "ID|When|Zzz\n1|2025-04-13 08:15:00|q1\n2|2025-04-14 08:15:00|q2",
    );
    for column in ["end_face", "stage", "method"] {
        let key = format!("record[0].columns.{column}");
        assert!(keys(&draft).contains(&key.as_str()), "{column}\n{}", draft.toml);
        assert!(!part(&draft, 0, "columns").contains_key(column));
    }
}

#[test]
fn a_given_site_stands_and_its_column_is_listed_as_unused() {
    let mut asked = asked(Some(Table::Inspections));
    asked.site = Some("Birch Quay".to_owned());
    let text =
        "ID|When|Depot|End face|Stage|Result\n1|2025-04-13 08:15:00|Alder Point|A1|incoming|pass";
    let draft = draft(&asked, &profiles(text), &Dialect::default());
    assert_eq!(source(&draft)["site"].as_str(), Some("Birch Quay"));
    assert!(!part(&draft, 0, "columns").contains_key("site"));
    assert!(draft.toml.contains("\"Depot\", such as \"Alder Point\""), "{}", draft.toml);
}

#[test]
fn people_are_told_of_and_never_shown() {
    let text =
        "ID|When|End face|Stage|Result|Inspector\n1|2025-04-13 08:15:00|A1|incoming|pass|Ada Lorne";
    let draft = drafted(Table::Inspections, text);
    assert!(draft.toml.contains("inspector = \"Inspector\"   # people"), "{}", draft.toml);
    let draft =
        drafted(Table::Inspections, &text.replace("Inspector", "User").replace(" Lorne", ""));
    assert!(keys(&draft).contains(&"record[0].columns.inspector"), "{}", draft.toml);
    assert!(!draft.toml.contains("Ada"), "{}", draft.toml);
}

#[test]
fn the_dialect_is_written_where_it_is_not_the_usual_one() {
    let dialect = Dialect {
        separator: motetrail::settings::Separator::Byte(b'\t'),
        quote: None,
        escape: Some(b'\\'),
        decimal_mark: b',',
        skip_lines: 3,
        header_rows: 2,
        units_row: true,
        sheet: Some("Looks".to_owned()),
        ..Dialect::default()
    };
    let text = looks(&["1|2025-04-13 08:15:00|A1|incoming|pass"]);
    let draft = draft(&asked(Some(Table::Inspections)), &profiles(&text), &dialect);
    let source = source(&draft);
    for (key, text) in [
        ("separator", "\t"),
        ("quote", ""),
        ("escape", "\\"),
        ("decimal_mark", ","),
        ("sheet", "Looks"),
    ] {
        assert_eq!(source[key].as_str(), Some(text), "{key}");
    }
    assert_eq!(source["skip_lines"].as_integer(), Some(3));
    assert_eq!(source["header_rows"].as_integer(), Some(2));
    assert_eq!(source["units_row"].as_bool(), Some(true));
    assert!(!source.contains_key("encoding") && !source.contains_key("line_end"));
}

#[test]
fn the_same_profiles_give_the_same_text() {
    let text =
        looks(&["1|2025-04-13 08:15:00|A1|incoming|pass", "2|2025-04-14 08:15:00|A2|service|bad"]);
    assert_eq!(drafted(Table::Inspections, &text), drafted(Table::Inspections, &text));
}

#[test]
fn columns_without_a_name_of_their_own_are_told_and_not_mapped() {
    let text =
        "ID|When|End face|Stage|Result|Result|\n1|2025-04-13 08:15:00|A1|incoming|pass|fail|x";
    let draft = drafted(Table::Inspections, text);
    assert!(!part(&draft, 0, "columns").contains_key("outcome"), "{}", draft.toml);
    assert!(keys(&draft).contains(&"record[0].columns.outcome"));
    assert_eq!(draft.toml.matches("no name of its own").count(), 3, "{}", draft.toml);
}
