//! Values of a wrong type, and many problems at once.

use std::path::Path;

use motetrail::settings::{SettingsError, read_text};
use proptest::prelude::*;

use super::{LEAST, least_and, least_with, plan, problems};

#[test]
fn every_wrong_type_is_told_at_once_and_nothing_that_follows_from_it() {
    let text =
        least_and("[rules]\nvisit_gap_hours = \"8\"\nlevel = true\nbands_days = 7\nseed = 1.5")
            .replace("name = \"Demo\"", "name = 3")
            .replace("files = [\"bench-*.csv\"]", "files = [1]")
            .replace("table = \"inspections\"", "table = \"inspections\"\nwhen = 3")
            .replace("at = \"Time\"", "at = 4");
    assert_eq!(
        problems(&text),
        "\
fleet.toml:2 fleet.name: found integer 3, expected a string
fleet.toml:7 rules.visit_gap_hours: found string \"8\", expected a whole number
fleet.toml:8 rules.level: found boolean true, expected a number
fleet.toml:9 rules.bands_days: found integer 7, expected an array
fleet.toml:10 rules.seed: found float 1.5, expected a whole number
fleet.toml:13 source.files: found integer 1, expected a string
fleet.toml:19 source.record.when: found integer 3, expected a table
fleet.toml:21 source.record.columns.at: found integer 4, expected a string or an array of strings"
    );
}

#[test]
fn a_table_where_several_are_expected_is_told_how_to_be_written() {
    assert_eq!(
        problems(&least_with("[[source]]", "[source]")),
        "fleet.toml:6 source: found table, expected an array; write `[[source]]`"
    );
    assert_eq!(
        problems(&least_with("[[source.record]]", "[source.record]")),
        "fleet.toml:12 source.record: found table, expected an array; write `[[source.record]]`"
    );
}

#[test]
fn a_value_where_a_table_is_expected_is_told() {
    assert_eq!(
        problems(&format!("rules = 3\n{LEAST}")),
        "fleet.toml:1 rules: found integer 3, expected a table"
    );
    assert_eq!(
        problems(&least_and("[rules]\nlevel.high = 0.9")),
        "fleet.toml:7 rules.level: found table, expected a number"
    );
}

#[test]
fn elements_of_arrays_are_told_by_their_own_lines() {
    let text = "files = [\n\"a.csv\",\n1,\n\"../b.csv\",\n2,\n]";
    assert_eq!(
        problems(&least_with("files = [\"bench-*.csv\"]", text)),
        "\
fleet.toml:10 source.files: found integer 1, expected a string
fleet.toml:11 source.files: found \"../b.csv\", expected no `..`: exports stand in the settings' folder or below
fleet.toml:12 source.files: found integer 2, expected a string"
    );
}

#[test]
fn a_list_of_a_wrong_type_does_not_condemn_the_words_that_need_it() {
    assert_eq!(
        problems(&least_and("[stages]\norder = 3\ndark = [\"night\"]\n[codes]\ncause = 1")),
        "\
fleet.toml:7 stages.order: found integer 3, expected an array
fleet.toml:10 codes.cause: found integer 1, expected an array"
    );
}

#[test]
fn problems_of_many_kinds_are_sorted_by_line() {
    let second = "\n[[source]]\nname = \"bench\"\nfile = [\"x\"]\nend_face_names = \"flet\"\n\
                  [[source.record]]\ntable = \"matings\"\ncolumns = { at = \"At\" }\nconstants = { stage = \"recieving\" }\n";
    let text = format!("{}{second}", least_with("\"EUR\"", "\"euro\""));
    assert_eq!(
        problems(&text),
        "\
fleet.toml:3 fleet.currency: found \"euro\", expected three capital letters such as \"EUR\" (ISO 4217)
fleet.toml:23 source.files: missing; expected at least one glob such as \"exports/bench-*.csv\"
fleet.toml:24 source.name: found \"bench\", the name of the source on line 6; use another
fleet.toml:25 source.file: unknown key; did you mean `files`? (known: name, files, site, timezone, clock_change, two_digit_years_from, end_face_names, one_name_both_sides, names, finding_default, people, covers, record, separator, quote, escape, line_end, decimal_mark, thousands, encoding, skip_lines, header_rows, units_row, short_rows, sheet, nulls)
fleet.toml:26 source.end_face_names: found \"flet\", expected one of fleet, site; did you mean \"fleet\"?
fleet.toml:27 source.record.dates.at: missing; expected a pattern such as \"%Y-%m-%d %H:%M\"
fleet.toml:29 source.record.columns: missing; matings need `end_face_a` or `end_face_b`
fleet.toml:29 source.record.columns.site: missing; map the column, or give the source one `site`
fleet.toml:30 source.record.constants.stage: found \"recieving\", expected one of manufacture, assembly, system-test, receiving, installation, maintenance; did you mean \"receiving\"?"
    );
}

#[test]
fn texts_from_the_file_cannot_break_a_message_into_lines() {
    let said = problems(&least_and("[rules]\n\"a\\nb\" = 1\npeople = \"x\\ny\""));
    assert_eq!(said.lines().count(), 2, "{said}");
    let said = problems(&least_and("[rules]\nlevel = \"\"\"x\ny\"\"\""));
    assert_eq!(said, "fleet.toml:7 rules.level: found string \"\"\"x, expected a number");
}

#[test]
fn lines_end_as_the_file_ends_them() {
    let text = least_and("[rules]\nlevel = 2").replace('\n', "\r\n");
    assert_eq!(
        problems(&text),
        "fleet.toml:7 rules.level: found 2, expected a number from 0.5 to 0.999"
    );
    assert_eq!(plan(&LEAST.replace('\n', "\r\n")).sources[0].line, 6);
}

proptest! {
    /// Whatever piece of the example is missing or put elsewhere: a plan, or problems on lines of
    /// the file in their order.
    #[test]
    fn a_damaged_file_reads_or_is_told_in_order(from in 0usize..4000, length in 0usize..60, to in 0usize..4000) {
        let example = include_str!("fleet.toml");
        let mut letters: Vec<char> = example.chars().collect();
        let from = from.min(letters.len());
        let end = (from + length).min(letters.len());
        let piece: Vec<char> = letters.drain(from..end).collect();
        let to = to.min(letters.len());
        letters.splice(to..to, piece);
        let text: String = letters.into_iter().collect();
        if let Err(SettingsError::Invalid { problems }) = read_text(&text, Path::new("."), "f") {
            prop_assert!(!problems.is_empty());
            prop_assert!(problems.is_sorted_by_key(|problem| problem.line));
            let last = text.lines().count() + 1;
            let inside = problems.iter().all(|problem| (1..=last).contains(&problem.line));
            prop_assert!(inside);
        }
    }
}
