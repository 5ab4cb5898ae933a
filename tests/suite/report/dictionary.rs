//! The dictionary: every table, column, quantity, word, unit and flag that a report can hold has its sentence.

use std::collections::BTreeSet;

use motetrail::measures::AnyTable;

use super::{full, sample};
use crate::printed::{all_rows, columns};

/// Tables whose results are declared.
fn declared(review: &motetrail::measures::Review) -> Vec<&dyn AnyTable> {
    review.tables().into_iter().filter(|table| !table.doc().is_empty()).collect()
}

#[test]
fn every_column_quantity_grouping_and_word_of_a_table_is_in_the_dictionary() {
    let review = sample::full();
    let dictionary = full("tables/dictionary.csv");
    let lines: BTreeSet<String> = dictionary
        .lines()
        .map(|line| line.split(',').take(4).collect::<Vec<_>>().join(","))
        .collect();
    let explained = |line: String| assert!(lines.contains(&line), "{line}");
    for table in review.tables() {
        let name = table.name();
        explained(format!("{name},table,{name},"));
        for column in columns(table) {
            let leading = format!(",column,{},", column.spec.name);
            if !lines.contains(&leading) {
                explained(format!("{name},column,{},", column.spec.name));
            }
            for word in column.spec.words {
                explained(format!("{name},word,{},{}", word.word, column.spec.name));
            }
        }
        for row in all_rows(table) {
            explained(format!("{name},quantity,{},", row.row.quantity));
            explained(format!("{name},grouping,{},", row.row.by));
            for flag in row.row.flags {
                explained(format!(",flag,{},", flag.word()));
            }
            let unit = row.row.unit.word();
            let unit =
                if unit.contains(',') { format!("\"{}", &unit[..5]) } else { unit.to_owned() };
            assert!(lines.iter().any(|line| line.starts_with(&format!(",unit,{unit}"))), "{unit}");
        }
    }
}

#[test]
fn everything_declared_has_a_sentence_and_a_name_of_its_own() {
    let review = sample::full();
    let tables = declared(&review);
    assert!(!tables.is_empty());
    for table in tables {
        let mut names = BTreeSet::new();
        let specs = columns(table).into_iter().map(|column| column.spec);
        for spec in specs {
            assert!(spec.doc.ends_with('.'), "{}: {}: {}", table.name(), spec.name, spec.doc);
            assert!(names.insert(spec.name), "{} has {} twice", table.name(), spec.name);
            let mut words = BTreeSet::new();
            for word in spec.words {
                assert!(word.doc.ends_with('.'), "{}: {}", spec.name, word.word);
                assert!(words.insert(word.word), "{} says {} twice", spec.name, word.word);
            }
        }
        let mut words = BTreeSet::new();
        for quantity in table.quantities() {
            assert!(quantity.doc.ends_with('.'), "{}: {}", table.name(), quantity.word);
            assert!(words.insert(quantity.word), "{} twice", quantity.word);
        }
    }
}

/// A word of `by` names the columns that its rows fill: quarters, months and weeks stand in `time`.
#[test]
fn groupings_name_columns_of_their_table() {
    let review = sample::full();
    for table in declared(&review) {
        let names: BTreeSet<&str> =
            columns(table).into_iter().map(|column| column.spec.name).collect();
        for by in table.groupings().into_iter().filter(|by| *by != "fleet") {
            for part in by.split('+') {
                let part = match part {
                    "quarter" | "month" | "week" if !names.contains(part) => "time",
                    part => part,
                };
                assert!(names.contains(part), "{}: {by}", table.name());
            }
        }
    }
}

#[test]
fn the_page_for_readers_says_the_same() {
    let page = full("tables/README.md");
    assert!(page.contains(
        "\n## coverage\n\nWhich matings were made with both ends inspected and passing.\n"
    ));
    assert!(page.contains("| `silent-month` | count | Matings of a month in which"));
    assert!(page.contains("| `clusters` | integer | count | count | yes | Blocks "));
    assert!(page.contains("- `base` = `known`: Matings of which it is known"));
    assert!(page.contains("- `thin`: too few units"));
    let review = sample::full();
    for table in review.tables() {
        assert!(page.contains(&format!("\n## {}\n", table.name())), "{}", table.name());
    }
}
