//! Intervals of an estimate and its standard error, on the scale where it is closest to normal.
//!
//! Promises `low <= value <= high` and nothing that is not finite. Stops at large samples: the
//! caller says so with its warnings.

use super::estimate::{Estimate, Warning};
use crate::stats::special::quantile::normal_quantile;

/// What an estimate says in addition to its numbers.
#[derive(Clone, Debug)]
pub(super) struct Basis {
    /// Units or exposure that the estimate rests on.
    pub n: f64,
    /// Events among them.
    pub events: u64,
    /// Confidence level.
    pub level: f64,
    /// Name of the method.
    pub method: &'static str,
    /// What a reader must know.
    pub warnings: Vec<Warning>,
}

impl Basis {
    /// `value` with `value +- z se`.
    pub(super) fn plain(self, value: f64, se: f64) -> Estimate {
        self.mapped(value, se, |x| x)
    }

    /// `exp(log)` with `exp(log +- z se)`.
    pub(super) fn on_log(self, log: f64, se: f64) -> Estimate {
        self.mapped(log, se, f64::exp)
    }

    /// The share whose logit is `logit`, its limits likewise.
    pub(super) fn on_logit(self, logit: f64, se: f64) -> Estimate {
        self.mapped(logit, se, |x| 1.0 / (1.0 + (-x).exp()))
    }

    /// No number at all, for the reason that `warnings` gives.
    pub(super) fn nothing(self) -> Estimate {
        self.limits(None, None, None)
    }

    /// These numbers, in this order; what is not finite becomes `None`.
    pub(super) fn limits(
        self,
        value: Option<f64>,
        low: Option<f64>,
        high: Option<f64>,
    ) -> Estimate {
        let finite = |x: Option<f64>| x.filter(|x| x.is_finite());
        Estimate {
            value: finite(value),
            low: finite(low),
            high: finite(high),
            level: self.level,
            n: self.n,
            events: self.events,
            method: self.method,
            warnings: self.warnings,
        }
    }

    fn mapped(self, centre: f64, se: f64, back: impl Fn(f64) -> f64) -> Estimate {
        let reach = normal_quantile(self.level) * se;
        let known = reach.is_finite();
        let low = known.then(|| back(centre - reach));
        let high = known.then(|| back(centre + reach));
        self.limits(Some(back(centre)), low, high)
    }
}
