//! Ranked rows of money: to the right of zero what would be gained, to the left what it would cost, the net as a mark
//! with its interval, texts at the right. The caller ranks.

use crate::charts::shell::canvas::{Anchor, Canvas};
use crate::charts::shell::frame::{Frame, SMALL, Sheet};
use crate::charts::shell::mark::{Look, Mark, RADIUS, Way, finite, symbol};
use crate::charts::shell::measure::{fit, width};
use crate::charts::shell::paint::{GREY, Paint, RULE, SECOND, SOFT, STRONG};
use crate::charts::shell::ruler::{grid_below, numbers_below, ticks_across};
use crate::charts::shell::scale::{Axis, Scale};
use crate::charts::shell::table::{MOST_ROWS, Table, more};

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct SavingRow {
    /// What the row is about.
    pub label: String,
    /// Drawn to the right of zero (a negative gain to the left).
    pub gain: Option<f64>,
    /// A positive amount, drawn to the left of zero.
    pub cost: Option<f64>,
    /// Gain less cost.
    pub net: Mark,
    /// One text a column.
    pub texts: Vec<String>,
}

/// Ranked rows of money.
#[derive(Clone, Debug, PartialEq)]
pub struct RankedSaving {
    /// The words around it.
    pub frame: Frame,
    /// Unit of all amounts, e.g. "EUR a year"; the axis shortens thousands ("k EUR a year").
    pub unit: String,
    /// Names the bars right of zero.
    pub gain_label: String,
    /// Names the bars left of zero.
    pub cost_label: String,
    /// Names the mark.
    pub net_label: String,
    /// Headings of the text columns, at most eight.
    pub columns: Vec<String>,
    /// Best first; 30 are drawn.
    pub rows: Vec<SavingRow>,
    /// Written after "and 212 more".
    pub rest: String,
}

const GAIN: Paint = GREY.at(0.28);
const COST: Paint = SECOND.at(0.32);

/// Draws ranked savings. An SVG, 800 px wide.
pub fn ranked_saving(chart: &RankedSaving) -> String {
    let mut sheet = Sheet::open(&chart.frame);
    let rows = &chart.rows[..chart.rows.len().min(MOST_ROWS)];
    if rows.is_empty() {
        sheet.say("No rows to draw.");
        return sheet.close(&chart.frame, std::iter::empty());
    }
    let labels: Vec<&str> = rows.iter().map(|r| r.label.as_str()).collect();
    let texts: Vec<&[String]> = rows.iter().map(|r| r.texts.as_slice()).collect();
    let table = Table::new(&labels, &chart.columns, &texts);
    let scale = scale_of(chart, rows, table.plot);
    key(&mut sheet, chart, table.plot);
    sheet.y += table.heading_height();
    table.headings(&mut sheet.canvas, sheet.y);
    let high: f64 = (0..rows.len()).map(|i| table.height(i)).sum();
    let ticks = ticks_across(&scale);
    grid_below(&mut sheet.canvas, &ticks, &scale, (sheet.y, sheet.y + high));
    for (i, row) in rows.iter().enumerate() {
        let half = table.height(i) / 2.0;
        table.row(&mut sheet.canvas, i, sheet.y + half, &row.texts);
        draw_row(&mut sheet.canvas, row, &scale, sheet.y + half);
        sheet.y += 2.0 * half;
    }
    let zero = scale.at(0.0);
    sheet.canvas.line((zero, sheet.y - high - 2.0), (zero, sheet.y), RULE, 1.6);
    sheet.y += numbers_below(&mut sheet.canvas, &ticks, &scale, sheet.y, Some(""));
    if let Some(words) = more(chart.rows.len(), &chart.rest) {
        sheet.say(&words);
    }
    sheet.close(&chart.frame, rows.iter().map(|r| r.net.look))
}

fn scale_of(chart: &RankedSaving, rows: &[SavingRow], px: (f64, f64)) -> Scale {
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    for row in rows {
        values.extend(finite(row.gain));
        values.extend(finite(row.cost).map(|cost| -cost));
        row.net.add_to(&mut values, &mut bounds);
    }
    Scale::new(&Axis::Amount { unit: chart.unit.clone() }, &values, &bounds, px)
}

fn draw_row(canvas: &mut Canvas, row: &SavingRow, scale: &Scale, y: f64) {
    let zero = scale.at(0.0);
    let bar = |amount: f64| (zero.min(scale.at(amount)), zero.max(scale.at(amount)));
    let mut lay = |amount: Option<f64>, paint: Paint| {
        if let Some((from, to)) = finite(amount).map(bar) {
            canvas.rect((from, y - 8.0), (to, y + 8.0), paint);
        }
    };
    lay(row.gain, GAIN);
    lay(row.cost.map(|cost| -cost), COST);
    row.net.draw(canvas, Way::Across, scale, y, STRONG);
}

/// What bars and mark are, over the first row: swatch and words, as many lines as it takes.
fn key(sheet: &mut Sheet, chart: &RankedSaving, (left, _): (f64, f64)) {
    let right = crate::charts::shell::canvas::WIDTH - crate::charts::shell::frame::MARGIN;
    let mut x = left;
    for (label, paint) in
        [(&chart.cost_label, Some(COST)), (&chart.gain_label, Some(GAIN)), (&chart.net_label, None)]
    {
        let label = fit(label, SMALL, false, right - left - 26.0);
        let wide = 26.0 + width(&label, SMALL, false);
        if x > left && x + wide > right {
            (x, sheet.y) = (left, sheet.y + 18.0);
        }
        let y = sheet.y + 8.0;
        match paint {
            Some(paint) => sheet.canvas.rect((x, y - 6.0), (x + 20.0, y + 6.0), paint),
            None => {
                sheet.canvas.line((x, y), (x + 10.0 - RADIUS, y), STRONG, 1.6);
                sheet.canvas.line((x + 10.0 + RADIUS, y), (x + 20.0, y), STRONG, 1.6);
                symbol(&mut sheet.canvas, (x + 10.0, y), Look::Firm, STRONG);
            }
        }
        sheet.canvas.text((x + 26.0, y), &label, SMALL, Anchor::Start, SOFT);
        x += wide + 18.0;
    }
    sheet.y += 24.0;
}
