//! Names of columns from the rows of a header.

use rustc_hash::FxHashMap;

/// One name a column: the cells of all rows, each as [`plain_name`], joined by a blank. A title above several
/// columns stands in the first of them: it holds for the blank cells to its right, as long as
/// nothing stands above them and a name below.
pub fn joined_names(rows: &[Vec<String>]) -> Vec<String> {
    let width = rows.iter().map(Vec::len).max().unwrap_or(0);
    let mut names = vec![String::new(); width];
    for (place, cells) in rows.iter().enumerate() {
        let mut title = "";
        for (column, name) in names.iter_mut().enumerate() {
            let cell = text_at(cells, column);
            let above = rows[..place].iter().any(|row| !text_at(row, column).is_empty());
            let below = rows[place + 1..].iter().any(|row| !text_at(row, column).is_empty());
            let spread = cell.is_empty() && !above && below;
            title = if spread { title } else { cell };
            if !title.is_empty() {
                name.push_str(if name.is_empty() { "" } else { " " });
                name.push_str(&plain_name(title));
            }
        }
    }
    names
}

/// A name on one line: line breaks within it, and whatever else sets words apart, are a blank.
pub fn plain_name(text: &str) -> String {
    let words = text.split(|c: char| c.is_whitespace() || c.is_control());
    words.filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

fn text_at(cells: &[String], column: usize) -> &str {
    cells.get(column).map_or("", |cell| cell.trim())
}

/// Names of columns that have none.
pub fn numbered_names(width: usize) -> Vec<String> {
    (0..width).map(column_name).collect()
}

/// The names by which a map calls the columns: a column without one is `column` and its number; of a
/// name that stands there several times each is the name, a blank, `#` and its number among them.
pub fn told_apart(names: &[String]) -> Vec<String> {
    let mut all: FxHashMap<&str, usize> = FxHashMap::default();
    names.iter().for_each(|name| *all.entry(name).or_default() += 1);
    let mut seen: FxHashMap<&str, usize> = FxHashMap::default();
    let mut told = Vec::with_capacity(names.len());
    for (place, name) in names.iter().enumerate() {
        let number = seen.entry(name).or_default();
        *number += 1;
        told.push(match (name.as_str(), all[name.as_str()]) {
            ("", _) => column_name(place),
            (_, 1) => name.clone(),
            _ => format!("{name} #{number}"),
        });
    }
    told
}

/// The name of a column that has none, by its place from 0.
fn column_name(place: usize) -> String {
    format!("column {}", place + 1)
}
