//! One bar a row, split into classes in a fixed order, told apart by pattern. The legend stands directly above.

use crate::charts::shell::canvas::Anchor;
use crate::charts::shell::fill::{Class, legend};
use crate::charts::shell::frame::{Frame, Sheet};
use crate::charts::shell::mark::{Look, RADIUS, finite, symbol};
use crate::charts::shell::paint::{INK, SOFT};
use crate::charts::shell::ruler::{grid_below, numbers_below, ticks_across};
use crate::charts::shell::scale::{Axis, Scale};
use crate::charts::shell::table::{MOST_ROWS, Table, more};

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct StackedRow {
    /// What the bar is about.
    pub label: String,
    /// One share a class, in 0..=1; where all are missing the row says "no estimate".
    pub shares: Vec<Option<f64>>,
    /// One text a column: the share that matters, n.
    pub texts: Vec<String>,
    /// How far to trust it; anything but firm puts its sign at the end of the bar.
    pub look: Look,
}

/// Bars that are split into classes.
#[derive(Clone, Debug, PartialEq)]
pub struct StackedBars {
    /// The words around it.
    pub frame: Frame,
    /// From left to right.
    pub classes: Vec<Class>,
    /// Headings of the text columns, at most eight.
    pub columns: Vec<String>,
    /// From top to bottom; 30 are drawn.
    pub rows: Vec<StackedRow>,
    /// Written after "and 212 more".
    pub rest: String,
}

/// Draws split bars. An SVG, 800 px wide.
pub fn stacked_bars(chart: &StackedBars) -> String {
    let mut sheet = Sheet::open(&chart.frame);
    let rows = &chart.rows[..chart.rows.len().min(MOST_ROWS)];
    if rows.is_empty() {
        sheet.say("No rows to draw.");
        return sheet.close(&chart.frame, std::iter::empty());
    }
    let labels: Vec<&str> = rows.iter().map(|r| r.label.as_str()).collect();
    let texts: Vec<&[String]> = rows.iter().map(|r| r.texts.as_slice()).collect();
    let table = Table::new(&labels, &chart.columns, &texts);
    sheet.y += legend(&mut sheet.canvas, &chart.classes, table.plot.0, sheet.y);
    sheet.y += table.heading_height();
    table.headings(&mut sheet.canvas, sheet.y);
    let scale = Scale::new(&Axis::Share { from: 0.0, to: 1.0 }, &[], &[], table.plot);
    let high: f64 = (0..rows.len()).map(|i| table.height(i)).sum();
    let ticks = ticks_across(&scale);
    grid_below(&mut sheet.canvas, &ticks, &scale, (sheet.y, sheet.y + high));
    for (i, row) in rows.iter().enumerate() {
        let half = table.height(i) / 2.0;
        table.row(&mut sheet.canvas, i, sheet.y + half, &row.texts);
        draw_bar(&mut sheet, &chart.classes, row, &scale, half);
        sheet.y += 2.0 * half;
    }
    sheet.y += numbers_below(&mut sheet.canvas, &ticks, &scale, sheet.y, None);
    if let Some(words) = more(chart.rows.len(), &chart.rest) {
        sheet.say(&words);
    }
    sheet.close(&chart.frame, rows.iter().map(|r| r.look))
}

fn draw_bar(sheet: &mut Sheet, classes: &[Class], row: &StackedRow, scale: &Scale, half: f64) {
    let (left, middle) = (scale.ends().0, sheet.y + half);
    let shares: Vec<Option<f64>> = row.shares.iter().map(|s| finite(*s)).collect();
    if shares.iter().all(Option::is_none) {
        sheet.canvas.text((left + 6.0, middle), "no estimate", 12.0, Anchor::Start, SOFT);
        return;
    }
    let (top, bottom) = (middle - 8.0, middle + 8.0);
    let mut sum = 0.0;
    for (class, share) in classes.iter().zip(&shares) {
        let next = (sum + share.unwrap_or(0.0).max(0.0)).min(1.0);
        // A hair's breadth between neighbours, so that they part in greyscale too; never at a slice's whole expense.
        let (from, to) = (scale.at(sum), scale.at(next));
        let gap = if to - from > 3.0 { 1.0 } else { 0.0 };
        class.fill.draw(&mut sheet.canvas, (from, top), (to - gap, bottom));
        sum = next;
    }
    if row.look != Look::Firm {
        symbol(&mut sheet.canvas, (scale.ends().1 + RADIUS + 2.0, middle), row.look, INK);
    }
}
