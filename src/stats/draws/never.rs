//! Quantiles of times of which some never come.

/// The least time that at least `share` of the draws do not exceed, a draw of none counting as later
/// than any; none where so many never come, or where there is no draw.
///
/// Source: the inverse of the empirical distribution (Hyndman & Fan 1996, Am. Stat. 50, 361-365,
/// definition 1) [number from memory].
pub fn quantile_of_times(times: &[Option<f64>], share: f64) -> Option<f64> {
    let mut sorted: Vec<f64> =
        times.iter().map(|time| time.filter(|t| !t.is_nan()).unwrap_or(f64::INFINITY)).collect();
    sorted.sort_by(f64::total_cmp);
    let share = if share.is_nan() { 0.5 } else { share.clamp(0.0, 1.0) };
    // Rounding must not turn a whole place into the one after it.
    let place = (sorted.len() as f64 * share - 1e-9).ceil().max(1.0) as usize;
    sorted.get(place - 1).copied().filter(|time| time.is_finite())
}
