//! `answers`: what is said once and meant in several places; and which questions are still open.
//!
//! Anywhere a value is expected, `{ answer = "KEY" }` stands for the value of that key under `answers`. A key that
//! stands there in a comment only is open: whatever refers to it counts as left out. A comment that begins with `# ?`
//! is a question that nobody has answered yet.

use toml_edit::{Document, Item, TableLike, Value};

use super::lines::Lines;
use super::place::{Place, Step};

/// Table of the answers, at the top of the file.
pub const ANSWERS: &str = "answers";
/// The one key of a reference.
pub const ANSWER: &str = "answer";
/// How a comment with an open question begins.
pub const ASKED: &str = "# ?";
/// How the remark begins that says what an answer changes.
pub const CHANGES: &str = "Changes: ";
/// How a line of a comment begins, behind its `#`, that goes on with the one before.
pub const GOES_ON: &str = "       ";
/// Table of a record whose keys the tables beside it repeat.
const COLUMNS: &str = "columns";
const FORMS: &str = "forms";
const BESIDE_COLUMNS: [&str; 6] = ["dates", "numbers", "values", "durations", FORMS, "unreadable"];
/// A key that an empty answer leaves out.
const THOUSANDS: &str = "thousands";
/// Deepest nesting that is followed.
const DEEPEST: usize = 16;

/// A line that answers a question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Its key.
    pub key: String,
    /// What stands there, as TOML.
    pub value: String,
    /// Whether that counts until there is an answer.
    pub stands: bool,
    /// What is said behind it.
    pub remark: String,
}

/// A question of the settings that nobody has answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OpenQuestion {
    /// Line of the settings, from 1.
    pub line: usize,
    /// What is asked.
    pub text: String,
    /// What the answer changes; empty where nothing says it.
    pub changes: String,
    /// Keys of its answers, each with what stands there as TOML, in a comment or not.
    pub answers: Vec<(String, String)>,
}

/// The questions of a settings text, in its order.
pub fn open_questions(text: &str) -> Vec<OpenQuestion> {
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let asked = |(at, line): (usize, &&str)| {
        let first = line.strip_prefix(ASKED)?;
        let block = lines[at + 1..]
            .iter()
            .take_while(|line| line.starts_with('#') && !line.starts_with(ASKED));
        let remarks: Vec<&str> = block.filter_map(|line| line.strip_prefix('#')).collect();
        let text = with_rest(first, &remarks);
        let changes = remarks.iter().enumerate().find_map(|(at, remark)| {
            let first = remark.trim().strip_prefix(CHANGES)?;
            Some(with_rest(first, &remarks[at + 1..]))
        });
        let behind = lines[at + 1..].iter().take_while(|line| !line.is_empty());
        let answers = behind
            .take_while(|line| !line.starts_with(ASKED) && **line != "#")
            .filter_map(|line| answer_of(line))
            .map(|answer| (answer.key, answer.value))
            .collect();
        let changes = changes.unwrap_or_default();
        Some(OpenQuestion { line: at + 1, text, changes, answers })
    };
    lines.iter().enumerate().filter_map(asked).collect()
}

/// A remark with the lines that go on with it, which stand further right than where one begins.
fn with_rest(first: &str, behind: &[&str]) -> String {
    let rest = behind.iter().take_while(|line| line.starts_with(GOES_ON));
    rest.fold(first.trim().to_owned(), |text, line| text + " " + line.trim())
}

/// Puts the answers where they are referred to, and takes them off the top. Yields the references to no answer, each
/// with its key.
pub fn put_in(lines: &mut Lines, text: &str) -> Vec<(Place, String)> {
    let Some(root) = lines.root_mut().as_table_mut() else { return Vec::new() };
    let answers = root.remove(ANSWERS).unwrap_or(Item::None);
    let mut put = Put { answers: &answers, open: open_keys(text), missing: Vec::new() };
    put.table(root, &Place::default(), 0);
    put.missing
}

struct Put<'a> {
    answers: &'a Item,
    open: Vec<String>,
    missing: Vec<(Place, String)>,
}

/// What becomes of a reference.
enum Found {
    Value(Item),
    Open,
    Unknown,
}

impl Put<'_> {
    fn table(&mut self, table: &mut dyn TableLike, here: &Place, depth: usize) {
        if depth > DEEPEST {
            return;
        }
        let mapped = keys_of(table.get(COLUMNS));
        let asked = asked_of(table.get(COLUMNS));
        self.entries(table, here, depth);
        // What belongs to a column that nobody mapped goes with it.
        let left = keys_of(table.get(COLUMNS));
        for column in mapped.into_iter().filter(|column| !left.contains(column)) {
            for part in BESIDE_COLUMNS {
                if let Some(part) = table.get_mut(part).and_then(Item::as_table_like_mut) {
                    part.remove(&column);
                }
            }
        }
        // One column alone needs no form that composes several.
        let alone = |column: &String| {
            let columns = table.get(COLUMNS).and_then(Item::as_table_like);
            columns.and_then(|columns| columns.get(column)).is_some_and(Item::is_str)
        };
        let alone: Vec<String> = asked.into_iter().filter(alone).collect();
        if let Some(forms) = table.get_mut(FORMS).and_then(Item::as_table_like_mut) {
            alone.iter().for_each(|column| drop(forms.remove(column)));
            if forms.is_empty() {
                drop(table.remove(FORMS));
            }
        }
    }

    fn entries(&mut self, table: &mut dyn TableLike, here: &Place, depth: usize) {
        let keys: Vec<String> = table.iter().map(|(key, _)| key.to_owned()).collect();
        for key in keys {
            let place = here.step(Step::Key(key.clone()));
            let Some(item) = table.get_mut(&key) else { continue };
            if let Some(name) = reference(item) {
                match self.answer(&name) {
                    // A column or a separator that the answer leaves empty is none.
                    Found::Value(answer)
                        if answer.as_str() == Some("") && (is_column(here) || key == THOUSANDS) =>
                    {
                        drop(table.remove(&key));
                    }
                    Found::Value(answer) => *item = answer,
                    Found::Open => drop(table.remove(&key)),
                    Found::Unknown => self.missing.push((place, name)),
                }
            } else {
                self.item(item, &place, depth);
            }
        }
    }

    fn item(&mut self, item: &mut Item, place: &Place, depth: usize) {
        match item {
            Item::ArrayOfTables(tables) => {
                for (index, table) in tables.iter_mut().enumerate() {
                    self.table(table, &place.index(index), depth + 1);
                }
            }
            Item::Value(Value::Array(array)) => {
                for (index, value) in array.iter_mut().enumerate() {
                    if let Value::InlineTable(table) = value {
                        self.table(table, &place.index(index), depth + 1);
                    }
                }
            }
            _ => {
                if let Some(table) = item.as_table_like_mut() {
                    self.table(table, place, depth + 1);
                }
            }
        }
    }

    fn answer(&self, name: &str) -> Found {
        match self.answers.get(name) {
            Some(found) if !found.is_none() => Found::Value(found.clone()),
            _ if self.open.iter().any(|open| open == name) => Found::Open,
            _ => Found::Unknown,
        }
    }
}

/// Keys of answers that stand in comments, such as `# answers.timezone = "..."`.
fn open_keys(text: &str) -> Vec<String> {
    let answers = text.lines().filter_map(|line| answer_of(line.trim()));
    answers.filter(|answer| !answer.stands).map(|answer| answer.key).collect()
}

/// The answer of a line such as `answers.timezone = "UTC"`, in a comment or not.
pub fn answer_of(line: &str) -> Option<Answer> {
    let plain = line.trim_start_matches('#').trim_start();
    plain.strip_prefix(ANSWERS)?.strip_prefix('.')?;
    let document = Document::parse(plain).ok()?;
    let answers = document.get(ANSWERS).and_then(Item::as_table_like)?;
    let (key, value) = answers.iter().next()?;
    let span = value.as_value()?.span()?;
    let remark = plain.get(span.end..).unwrap_or_default();
    Some(Answer {
        key: key.to_owned(),
        value: plain.get(span).unwrap_or_default().to_owned(),
        stands: !line.starts_with('#'),
        remark: remark.trim().trim_start_matches('#').trim().to_owned(),
    })
}

fn keys_of(item: Option<&Item>) -> Vec<String> {
    let table = item.and_then(Item::as_table_like);
    table.into_iter().flat_map(|table| table.iter().map(|(key, _)| key.to_owned())).collect()
}

/// Keys of a table whose values are references to answers.
fn asked_of(item: Option<&Item>) -> Vec<String> {
    let table = item.and_then(Item::as_table_like);
    let entries = table.into_iter().flat_map(|table| table.iter());
    entries.filter(|(_, item)| reference(item).is_some()).map(|(key, _)| key.to_owned()).collect()
}

/// Whether the table at that place is the columns of a record.
fn is_column(here: &Place) -> bool {
    here.steps().last() == Some(&Step::Key(COLUMNS.to_owned()))
}

/// The key of an answer, where that is all that stands there.
fn reference(item: &Item) -> Option<String> {
    let table = item.as_inline_table()?;
    let answer = table.get(ANSWER)?.as_str()?;
    (table.len() == 1).then(|| answer.to_owned())
}
