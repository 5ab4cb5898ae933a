//! How well marks cut a text: rows of one width, and columns of one kind.
//!
//! The idea, that a text is well cut when its rows repeat a pattern and its cells are of known
//! types, is that of van den Burg, Nazábal & Sutton (2019), "Wrangling messy CSV files by detecting
//! row and type patterns", Data Min. Knowl. Disc. 33, 1799-1820; the formulas here are our own.

use super::kind::Kind;
use crate::settings::Separator;
use crate::tabular::text::marks::{Cell, Marks};
use crate::tabular::text::take::{Behind, take};

/// Rows that are scored.
const ROWS: usize = 300;
/// Columns whose kinds are compared.
const COLUMNS: usize = 64;
/// Weight of a row's cell that is empty: it fits anything, so that it says little.
const EMPTY: f64 = 0.5;

/// Marks with what they are worth.
#[derive(Clone, Debug)]
pub struct Scored {
    pub marks: Marks,
    pub score: f64,
    /// The width of most rows.
    pub width: usize,
}

#[derive(Default)]
struct Tally {
    /// Rows by width; the rest of them are wider.
    widths: Vec<(usize, u32)>,
    rows: u32,
    faulty: u32,
    first_width: usize,
    worth: f64,
    cells: u32,
    kinds: Vec<[u32; Kind::ALL.len()]>,
}

/// Scores marks on the beginning of a text.
pub fn scored(text: &str, marks: Marks) -> Scored {
    let tally = tallied(text, &marks);
    let (width, _) = tally.main_width();
    let score = tally.pattern() * tally.types() * prior(&marks);
    Scored { marks, score, width }
}

fn tallied(text: &str, marks: &Marks) -> Tally {
    let bytes = text.as_bytes();
    let (mut tally, mut at, mut cells) = (Tally::default(), 0, Vec::new());
    while at < bytes.len() && (tally.rows as usize) < ROWS {
        let Some(taken) = take(&bytes[at..], Behind::Nothing, marks, &mut cells) else { break };
        let row = &bytes[at..at + taken.end];
        if taken.fault.is_some() {
            (tally.rows, tally.faulty) = (tally.rows + 1, tally.faulty + 1);
        } else if !row.trim_ascii().is_empty() {
            tally.add(row, &cells, marks);
        }
        at += taken.next;
    }
    tally
}

impl Tally {
    fn add(&mut self, row: &[u8], cells: &[Cell], marks: &Marks) {
        let width = cells.len();
        self.first_width = if self.rows == 0 { width } else { self.first_width };
        self.rows += 1;
        match self.widths.iter_mut().find(|(known, _)| *known == width) {
            Some((_, rows)) => *rows += 1,
            None => self.widths.push((width, 1)),
        }
        if width < 2 {
            return;
        }
        for (column, cell) in cells.iter().enumerate() {
            let text = &row[cell.start..cell.end];
            let quoted = cell.start > 0 && marks.quote == Some(row[cell.start - 1]);
            let kind = Kind::of(text);
            self.worth += if quoted { 1.0 } else { worth(kind, text) };
            self.cells += 1;
            if column < COLUMNS {
                if self.kinds.len() <= column {
                    self.kinds.resize(column + 1, [0; Kind::ALL.len()]);
                }
                self.kinds[column][kind.broad() as usize] += 1;
            }
        }
    }

    /// The width of most rows, wide ones preferred, and how many have it.
    fn main_width(&self) -> (usize, u32) {
        let weight =
            |(width, rows): &(usize, u32)| (*rows as usize * width.saturating_sub(1), *width);
        self.widths.iter().copied().max_by_key(weight).unwrap_or((1, 0))
    }

    /// How far the rows repeat few widths, from 0 to 1. Rows of one cell are no pattern.
    fn pattern(&self) -> f64 {
        let split = self.widths.iter().filter(|(width, _)| *width > 1);
        let rows: u32 = split.clone().map(|(_, rows)| rows).sum();
        if rows == 0 {
            return 0.0;
        }
        let share = |count: u32, all: u32| f64::from(count) / f64::from(all);
        let repeated: f64 = split
            .map(|(width, count)| share(*count, rows).powi(2) * (1.0 - 1.0 / *width as f64))
            .sum();
        // Two cells everywhere but in the first line: a mark inside the values of one column.
        let one_name = self.first_width == 1 && self.main_width() == (2, self.rows - 1);
        repeated * share(rows, self.rows).sqrt() * if one_name { 0.7 } else { 1.0 }
    }

    /// How far the cells are of known kinds and those of a column of one kind, from 0 to 1.
    fn types(&self) -> f64 {
        let (mut same, mut all) = (0, 0);
        for kinds in &self.kinds {
            let given = &kinds[1..];
            same += given.iter().max().copied().unwrap_or(0);
            all += given.iter().sum::<u32>();
        }
        let known = self.worth / f64::from(self.cells.max(1));
        known * (0.5 + 0.5 * f64::from(same) / f64::from(all.max(1)))
    }
}

/// How sure it is that a text without quotes is one whole cell, from 0 to 1.
pub fn worth(kind: Kind, text: &[u8]) -> f64 {
    let whole = match kind {
        Kind::Empty | Kind::Missing => EMPTY,
        Kind::Number | Kind::When | Kind::Link => 1.0,
        Kind::Code | Kind::Word => 0.95,
        Kind::Text => 0.8,
        Kind::Odd => 0.1,
    };
    let comma = matches!(kind, Kind::Text | Kind::Code | Kind::Word) && text.contains(&b',');
    let blank = text.first() == Some(&b' ') || text.last() == Some(&b' ');
    whole * if comma { 0.6 } else { 1.0 } * if blank { 0.9 } else { 1.0 }
}

/// How usual a separator is, from 0 to 1.
fn prior(marks: &Marks) -> f64 {
    match &marks.separator {
        Separator::Byte(b',' | b';' | b'\t' | b'|') => 1.0,
        Separator::Byte(b' ') => 0.6,
        Separator::Byte(b':') => 0.4,
        Separator::Byte(_) => 0.7,
        Separator::Text(text) if text.ends_with(' ') => 0.98,
        Separator::Text(_) => 0.9,
        Separator::Blanks => 0.8,
    }
}
