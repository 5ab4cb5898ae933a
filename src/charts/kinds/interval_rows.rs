//! Rows of a mark with its interval, in panels that share one scale, texts at the right. Draws what it is given, in
//! the order it is given; at most 30 rows a panel.

use crate::charts::shell::canvas::Anchor;
use crate::charts::shell::frame::{Frame, MARGIN, Sheet, TEXT};
use crate::charts::shell::mark::{Mark, Way};
use crate::charts::shell::measure::wrap;
use crate::charts::shell::paint::{INK, STRONG};
use crate::charts::shell::ruler::{grid_below, numbers_below, reference_across, ticks_across};
use crate::charts::shell::scale::{Axis, Reference, Scale};
use crate::charts::shell::table::{MOST_ROWS, Table, more};

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct IntervalRow {
    /// What the row is about.
    pub label: String,
    /// Its estimate, in the axis' numbers.
    pub mark: Mark,
    /// One text a column.
    pub texts: Vec<String>,
}

/// Rows under a common title.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// May be empty.
    pub title: String,
    /// In the order in which they are drawn; 30 are.
    pub rows: Vec<IntervalRow>,
    /// Written after "and 212 more", e.g. "together 4 120 of 31 000".
    pub rest: String,
}

/// Rows of intervals in panels.
#[derive(Clone, Debug, PartialEq)]
pub struct IntervalRows {
    /// The words around it.
    pub frame: Frame,
    /// The common axis.
    pub axis: Axis,
    /// What the axis shows.
    pub axis_label: String,
    /// A line through all panels.
    pub reference: Option<Reference>,
    /// Headings of the text columns at the right, at most eight.
    pub columns: Vec<String>,
    /// From top to bottom.
    pub panels: Vec<Panel>,
}

/// Draws rows of intervals. An SVG, 800 px wide.
pub fn interval_rows(chart: &IntervalRows) -> String {
    let mut sheet = Sheet::open(&chart.frame);
    let rows: Vec<&IntervalRow> = chart.panels.iter().flat_map(drawn).collect();
    if rows.is_empty() {
        sheet.say("No rows to draw.");
        return sheet.close(&chart.frame, std::iter::empty());
    }
    let labels: Vec<&str> = rows.iter().map(|r| r.label.as_str()).collect();
    let texts: Vec<&[String]> = rows.iter().map(|r| r.texts.as_slice()).collect();
    let table = Table::new(&labels, &chart.columns, &texts);
    let scale = scale_of(chart, &rows, table.plot);
    let mut first = 0;
    for (i, panel) in chart.panels.iter().enumerate().filter(|(_, p)| !p.rows.is_empty()) {
        let last = chart.panels.iter().skip(i + 1).all(|p| p.rows.is_empty());
        draw_panel(&mut sheet, chart, panel, &Laid { table: &table, scale: &scale, first, last });
        first += drawn(panel).count();
    }
    sheet.close(&chart.frame, rows.iter().map(|r| r.mark.look))
}

/// What all panels share, and where this one begins.
struct Laid<'a> {
    table: &'a Table,
    scale: &'a Scale,
    first: usize,
    last: bool,
}

fn drawn(panel: &Panel) -> impl Iterator<Item = &IntervalRow> {
    panel.rows.iter().take(MOST_ROWS)
}

fn scale_of(chart: &IntervalRows, rows: &[&IntervalRow], px: (f64, f64)) -> Scale {
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    for row in rows {
        row.mark.add_to(&mut values, &mut bounds);
    }
    values.extend(chart.reference.as_ref().map(|r| r.value));
    Scale::new(&chart.axis, &values, &bounds, px)
}

fn draw_panel(sheet: &mut Sheet, chart: &IntervalRows, panel: &Panel, laid: &Laid) {
    let Laid { table, scale, first, last } = laid;
    for line in wrap(&panel.title, TEXT, true, 780.0, 2) {
        sheet.canvas.bold((MARGIN, sheet.y + 8.0), &line, TEXT, Anchor::Start, INK);
        sheet.y += 18.0;
    }
    let is_first = *first == 0;
    // The reference is named once, over the first panel; its line goes through all of them.
    let head = if is_first { table.heading_height().max(18.0) } else { 4.0 };
    sheet.y += head;
    if is_first {
        table.headings(&mut sheet.canvas, sheet.y);
    }
    let number = drawn(panel).count();
    let high: f64 = (0..number).map(|i| table.height(first + i)).sum();
    let span = (sheet.y, sheet.y + high);
    let ticks = ticks_across(scale);
    grid_below(&mut sheet.canvas, &ticks, scale, span);
    if let Some(reference) = &chart.reference {
        let named = Reference {
            label: if is_first { reference.label.clone() } else { String::new() },
            ..*reference
        };
        reference_across(&mut sheet.canvas, &named, scale, span);
    }
    for (i, row) in drawn(panel).enumerate() {
        let half = table.height(first + i) / 2.0;
        table.row(&mut sheet.canvas, first + i, sheet.y + half, &row.texts);
        row.mark.draw(&mut sheet.canvas, Way::Across, scale, sheet.y + half, STRONG);
        sheet.y += 2.0 * half;
    }
    let label = last.then_some(chart.axis_label.as_str());
    let used = numbers_below(&mut sheet.canvas, &ticks, scale, sheet.y, label);
    sheet.y += used;
    if let Some(words) = more(panel.rows.len(), &panel.rest) {
        sheet.say(&words);
    }
    sheet.y += 12.0;
}
