//! One uncertain number that a purchase depends on, with its draws.
//!
//! Draws hang on the seed, the draw's number and what the input is called: an input that two proposals
//! share is drawn once for both, and no draw depends on what else is proposed or in which order.

use super::declared::{InputUnit, Source};
use crate::measures::draw_name::draw_name;
use crate::settings::Stated;
use crate::stats::bootstrap::uniform;
use crate::stats::quantile::upper_normal_quantile;
use crate::stats::triangular::{triangular_mean, triangular_quantile};

/// What tells these draws from others of the same seed.
const STREAM: u64 = 0x7061_7962_6163_6b73;

/// A number with its draws.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// What it is, as printed.
    pub name: String,
    /// Where it comes from.
    pub source: Source,
    /// Its unit, where it has one.
    pub unit: Option<InputUnit>,
    /// Mean of what it may be.
    pub value: f64,
    /// Quantile that leaves half of what is beyond the level below it.
    pub low: f64,
    /// Quantile that leaves the other half above it.
    pub high: f64,
    /// Draw by draw.
    pub draws: Vec<f64>,
}

/// With which values of its uncertain numbers a proposal is reckoned.
#[derive(Clone, Copy, Debug)]
pub enum Values<'a> {
    /// All at their means, visits as counted.
    Means,
    /// All as in a draw.
    Draw(usize),
    /// One at a value, the others at their means: two may have one name, so it is known by where it stands.
    Moved(&'a Input, f64),
    /// Visits as in a draw, all numbers at their means.
    Visits(usize),
}

impl Values<'_> {
    /// Of an input.
    pub fn of(&self, input: &Input) -> f64 {
        match self {
            Values::Draw(draw) => input.draws.get(*draw).copied().unwrap_or(input.value),
            Values::Moved(moved, value) if std::ptr::eq(input, *moved) => *value,
            Values::Means | Values::Moved(..) | Values::Visits(_) => input.value,
        }
    }

    /// The draw that visits are of; none where they are as counted.
    pub fn visits(&self) -> Option<usize> {
        match self {
            Values::Draw(draw) | Values::Visits(draw) => Some(*draw),
            Values::Means | Values::Moved(..) => None,
        }
    }
}

/// How inputs are drawn.
#[derive(Clone, Copy, Debug)]
pub struct Drawing {
    /// Of all random numbers.
    pub seed: u64,
    /// How many draws.
    pub draws: u32,
    /// Level of the intervals.
    pub level: f64,
}

impl Drawing {
    fn tail(&self) -> f64 {
        (1.0 - self.level) / 2.0
    }

    /// From a function of the share below; `key` names the stream.
    fn of(&self, key: &str, at: impl Fn(f64) -> f64) -> (f64, f64, Vec<f64>) {
        let key = draw_name(key);
        let draw = |number: u64| at(uniform(self.seed ^ STREAM, number, key));
        let draws = (0..u64::from(self.draws)).map(draw).collect();
        (at(self.tail()), at(1.0 - self.tail()), draws)
    }

    /// What somebody stated: triangular between its ends.
    pub fn stated(&self, key: &str, name: String, stated: &Stated) -> Input {
        let Stated { low, likely, high } = *stated;
        let (from, to, draws) = self.of(key, |below| triangular_quantile(low, likely, high, below));
        let value = triangular_mean(low, likely, high);
        Input { name, source: Source::Stated, unit: None, value, low: from, high: to, draws }
    }

    /// A ratio whose log is normal; its mean is that of the log-normal.
    pub fn ratio(&self, name: String, source: Source, log: f64, se: f64) -> Input {
        let at = |below: f64| (log + se * -upper_normal_quantile(below)).exp();
        let (low, high, draws) = self.of(&name, at);
        let value = (log + 0.5 * se * se).exp();
        Input { name, source, unit: None, value, low, high, draws }
    }

    /// The same from resamples: draw by draw so many standard errors from the log.
    pub fn resampled_ratio(
        &self,
        name: String,
        source: Source,
        (log, se): (f64, f64),
        away: &[f64],
    ) -> Input {
        let draws = away.iter().map(|away| (log + se * away).exp()).collect();
        Input { draws, ..self.ratio(name, source, log, se) }
    }

    /// A number that is normal.
    pub fn normal(&self, name: String, source: Source, mean: f64, se: f64) -> Input {
        let at = |below: f64| mean - se * upper_normal_quantile(below);
        let (low, high, draws) = self.of(&name, at);
        Input { name, source, unit: None, value: mean, low, high, draws }
    }

    /// An amount from its estimate and interval at the level: each side normal with the width of its own
    /// side, so that a skew interval stays one; never below zero.
    pub fn amount(&self, name: String, source: Source, [low, value, high]: [f64; 3]) -> Input {
        let reach = upper_normal_quantile(self.tail());
        let (left, right) = ((value - low).max(0.0) / reach, (high - value).max(0.0) / reach);
        let at = |below: f64| {
            let z = -upper_normal_quantile(below);
            (value + z * if z < 0.0 { left } else { right }).max(0.0)
        };
        let (from, to, draws) = self.of(&name, at);
        let mean = draws.iter().sum::<f64>() / draws.len().max(1) as f64;
        Input { name, source, unit: None, value: mean, low: from, high: to, draws }
    }
}

impl Input {
    /// Whether there is anything to be unsure of.
    pub fn is_known(&self) -> bool {
        self.low == self.high
    }
}
