//! From numbers to px: the range of an axis, its position of a value, its ticks and their texts.

use super::number::{decimals_of, magnitude, percent, unit};

/// What an axis shows, and so how it is drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Axis {
    /// A share; `from` and `to` in 0..=1. Anything but 0 to 1 is marked as a cut axis.
    Share {
        /// Left or lower end, a fraction.
        from: f64,
        /// Right or upper end, a fraction.
        to: f64,
    },
    /// Positive values on a log scale (ratios, rates). A value of zero runs off the low end, with an arrow.
    Ratio,
    /// Linear, always with zero in it.
    Amount {
        /// Written with the axis' label; thousands are shortened there ("k EUR").
        unit: String,
    },
}

/// A value that the others are compared with, drawn as a line.
#[derive(Clone, Debug, PartialEq)]
pub struct Reference {
    /// Where, in the axis' own numbers.
    pub value: f64,
    /// What it is.
    pub label: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Share,
    Log,
    Linear,
}

/// How far, as a factor, an interval may stretch a log axis beyond the values themselves. Longer ones get an arrow.
const LOG_STRETCH: f64 = 30.0;
/// The same for a linear axis, in multiples of the largest value.
const LINEAR_STRETCH: f64 = 4.0;

/// An axis laid over a stretch of px.
#[derive(Clone, Debug)]
pub struct Scale {
    pub(super) kind: Kind,
    pub(super) low: f64,
    pub high: f64,
    pub(super) px: (f64, f64),
    pub(super) divisor: f64,
    unit: String,
}

impl Scale {
    /// The scale of `axis` that shows all `values` and, within reason, all `bounds`; `px` is where its low and its high end lie.
    pub fn new(axis: &Axis, values: &[f64], bounds: &[f64], px: (f64, f64)) -> Self {
        match axis {
            Axis::Share { from, to } => {
                let (low, high) = if from < to { (from.max(0.0), to.min(1.0)) } else { (0.0, 1.0) };
                let (low, high) = if low < high { (low, high) } else { (0.0, 1.0) };
                Self { kind: Kind::Share, low, high, px, divisor: 1.0, unit: String::new() }
            }
            Axis::Ratio => Self::log(values, bounds, px),
            Axis::Amount { unit } => Self::amount(unit, values, bounds, px),
        }
    }

    /// A linear scale from `low` to `high`, for times and counts that need no zero.
    pub fn plain(low: f64, high: f64, px: (f64, f64)) -> Self {
        let (low, high) = if low.is_finite() && high.is_finite() && low < high {
            (low, high)
        } else if low.is_finite() && low == high {
            (low - 0.5, low + 0.5)
        } else {
            (0.0, 1.0)
        };
        Self { kind: Kind::Linear, low, high, px, divisor: 1.0, unit: String::new() }
    }

    fn log(values: &[f64], bounds: &[f64], px: (f64, f64)) -> Self {
        let positive = |v: &&f64| v.is_finite() && **v > 0.0;
        let (mut low, mut high) = extent(values.iter().filter(positive))
            .or_else(|| extent(bounds.iter().filter(positive)))
            .unwrap_or((0.5, 2.0));
        if let Some((least, most)) = extent(bounds.iter().filter(positive)) {
            (low, high) =
                (least.clamp(low / LOG_STRETCH, low), most.clamp(high, high * LOG_STRETCH));
        }
        let room = (high / low).ln().max(0.7) * 0.05;
        // An axis of less than a doubling would make noise look large.
        let widen = ((2.0 / (high / low)).max(1.0)).sqrt();
        (low, high) = (low / widen * (-room).exp(), high * widen * room.exp());
        if !(low > 0.0 && high.is_finite() && low < high) {
            (low, high) = (0.5, 2.0);
        }
        Self { kind: Kind::Log, low, high, px, divisor: 1.0, unit: String::new() }
    }

    fn amount(name: &str, values: &[f64], bounds: &[f64], px: (f64, f64)) -> Self {
        let finite = |v: &&f64| v.is_finite();
        let (mut low, mut high) = extent(values.iter().filter(finite)).unwrap_or((0.0, 0.0));
        (low, high) = (low.min(0.0), high.max(0.0));
        if let Some((least, most)) = extent(bounds.iter().filter(finite)) {
            let reach = high.max(-low) * LINEAR_STRETCH;
            let reach = if reach > 0.0 { reach } else { f64::MAX };
            (low, high) = (least.max(-reach).min(low), most.min(reach).max(high));
        }
        let room = (high - low) * 0.03;
        let (low, high) =
            (if low < 0.0 { low - room } else { low }, if high > 0.0 { high + room } else { high });
        let (low, high) =
            if (high - low).is_finite() && low < high { (low, high) } else { (0.0, 1.0) };
        let (divisor, word) = magnitude(high.max(-low));
        Self { kind: Kind::Linear, low, high, px, divisor, unit: unit(word, name) }
    }

    /// Position of `value`, px; what lies beyond an end is at that end.
    pub fn at(&self, value: f64) -> f64 {
        let (start, end) = (self.px.0.min(self.px.1), self.px.0.max(self.px.1));
        self.beyond(value).clamp(start, end)
    }

    /// Position of `value`, px, also beyond the ends, at most ten lengths of the axis away; for lines that are clipped.
    pub fn beyond(&self, value: f64) -> f64 {
        let share = match self.kind {
            Kind::Log if value <= 0.0 => -10.0,
            Kind::Log => (value / self.low).ln() / (self.high / self.low).ln(),
            Kind::Linear | Kind::Share => (value - self.low) / (self.high - self.low),
        };
        let share = if share.is_nan() { 0.0 } else { share.clamp(-10.0, 10.0) };
        self.px.0 + share * (self.px.1 - self.px.0)
    }

    /// Whether `value` lies below the low end.
    pub fn is_below(&self, value: f64) -> bool {
        value < self.low - 1e-12 * self.low.abs()
    }

    /// Whether `value` lies above the high end.
    pub fn is_above(&self, value: f64) -> bool {
        value > self.high + 1e-12 * self.high.abs()
    }

    /// The px of the low and of the high end.
    pub fn ends(&self) -> (f64, f64) {
        self.px
    }

    /// The ends, px, beyond which a share could go on.
    pub fn cut_ends(&self) -> Vec<f64> {
        let share = self.kind == Kind::Share;
        let low = (share && self.low > 0.0).then_some(self.px.0);
        let high = (share && self.high < 1.0).then_some(self.px.1);
        low.into_iter().chain(high).collect()
    }

    /// The axis' label with its unit, and with a word on a cut.
    pub fn label(&self, label: &str) -> String {
        let mut text = label.to_owned();
        if !self.unit.is_empty() {
            text =
                if text.is_empty() { self.unit.clone() } else { format!("{text}, {}", self.unit) };
        }
        if !self.cut_ends().is_empty() {
            let decimals = decimals_of((self.high - self.low) * 10.0);
            text = format!(
                "{text} (axis cut: {} to {})",
                percent(self.low, decimals),
                percent(self.high, decimals)
            );
        }
        if self.kind == Kind::Log {
            text.push_str(" (log scale)");
        }
        text
    }
}

/// Smallest and largest.
fn extent<'a>(values: impl Iterator<Item = &'a f64>) -> Option<(f64, f64)> {
    values.fold(None, |seen, v| {
        Some(seen.map_or((*v, *v), |(low, high): (f64, f64)| (low.min(*v), high.max(*v))))
    })
}
