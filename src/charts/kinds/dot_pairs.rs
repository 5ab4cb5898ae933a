//! Pairs of dots, before and now, joined; at their right the change with its interval, on a scale of its own. Rows that
//! stand out lie above a rule, the rest below it. Draws what it is given, in the order it is given; at most 30 rows a
//! panel. The caller says which rows stand out.

use crate::charts::shell::{
    Anchor, Axis, Canvas, Frame, GREY, Look, MARGIN, MOST_ROWS, Mark, RADIUS, RULE, RowChart,
    SMALL, SOFT, STRONG, Scale, Sheet, WIDTH, Way, finite, fit, numbers_below, symbol, width, wrap,
};

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct PairRow {
    /// What the row is about.
    pub label: String,
    /// Value before, in the numbers of the panel's axis.
    pub before: Option<f64>,
    /// Value now, in the same numbers; how far the row may be trusted shows in `change`.
    pub now: Option<f64>,
    /// The change with its interval, in the numbers of the panel's second axis.
    pub change: Mark,
    /// One text a column.
    pub texts: Vec<String>,
}

/// Rows that share both scales.
#[derive(Clone, Debug, PartialEq)]
pub struct PairPanel {
    /// Written over the panel; may be empty.
    pub title: String,
    /// The axis of the dots.
    pub axis: Axis,
    /// What the axis of the dots shows.
    pub axis_label: String,
    /// The axis of the changes.
    pub change_axis: Axis,
    /// What the axis of the changes shows.
    pub change_label: String,
    /// The change that is none: 0 of a difference, 1 of a ratio. Drawn as a line.
    pub no_change: f64,
    /// Rows above the rule; 30 of them and those below it together are drawn.
    pub above: Vec<PairRow>,
    /// Rows below the rule; `most_below` of them are drawn.
    pub below: Vec<PairRow>,
    /// How many rows below the rule are drawn at most.
    pub most_below: usize,
    /// What is known of the rows beyond: written after "and 212 more".
    pub rest: String,
}

/// Pairs of dots in panels.
#[derive(Clone, Debug, PartialEq)]
pub struct DotPairs {
    /// The words around it.
    pub frame: Frame,
    /// What the first dot is of, and the second: "2026-Q1", "2026-Q2".
    pub times: [String; 2],
    /// Said over the rows above the rule.
    pub above: String,
    /// Said over the rows below the rule.
    pub below: String,
    /// Headings of the text columns at the right, at most eight.
    pub columns: Vec<String>,
    /// From top to bottom.
    pub panels: Vec<PairPanel>,
}

/// Radius of the dot before, px: the smaller and the greyer of the two.
const SMALLER: f64 = 3.0;
/// Share of the plot that the dots take.
const DOTS: f64 = 0.56;
/// Px between ticks: both plots are narrow.
const TICK: f64 = 38.0;
/// Px between the two plots: numbers of both axes must not meet.
const BETWEEN: f64 = 26.0;

/// Draws pairs of dots. An SVG, 800 px wide.
pub fn dot_pairs(chart: &DotPairs) -> String {
    let rows: Vec<&PairRow> = chart.panels.iter().flat_map(drawn).collect();
    let texts = rows.iter().map(|row| (&row.label, &row.texts));
    let Some(mut picture) = RowChart::open(&chart.frame, &chart.columns, texts) else {
        return Sheet::empty(&chart.frame, "No rows to draw.");
    };
    key(&mut picture, chart);
    for panel in chart.panels.iter().filter(|panel| drawn(panel).next().is_some()) {
        draw_panel(&mut picture, chart, panel);
    }
    picture.close(&chart.frame, rows.iter().map(|row| row.change.look))
}

fn drawn(panel: &PairPanel) -> impl Iterator<Item = &PairRow> {
    panel.above.iter().chain(panel.below.iter().take(panel.most_below)).take(MOST_ROWS)
}

/// Scales of the dots and of the changes.
fn scales(panel: &PairPanel, (left, right): (f64, f64)) -> (Scale, Scale) {
    let cut = left + DOTS * (right - left);
    let (mut values, mut changes, mut bounds) = (Vec::new(), vec![panel.no_change], Vec::new());
    for row in drawn(panel) {
        values.extend([row.before, row.now].into_iter().filter_map(finite));
        row.change.add_to(&mut changes, &mut bounds);
    }
    let dots = Scale::new(&panel.axis, &values, &[], (left, cut - BETWEEN / 2.0));
    let change = Scale::new(&panel.change_axis, &changes, &bounds, (cut + BETWEEN / 2.0, right));
    (dots, change)
}

fn draw_panel(picture: &mut RowChart, chart: &DotPairs, panel: &PairPanel) {
    picture.sheet.panel_title(&panel.title);
    picture.headings(0.0, 0.0);
    let (dots, change) = scales(panel, picture.plot());
    let above = panel.above.len().min(MOST_ROWS);
    let all = drawn(panel).count();
    let parts = [(&chart.above, 0..above), (&chart.below, above..all)];
    for (part, (words, places)) in parts.into_iter().enumerate() {
        if places.is_empty() {
            continue;
        }
        let sheet = &mut picture.sheet;
        if part == 1 {
            // The rule stands over everything that chance could do, also where nothing lies above it.
            let right = WIDTH - MARGIN;
            sheet.canvas.line((MARGIN, sheet.y + 3.0), (right, sheet.y + 3.0), RULE, 1.2);
            sheet.y += 6.0;
        }
        for line in wrap(words, SMALL, false, 780.0, 2) {
            sheet.canvas.text((MARGIN, sheet.y + 9.0), &line, SMALL, Anchor::Start, SOFT);
            sheet.y += 18.0;
        }
        draw_rows(picture, panel, places, (&dots, &change));
    }
    let sheet = &mut picture.sheet;
    let used = [(&dots, &panel.axis_label), (&change, &panel.change_label)]
        .map(|(scale, label)| axis_below(&mut sheet.canvas, scale, sheet.y, label));
    sheet.y += used[0].max(used[1]);
    sheet.and_more(panel.above.len() + panel.below.len() - all, &panel.rest);
    sheet.y += 12.0;
}

/// Rows of a panel from `places`, on a grid of their own.
fn draw_rows(
    picture: &mut RowChart,
    panel: &PairPanel,
    places: std::ops::Range<usize>,
    (dots, change): (&Scale, &Scale),
) {
    picture.grid(places.len(), dots, &dots.ticks(TICK));
    let span = picture.grid(places.len(), change, &change.ticks(TICK));
    let none = change.at(panel.no_change);
    picture.sheet.canvas.line((none, span.0), (none, span.1), RULE, 1.4);
    let rows = drawn(panel).skip(places.start).take(places.len());
    picture.rows(rows, |canvas, row, y| {
        pair(canvas, row, dots, y);
        row.change.draw(canvas, Way::Across, change, y, STRONG);
    });
}

/// Both dots and the line that joins them.
fn pair(canvas: &mut Canvas, row: &PairRow, scale: &Scale, y: f64) {
    let at = |value: Option<f64>| finite(value).map(|value| scale.at(value));
    let (before, now) = (at(row.before), at(row.now));
    if let (Some(from), Some(to)) = (before, now) {
        // The line ends at the rim of the second dot, so that a hollow one stays hollow.
        let rim = to - RADIUS * (to - from).signum();
        if (to - from).abs() > RADIUS {
            canvas.line((from, y), (rim, y), GREY, 2.0);
        }
    }
    if let Some(x) = before {
        canvas.disc((x, y), SMALLER, GREY);
    }
    if let Some(x) = now {
        symbol(canvas, (x, y), row.change.look, STRONG);
    }
}

/// An x axis under `y` with its label no wider than itself; returns the height used.
fn axis_below(canvas: &mut Canvas, scale: &Scale, y: f64, label: &str) -> f64 {
    let mut used = numbers_below(canvas, &scale.ticks(TICK), scale, y, None);
    let (left, right) = scale.ends();
    for line in wrap(&scale.label(label), SMALL, false, right - left + BETWEEN / 2.0, 3) {
        canvas.text((left, y + used + 8.0), &line, SMALL, Anchor::Start, SOFT);
        used += 16.0;
    }
    used
}

/// What the two dots are, over the first row.
fn key(picture: &mut RowChart, chart: &DotPairs) {
    let (left, _) = picture.plot();
    let sheet = &mut picture.sheet;
    let y = sheet.y + 8.0;
    let [before, now] =
        chart.times.each_ref().map(|time| fit(time, SMALL, false, (780.0 - left) / 2.0 - 40.0));
    sheet.canvas.disc((left + SMALLER, y), SMALLER, GREY);
    sheet.canvas.text((left + 14.0, y), &before, SMALL, Anchor::Start, SOFT);
    let next = left + 14.0 + width(&before, SMALL, false) + 10.0;
    sheet.canvas.line((next, y), (next + 24.0, y), GREY, 2.0);
    symbol(&mut sheet.canvas, (next + 24.0 + RADIUS, y), Look::Firm, STRONG);
    let at = next + 24.0 + 2.0 * RADIUS + 6.0;
    sheet.canvas.text((at, y), &now, SMALL, Anchor::Start, SOFT);
    sheet.y += 22.0;
}
