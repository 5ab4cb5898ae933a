//! Ranked rows of money: to the right of zero what would be gained, to the left what it would cost, the net as a mark
//! with its interval, texts at the right. The caller ranks.

use crate::charts::shell::{
    Anchor, Axis, Canvas, Frame, GREY, Look, MARGIN, MOST_ROWS, Mark, Paint, RADIUS, RULE,
    RowChart, SECOND, SMALL, SOFT, STRONG, Scale, Sheet, WIDTH, Way, finite, fit, symbol,
    ticks_across, width,
};

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct SavingRow {
    /// What the row is about.
    pub label: String,
    /// Amount in the chart's `unit`, drawn to the right of zero (a negative one to the left).
    pub gain: Option<f64>,
    /// Amount in the chart's `unit`, positive, drawn to the left of zero.
    pub cost: Option<f64>,
    /// Gain less cost, in the chart's `unit`, with its interval.
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
    /// What is known of the rows beyond: written after "and 212 more".
    pub rest: String,
}

const GAIN: Paint = GREY.at(0.28);
const COST: Paint = SECOND.at(0.32);

/// Draws ranked savings. An SVG, 800 px wide.
pub fn ranked_saving(chart: &RankedSaving) -> String {
    let rows = &chart.rows[..chart.rows.len().min(MOST_ROWS)];
    let texts = rows.iter().map(|row| (&row.label, &row.texts));
    let Some(mut picture) = RowChart::open(&chart.frame, &chart.columns, texts) else {
        return Sheet::empty(&chart.frame, "No rows to draw.");
    };
    let scale = scale_of(chart, rows, picture.plot());
    key(&mut picture, chart);
    picture.headings(0.0, 0.0);
    let ticks = ticks_across(&scale);
    let (top, bottom) = picture.grid(rows.len(), &scale, &ticks);
    picture.rows(rows, |canvas, row, y| draw_row(canvas, row, &scale, y));
    let zero = scale.at(0.0);
    picture.sheet.canvas.line((zero, top - 2.0), (zero, bottom), RULE, 1.6);
    picture.numbers(&scale, &ticks, Some(""));
    picture.sheet.and_more(chart.rows.len() - rows.len(), &chart.rest);
    picture.close(&chart.frame, rows.iter().map(|row| row.net.look))
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
            bar_of(canvas, (from, y - 8.0), (to, y + 8.0), paint);
        }
    };
    lay(row.gain, GAIN);
    lay(row.cost.map(|cost| -cost), COST);
    row.net.draw(canvas, Way::Across, scale, y, STRONG);
}

/// A light bar with an outline that can be seen on any page (3:1, WCAG 2.2, 1.4.11): the mark must stand out before it.
fn bar_of(canvas: &mut Canvas, from: (f64, f64), to: (f64, f64), paint: Paint) {
    canvas.rect(from, to, paint);
    if to.0 - from.0 > 1.0 {
        canvas.outline((from.0 + 0.5, from.1 + 0.5), (to.0 - 0.5, to.1 - 0.5), SOFT, 1.0);
    }
}

/// What bars and mark are, over the first row: swatch and words, as many lines as it takes.
fn key(picture: &mut RowChart, chart: &RankedSaving) {
    let (left, right) = (picture.plot().0, WIDTH - MARGIN);
    let sheet = &mut picture.sheet;
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
            Some(paint) => bar_of(&mut sheet.canvas, (x, y - 6.0), (x + 20.0, y + 6.0), paint),
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
