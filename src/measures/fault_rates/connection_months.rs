//! Connection-months: what rates of faults in force are taken of.

/// Seconds of a connection-month: 730.5 hours.
pub const MONTH_S: f64 = 730.5 * 3600.0;
/// Fewest connection-months of a rate that is not `thin`.
pub const LEAST_MONTHS: f64 = 20.0;

/// Connection-months of a time in force; nothing negative is counted.
pub fn months(seconds: i64) -> f64 {
    seconds.max(0) as f64 / MONTH_S
}
