//! Log-likelihood of rows of trials whose chance of no event is `exp(-(fixed + x'lambda))`.
//!
//! Promises differences of log-likelihoods to the last digits, also for 10^12 trials: they are taken
//! row by row, never between two sums. Stops at value, score and information.

/// Trials of one pattern of exposures, as the climb sees them.
#[derive(Clone, Debug)]
pub(super) struct Pattern {
    /// Exposure of every group, at least 0.
    pub exposure: Vec<f64>,
    /// What is added to every hazard.
    pub fixed: f64,
    /// Trials without an event, and with one.
    pub clean: f64,
    pub events: f64,
}

impl Pattern {
    /// The hazard at these group hazards.
    pub(super) fn hazard(&self, at: &[f64]) -> f64 {
        self.fixed + crate::stats::special::cholesky::dot(&self.exposure, at)
    }
}

/// Hazard of every pattern.
pub(super) fn hazards(patterns: &[Pattern], at: &[f64]) -> Vec<f64> {
    patterns.iter().map(|pattern| pattern.hazard(at)).collect()
}

/// `ln(1 - exp(-h))` for `h > 0`.
///
/// Source: Maechler (2012), Accurately computing log(1 - exp(-|a|)) [from memory].
pub(super) fn log_event(hazard: f64) -> f64 {
    if hazard < std::f64::consts::LN_2 {
        (-(-hazard).exp_m1()).ln()
    } else {
        (-(-hazard).exp()).ln_1p()
    }
}

/// What the log-likelihood gains between two hazards of every pattern; minus infinity where an event
/// is impossible.
pub(super) fn gain(patterns: &[Pattern], from: &[f64], to: &[f64]) -> f64 {
    patterns
        .iter()
        .zip(from.iter().zip(to))
        .map(|(pattern, (from, to))| one(pattern, *from, *to))
        .sum()
}

fn one(pattern: &Pattern, from: f64, to: f64) -> f64 {
    let clean = pattern.clean * (from - to);
    if pattern.events <= 0.0 {
        return clean;
    }
    if to <= 0.0 {
        return f64::NEG_INFINITY;
    }
    let step = to - from;
    let log_ratio = if step.abs() < 1.0 {
        // (1 - exp(-to)) / (1 - exp(-from)) - 1, without a difference of near equals.
        let change = (-from).exp() * -(-step).exp_m1() / -(-from).exp_m1();
        if change > -0.5 { change.ln_1p() } else { log_event(to) - log_event(from) }
    } else {
        log_event(to) - log_event(from)
    };
    clean + pattern.events * log_ratio
}

/// Log-likelihood at these hazards.
pub(super) fn log_likelihood(patterns: &[Pattern], hazards: &[f64]) -> f64 {
    let one = |(pattern, hazard): (&Pattern, &f64)| {
        let clean = -pattern.clean * hazard;
        match pattern.events {
            events if events > 0.0 => clean + events * log_event(*hazard),
            _ => clean,
        }
    };
    patterns.iter().zip(hazards).map(one).sum()
}

/// Derivative of the log-likelihood of one pattern by its hazard.
pub(super) fn slope(clean: f64, events: f64, hazard: f64) -> f64 {
    if events > 0.0 { events / hazard.exp_m1() - clean } else { -clean }
}

/// Gradient, and negative second derivatives, by the group hazards.
pub(super) fn derivatives(patterns: &[Pattern], hazards: &[f64]) -> (Vec<f64>, Vec<Vec<f64>>) {
    let size = patterns.first().map_or(0, |pattern| pattern.exposure.len());
    let (mut gradient, mut information) = (vec![0.0; size], vec![vec![0.0; size]; size]);
    for (pattern, hazard) in patterns.iter().zip(hazards) {
        let slope = slope(pattern.clean, pattern.events, *hazard);
        let half = (0.5 * hazard).sinh();
        let curvature =
            if pattern.events > 0.0 { pattern.events / (4.0 * half * half) } else { 0.0 };
        let passed: Vec<(usize, f64)> =
            pattern.exposure.iter().copied().enumerate().filter(|(_, x)| *x != 0.0).collect();
        for (i, x) in &passed {
            gradient[*i] += slope * x;
            if curvature > 0.0 {
                for (j, y) in &passed {
                    information[*i][*j] += curvature * x * y;
                }
            }
        }
    }
    (gradient, information)
}
