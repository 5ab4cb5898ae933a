//! Rates: events in a time at risk, alone, compared, standardised, scattered more than chance; and when events recur.

pub(super) mod conditional;
pub mod cumulative_hazard;
pub mod gamma_poisson;
pub mod grouped_recurrence;
pub mod grouped_trend;
pub mod lasting;
pub mod order_quantile;
pub mod poisson_regression;
pub mod rate;
pub mod rate_change;
pub mod shared_scatter;
pub mod standardised;
pub mod survival_quantile;
