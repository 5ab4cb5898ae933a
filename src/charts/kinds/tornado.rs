//! What an answer depends on: a bar an input, from the answer at the input's low end to that at its high
//! end, around the answer with all inputs at their usual values. The caller orders the bars.

use crate::charts::shell::canvas::Anchor;
use crate::charts::shell::frame::{Frame, MARGIN, SMALL, Sheet, TEXT};
use crate::charts::shell::mark::finite;
use crate::charts::shell::measure::wrap;
use crate::charts::shell::paint::{GREY, INK, RULE, SECOND, SOFT, STRONG};
use crate::charts::shell::ruler::{grid_below, numbers_below, ticks_across};
use crate::charts::shell::scale::{Axis, Scale};
use crate::charts::shell::table::{Table, more};

/// One input.
#[derive(Clone, Debug, PartialEq)]
pub struct TornadoBar {
    /// What it is.
    pub label: String,
    /// The answer at its low and at its high end.
    pub at_low: Option<f64>,
    pub at_high: Option<f64>,
    /// The ends of the input, as one text a column.
    pub texts: Vec<String>,
}

/// The inputs of one answer.
#[derive(Clone, Debug, PartialEq)]
pub struct TornadoPanel {
    /// What the answer is of; may be empty.
    pub title: String,
    /// The answer with every input at its usual value.
    pub middle: Option<f64>,
    /// Widest first; eight are drawn.
    pub bars: Vec<TornadoBar>,
}

/// Bars of inputs in panels that share one scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Tornado {
    /// The words around it.
    pub frame: Frame,
    /// Unit of the answers.
    pub unit: String,
    /// What the axis shows.
    pub axis_label: String,
    /// Headings of the text columns.
    pub columns: Vec<String>,
    /// Six are drawn.
    pub panels: Vec<TornadoPanel>,
    /// Written after "and 3 more".
    pub rest: String,
}

const MOST_PANELS: usize = 6;
const MOST_BARS: usize = 8;

/// Draws a tornado. An SVG, 800 px wide.
pub fn tornado(chart: &Tornado) -> String {
    let mut sheet = Sheet::open(&chart.frame);
    let drawn = |panel: &&TornadoPanel| !panel.bars.is_empty();
    let panels: Vec<&TornadoPanel> = chart.panels.iter().filter(drawn).take(MOST_PANELS).collect();
    let bars: Vec<&TornadoBar> = panels.iter().flat_map(|panel| bars_of(panel)).collect();
    if bars.is_empty() {
        sheet.say("No inputs to draw.");
        return sheet.close(&chart.frame, std::iter::empty());
    }
    let labels: Vec<&str> = bars.iter().map(|bar| bar.label.as_str()).collect();
    let texts: Vec<&[String]> = bars.iter().map(|bar| bar.texts.as_slice()).collect();
    let table = Table::new(&labels, &chart.columns, &texts);
    let middles = panels.iter().filter_map(|panel| finite(panel.middle));
    let ends = bars.iter().flat_map(|bar| [finite(bar.at_low), finite(bar.at_high)]).flatten();
    let values: Vec<f64> = middles.chain(ends).collect();
    let axis = Axis::Amount { unit: chart.unit.clone() };
    let scale = Scale::new(&axis, &values, &[], table.plot);
    key(&mut sheet, table.plot.0);
    let mut first = 0;
    for (number, panel) in panels.iter().enumerate() {
        let is_last = number + 1 == panels.len();
        draw_panel(&mut sheet, chart, panel, &table, &scale, (first, is_last));
        first += bars_of(panel).count();
    }
    let all = chart.panels.iter().filter(drawn).count();
    if all > panels.len() {
        sheet.say(&format!("and {} more, {}", all - panels.len(), chart.rest));
    }
    sheet.close(&chart.frame, std::iter::empty())
}

fn bars_of(panel: &TornadoPanel) -> impl Iterator<Item = &TornadoBar> {
    panel.bars.iter().take(MOST_BARS)
}

fn draw_panel(
    sheet: &mut Sheet,
    chart: &Tornado,
    panel: &TornadoPanel,
    table: &Table,
    scale: &Scale,
    (first, is_last): (usize, bool),
) {
    for line in wrap(&panel.title, TEXT, true, 780.0, 2) {
        sheet.canvas.bold((MARGIN, sheet.y + 8.0), &line, TEXT, Anchor::Start, INK);
        sheet.y += 18.0;
    }
    sheet.y += if first == 0 { table.heading_height().max(6.0) } else { 6.0 };
    if first == 0 {
        table.headings(&mut sheet.canvas, sheet.y);
    }
    let count = bars_of(panel).count();
    let high: f64 = (0..count).map(|at| table.height(first + at)).sum();
    let (top, bottom) = (sheet.y, sheet.y + high);
    let ticks = ticks_across(scale);
    grid_below(&mut sheet.canvas, &ticks, scale, (top, bottom));
    let middle = finite(panel.middle);
    for (at, bar) in bars_of(panel).enumerate() {
        let half = table.height(first + at) / 2.0;
        let y = sheet.y + half;
        table.row(&mut sheet.canvas, first + at, y, &bar.texts);
        if let Some(middle) = middle {
            let from = scale.at(middle);
            // The low end is drawn lower than the high one, so that shape tells them apart too.
            if let Some(end) = finite(bar.at_low).map(|end| scale.at(end)) {
                sheet.canvas.rect(
                    (from.min(end), y + 1.0),
                    (from.max(end), y + 8.0),
                    SECOND.at(0.8),
                );
            }
            if let Some(end) = finite(bar.at_high).map(|end| scale.at(end)) {
                sheet.canvas.rect(
                    (from.min(end), y - 8.0),
                    (from.max(end), y - 1.0),
                    STRONG.at(0.8),
                );
            }
        }
        sheet.y += 2.0 * half;
    }
    let zero = scale.at(0.0);
    sheet.canvas.line((zero, top), (zero, bottom), RULE, 1.6);
    if let Some(middle) = middle {
        let x = scale.at(middle);
        sheet.canvas.dashes(&[(x, top - 3.0), (x, bottom)], GREY, 1.4);
    }
    let label = is_last.then_some(chart.axis_label.as_str());
    sheet.y += numbers_below(&mut sheet.canvas, &ticks, scale, sheet.y, label);
    if let Some(words) = more_bars(panel) {
        sheet.say(&words);
    }
    sheet.y += 14.0;
}

fn more_bars(panel: &TornadoPanel) -> Option<String> {
    let hidden = panel.bars.len().checked_sub(MOST_BARS).filter(|hidden| *hidden > 0)?;
    // The words of other charts, with this chart's own limit.
    more(hidden + crate::charts::shell::table::MOST_ROWS, "that move it less")
}

/// What the two halves of a bar are.
fn key(sheet: &mut Sheet, left: f64) {
    let y = sheet.y + 6.0;
    sheet.canvas.rect((left, y - 7.0), (left + 20.0, y - 1.0), STRONG.at(0.8));
    sheet.canvas.text((left + 26.0, y - 1.0), "input at its high end", SMALL, Anchor::Start, SOFT);
    let second = left + 180.0;
    sheet.canvas.rect((second, y), (second + 20.0, y + 6.0), SECOND.at(0.8));
    sheet.canvas.text((second + 26.0, y - 1.0), "at its low end", SMALL, Anchor::Start, SOFT);
    sheet.y += 24.0;
}
