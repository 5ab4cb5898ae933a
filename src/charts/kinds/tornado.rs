//! What an answer depends on: a bar an input, from the answer at the input's low end to that at its high
//! end, around the answer with all inputs at their usual values. The caller orders the bars.

use crate::charts::shell::{
    Anchor, Axis, Frame, GREY, RULE, RowChart, SECOND, SMALL, SOFT, STRONG, Scale, Sheet, finite,
    ticks_across,
};

/// One input.
#[derive(Clone, Debug, PartialEq)]
pub struct TornadoBar {
    /// Name of the input.
    pub label: String,
    /// The answer with the input at its low end, in the chart's `unit`.
    pub at_low: Option<f64>,
    /// The answer with the input at its high end, likewise.
    pub at_high: Option<f64>,
    /// The ends of the input, as one text a column.
    pub texts: Vec<String>,
}

/// The inputs of one answer.
#[derive(Clone, Debug, PartialEq)]
pub struct TornadoPanel {
    /// What the answer is of; may be empty.
    pub title: String,
    /// The answer with every input at its usual value, in the chart's `unit`.
    pub middle: Option<f64>,
    /// Widest first; eight are drawn.
    pub bars: Vec<TornadoBar>,
}

/// Bars of inputs in panels, each on a scale of its own.
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
    /// One an answer; six are drawn.
    pub panels: Vec<TornadoPanel>,
    /// What is known of the panels beyond: written after "and 3 more".
    pub rest: String,
}

const MOST_PANELS: usize = 6;
const MOST_BARS: usize = 8;

/// Draws a tornado. An SVG, 800 px wide.
pub fn tornado(chart: &Tornado) -> String {
    let filled = |panel: &&TornadoPanel| !panel.bars.is_empty();
    let panels: Vec<&TornadoPanel> = chart.panels.iter().filter(filled).take(MOST_PANELS).collect();
    let bars: Vec<&TornadoBar> = panels.iter().flat_map(|panel| drawn(panel)).collect();
    let texts = bars.iter().map(|bar| (&bar.label, &bar.texts));
    let Some(mut picture) = RowChart::open(&chart.frame, &chart.columns, texts) else {
        return Sheet::empty(&chart.frame, "No inputs to draw.");
    };
    key(&mut picture);
    for panel in &panels {
        let scale = scale_of(chart, panel, picture.plot());
        draw_panel(&mut picture, panel, &scale, Some(&chart.axis_label));
    }
    let all = chart.panels.iter().filter(filled).count();
    picture.sheet.and_more(all - panels.len(), &chart.rest);
    picture.close(&chart.frame, std::iter::empty())
}

/// A panel's own scale: answers of one chart differ a hundredfold, and the small ones would be flat lines.
fn scale_of(chart: &Tornado, panel: &TornadoPanel, px: (f64, f64)) -> Scale {
    let ends = drawn(panel).iter().flat_map(|bar| [finite(bar.at_low), finite(bar.at_high)]);
    let values: Vec<f64> = ends.chain([finite(panel.middle)]).flatten().collect();
    Scale::new(&Axis::Amount { unit: chart.unit.clone() }, &values, &[], px)
}

fn drawn(panel: &TornadoPanel) -> &[TornadoBar] {
    &panel.bars[..panel.bars.len().min(MOST_BARS)]
}

fn draw_panel(picture: &mut RowChart, panel: &TornadoPanel, scale: &Scale, label: Option<&str>) {
    picture.sheet.panel_title(&panel.title);
    picture.headings(6.0, 6.0);
    let (bars, ticks) = (drawn(panel), ticks_across(scale));
    let (top, bottom) = picture.grid(bars.len(), scale, &ticks);
    let middle = finite(panel.middle).map(|middle| scale.at(middle));
    picture.rows(bars, |canvas, bar, y| {
        let Some(from) = middle else { return };
        // The low end is drawn lower than the high one, so that shape tells them apart too.
        for (end, (above, below), paint) in
            [(bar.at_low, (1.0, 8.0), SECOND), (bar.at_high, (-8.0, -1.0), STRONG)]
        {
            if let Some(end) = finite(end).map(|end| scale.at(end)) {
                let corners = ((from.min(end), y + above), (from.max(end), y + below));
                canvas.rect(corners.0, corners.1, paint.at(0.8));
            }
        }
    });
    let zero = scale.at(0.0);
    picture.sheet.canvas.line((zero, top), (zero, bottom), RULE, 1.6);
    if let Some(x) = middle {
        picture.sheet.canvas.dashes(&[(x, top - 3.0), (x, bottom)], GREY, 1.4);
    }
    picture.numbers(scale, &ticks, label);
    picture.sheet.and_more(panel.bars.len() - bars.len(), "that move it less");
    picture.sheet.y += 14.0;
}

/// What the two halves of a bar are.
fn key(picture: &mut RowChart) {
    let (left, _) = picture.plot();
    let sheet = &mut picture.sheet;
    let y = sheet.y + 6.0;
    sheet.canvas.rect((left, y - 7.0), (left + 20.0, y - 1.0), STRONG.at(0.8));
    sheet.canvas.text((left + 26.0, y - 1.0), "input at its high end", SMALL, Anchor::Start, SOFT);
    let second = left + 180.0;
    sheet.canvas.rect((second, y), (second + 20.0, y + 6.0), SECOND.at(0.8));
    sheet.canvas.text((second + 26.0, y - 1.0), "at its low end", SMALL, Anchor::Start, SOFT);
    sheet.y += 24.0;
}
