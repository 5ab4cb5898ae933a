//! One line of a column: number, name, kind, how many cells are filled, what stands in them.

use super::shown::{PAGE, fitted, padded, quoted, shown};
use crate::draft::holds_people;
use crate::tabular::profile::{ColumnProfile, DayMonth, Guess};

const NUMBER: usize = 4;
const NAME: usize = 22;
const KIND: usize = 22;
const FILLED: usize = 6;
/// What is left for the contents, with two blanks between the parts.
const CONTENTS: usize = PAGE - NUMBER - NAME - KIND - FILLED - 8;
/// Most columns of one text in it.
const EXAMPLE: usize = 30;
/// Most different words that are shown with their counts.
const MOST_WORDS: usize = 12;

/// The heading of the lines.
pub fn heading() -> String {
    parts("#", "name", "kind", "filled", "contents")
}

/// The line of the column with that number, counted from 1.
pub fn line(number: usize, column: &ColumnProfile) -> String {
    let filled = column.cells - column.empty.min(column.cells);
    let share = percent(filled, column.cells);
    parts(&number.to_string(), &shown(&column.name), &kind(column), &share, &contents(column))
}

fn parts(number: &str, name: &str, kind: &str, filled: &str, contents: &str) -> String {
    // A table of ten thousand columns needs a wider number.
    let contents = fitted(contents, CONTENTS - number.len().saturating_sub(NUMBER));
    let name = padded(name, NAME);
    let line =
        format!("{number:>NUMBER$}  {name}  {}  {filled:>FILLED$}  {contents}", padded(kind, KIND));
    line.trim_end().to_owned()
}

/// Whole percents; never 0 or 100 unless it is none or all.
fn percent(part: usize, all: usize) -> String {
    match (part, all) {
        (_, 0) => "-".to_owned(),
        (0, _) => "0 %".to_owned(),
        _ if part == all => "100 %".to_owned(),
        _ => {
            let percent = (part as u128 * 100 / all as u128).clamp(1, 99);
            format!("{percent} %")
        }
    }
}

fn kind(column: &ColumnProfile) -> String {
    let order = column.dates.first().map(|fit| match fit.order {
        DayMonth::DayFirst => ", day first",
        DayMonth::MonthFirst => ", month first",
        DayMonth::YearFirst => ", year first",
        DayMonth::Named => ", month by name",
        DayMonth::Ambiguous => ", order open",
    });
    match column.kind {
        _ if column.clock().is_some() => "times of day".to_owned(),
        Guess::Empty => "nothing".to_owned(),
        Guess::Flag => "yes or no".to_owned(),
        Guess::Integer if order.is_some() => "whole numbers, times?".to_owned(),
        Guess::Integer => "whole numbers".to_owned(),
        Guess::Decimal { mark: b',' } => "decimals with a comma".to_owned(),
        Guess::Decimal { .. } => "decimals with a dot".to_owned(),
        Guess::Instant => format!("times{}", order.unwrap_or_default()),
        Guess::Day => format!("dates{}", order.unwrap_or_default()),
        Guess::Words => "a few words".to_owned(),
        Guess::Name => "names".to_owned(),
        Guess::Text => "free text".to_owned(),
    }
}

/// Its pattern, or its words with their counts, or examples; of people's names nothing.
fn contents(column: &ColumnProfile) -> String {
    if holds_people(&column.name) {
        return "not shown: people's names by the column's name".to_owned();
    }
    let examples = column.examples.iter().map(|text| part(text));
    if let Some(fit) = column.dates.first() {
        let patterns = fit.patterns.iter().map(|pattern| shown(pattern)).collect::<Vec<_>>();
        let such = examples.take(2).collect::<Vec<_>>().join(", ");
        return format!("{}  {such}", patterns.join(" or "));
    }
    match &column.words {
        Some(words) if matches!(column.kind, Guess::Words | Guess::Flag) => {
            let told = words.iter().take(MOST_WORDS);
            let told: Vec<String> =
                told.map(|(word, count)| format!("{} {count}", part(word))).collect();
            told.join(", ")
        }
        _ => examples.collect::<Vec<_>>().join(", "),
    }
}

/// One text in quotes. Cut before it is made harmless, so that no escape is cut in two.
fn part(text: &str) -> String {
    let mut kept: String = text.chars().take(EXAMPLE).collect();
    if kept.len() < text.len() {
        kept.push('…');
    }
    quoted(&kept)
}
