//! The headline of a step: what both fits say of it. The raw fit takes false alarms for dirt, the other takes dirt that a
//! first look missed for false alarms: the truth lies between (5.6).

/// Value, lower and upper limit by both fits: the middle of the values, within the outermost of the limits. Where there is
/// no other fit the raw one alone.
pub fn bracket(raw: [Option<f64>; 3], other: Option<[Option<f64>; 3]>) -> [Option<f64>; 3] {
    let Some(other) = other else { return raw };
    let joined =
        |at: usize, join: fn(f64, f64) -> f64| raw[at].zip(other[at]).map(|(a, b)| join(a, b));
    [joined(0, f64::midpoint), joined(1, f64::min), joined(2, f64::max)]
}
