//! Numbers for machines: nine significant digits, and the shortest text that says them and is read as a real.

/// `value` rounded to nine significant digits; none where it is not finite, and zero never negative.
pub fn nine(value: f64) -> Option<f64> {
    let rounded: f64 = format!("{value:.8e}").parse().ok()?;
    // Adding zero turns -0 into 0.
    rounded.is_finite().then_some(rounded + 0.0)
}

/// `value` as text of nine significant digits at most; empty where it is not finite.
///
/// Whole numbers get a point, `5583.0`. Below 1e-5 and from 1e16 on it has an exponent: readers that keep 17 digits,
/// leading zeros among them, would else lose the digits of a small p.
pub fn text(value: f64) -> String {
    // Rust's debug form of an f64 is the shortest that reads back the same, and keeps these rules.
    nine(value).map(|value| format!("{value:?}")).unwrap_or_default()
}
