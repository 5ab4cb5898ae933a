//! On which step of a path the event came first, given that it came.
//!
//! Promises shares that add up to 1 over the steps of every path with an event. Stops at point
//! values.

/// A path that trials took: its steps in the order of passing, and the trials with an event.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    /// Numbers of the steps passed, in order.
    pub steps: Vec<usize>,
    /// Trials on this path with an event.
    pub events: f64,
}

/// Events by the step on which they came first, expected given the paths on which they were found: of
/// a path with hazards `l_1, l_2, ...` step `k` has the share `exp(-(l_1 + ... + l_(k-1)))
/// (1 - exp(-l_k)) / (1 - exp(-(l_1 + ...)))`. A path whose hazards are all 0 shares evenly.
///
/// Source: definition, for independent exponential entry times on each step.
pub fn first_events(paths: &[Path], hazards: &[f64]) -> Vec<f64> {
    let mut first = vec![0.0; hazards.len()];
    for path in paths.iter().filter(|path| path.events > 0.0) {
        let hazard = |step: &usize| hazards.get(*step).copied().unwrap_or(0.0).max(0.0);
        let whole: f64 = path.steps.iter().map(hazard).sum();
        let any = -(-whole).exp_m1();
        let even = 1.0 / path.steps.len().max(1) as f64;
        let mut before = 0.0_f64;
        for step in &path.steps {
            let here = hazard(step);
            let share = if any > 0.0 { (-before).exp() * -(-here).exp_m1() / any } else { even };
            if let Some(sum) = first.get_mut(*step) {
                *sum += path.events * share;
            }
            before += here;
        }
    }
    first
}
