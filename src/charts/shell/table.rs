//! The frame of charts that have a row a thing: labels at the left, the plot, columns of text at the right. Labels wrap
//! to three lines and the row grows; only what is longer still is shortened, with an ellipsis.

use super::canvas::{Anchor, Canvas, WIDTH};
use super::frame::{MARGIN, SMALL, TEXT};
use super::measure::{clean, fit, width, wrap};
use super::paint::{INK, SOFT};

/// Rows drawn at most; the rest is counted in words.
pub const MOST_ROWS: usize = 30;
/// Columns of text drawn at most.
const MOST_COLUMNS: usize = 8;
const WIDEST_LABEL: f64 = 215.0;
const WIDEST_COLUMN: f64 = 120.0;
/// A heading's word up to this width is never broken.
const LONGEST_WORD: f64 = 84.0;
/// A plot narrower than this says nothing.
const LEAST_PLOT: f64 = 250.0;
const GAP: f64 = 14.0;

#[derive(Debug)]
struct Column {
    heading: Vec<String>,
    right: f64,
    wide: f64,
}

/// Where labels, plot and columns lie.
#[derive(Debug)]
pub struct Table {
    labels: Vec<Vec<String>>,
    columns: Vec<Column>,
    /// One text a column of each row.
    texts: Vec<Vec<String>>,
    /// Left and right end of the plot, px.
    pub plot: (f64, f64),
}

impl Table {
    /// Lays out rows with these labels, and columns with these headings and texts (a list a row).
    pub fn new(labels: &[&str], headings: &[String], texts: &[&[String]]) -> Self {
        let labels: Vec<Vec<String>> =
            labels.iter().map(|l| wrap(l, TEXT, false, WIDEST_LABEL, 3)).collect();
        let label_wide = widest(labels.iter().flatten(), TEXT).clamp(30.0, WIDEST_LABEL);
        let left = MARGIN + label_wide + GAP;
        let number = headings.len().min(MOST_COLUMNS);
        let room = WIDTH - MARGIN - left - LEAST_PLOT;
        let share = (room / number.max(1) as f64 - GAP).clamp(20.0, WIDEST_COLUMN);
        let lay = |widest: f64| -> Vec<Column> {
            (0..number).map(|c| column(&headings[c], c, texts, (share, widest))).collect()
        };
        // Narrow columns leave room for wide ones; an equal share is for when all are wide.
        let natural = lay(WIDEST_COLUMN);
        let fits = natural.iter().map(|c| c.wide + GAP).sum::<f64>() <= room;
        let mut columns = if fits { natural } else { lay(share) };
        let mut right = WIDTH - MARGIN;
        for column in columns.iter_mut().rev() {
            column.right = right;
            right -= column.wide + GAP;
        }
        // Ticks are centred on their lines: the last one needs room to the right of the plot.
        let right = if columns.is_empty() { right - 16.0 } else { right };
        let texts = texts.iter().map(|row| row.to_vec()).collect();
        Self { labels, columns, texts, plot: (left, right.max(left + 40.0)) }
    }

    /// Height of the headings, px.
    pub fn heading_height(&self) -> f64 {
        self.columns.iter().map(|c| c.heading.len()).max().unwrap_or(0) as f64 * 15.0 + 4.0
    }

    /// Headings, the last line of each standing on `bottom`.
    pub fn headings(&self, canvas: &mut Canvas, bottom: f64) {
        for column in &self.columns {
            for (i, line) in column.heading.iter().rev().enumerate() {
                canvas.text(
                    (column.right, bottom - 8.0 - 15.0 * i as f64),
                    line,
                    SMALL,
                    Anchor::End,
                    SOFT,
                );
            }
        }
    }

    /// Height of a row, px.
    pub fn height(&self, row: usize) -> f64 {
        self.labels.get(row).map_or(0, Vec::len).max(1) as f64 * 16.0 + 8.0
    }

    /// Label and texts of a row, centred on `y`.
    pub fn row(&self, canvas: &mut Canvas, row: usize, y: f64) {
        let lines = self.labels.get(row).map_or(&[] as &[String], Vec::as_slice);
        for (i, line) in lines.iter().enumerate() {
            let off = 16.0 * (i as f64 - (lines.len() as f64 - 1.0) / 2.0);
            canvas.text((self.plot.0 - GAP, y + off), line, TEXT, Anchor::End, INK);
        }
        let texts = self.texts.get(row).into_iter().flatten();
        for (column, text) in self.columns.iter().zip(texts) {
            let text = fit(text, SMALL, false, column.wide);
            canvas.text((column.right, y), &text, SMALL, Anchor::End, INK);
        }
    }
}

/// A column whose heading wraps at its `share` and whose texts take at most `widest`.
fn column(
    heading: &str,
    index: usize,
    texts: &[&[String]],
    (share, widest_text): (f64, f64),
) -> Column {
    let cells: Vec<String> =
        texts.iter().filter_map(|row| row.get(index)).map(|t| clean(t)).collect();
    // A word of a heading is broken only where it would take far more than its share.
    let word = heading.split(' ').map(|w| width(w, SMALL, false)).fold(0.0, f64::max);
    let cap = share.max((word + 0.5).min(LONGEST_WORD));
    let heading = wrap(heading, SMALL, false, cap, 3);
    let texts_wide = widest(cells.iter(), SMALL).min(widest_text.max(cap));
    let wide = widest(heading.iter(), SMALL).min(cap).max(texts_wide) + 0.5;
    Column { heading, right: 0.0, wide }
}

fn widest<'a>(texts: impl Iterator<Item = &'a String>, size: f64) -> f64 {
    texts.map(|t| width(t, size, false)).fold(0.0, f64::max)
}
