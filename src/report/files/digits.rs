//! Numbers for machines: nine significant digits, the shortest text that says them, never an exponent.

/// `value` rounded to nine significant digits; none where it is not finite, and zero never negative.
pub fn nine(value: f64) -> Option<f64> {
    let rounded: f64 = format!("{value:.8e}").parse().ok()?;
    // Adding zero turns -0 into 0.
    rounded.is_finite().then_some(rounded + 0.0)
}

/// `value` as text of nine significant digits at most; empty where it is not finite.
pub fn text(value: f64) -> String {
    // Rust writes an f64 in its shortest form that reads back the same, and without an exponent.
    nine(value).map(|value| value.to_string()).unwrap_or_default()
}
