//! Guesses that a person who knows the trade would not have made: asked about, or read right.

use motetrail::records::Table;

use super::certain::{day, rows};
use super::fixture::{asked, drafted, drafted_with_rows, keys, part, profiles, source, tables};

#[test]
fn rows_with_results_around_a_cleaning_are_looks_without_being_told() {
    let header = "ID|When|Connector|Phase|Result before cleaning|Cleaning method|Result after cleaning|Inspector";
    let text = rows(header, |row| {
        let tail = if row % 3 == 0 { "pass||" } else { "fail|dry|pass" };
        format!("{row}|{}|A-{row}|installation|{tail}|Ann Lee", day(row))
    });
    let draft = motetrail::draft::draft(&asked(None), &profiles(&text), &Default::default());
    assert_eq!(tables(&draft), ["inspections", "cleanings", "inspections"], "{}", draft.toml);
}

#[test]
fn a_bare_number_of_a_port_is_asked_about_though_it_happens_to_be_unique() {
    let text = rows("ID|When|Rack|Port|Stage|Result", |row| {
        format!("L{row}|{}|R{}|{}|incoming|pass", day(row), row % 4, row % 12)
    });
    let draft = drafted_with_rows(Table::Inspections, &text);
    assert!(keys(&draft).contains(&"record[0].columns.end_face"), "{}", draft.toml);
}

#[test]
fn cleanings_of_a_mixed_log_are_asked_where_their_end_face_stands() {
    let text = rows("What|Ref|When|From|To|Phase", |row| {
        let (what, to) =
            if row % 3 == 2 { ("cleaned", String::new()) } else { ("patched", format!("B{row}")) };
        format!("{what}|R{row}|{}|A{row}|{to}|installation", day(row))
    });
    let rows: Vec<&str> = text.lines().collect();
    let names: Vec<String> = rows[0].split('|').map(str::to_owned).collect();
    let cells = rows[1..].iter().map(|row| row.split('|').map(str::to_owned).collect());
    let mut of = asked(None);
    of.rows = motetrail::draft::SampleRows { names, rows: cells.collect() };
    let draft = motetrail::draft::draft(&of, &profiles(&text), &Default::default());
    assert_eq!(part(&draft, 0, "columns")["end_face"].as_str(), Some("From"), "{}", draft.toml);
    assert!(keys(&draft).contains(&"record[0].columns.end_face"), "{}", draft.toml);
    assert_eq!(part(&draft, 1, "columns")["end_face_b"].as_str(), Some("To"));
}

#[test]
fn thousands_that_the_numbers_show_need_no_question() {
    let text = rows("Chamado|Aberto em|Conector|Causa|Custo (R$)", |row| {
        format!("C{row}|{}|A-{row}|sujeira|{}.{:03},{:02}", day(row), row % 9 + 1, row * 7, row)
    });
    let draft = drafted(Table::Faults, &text);
    assert_eq!(source(&draft)["thousands"].as_str(), Some("."));
    assert!(!keys(&draft).contains(&"record[0].columns.cost"), "{}", draft.toml);
}

#[test]
fn a_word_inside_a_longer_text_is_the_likely_answer_and_never_a_certain_one() {
    let text = rows("ID|When|Connector|Activity|Outcome", |row| {
        let stage = ["New install", "Without install"][row % 2];
        format!("L{row}|{}|A-{row}|{stage}|pass", day(row))
    });
    let draft = drafted(Table::Inspections, &text);
    assert!(keys(&draft).contains(&"record[0].values.stage.\"New install\""), "{}", draft.toml);
    assert!(draft.toml.contains("\n\"New install\" = \"installation\""), "{}", draft.toml);
    assert!(draft.toml.contains("\n# \"Without install\" = \"...\""), "{}", draft.toml);
}

#[test]
fn the_first_end_of_a_mating_is_never_taken_for_the_second() {
    let text = rows("Mating ID|When|Port A|Sundry|Phase", |row| {
        format!("M{row}|{}|R1-{row}|Q{row}|change", day(row))
    });
    let draft = drafted(Table::Matings, &text);
    let columns = part(&draft, 0, "columns");
    assert_eq!(columns["end_face_a"].as_str(), Some("Port A"), "{}", draft.toml);
    assert!(!columns.contains_key("end_face_b"), "{}", draft.toml);
    assert!(keys(&draft).contains(&"record[0].columns.end_face_b"), "{}", draft.toml);
}
