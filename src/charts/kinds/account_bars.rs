//! One bar a row, as long as its count, split into classes; the counts stand in columns whose headings are the legend.
//! A class with few rows is never invisible: at least 1 px, and its number.

use crate::charts::shell::canvas::Canvas;
use crate::charts::shell::fill::{Class, legend};
use crate::charts::shell::frame::{Frame, Sheet};
use crate::charts::shell::number::count;
use crate::charts::shell::ruler::{grid_below, numbers_below, ticks_across};
use crate::charts::shell::scale::{Axis, Scale};
use crate::charts::shell::table::{MOST_ROWS, Table, more};

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct AccountRow {
    /// What was counted, e.g. a file.
    pub label: String,
    /// One count a class.
    pub counts: Vec<u64>,
}

/// Bars of counts.
#[derive(Clone, Debug, PartialEq)]
pub struct AccountBars {
    /// The words around it.
    pub frame: Frame,
    /// From left to right, at most eight.
    pub classes: Vec<Class>,
    /// From top to bottom; 30 are drawn.
    pub rows: Vec<AccountRow>,
    /// Written after "and 212 more".
    pub rest: String,
}

/// Draws bars of counts. An SVG, 800 px wide.
pub fn account_bars(chart: &AccountBars) -> String {
    let mut sheet = Sheet::open(&chart.frame);
    let rows = &chart.rows[..chart.rows.len().min(MOST_ROWS)];
    if rows.is_empty() {
        sheet.say("No rows to draw.");
        return sheet.close(&chart.frame, std::iter::empty());
    }
    let labels: Vec<&str> = rows.iter().map(|r| r.label.as_str()).collect();
    let written: Vec<Vec<String>> =
        rows.iter().map(|r| r.counts.iter().map(|c| count(*c)).collect()).collect();
    let texts: Vec<&[String]> = written.iter().map(Vec::as_slice).collect();
    let headings: Vec<String> = chart.classes.iter().map(|c| c.label.clone()).collect();
    let table = Table::new(&labels, &headings, &texts);
    let totals: Vec<f64> = rows.iter().map(|r| r.counts.iter().map(|c| *c as f64).sum()).collect();
    // Px are kept free at the end, for the slices that are widened to 1 px.
    let spare = chart.classes.len() as f64;
    let scale = Scale::new(
        &Axis::Amount { unit: "rows".to_owned() },
        &totals,
        &[],
        (table.plot.0, table.plot.1 - spare),
    );
    sheet.y += legend(&mut sheet.canvas, &chart.classes, table.plot.0, sheet.y);
    sheet.y += table.heading_height();
    table.headings(&mut sheet.canvas, sheet.y);
    let high: f64 = (0..rows.len()).map(|i| table.height(i)).sum();
    let ticks = ticks_across(&scale);
    grid_below(&mut sheet.canvas, &ticks, &scale, (sheet.y, sheet.y + high));
    for (i, row) in rows.iter().enumerate() {
        let half = table.height(i) / 2.0;
        table.row(&mut sheet.canvas, i, sheet.y + half, &written[i]);
        draw_bar(&mut sheet.canvas, chart, row, &scale, sheet.y + half);
        sheet.y += 2.0 * half;
    }
    sheet.y += numbers_below(&mut sheet.canvas, &ticks, &scale, sheet.y, Some(""));
    if let Some(words) = more(chart.rows.len(), &chart.rest) {
        sheet.say(&words);
    }
    sheet.close(&chart.frame, std::iter::empty())
}

fn draw_bar(canvas: &mut Canvas, chart: &AccountBars, row: &AccountRow, scale: &Scale, y: f64) {
    let mut x = scale.ends().0;
    for (class, number) in chart.classes.iter().zip(&row.counts).filter(|(_, number)| **number > 0)
    {
        let wide = (scale.at(*number as f64) - scale.ends().0).max(1.0);
        class.fill.draw(canvas, (x, y - 8.0), (x + wide, y + 8.0));
        x += wide;
    }
}
