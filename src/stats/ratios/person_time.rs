//! Events and person-time of two groups in one stratum.
//!
//! Promises the split of an event between the groups given a ratio of rates. Stops at one stratum.

use crate::stats::special::input;

/// Events and person-time of an exposed and a reference group.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PersonTime {
    /// Events of the exposed.
    pub d1: u64,
    /// Person-time of the exposed, in any unit of time.
    pub t1: f64,
    /// Events of the reference.
    pub d0: u64,
    /// Person-time of the reference, in the same unit.
    pub t0: f64,
}

impl PersonTime {
    /// Whether the stratum says anything about the ratio: an event, and person-time on both sides.
    pub fn is_informative(&self) -> bool {
        self.events() > 0.0 && input::amount(self.t1) > 0.0 && input::amount(self.t0) > 0.0
    }

    /// Events of both groups.
    pub(super) fn events(&self) -> f64 {
        self.d1 as f64 + self.d0 as f64
    }

    /// Log odds of an event falling to the exposed where rates are equal. Informative strata only.
    pub(super) fn log_odds(&self) -> f64 {
        input::amount(self.t1).ln() - input::amount(self.t0).ln()
    }

    /// Log of the share of events that fall to the exposed, and of the rest, at a log ratio of rates.
    pub(super) fn log_shares(&self, log_ratio: f64) -> (f64, f64) {
        let odds = self.log_odds() + log_ratio;
        (-log_one_plus_exp(-odds), -log_one_plus_exp(odds))
    }
}

/// `ln(1 + e^x)`, without overflow.
fn log_one_plus_exp(x: f64) -> f64 {
    x.max(0.0) + (-x.abs()).exp().ln_1p()
}
