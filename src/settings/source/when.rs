//! `when` of a record: the condition on one export column.

use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::ranges::Name;
use crate::settings::section::{Range, section};

section! {
    TypedWhen:
    /// A condition as typed: one column, exactly one test.
    WhenKeys {
        /// Column of the export.
        column: String = String::new(), Name, required "an export column";
        /// Its cell is one of these words.
        is: Option<Vec<String>> = None, Cells;
        /// Its cell is none of these words.
        is_not: Option<Vec<String>> = None, Cells;
        /// Its cell is not empty and no null word.
        given: Option<bool> = None, GivenOnly;
    }
}

/// A condition on one export column.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct When {
    /// Column of the export.
    pub column: String,
    /// What its cell must be.
    pub is: Test,
}

/// What a condition asks of the trimmed cell.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Test {
    /// One of these words.
    OneOf(Vec<String>),
    /// None of these words.
    NoneOf(Vec<String>),
    /// Anything but a null word.
    Given,
}

/// The condition at `place`; rows that satisfy it become a record of the part.
pub struct Condition;

impl Range for Condition {
    type Typed = TypedWhen;
    type Value = Option<When>;

    fn read(&self, typed: &TypedWhen, place: &Place, problems: &mut Problems) -> Option<When> {
        let keys = WhenKeys::read(typed, place, problems);
        let tests = [
            keys.is.map(Test::OneOf),
            keys.is_not.map(Test::NoneOf),
            keys.given.map(|_| Test::Given),
        ];
        let mut tests: Vec<Test> = tests.into_iter().flatten().collect();
        let mistyped = WhenKeys::described()
            .iter()
            .any(|key| !key.required && problems.is_mistyped(&place.key(key.key)));
        if tests.len() != 1 && !mistyped {
            let found = if tests.is_empty() { "no test" } else { "several tests" };
            problems
                .add(place, format!("found {found}, expected exactly one of is, is_not, given"));
        }
        tests.pop().map(|is| When { column: keys.column, is })
    }

    fn text(&self) -> String {
        "a condition on one export column, such as `{ column = \"Kind\", is = [\"LOOK\"] }`"
            .to_owned()
    }

    fn written(&self, _: &Option<When>) -> String {
        String::new()
    }
}

/// Words that a trimmed cell can be; the empty one can.
pub struct Cells;

impl Range for Cells {
    type Typed = Vec<String>;
    type Value = Option<Vec<String>>;

    fn read(
        &self,
        typed: &Vec<String>,
        place: &Place,
        problems: &mut Problems,
    ) -> Option<Vec<String>> {
        cells(typed, place, problems);
        Some(typed.clone())
    }

    fn text(&self) -> String {
        "words of cells".to_owned()
    }

    fn written(&self, _: &Option<Vec<String>>) -> String {
        String::new()
    }
}

/// True, if anything.
pub struct GivenOnly;

impl Range for GivenOnly {
    type Typed = bool;
    type Value = Option<bool>;

    fn read(&self, typed: &bool, place: &Place, problems: &mut Problems) -> Option<bool> {
        if !typed {
            problems.add(place, "found false, expected true, or `is = [\"\"]` for empty cells");
        }
        Some(*typed)
    }

    fn text(&self) -> String {
        "true".to_owned()
    }

    fn written(&self, _: &Option<bool>) -> String {
        String::new()
    }
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
