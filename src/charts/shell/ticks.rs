//! The ticks of a scale with their texts: multiples of 1, 2 or 5, on a log axis also whole powers of ten.

use super::number::{decimals_of, fixed, percent};
use super::scale::{Kind, Scale};

impl Scale {
    /// Ticks with their texts, about one in `every` px.
    pub fn ticks(&self, every: f64) -> Vec<(f64, String)> {
        let most = ((self.px.1 - self.px.0).abs() / every).floor().max(2.0);
        if self.kind == Kind::Log {
            return self.log_ticks(most);
        }
        let (low, high) = (self.low / self.divisor, self.high / self.divisor);
        let step = nice_step((high - low) / most);
        let decimals =
            if self.kind == Kind::Share { decimals_of(step * 100.0) } else { decimals_of(step) };
        multiples(low, high, step)
            .map(|v| {
                let text = if self.kind == Kind::Share {
                    percent(v, decimals)
                } else {
                    fixed(v, decimals)
                };
                (v * self.divisor, text)
            })
            .collect()
    }

    /// Whole numbers only, for axes that count.
    pub fn whole_ticks(&self, every: f64) -> Vec<(f64, String)> {
        let most = ((self.px.1 - self.px.0).abs() / every).floor().max(2.0);
        let step = nice_step((self.high - self.low) / most).max(1.0);
        multiples(self.low, self.high, step).map(|v| (v, fixed(v, 0))).collect()
    }

    fn log_ticks(&self, most: f64) -> Vec<(f64, String)> {
        let (first, last) = (self.low.log10().floor() as i32, self.high.log10().ceil() as i32);
        let inside = |v: &f64| *v >= self.low && *v <= self.high;
        let by = |digits: &[f64]| -> Vec<f64> {
            (first..=last)
                .flat_map(|e| digits.iter().map(move |d| d * 10f64.powi(e)))
                .filter(inside)
                .collect()
        };
        let fine = by(&[1.0, 2.0, 5.0]);
        let coarse = by(&[1.0]);
        let values = if fine.len() < 3 {
            multiples(self.low, self.high, nice_step((self.high - self.low) / most)).collect()
        } else if fine.len() as f64 <= most {
            fine
        } else {
            let stride = (coarse.len() as f64 / most).ceil().max(1.0) as usize;
            coarse.into_iter().step_by(stride).collect()
        };
        values.into_iter().map(|v| (v, fixed(v, tick_decimals(v)))).collect()
    }
}

/// Decimals of a tick on a log axis: as many as it takes to write up to two digits.
fn tick_decimals(value: f64) -> usize {
    let decimals = decimals_of(value);
    let rounded = (value * 10f64.powi(decimals as i32)).round() / 10f64.powi(decimals as i32);
    if (rounded - value).abs() > value * 1e-6 { decimals + 1 } else { decimals }
}

/// The smallest of 1, 2, 5 times a power of ten that is not below `least`.
fn nice_step(least: f64) -> f64 {
    if !(least.is_finite() && least > 0.0) {
        return 1.0;
    }
    let unit = 10f64.powf(least.log10().floor());
    [1.0, 2.0, 5.0]
        .into_iter()
        .map(|m| m * unit)
        .find(|s| *s >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * unit)
}

/// Multiples of `step` in `low..=high`; at most a hundred, whatever the numbers.
fn multiples(low: f64, high: f64, step: f64) -> impl Iterator<Item = f64> {
    let slack = 1e-9 * (high - low).abs();
    let first = ((low - slack) / step).ceil();
    (0..100).map(move |i| (first + f64::from(i)) * step).take_while(move |v| *v <= high + slack)
}
