mod grouped_recurrence;
mod grouped_trend;
mod order_quantile;
mod over_dispersed;
mod poisson_regression;
mod rate;
mod rate_change;
mod standardised;
