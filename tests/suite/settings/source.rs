//! Sources: files, dialect, covers.

use motetrail::settings::{
    ClockChange, Encoding, LineEnd, NameScope, People, Separator, ShortRows,
};

use super::{LEAST, least_with, plan, problems};

/// What is said when a line is put into the source, without the place.
fn said_of(line: &str) -> String {
    let said = problems(&least_with("site =", &format!("{line}\nsite =")));
    let start = format!("fleet.toml:9 source.{}: ", line.split([' ', '=']).next().unwrap());
    match said.strip_prefix(&start) {
        Some(said) => said.to_owned(),
        None => panic!("{said:?} does not start with {start:?}"),
    }
}

#[test]
fn each_value_of_the_dialect_is_checked() {
    let character = "expected one ASCII character, no line end";
    let separator = "expected one to 4 bytes without a line end, or \"blanks\" for columns set \
                     apart by blanks";
    for text in ["", "\\n", "|\\n|", "<=><="] {
        let found = text.replace("\\n", "\n");
        assert_eq!(
            said_of(&format!("separator = \"{text}\"")),
            format!("found {found:?}, {separator}")
        );
    }
    assert_eq!(said_of("quote = \"§\""), format!("found \"§\", {character}"));
    assert_eq!(said_of("quote = \"\\n\""), format!("found \"\\n\", {character}"));
    assert_eq!(said_of("quote = \",\""), "found \",\", which is the separator too");
    assert_eq!(
        said_of("decimal_mark = \";\""),
        "found \";\", expected one of ., ,; did you mean \".\"?"
    );
    assert_eq!(
        said_of("encoding = \"ebcdic\""),
        "found \"ebcdic\", expected an encoding such as \"utf-8\", \"windows-1252\" or \"utf-16le\""
    );
    assert_eq!(
        said_of("escape = \"\\\"\""),
        "found \"\\\"\", which is the quote too; leave `escape` out where doubled quotes stand for one"
    );
    assert_eq!(said_of("header_rows = 5"), "found 5, expected a whole number from 0 to 4");
    assert_eq!(
        said_of("two_digit_years_from = 70"),
        "found 70, expected a whole number from 1900 to 2000"
    );
    assert_eq!(said_of("skip_lines = -1"), "found -1, expected a whole number from 0 to 10000");
    assert_eq!(said_of("nulls = [\"-\", \"-\"]"), "found \"-\" a second time; remove one");
}

#[test]
fn each_word_of_a_source_is_checked() {
    assert_eq!(
        said_of("clock_change = \"latest\""),
        "found \"latest\", expected one of earlier, later, quarantine; did you mean \"later\"?"
    );
    assert_eq!(
        said_of("finding_default = \"dirt\""),
        "found \"dirt\", expected one of unknown, contamination, defect"
    );
    assert_eq!(
        said_of("timezone = \"Mars\""),
        "found \"Mars\", expected an IANA time zone such as \"Europe/Vienna\""
    );
}

#[test]
fn covers_name_tables_and_run_forward() {
    let known = "(known: end_faces, inspections, cleanings, matings, faults)";
    assert_eq!(
        said_of("covers.fault = { from = 2026-01-01, to = 2026-01-31 }").replace(known, "(known)"),
        "there is no such table; did you mean `faults`? (known)"
    );
    assert_eq!(
        said_of("covers.faults = { from = 2026-02-01, to = 2026-01-31 }"),
        "found from 2026-02-01 to 2026-01-31; expected from not after to"
    );
    let text = least_with("site =", "covers.faults = { from = \"soon\" }\nsite =");
    assert_eq!(
        problems(&text),
        "\
fleet.toml:9 source.covers.faults.from: found \"soon\", expected a day such as \"2026-07-05\"
fleet.toml:9 source.covers.faults.to: missing; expected a day such as \"2026-07-05\""
    );
}

#[test]
fn globs_stay_in_the_folder_of_the_settings() {
    let relative = "expected a path relative to the settings file";
    let inside = "expected no `..`: exports stand in the settings' folder or below";
    let cases = [
        ("''", "found \"\", expected a glob that is not empty".to_owned()),
        ("'/etc/*.csv'", format!("found \"/etc/*.csv\", {relative}")),
        ("'C:/x.csv'", format!("found \"C:/x.csv\", {relative}")),
        ("'\\\\host\\x.csv'", format!("found \"\\\\\\\\host\\\\x.csv\", {relative}")),
        ("'a/../../x.csv'", format!("found \"a/../../x.csv\", {inside}")),
    ];
    for (glob, said) in cases {
        let text = least_with("\"bench-*.csv\"", glob);
        assert_eq!(problems(&text), format!("fleet.toml:8 source.files: {said}"));
    }
    let said = problems(&least_with("bench-*.csv", "bench-[.csv"));
    assert!(
        said.starts_with("fleet.toml:8 source.files: found \"bench-[.csv\", expected a glob: ")
    );
    assert_eq!(problems(&least_with("bench-*.csv", "a..b/**/bench-?.csv.gz")), "");
    assert_eq!(
        problems(&least_with("[\"bench-*.csv\"]", "[]")),
        "fleet.toml:8 source.files: missing; expected at least one glob such as \"exports/bench-*.csv\""
    );
}

#[test]
fn a_site_is_one_of_those_listed() {
    let text = least_with("[fleet]", "[fleet]\nsites = [\"Work\"]");
    assert_eq!(
        problems(&text),
        "fleet.toml:10 source.site: found \"Works\", expected one of Work; did you mean \"Work\"?"
    );
}

#[test]
fn required_keys_of_a_source_are_told_at_its_header() {
    let rest = LEAST.split_once("\n[[source]]").unwrap().0;
    assert_eq!(
        problems(&format!("{rest}\n[[source]]\n")),
        "\
fleet.toml:6 source.end_face_names: missing; expected \"fleet\" or \"site\": where an end-face name is unique
fleet.toml:6 source.files: missing; expected at least one glob such as \"exports/bench-*.csv\"
fleet.toml:6 source.name: missing; expected a name for the source
fleet.toml:6 source.record: missing; expected at least one [[source.record]]"
    );
}

#[test]
fn every_choice_of_a_source_is_read() {
    let lines = "separator = \"\\t\"\nquote = \"'\"\nclock_change = \"later\"\nskip_lines = 3\ntimezone = \"Asia/Tokyo\"\nsite =";
    let source = plan(&least_with("site =", lines)).sources.remove(0);
    assert_eq!(
        (&source.dialect.separator, source.dialect.quote),
        (&Separator::Byte(b'\t'), Some(b'\''))
    );
    assert_eq!((source.dialect.skip_lines, source.clock_change), (3, ClockChange::Later));
    assert_eq!(source.timezone, chrono_tz::Asia::Tokyo);
    assert_eq!(source.scope, NameScope::Fleet);
    let scope = least_with("end_face_names = \"fleet\"", "end_face_names = \"site\"");
    assert_eq!(plan(&scope).sources[0].scope, NameScope::Site);
}

#[test]
fn every_way_of_writing_an_export_can_be_said() {
    let lines = "separator = \"blanks\"\nquote = \"\"\nescape = \"\\\\\"\nline_end = \"any\"\n\
                 encoding = \"utf-16le\"\nheader_rows = 2\nunits_row = true\nshort_rows = \"pad\"\n\
                 sheet = \"Messungen\"\nsite =";
    let plan = plan(&least_with("site =", lines));
    let dialect = &plan.sources[0].dialect;
    assert_eq!((&dialect.separator, dialect.quote), (&Separator::Blanks, None));
    assert_eq!((dialect.escape, dialect.line_end), (Some(b'\\'), LineEnd::Any));
    assert_eq!(Some(dialect.encoding), Encoding::named("UTF-16LE"));
    assert_eq!((dialect.header_rows, dialect.units_row), (2, true));
    assert_eq!((dialect.short_rows, dialect.sheet.as_deref()), (ShortRows::Pad, Some("Messungen")));
}

#[test]
fn a_column_of_people_is_named_with_what_becomes_of_it() {
    let people = |people: &str| {
        plan(&least_with("site =", &format!("{people}\nsite ="))).sources[0].people.clone()
    };
    assert!(people("").is_empty());
    let named = people("people = { \"Examined by\" = \"pseudonym\", Assignee = \"drop\" }");
    assert_eq!(named["Examined by"], People::Pseudonym);
    assert_eq!(named["Assignee"], People::Drop);
}

#[test]
fn a_column_of_people_that_the_map_cannot_read_as_such_is_told() {
    let read = "end_face";
    let column = plan(LEAST).sources[0].records[0].columns[read][0].clone();
    let said = |word: &str| {
        problems(&least_with("site =", &format!("people.{column} = \"{word}\"\nsite =")))
    };
    assert_eq!(
        said("drop"),
        format!(
            "fleet.toml:9 source.people.{column}: found \"drop\", but the map reads the column as `{read}`; \
             take it out of the map, or write \"pseudonym\""
        )
    );
    assert_eq!(
        said("pseudonym"),
        format!(
            "fleet.toml:9 source.people.{column}: found a column of people that the map reads as `{read}`, \
             which takes no pseudonym; take it out of the map, or out of `people`"
        )
    );
    assert_eq!(
        said("mask"),
        format!(
            "fleet.toml:9 source.people.{column}: found \"mask\", expected one of pseudonym, drop"
        )
    );
}
