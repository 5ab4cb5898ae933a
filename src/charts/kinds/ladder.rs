//! What a sum buys: the worth of the best choice for every sum, as steps with a band, the budget as an
//! upright line; under it what each step consists of.

use crate::charts::shell::{
    Anchor, Axis, Frame, INK, MARGIN, Point, RULE, Reference, SECOND, SMALL, SOFT, STRONG, Scale,
    Sheet, TEXT, WIDTH, count, finite, fit, grid_below, left_axis, name_above, numbers_below,
    ticks_across, width, wrap,
};

/// One step.
#[derive(Clone, Debug, PartialEq)]
pub struct LadderStep {
    /// What is bought.
    pub label: String,
    /// What it costs, in the chart's `unit`.
    pub cost: f64,
    /// What it is worth, in the chart's `unit`.
    pub worth: f64,
    /// Low end of the interval of its worth.
    pub low: Option<f64>,
    /// High end of the interval of its worth.
    pub high: Option<f64>,
    /// One text a step: worth, interval, chance.
    pub text: String,
    /// Whether it is the choice for the budget.
    pub chosen: bool,
}

/// Steps over sums.
#[derive(Clone, Debug, PartialEq)]
pub struct Ladder {
    /// The words around it.
    pub frame: Frame,
    /// Unit of cost and worth.
    pub unit: String,
    /// What the axis across shows.
    pub cost_label: String,
    /// What the axis upwards shows.
    pub worth_label: String,
    /// What may be spent, in the chart's `unit`: an upright line.
    pub budget: Option<Reference>,
    /// With rising cost; 30 are drawn.
    pub steps: Vec<LadderStep>,
}

const HIGH: f64 = 220.0;
const MOST_STEPS: usize = 30;

/// Draws a ladder. An SVG, 800 px wide.
pub fn ladder(chart: &Ladder) -> String {
    let known = chart.steps.iter().filter(|step| step.cost.is_finite() && step.worth.is_finite());
    let steps: Vec<&LadderStep> = known.take(MOST_STEPS).collect();
    if steps.is_empty() {
        return Sheet::empty(&chart.frame, "No steps to draw.");
    }
    let mut sheet = Sheet::open(&chart.frame);
    let amounts = Axis::Amount { unit: chart.unit.clone() };
    let (left, right) = (MARGIN + 62.0, WIDTH - MARGIN - 24.0);
    let (top, bottom) = (sheet.y + 48.0, sheet.y + 48.0 + HIGH);
    let budget = chart.budget.as_ref().map(|line| line.value).filter(|sum| sum.is_finite());
    let mut costs: Vec<f64> = steps.iter().map(|step| step.cost).collect();
    // A budget far beyond the dearest set would leave the steps in a corner.
    let dearest = costs.iter().copied().fold(0.0, f64::max);
    costs.extend(budget.filter(|sum| *sum <= 1.5 * dearest));
    let x = Scale::new(&amounts, &costs, &[dearest * 1.08], (left, right));
    let worths: Vec<f64> = steps.iter().map(|step| step.worth).collect();
    let bounds: Vec<f64> =
        steps.iter().flat_map(|step| [finite(step.low), finite(step.high)]).flatten().collect();
    let y = Scale::new(&amounts, &worths, &bounds, (bottom, top));
    let ticks = ticks_across(&x);
    grid_below(&mut sheet.canvas, &ticks, &x, (top, bottom));
    left_axis(&mut sheet.canvas, &y, (left, right), &chart.worth_label, 32.0);
    let line = |of: &dyn Fn(&LadderStep) -> f64| -> Vec<Point> {
        let mut points = vec![(left, y.at(0.0))];
        for (at, step) in steps.iter().enumerate() {
            let before = points[points.len() - 1].1;
            let next = steps.get(at + 1).map_or(right, |next| x.at(next.cost));
            points.push((x.at(step.cost), before));
            points.push((x.at(step.cost), y.at(of(step))));
            points.push((next, y.at(of(step))));
        }
        points
    };
    let mut band = line(&|step| finite(step.low).unwrap_or(step.worth));
    band.extend(line(&|step| finite(step.high).unwrap_or(step.worth)).into_iter().rev());
    sheet.canvas.area(&band, STRONG.at(0.18));
    sheet.canvas.line((left, y.at(0.0)), (right, y.at(0.0)), RULE, 1.6);
    sheet.canvas.path(&line(&|step| step.worth), STRONG, 2.0);
    numbers(&mut sheet, &steps, (&x, &y));
    if let (Some(line), Some(value)) = (&chart.budget, budget) {
        draw_budget(&mut sheet, line, value, &x, (top, bottom));
    }
    sheet.y = bottom;
    sheet.y += numbers_below(&mut sheet.canvas, &ticks, &x, bottom, Some(&chart.cost_label)) + 12.0;
    list(&mut sheet, &steps);
    if chart.steps.len() > steps.len() {
        let more = count((chart.steps.len() - steps.len()) as u64);
        sheet.say(&format!("and {more} dearer sets"));
    }
    sheet.close(&chart.frame, std::iter::empty())
}

/// The number of each step over its start; the chosen one ringed.
fn numbers(sheet: &mut Sheet, steps: &[&LadderStep], (x, y): (&Scale, &Scale)) {
    let mut free = f64::NEG_INFINITY;
    for (number, step) in steps.iter().enumerate() {
        let at = (x.at(step.cost), y.at(step.worth));
        sheet.canvas.disc(at, 3.5, STRONG);
        if step.chosen {
            sheet.canvas.ring(at, 8.0, INK, 1.6);
        }
        // The steps rise: up and to the left of a start there is room.
        let text = format!("{}", number + 1);
        let wide = width(&text, SMALL, true);
        if at.0 - 7.0 - wide >= free {
            sheet.canvas.bold((at.0 - 7.0, at.1 - 10.0), &text, SMALL, Anchor::End, INK);
            free = at.0 - 7.0 + 4.0;
        }
    }
}

fn draw_budget(
    sheet: &mut Sheet,
    budget: &Reference,
    value: f64,
    x: &Scale,
    (top, bottom): (f64, f64),
) {
    let beyond = x.is_above(value);
    let at = x.at(value);
    if !beyond {
        sheet.canvas.dashes(&[(at, top), (at, bottom)], SECOND, 2.0);
    }
    let words =
        if beyond { format!("{} (beyond the axis)", budget.label) } else { budget.label.clone() };
    name_above(&mut sheet.canvas, &words, (at, top - 8.0), x.ends());
}

/// What each step buys, in words.
fn list(sheet: &mut Sheet, steps: &[&LadderStep]) {
    let texts = steps.iter().map(|step| width(&step.text, SMALL, false)).fold(0.0, f64::max);
    let texts = texts.min(330.0);
    let room = WIDTH - 2.0 * MARGIN - 30.0 - texts - 16.0;
    for (number, step) in steps.iter().enumerate() {
        let y = sheet.y + 8.0;
        let number = format!("{}", number + 1);
        sheet.canvas.bold((MARGIN + 18.0, y), &number, TEXT, Anchor::End, INK);
        let text = fit(&step.text, SMALL, false, texts);
        sheet.canvas.text((WIDTH - MARGIN, y), &text, SMALL, Anchor::End, SOFT);
        for line in wrap(&step.label, TEXT, step.chosen, room, 2) {
            let at = (MARGIN + 30.0, sheet.y + 8.0);
            if step.chosen {
                sheet.canvas.bold(at, &line, TEXT, Anchor::Start, INK);
            } else {
                sheet.canvas.text(at, &line, TEXT, Anchor::Start, INK);
            }
            sheet.y += 16.0;
        }
        sheet.y += 4.0;
    }
}
