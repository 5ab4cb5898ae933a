//! A path from left to right: stations, and between them bands as thick as a share. Around a station runs a ring, as
//! thick as the share of what happens there again. Each has its estimate written on it; below, on one scale, the same
//! estimates for two parts as pairs. The path goes on in another line after seven stations; thirty are drawn.

use crate::charts::shell::{
    Anchor, Axis, FAINT, Frame, GREY, INK, Look, MARGIN, MOST_ROWS, Mark, Paint, RADIUS, RULE,
    SECOND, SMALL, SOFT, STRONG, Scale, Sheet, TEXT, WIDTH, Way, finite, fit, left_axis, symbol,
    width, wrap,
};

/// One band or ring.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stretch {
    /// Thickness, a fraction of 1; none: a broken line.
    pub share: Option<f64>,
    /// How far to trust it; anything but firm puts its sign before the estimate.
    pub look: Look,
    /// The estimate, e.g. "8.1 %".
    pub value: String,
    /// Further lines: the interval, the share, n. Three are written on a band, two under a ring.
    pub lines: Vec<String>,
    /// The estimate for each of two parts, in the numbers of the chart's axis; none where there is no such part.
    pub pair: [Option<Mark>; 2],
}

/// One station.
#[derive(Clone, Debug, PartialEq)]
pub struct Station {
    /// Its name.
    pub label: String,
    /// What happens there again.
    pub again: Option<Stretch>,
    /// The way to the next station; the last has none.
    pub onward: Option<Stretch>,
}

/// A path of stations.
#[derive(Clone, Debug, PartialEq)]
pub struct Stations {
    /// The words around it.
    pub frame: Frame,
    /// From the first to the last.
    pub stations: Vec<Station>,
    /// Names of the two parts of the pairs.
    pub parts: [String; 2],
    /// The axis of the pairs.
    pub axis: Axis,
    /// What the axis of the pairs shows.
    pub axis_label: String,
    /// What is known of the stations beyond: written after "and 12 more".
    pub rest: String,
}

/// Stations in one line of the path.
const IN_LINE: usize = 7;
/// Thickness of a share of 1, px.
const WHOLE: f64 = 56.0;
/// Room left of the first station: the axis of the pairs stands there.
const LEFT: f64 = 62.0;

/// Height of the pairs, px.
const PAIRS_HIGH: f64 = 100.0;
/// Px from the middle of a pair to either mark.
const APART: f64 = 9.0;
/// Hues of the two parts; the first stands left.
const HUES: [Paint; 2] = [STRONG, SECOND];

/// Where the stations of one line stand.
struct Laid<'a> {
    pub stations: &'a [Station],
    /// Position of the first, and px from one to the next.
    pub first: f64,
    pub pitch: f64,
    /// Whether the path goes on in another line: then the last station is drawn again there.
    pub goes_on: bool,
}

impl Laid<'_> {
    fn at(&self, station: usize) -> f64 {
        self.first + self.pitch * station as f64
    }
}

/// Draws a path of stations. An SVG, 800 px wide.
pub fn stations(chart: &Stations) -> String {
    let drawn = &chart.stations[..chart.stations.len().min(MOST_ROWS)];
    if drawn.is_empty() {
        return Sheet::empty(&chart.frame, "No stations to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let paired =
        drawn.iter().flat_map(stretches).any(|stretch| stretch.pair.iter().any(Option::is_some));
    if paired {
        legend(&mut sheet, &chart.parts);
    }
    let mut from = 0;
    loop {
        let to = (from + IN_LINE).min(drawn.len());
        let goes_on = to < drawn.len();
        let line = &drawn[from..to];
        let gaps = line.len().saturating_sub(1).max(1) as f64;
        let room = WIDTH - 2.0 * MARGIN - LEFT;
        let pitch = (room / (gaps + 1.0)).min(190.0);
        let first = MARGIN + LEFT + pitch / 2.0;
        let laid = Laid { stations: line, first, pitch, goes_on };
        path(&mut sheet, &laid);
        if paired {
            pairs(&mut sheet, chart, &laid);
        }
        if !goes_on {
            break;
        }
        from = to - 1;
    }
    sheet.and_more(chart.stations.len() - drawn.len(), &chart.rest);
    let pairs = drawn.iter().flat_map(stretches).flat_map(|stretch| stretch.pair.iter().flatten());
    let looks = drawn.iter().flat_map(stretches).map(|stretch| stretch.look);
    sheet.close(&chart.frame, looks.chain(pairs.map(|mark| mark.look)))
}

fn stretches(station: &Station) -> impl Iterator<Item = &Stretch> {
    station.again.iter().chain(&station.onward)
}

fn thickness(stretch: &Stretch) -> f64 {
    finite(stretch.share).map_or(0.0, |share| 1.5 + WHOLE * share.clamp(0.0, 1.0))
}

/// One line of the path: estimates over the bands, bands and rings, names and what happens again under them.
fn path(sheet: &mut Sheet, laid: &Laid) {
    let onward = || laid.stations.iter().take(laid.stations.len().saturating_sub(1));
    let lines =
        onward().filter_map(|s| s.onward.as_ref()).map(|stretch| 1 + stretch.lines.len().min(3));
    let above = 15.0 * lines.max().unwrap_or(0) as f64 + 10.0;
    let ring =
        |station: &Station| station.again.as_ref().map_or(0.0, |stretch| 10.0 + thickness(stretch));
    let band =
        |station: &Station| station.onward.as_ref().map_or(0.0, |stretch| thickness(stretch) / 2.0);
    // A station that is drawn again in the next line has its ring there.
    let last = laid.stations.len() - usize::from(laid.goes_on);
    let half = laid.stations[..last].iter().map(ring).chain(onward().map(band)).fold(8.0, f64::max);
    let middle = sheet.y + above + half;
    for (at, station) in onward().enumerate() {
        let stretch = station.onward.clone().unwrap_or_default();
        draw_band(sheet, &stretch, (laid.at(at), laid.at(at + 1)), middle);
        let centre = (laid.at(at) + laid.at(at + 1)) / 2.0;
        write(sheet, (centre, middle - half - above + 8.0), laid.pitch - 10.0, &stretch, 3);
    }
    let mut used = 0.0_f64;
    for (at, station) in laid.stations.iter().enumerate() {
        let here = (laid.at(at), middle);
        let again = station.again.as_ref().filter(|_| at < last);
        if let Some(again) = again {
            draw_ring(sheet, again, here);
        }
        sheet.canvas.disc(here, 5.0, INK);
        let mut y = middle + half + 14.0;
        let again_line = if at < last { "" } else { " (goes on below)" };
        let name = format!("{}{again_line}", station.label);
        for line in wrap(&name, TEXT, true, laid.pitch - 8.0, 3) {
            sheet.canvas.bold((here.0, y), &line, TEXT, Anchor::Middle, INK);
            y += 16.0;
        }
        if let Some(again) = again.filter(|stretch| !stretch.value.is_empty()) {
            let said = Stretch { value: format!("again {}", again.value), ..again.clone() };
            y += write(sheet, (here.0, y), laid.pitch - 8.0, &said, 2);
        }
        used = used.max(y - middle);
    }
    sheet.y = middle + used + 10.0;
}

fn draw_band(sheet: &mut Sheet, stretch: &Stretch, (from, to): (f64, f64), middle: f64) {
    let half = thickness(stretch) / 2.0;
    if half <= 0.0 {
        sheet.canvas.dashes(&[(from, middle), (to, middle)], GREY, 1.4);
        return;
    }
    if stretch.look == Look::Firm {
        sheet.canvas.rect((from, middle - half), (to, middle + half), STRONG);
    } else {
        sheet.canvas.outline((from, middle - half), (to, middle + half), STRONG, 1.4);
    }
}

fn draw_ring(sheet: &mut Sheet, stretch: &Stretch, at: (f64, f64)) {
    let thick = thickness(stretch);
    if thick <= 0.0 {
        sheet.canvas.ring(at, 9.0, RULE, 1.0);
    } else if stretch.look == Look::Firm {
        sheet.canvas.ring(at, 9.0 + thick / 2.0, SECOND, thick);
    } else {
        sheet.canvas.ring(at, 9.0, SECOND, 1.4);
        sheet.canvas.ring(at, 9.0 + thick, SECOND, 1.4);
    }
}

/// The estimate and its further lines, centred; returns the height used.
fn write(
    sheet: &mut Sheet,
    (centre, top): (f64, f64),
    room: f64,
    stretch: &Stretch,
    most: usize,
) -> f64 {
    let sign = if stretch.look == Look::Firm { 0.0 } else { 2.0 * RADIUS + 5.0 };
    let value = fit(&stretch.value, TEXT, false, room - sign);
    let wide = width(&value, TEXT, false) + sign;
    if sign > 0.0 && !value.is_empty() {
        symbol(&mut sheet.canvas, (centre - wide / 2.0 + RADIUS, top), stretch.look, STRONG);
    }
    sheet.canvas.text((centre + sign / 2.0, top), &value, TEXT, Anchor::Middle, INK);
    let mut y = top + 15.0;
    for line in stretch.lines.iter().take(most) {
        let line = fit(line, SMALL, false, room);
        sheet.canvas.text((centre, y), &line, SMALL, Anchor::Middle, SOFT);
        y += 15.0;
    }
    y - top
}

/// Which hue and which side is which part.
fn legend(sheet: &mut Sheet, parts: &[String; 2]) {
    let mut x = MARGIN;
    for (part, (hue, side)) in parts.iter().zip(HUES.into_iter().zip(["left", "right"])) {
        let part = fit(part, SMALL, false, 190.0);
        let words = format!("{part} ({side} of each pair below)");
        sheet.canvas.disc((x + RADIUS, sheet.y + 6.0), RADIUS, hue);
        let at = x + 2.0 * RADIUS + 6.0;
        sheet.canvas.text((at, sheet.y + 6.0), &words, SMALL, Anchor::Start, SOFT);
        x = at + width(&words, SMALL, false) + 20.0;
    }
    sheet.y += 26.0;
}

/// Under one line of the path: the estimate of each band, and of each station that has a ring, for two parts side by
/// side on one scale.
fn pairs(sheet: &mut Sheet, chart: &Stations, laid: &Laid) {
    let last = laid.stations.len() - usize::from(laid.goes_on);
    let mut placed: Vec<(f64, &Stretch)> = Vec::new();
    for (at, station) in laid.stations.iter().enumerate() {
        placed.extend(
            station.again.iter().filter(|_| at < last).map(|stretch| (laid.at(at), stretch)),
        );
        let between = laid.at(at) + laid.pitch / 2.0;
        let onward = station.onward.iter().filter(|_| at + 1 < laid.stations.len());
        placed.extend(onward.map(|stretch| (between, stretch)));
    }
    let marks =
        |stretch: &Stretch| -> Vec<Mark> { stretch.pair.iter().flatten().copied().collect() };
    let all = chart.stations.iter().flat_map(|s| s.again.iter().chain(&s.onward)).flat_map(marks);
    let (mut values, mut bounds) = (Vec::new(), Vec::new());
    all.for_each(|mark| mark.add_to(&mut values, &mut bounds));
    let (top, bottom) = (sheet.y + 26.0, sheet.y + 26.0 + PAIRS_HIGH);
    let scale = Scale::new(&chart.axis, &values, &bounds, (bottom, top));
    let left = MARGIN + 54.0;
    let right = laid.at(laid.stations.len() - 1) + laid.pitch / 2.0;
    left_axis(&mut sheet.canvas, &scale, (left, right), &chart.axis_label, 18.0);
    for (centre, stretch) in placed {
        if stretch.pair.iter().any(Option::is_some) {
            sheet.canvas.line((centre, top), (centre, bottom), FAINT, 1.0);
        }
        for ((mark, hue), shift) in stretch.pair.iter().zip(HUES).zip([-APART, APART]) {
            if let Some(mark) = mark {
                mark.draw(&mut sheet.canvas, Way::Up, &scale, centre + shift, hue);
            }
        }
    }
    sheet.y = bottom + 26.0;
}
