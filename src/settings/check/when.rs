//! `when` of a record: the condition on one export column.

use crate::settings::place::Place;
use crate::settings::plan::{Test, When};
use crate::settings::problems::Problems;
use crate::settings::words;
use crate::settings::written;

/// The condition at `place`: one column, exactly one test.
pub fn when(typed: &written::When, place: &Place, problems: &mut Problems) -> Option<When> {
    let column = typed.column.as_deref();
    let column = words::required(column, "an export column", &place.key("column"), problems);
    let tests = [
        typed.is.clone().map(Test::OneOf),
        typed.is_not.clone().map(Test::NoneOf),
        typed.given.map(|_| Test::Given),
    ];
    for (key, list) in [("is", &typed.is), ("is_not", &typed.is_not)] {
        if let Some(list) = list {
            cells(list, &place.key(key), problems);
        }
    }
    if typed.given == Some(false) {
        problems.add(
            &place.key("given"),
            "found false, expected true, or `is = [\"\"]` for empty cells",
        );
    }
    let mut tests: Vec<Test> = tests.into_iter().flatten().collect();
    let mistyped =
        ["is", "is_not", "given"].iter().any(|key| problems.is_mistyped(&place.key(key)));
    if tests.len() != 1 && !mistyped {
        let found = if tests.is_empty() { "no test" } else { "several tests" };
        problems.add(place, format!("found {found}, expected exactly one of is, is_not, given"));
    }
    tests.pop().map(|is| When { column, is })
}

/// Notes words that no trimmed cell can be. The empty word can.
fn cells(words: &[String], place: &Place, problems: &mut Problems) {
    if words.is_empty() {
        problems.add(place, "is empty; expected at least one word");
    }
    for (index, word) in words.iter().enumerate() {
        if word.trim() != word {
            let here = place.index(index);
            problems.add(
                &here,
                format!("found {word:?}, expected no spaces around it: cells are trimmed"),
            );
        }
    }
}
