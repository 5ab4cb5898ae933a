//! Rows of a mark with its interval, in panels that share one scale, texts at the right. Draws what it is given, in
//! the order it is given; at most 30 rows a panel.

use crate::charts::shell::{
    Axis, Frame, MOST_ROWS, Mark, Reference, RowChart, STRONG, Scale, Sheet, Way, reference_across,
    ticks_across,
};

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
    /// Written over the panel; may be empty.
    pub title: String,
    /// In the order in which they are drawn; 30 are.
    pub rows: Vec<IntervalRow>,
    /// What is known of the rows beyond: written after "and 212 more", e.g. "together 4 120 of 31 000".
    pub rest: String,
}

/// Rows of intervals in panels.
#[derive(Clone, Debug, PartialEq)]
pub struct IntervalRows {
    /// The words around it.
    pub frame: Frame,
    /// The axis that all panels share.
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
    let panels: Vec<&Panel> = chart.panels.iter().filter(|panel| !panel.rows.is_empty()).collect();
    let rows: Vec<&IntervalRow> = panels.iter().flat_map(|panel| drawn(panel)).collect();
    let texts = rows.iter().map(|row| (&row.label, &row.texts));
    let Some(mut picture) = RowChart::open(&chart.frame, &chart.columns, texts) else {
        return Sheet::empty(&chart.frame, "No rows to draw.");
    };
    let scale = scale_of(chart, &rows, picture.plot());
    for (place, panel) in panels.iter().enumerate() {
        draw_panel(&mut picture, chart, panel, &scale, (place == 0, place + 1 == panels.len()));
    }
    picture.close(&chart.frame, rows.iter().map(|row| row.mark.look))
}

fn drawn(panel: &Panel) -> &[IntervalRow] {
    &panel.rows[..panel.rows.len().min(MOST_ROWS)]
}

fn scale_of(chart: &IntervalRows, rows: &[&IntervalRow], px: (f64, f64)) -> Scale {
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    for row in rows {
        row.mark.add_to(&mut values, &mut bounds);
    }
    values.extend(chart.reference.as_ref().map(|r| r.value));
    Scale::new(&chart.axis, &values, &bounds, px)
}

fn draw_panel(
    picture: &mut RowChart,
    chart: &IntervalRows,
    panel: &Panel,
    scale: &Scale,
    (is_first, is_last): (bool, bool),
) {
    picture.sheet.panel_title(&panel.title);
    picture.headings(18.0, 4.0);
    let (rows, ticks) = (drawn(panel), ticks_across(scale));
    let span = picture.grid(rows.len(), scale, &ticks);
    if let Some(reference) = &chart.reference {
        // Named once, over the first panel; its line goes through all of them.
        let label = if is_first { reference.label.clone() } else { String::new() };
        let named = Reference { label, ..*reference };
        reference_across(&mut picture.sheet.canvas, &named, scale, span);
    }
    picture.rows(rows, |canvas, row, y| row.mark.draw(canvas, Way::Across, scale, y, STRONG));
    picture.numbers(scale, &ticks, is_last.then_some(chart.axis_label.as_str()));
    picture.sheet.and_more(panel.rows.len() - rows.len(), &panel.rest);
    picture.sheet.y += 12.0;
}
