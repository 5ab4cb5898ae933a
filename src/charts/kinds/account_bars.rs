//! One bar a row, as long as its count, split into classes; the counts stand in columns whose headings are the legend.
//! A class with few rows is never invisible: at least 1 px, and its number.

use crate::charts::shell::{
    Axis, Canvas, Class, Frame, MOST_ROWS, RowChart, Scale, Sheet, count, legend, ticks_across,
};

/// One bar.
#[derive(Clone, Debug, PartialEq)]
pub struct AccountRow {
    /// What was counted, e.g. a file.
    pub label: String,
    /// Length of the bar: one count a class.
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
    /// What is known of the rows beyond: written after "and 212 more".
    pub rest: String,
}

/// Draws bars of counts. An SVG, 800 px wide.
pub fn account_bars(chart: &AccountBars) -> String {
    let rows = &chart.rows[..chart.rows.len().min(MOST_ROWS)];
    let written: Vec<Vec<String>> =
        rows.iter().map(|r| r.counts.iter().map(|c| count(*c)).collect()).collect();
    let headings: Vec<String> = chart.classes.iter().map(|c| c.label.clone()).collect();
    let texts = rows.iter().map(|row| &row.label).zip(&written);
    let Some(mut picture) = RowChart::open(&chart.frame, &headings, texts) else {
        return Sheet::empty(&chart.frame, "No rows to draw.");
    };
    let totals: Vec<f64> = rows.iter().map(|r| r.counts.iter().map(|c| *c as f64).sum()).collect();
    let (left, right) = picture.plot();
    // Px are kept free at the end, for the slices that are widened to 1 px.
    let spare = chart.classes.len() as f64;
    let axis = Axis::Amount { unit: "rows".to_owned() };
    let scale = Scale::new(&axis, &totals, &[], (left, right - spare));
    let sheet = &mut picture.sheet;
    sheet.y += legend(&mut sheet.canvas, &chart.classes, left, sheet.y);
    picture.headings(0.0, 0.0);
    let ticks = ticks_across(&scale);
    picture.grid(rows.len(), &scale, &ticks);
    picture.rows(rows, |canvas, row, y| draw_bar(canvas, chart, row, &scale, y));
    picture.numbers(&scale, &ticks, Some(""));
    picture.sheet.and_more(chart.rows.len() - rows.len(), &chart.rest);
    picture.close(&chart.frame, std::iter::empty())
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
