//! A smooth density on equally spaced points: its mean and its quantiles.
//!
//! Promises fourth-order accuracy in the spacing. Stops at one dimension.

/// Weight of node `i` of `nodes` in an equally spaced sum that stands for an integral, in spacings.
/// Away from the ends 1; at an end that cuts the function off, fourth order.
///
/// Source: Gregory's end corrections, Hildebrand (1974), Introduction to Numerical Analysis, section
/// 5.9 [from memory].
pub fn end_weight(i: usize, nodes: usize) -> f64 {
    match i.min(nodes - 1 - i) {
        0 => 3.0 / 8.0,
        1 => 7.0 / 6.0,
        2 => 23.0 / 24.0,
        _ => 1.0,
    }
}

/// Points of a density that is handed back.
pub const DENSITY_POINTS: usize = 201;

/// Range of a density: eight standard deviations a side, within `least` and `most`.
pub fn around(mean: f64, variance: f64, least: f64, most: f64) -> (f64, f64) {
    let reach = 8.0 * variance.sqrt().max(1e-9);
    let mean = mean.clamp(least + 1e-8, most - 1e-8);
    ((mean - reach).max(least), (mean + reach).min(most))
}

/// Equally spaced points of a density between two ends.
pub fn spaced(lo: f64, hi: f64) -> impl Iterator<Item = f64> {
    let step = (hi - lo) / (DENSITY_POINTS - 1) as f64;
    (0..DENSITY_POINTS).map(move |i| lo + step * i as f64)
}

/// A density at equally spaced points, and its integral up to each of them.
#[derive(Clone, Debug)]
pub struct Density {
    lo: f64,
    step: f64,
    height: Vec<f64>,
    below: Vec<f64>,
}

impl Density {
    /// From heights at eight points or more from `lo` to `hi`; they need not be normalised. Heights that
    /// all vanished in rounding leave the range and nothing else: they become level.
    pub fn new(lo: f64, hi: f64, mut height: Vec<f64>) -> Self {
        let last = height.len() - 1;
        let mass: f64 = height.iter().sum();
        if !(mass > 0.0 && mass.is_finite()) {
            height.fill(1.0);
        }
        let step = (hi - lo) / last as f64;
        // Sums of trapezia less the slopes at both ends: the Euler-Maclaurin formula.
        let slope = |i: usize| match i {
            0 => (-3.0 * height[0] + 4.0 * height[1] - height[2]) / 2.0,
            i if i == last => (3.0 * height[i] - 4.0 * height[i - 1] + height[i - 2]) / 2.0,
            i => (height[i + 1] - height[i - 1]) / 2.0,
        };
        let mut sum = 0.0;
        let mut below = vec![0.0_f64];
        for i in 1..=last {
            sum += (height[i - 1] + height[i]) / 2.0;
            let corrected = sum - (slope(i) - slope(0)) / 12.0;
            below.push(corrected.max(below[i - 1]));
        }
        let total = below[last].max(f64::MIN_POSITIVE);
        below.iter_mut().for_each(|b| *b /= total);
        height.iter_mut().for_each(|h| *h /= total * step);
        Self { lo, step, height, below }
    }

    /// Mean of `f` over the density.
    pub fn mean(&self, f: impl Fn(f64) -> f64) -> f64 {
        let nodes = self.height.len();
        let weight = |i: usize| self.height[i] * end_weight(i, nodes);
        let total: f64 = (0..nodes).map(weight).sum();
        let at = |i: usize| self.lo + self.step * i as f64;
        (0..nodes).map(|i| weight(i) * f(at(i))).sum::<f64>() / total
    }

    /// Value with the share `p` of the density below it.
    pub fn quantile(&self, p: f64) -> f64 {
        let last = self.below.len() - 1;
        let i = self.below.partition_point(|&b| b < p).clamp(1, last) - 1;
        let (a, b) = (self.below[i], self.below[i + 1]);
        let (da, db) = (self.height[i] * self.step, self.height[i + 1] * self.step);
        let rise = b - a;
        let cubic =
            |t: f64| a + t * (da + t * (3.0 * rise - 2.0 * da - db + t * (da + db - 2.0 * rise)));
        let (mut left, mut right) = (0.0, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (left + right);
            if cubic(middle) < p {
                left = middle;
            } else {
                right = middle;
            }
        }
        self.lo + self.step * (i as f64 + left)
    }
}

/// Value at `place` (in spacings from the first) of the cubic through the nearest four of equally spaced
/// `values`, of which there are four or more.
pub fn cubic_through(values: &[f64], place: f64) -> f64 {
    Cubic::at(place, values.len()).through(values)
}

/// A place among equally spaced values, for callers that read many lists there.
#[derive(Clone, Copy, Debug)]
pub struct Cubic {
    first: usize,
    weights: [f64; 4],
}

impl Cubic {
    /// Place in spacings from the first of `count` values, of which there are four or more.
    pub fn at(place: f64, count: usize) -> Cubic {
        let first = (place.floor() - 1.0).clamp(0.0, (count - 4) as f64);
        let (a, b) = (place - first, place - first - 1.0);
        let (c, d) = (place - first - 2.0, place - first - 3.0);
        let weights = [-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0];
        Cubic { first: first as usize, weights }
    }

    /// Value there of the cubic through the nearest four.
    pub fn through(&self, values: &[f64]) -> f64 {
        let near = &values[self.first..self.first + 4];
        near.iter().zip(self.weights).map(|(value, weight)| value * weight).sum()
    }
}
