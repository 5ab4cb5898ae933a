//! How likely it is that one party got so many of the marked items, given every cell's totals.
//!
//! In each cell (stratum) `marked` of `total` items are marked and the party holds `drawn` of them;
//! without any preference its marked items are hypergeometric, and their sum over cells is the
//! convolution: the stratified exact test. Promises a tail that errs upwards only, by at most the
//! `dropped` mass it reports. Stops where a convolution would be too long and falls back on the
//! normal tail, saying so.

use crate::stats::estimate::Warning;
use crate::stats::special::quantile::normal_upper;

/// Mass of a cell's distribution relative to its largest point below which points are dropped: far
/// below any p value that matters, far above what a double cannot hold.
const NEGLIGIBLE: f64 = 1e-40;

/// Multiplications that a convolution may take: some tenth of a second.
const MOST_WORK: f64 = 1e8;

/// Points of one distribution that are kept in memory.
const MOST_POINTS: f64 = 4e6;

/// Totals of one cell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct DrawCell {
    /// Items in the cell.
    pub total: u64,
    /// Marked items among them, at most `total`.
    pub marked: u64,
    /// Items of the party, at most `total`.
    pub drawn: u64,
}

impl DrawCell {
    /// Marked and drawn cut to the total.
    fn cut(&self) -> Self {
        Self { marked: self.marked.min(self.total), drawn: self.drawn.min(self.total), ..*self }
    }
}

/// The tail and the moments.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawTail {
    /// Probability of at least the observed number, in (0, 1].
    pub p: f64,
    /// Upper bound of the mass that was dropped; it is already in `p`.
    pub dropped: f64,
    /// Expected number of marked items of the party.
    pub mean: f64,
    /// Variance of the number.
    pub variance: f64,
    /// Third central moment of the number.
    pub third: f64,
    /// `Approximate` where the normal tail stands for the exact one; `NoData` where the party could
    /// not have got more or fewer.
    pub warnings: Vec<Warning>,
}

/// A stretch of a distribution: `points[i]` is the probability of `start + i`.
struct Stretch {
    start: u64,
    points: Vec<f64>,
}

/// Upper tail of the party's marked items over all cells, with mean and variance.
///
/// Marked and drawn beyond the total are cut to it.
///
/// Source: Fisher (1935), J. R. Stat. Soc. 98, 39-82 (one table); Gart (1970), Biometrika 57,
/// 471-475 (several) [from memory].
pub fn draw_tail(cells: &[DrawCell], observed: u64) -> DrawTail {
    let cells: Vec<DrawCell> = cells.iter().map(DrawCell::cut).collect();
    let mean = cells.iter().map(cell_mean).sum();
    let variance = cells.iter().map(cell_variance).sum();
    let third = cells.iter().map(cell_third).sum();
    let open: Vec<DrawCell> = cells.iter().copied().filter(|c| least(c) < most(c)).collect();
    let closed = cells.iter().filter(|c| least(c) == most(c));
    let certain = closed.fold(0, |sum: u64, c| sum.saturating_add(most(c)));
    let mut warnings = if open.is_empty() { vec![Warning::NoData] } else { Vec::new() };
    let (p, dropped) = match convolved(&open) {
        Some((sum, dropped)) => {
            let tail = upper_tail(&sum, observed, certain);
            ((tail + dropped).clamp(f64::MIN_POSITIVE, 1.0), dropped)
        }
        None => {
            warnings.push(Warning::Approximate);
            (normal_tail(observed, mean, variance, 1.0), 0.0)
        }
    };
    DrawTail { p, dropped, mean, variance, third, warnings }
}

/// Normal tail with half a count of continuity and the variance times `phi`: 1 where nothing can
/// vary and the observed number is the expected one or less.
pub fn normal_tail(observed: u64, mean: f64, variance: f64, phi: f64) -> f64 {
    let gap = observed as f64 - 0.5 - mean;
    let spread = (variance * phi).sqrt();
    if spread > 0.0 {
        normal_upper(gap / spread).max(f64::MIN_POSITIVE)
    } else if gap <= 0.0 {
        1.0
    } else {
        f64::MIN_POSITIVE
    }
}

fn least(c: &DrawCell) -> u64 {
    c.drawn.saturating_sub(c.total - c.marked)
}

fn most(c: &DrawCell) -> u64 {
    c.marked.min(c.drawn)
}

fn cell_mean(c: &DrawCell) -> f64 {
    if c.total == 0 { 0.0 } else { c.drawn as f64 * (c.marked as f64 / c.total as f64) }
}

fn cell_variance(c: &DrawCell) -> f64 {
    if c.total < 2 {
        return 0.0;
    }
    let total = c.total as f64;
    let share = c.marked as f64 / total;
    let rest = (c.total - c.marked) as f64 / total;
    c.drawn as f64 * share * rest * ((c.total - c.drawn) as f64 / (total - 1.0))
}

/// Third central moment: Johnson, Kemp & Kotz (2005), section 6.3 [from memory].
fn cell_third(c: &DrawCell) -> f64 {
    if c.total < 3 {
        // Of two items at most one can vary: its moment is that of a coin with a chance of a half.
        return 0.0;
    }
    let total = c.total as f64;
    let unmarked = 1.0 - 2.0 * (c.marked as f64 / total);
    let left = 1.0 - 2.0 * (c.drawn as f64 / total);
    cell_variance(c) * unmarked * left * (total / (total - 2.0))
}

/// Probability of at least `observed`, of which `certain` come for sure.
fn upper_tail(sum: &Stretch, observed: u64, certain: u64) -> f64 {
    let needed = observed.saturating_sub(certain).saturating_sub(sum.start);
    let from = usize::try_from(needed).unwrap_or(usize::MAX).min(sum.points.len());
    if from == 0 {
        return 1.0;
    }
    // Smallest first, so that small terms are not lost in large ones.
    sum.points[from..].iter().rev().sum()
}

/// Distribution of the sum and a bound of what was dropped; `None` where it would be too long.
fn convolved(cells: &[DrawCell]) -> Option<(Stretch, f64)> {
    let (mut sum, mut dropped) = (Stretch { start: 0, points: vec![1.0] }, 0.0);
    let mut work = 0.0;
    for cell in cells {
        // Points are dropped beyond some fourteen standard deviations: 1e-40 of the largest.
        let width =
            (30.0 * cell_variance(cell).sqrt() + 120.0).min((most(cell) - least(cell)) as f64);
        work += (width + 1.0) * sum.points.len() as f64;
        if work > MOST_WORK || width + sum.points.len() as f64 > MOST_POINTS {
            return None;
        }
        let (part, lost) = cell_points(cell);
        sum = product(&sum, &part);
        dropped += lost + trim(&mut sum);
    }
    Some((sum, dropped))
}

fn product(a: &Stretch, b: &Stretch) -> Stretch {
    let mut points = vec![0.0; a.points.len() + b.points.len() - 1];
    for (i, x) in a.points.iter().enumerate() {
        for (j, y) in b.points.iter().enumerate() {
            points[i + j] += x * y;
        }
    }
    Stretch { start: a.start.saturating_add(b.start), points }
}

/// Cuts negligible points off both ends; returns their mass.
fn trim(sum: &mut Stretch) -> f64 {
    let largest = sum.points.iter().fold(0.0_f64, |m, p| m.max(*p));
    let kept = |p: &f64| *p >= NEGLIGIBLE * largest;
    let head = sum.points.iter().position(kept).unwrap_or(0);
    let tail = sum.points.iter().rposition(kept).map_or(sum.points.len(), |i| i + 1);
    let lost: f64 = sum.points[..head].iter().chain(&sum.points[tail..]).sum();
    sum.points.truncate(tail);
    sum.points.drain(..head);
    sum.start += head as u64;
    lost
}

/// Points of one cell by the ratio of neighbours, outwards from the most likely one, so that no
/// factorial is ever formed; and a bound of what lies beyond the ends.
fn cell_points(c: &DrawCell) -> (Stretch, f64) {
    let (low, high) = (least(c), most(c));
    let centre = (c.marked as f64 + 1.0) * ((c.drawn as f64 + 1.0) / (c.total as f64 + 2.0));
    let mode = (centre as u64).clamp(low, high);
    // p(k + 1) / p(k); differences in whole numbers first, which are exact.
    let ratio = |k: u64| {
        let unmarked_left = (c.total - c.marked + k + 1 - c.drawn) as f64;
        (c.marked - k) as f64 * (c.drawn - k) as f64 / ((k + 1) as f64 * unmarked_left)
    };
    let (mut up, mut point, mut k) = (Vec::new(), 1.0, mode);
    while k < high && point >= NEGLIGIBLE {
        point *= ratio(k);
        up.push(point);
        k += 1;
    }
    let beyond_up = if k < high { point } else { 0.0 };
    let (mut down, mut point, mut k) = (Vec::new(), 1.0, mode);
    while k > low && point >= NEGLIGIBLE {
        k -= 1;
        point /= ratio(k);
        down.push(point);
    }
    let beyond_down = if k > low { point } else { 0.0 };
    let points: Vec<f64> = down.iter().rev().copied().chain([1.0]).chain(up).collect();
    let whole: f64 = points.iter().sum();
    // Beyond an end points shrink at least as fast as there; the factor covers slow shrinking.
    let beyond = (beyond_up + beyond_down) * points.len() as f64 / whole;
    let points = points.into_iter().map(|p| p / whole).collect();
    (Stretch { start: k, points }, beyond)
}
