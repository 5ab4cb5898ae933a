//! One bar a row, split into classes in a fixed order, told apart by pattern. The legend stands directly above.

use crate::charts::shell::{
    Anchor, Axis, Canvas, Class, Frame, INK, Look, MOST_ROWS, RADIUS, RowChart, SOFT, Scale, Sheet,
    finite, legend, symbol, ticks_across,
};

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
    /// What is known of the rows beyond: written after "and 212 more".
    pub rest: String,
}

/// Draws split bars. An SVG, 800 px wide.
pub fn stacked_bars(chart: &StackedBars) -> String {
    let rows = &chart.rows[..chart.rows.len().min(MOST_ROWS)];
    let texts = rows.iter().map(|row| (&row.label, &row.texts));
    let Some(mut picture) = RowChart::open(&chart.frame, &chart.columns, texts) else {
        return Sheet::empty(&chart.frame, "No rows to draw.");
    };
    let plot = picture.plot();
    let sheet = &mut picture.sheet;
    sheet.y += legend(&mut sheet.canvas, &chart.classes, plot.0, sheet.y);
    picture.headings(0.0, 0.0);
    let scale = Scale::new(&Axis::Share { from: 0.0, to: 1.0 }, &[], &[], plot);
    let ticks = ticks_across(&scale);
    picture.grid(rows.len(), &scale, &ticks);
    picture.rows(rows, |canvas, row, y| draw_bar(canvas, &chart.classes, row, &scale, y));
    picture.numbers(&scale, &ticks, None);
    picture.sheet.and_more(chart.rows.len() - rows.len(), &chart.rest);
    picture.close(&chart.frame, rows.iter().map(|row| row.look))
}

fn draw_bar(canvas: &mut Canvas, classes: &[Class], row: &StackedRow, scale: &Scale, middle: f64) {
    let left = scale.ends().0;
    let shares: Vec<Option<f64>> = row.shares.iter().map(|s| finite(*s)).collect();
    if shares.iter().all(Option::is_none) {
        canvas.text((left + 6.0, middle), "no estimate", 12.0, Anchor::Start, SOFT);
        return;
    }
    let (top, bottom) = (middle - 8.0, middle + 8.0);
    let mut sum = 0.0;
    for (class, share) in classes.iter().zip(&shares) {
        let next = (sum + share.unwrap_or(0.0).max(0.0)).min(1.0);
        // A hair's breadth between neighbours, so that they part in greyscale too; never at a slice's whole expense.
        let (from, to) = (scale.at(sum), scale.at(next));
        let gap = if to - from > 3.0 { 1.0 } else { 0.0 };
        class.fill.draw(canvas, (from, top), (to - gap, bottom));
        sum = next;
    }
    if row.look != Look::Firm {
        symbol(canvas, (scale.ends().1 + RADIUS + 2.0, middle), row.look, INK);
    }
}
