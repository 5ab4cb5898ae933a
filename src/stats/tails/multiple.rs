//! Many tests at once.
//!
//! Promises q values in the order of the p values. Stops at the false discovery rate of independent
//! or positively dependent tests.

/// False-discovery-rate adjusted p values (q values), in the order of `p`.
///
/// Tied p values get the same q. What is not a number counts as 1; the rest is clamped to [0, 1].
///
/// Source: Benjamini & Hochberg (1995), J. R. Stat. Soc. B 57, 289-300, section 3.
pub fn benjamini_hochberg(p: &[f64]) -> Vec<f64> {
    let clean = |p: f64| if p.is_nan() { 1.0 } else { p.clamp(0.0, 1.0) };
    let p: Vec<f64> = p.iter().map(|&p| clean(p)).collect();
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[b].total_cmp(&p[a]));
    let tests = p.len() as f64;
    let mut q = vec![1.0; p.len()];
    let mut least = 1.0_f64;
    for (above, &i) in order.iter().enumerate() {
        let rank = tests - above as f64;
        least = least.min(p[i] * (tests / rank));
        q[i] = least;
    }
    q
}
