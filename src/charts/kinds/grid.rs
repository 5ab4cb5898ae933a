//! A matrix with the value written in every cell, shaded away from zero: one hue for what is above it, one for what is
//! below.

use crate::charts::shell::{
    Anchor, Canvas, FAINT, Frame, INK, Look, MARGIN, MOST_ROWS, Paint, Point, SMALL, SOFT, Sheet,
    TEXT, WIDTH, finite, fit, hatch, supported, symbol, width, wrap,
};

/// One cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// Shades the cell, in the unit of the chart's `scale_label`; missing: a dash on a light pattern.
    pub value: Option<f64>,
    /// Written in the cell.
    pub text: String,
    /// How far to trust it; anything but firm marks the cell's corner.
    pub look: Look,
}

/// One row of cells.
#[derive(Clone, Debug, PartialEq)]
pub struct GridRow {
    /// What the row is about.
    pub label: String,
    /// One cell a column; a cell that is not there is missing.
    pub cells: Vec<Cell>,
}

/// A matrix of amounts.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// The words around it.
    pub frame: Frame,
    /// Headings, from left to right; 16 are drawn.
    pub columns: Vec<String>,
    /// From top to bottom; 30 are drawn.
    pub rows: Vec<GridRow>,
    /// What the shading shows, with its unit.
    pub scale_label: String,
    /// What is known of the rows beyond: written after "and 212 more".
    pub rest: String,
}

const MOST_COLUMNS: usize = 16;
const WIDEST_LABEL: f64 = 190.0;
const HIGH: f64 = 30.0;
const CORNER: f64 = 9.0;

/// Draws a matrix. An SVG, 800 px wide.
pub fn grid(chart: &Grid) -> String {
    let rows = &chart.rows[..chart.rows.len().min(MOST_ROWS)];
    let columns = &chart.columns[..chart.columns.len().min(MOST_COLUMNS)];
    if rows.is_empty() || columns.is_empty() {
        return Sheet::empty(&chart.frame, "No cells to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let labels: Vec<Vec<String>> =
        rows.iter().map(|r| wrap(&r.label, TEXT, false, WIDEST_LABEL, 2)).collect();
    let left =
        MARGIN + labels.iter().flatten().map(|l| width(l, TEXT, false)).fold(30.0, f64::max) + 10.0;
    let wide = ((WIDTH - MARGIN - left) / columns.len() as f64).min(130.0);
    headings(&mut sheet, columns, left, wide);
    let range = range(rows, columns.len());
    for (row, label) in rows.iter().zip(&labels) {
        let high = HIGH.max(16.0 * label.len() as f64 + 6.0);
        for (i, line) in label.iter().enumerate() {
            let off = 16.0 * (i as f64 - (label.len() as f64 - 1.0) / 2.0);
            sheet.canvas.text(
                (left - 10.0, sheet.y + high / 2.0 + off),
                line,
                TEXT,
                Anchor::End,
                INK,
            );
        }
        for column in 0..columns.len() {
            let from = (left + wide * column as f64, sheet.y);
            draw_cell(
                &mut sheet.canvas,
                row.cells.get(column),
                range,
                from,
                (from.0 + wide - 2.0, from.1 + high - 2.0),
            );
        }
        sheet.y += high;
    }
    if chart.rows.len() > rows.len() {
        sheet.y += 4.0;
        sheet.and_more(chart.rows.len() - rows.len(), &chart.rest);
    }
    if let Some(hidden) = chart.columns.len().checked_sub(MOST_COLUMNS).filter(|hidden| *hidden > 0)
    {
        sheet.say(&format!("and {hidden} more columns"));
    }
    let missing = |row: &GridRow| {
        (0..columns.len()).any(|at| row.cells.get(at).and_then(|cell| finite(cell.value)).is_none())
    };
    scale_bar(&mut sheet, chart, range, left, rows.iter().any(missing));
    let shown = rows.iter().flat_map(|r| r.cells.iter().take(columns.len()).map(|c| c.look));
    sheet.close(&chart.frame, shown)
}

fn headings(sheet: &mut Sheet, columns: &[String], left: f64, wide: f64) {
    let lines: Vec<Vec<String>> =
        columns.iter().map(|c| wrap(c, SMALL, false, wide - 6.0, 3)).collect();
    let most = lines.iter().map(Vec::len).max().unwrap_or(0) as f64;
    sheet.y += 15.0 * most + 4.0;
    for (column, heading) in lines.iter().enumerate() {
        for (i, line) in heading.iter().rev().enumerate() {
            let at = (left + wide * (column as f64 + 0.5) - 1.0, sheet.y - 10.0 - 15.0 * i as f64);
            sheet.canvas.text(at, line, SMALL, Anchor::Middle, SOFT);
        }
    }
}

/// Smallest and largest amount, with zero among them.
fn range(rows: &[GridRow], columns: usize) -> Option<(f64, f64)> {
    let values =
        rows.iter().flat_map(|r| r.cells.iter().take(columns)).filter_map(|c| finite(c.value));
    values.fold(None, |seen: Option<(f64, f64)>, v| {
        Some(seen.map_or((v.min(0.0), v.max(0.0)), |(low, high)| (low.min(v), high.max(v))))
    })
}

/// Equal distances from zero are equally dark, on whichever side.
fn shade(value: f64, (low, high): (f64, f64)) -> Paint {
    let most = high.max(-low);
    let share = if most > 0.0 && most.is_finite() { value / most } else { 0.0 };
    Paint::diverging(share)
}

fn draw_cell(
    canvas: &mut Canvas,
    cell: Option<&Cell>,
    range: Option<(f64, f64)>,
    from: Point,
    to: Point,
) {
    let middle = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
    let shown = cell.and_then(|c| Some((c, finite(c.value)?, range?)));
    let Some((cell, value, range)) = shown else {
        hatch(canvas, from, to, 1.0, FAINT);
        canvas.text(middle, "–", TEXT, Anchor::Middle, SOFT);
        return;
    };
    let paint = shade(value, range);
    let ink = paint.text_on();
    canvas.rect(from, to, paint);
    let room = to.0 - from.0 - 4.0 - if cell.look == Look::Firm { 0.0 } else { 2.0 * CORNER };
    canvas.text(middle, &fit(&cell.text, SMALL, false, room), SMALL, Anchor::Middle, ink);
    corner(canvas, cell.look, (to.0 - CORNER - 2.0, from.1 + 2.0), ink);
}

/// The sign of a flagged cell in its corner: the mark of the key, in the colour that can be read there.
fn corner(canvas: &mut Canvas, look: Look, at: Point, ink: Paint) {
    let centre = (at.0 + CORNER / 2.0, at.1 + CORNER / 2.0);
    match look {
        Look::Firm => {}
        Look::Borrowed => canvas.ring(centre, 3.5, ink.at(0.55), 1.2),
        look => symbol(canvas, centre, look, ink),
    }
}

fn scale_bar(
    sheet: &mut Sheet,
    chart: &Grid,
    range: Option<(f64, f64)>,
    left: f64,
    is_missing: bool,
) {
    let Some((low, high)) = range.filter(|(low, high)| low < high) else { return };
    sheet.y += 10.0;
    let label = fit(&chart.scale_label, SMALL, false, WIDTH - MARGIN - left);
    sheet.canvas.text((left, sheet.y + 8.0), &label, SMALL, Anchor::Start, SOFT);
    sheet.y += 18.0;
    let steps = 40;
    for i in 0..steps {
        let x = left + 4.0 * f64::from(i);
        let value = low + (high - low) * f64::from(i) / f64::from(steps - 1);
        sheet.canvas.rect((x, sheet.y), (x + 4.3, sheet.y + 10.0), shade(value, (low, high)));
    }
    let (start, end) = (supported(low, low, high), supported(high, low, high));
    sheet.canvas.text((left, sheet.y + 20.0), &start, SMALL, Anchor::Start, SOFT);
    let begin = width(&start, SMALL, false) + 14.0;
    let zero = 160.0 * -low / (high - low);
    let after = left + begin.max(160.0 - width(&end, SMALL, false));
    // Zero is named where it is no end and its name touches none.
    if low < 0.0 && high > 0.0 && zero > begin && left + zero + 14.0 < after {
        sheet.canvas.text((left + zero, sheet.y + 20.0), "0", SMALL, Anchor::Middle, SOFT);
    }
    sheet.canvas.text((after, sheet.y + 20.0), &end, SMALL, Anchor::Start, SOFT);
    if is_missing {
        let from = (left + 230.0, sheet.y - 1.0);
        let to = (from.0 + 20.0, from.1 + 12.0);
        hatch(&mut sheet.canvas, from, to, 1.0, SOFT);
        sheet.canvas.text((to.0 + 6.0, from.1 + 6.0), "no estimate", SMALL, Anchor::Start, SOFT);
    }
    sheet.y += 28.0;
}
