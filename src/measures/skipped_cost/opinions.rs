//! The two opinions on a rate ratio (5.5): the estimate from risk sets whose errors respect clusters, which leads
//! wherever two clusters say something, and Mantel-Haenszel over the same risk sets.

use crate::stats::homogeneity::{Homogeneity, homogeneity};
use crate::stats::risk_sets::by_stratum;
use crate::stats::stratified_poisson::{StratifiedFit, StratifiedRow, stratified_poisson, summed};
use crate::stats::{Estimate, PersonTime, mantel_haenszel};

/// The method that leads wherever two clusters say something.
const RISK_SETS: &str = "risk sets, errors by cluster";

/// Both opinions, the leading one first.
pub struct Opinions {
    /// The ratio that leads.
    pub headline: Estimate,
    /// Two-sided p value of a ratio of 1, of the headline.
    pub p: Option<f64>,
    /// The other with its p value; none where all faults are on one side.
    pub second: Option<(Estimate, Option<f64>)>,
    /// Scatter of clusters over that of chance.
    pub dispersion: Option<f64>,
    /// Clusters of the regression.
    pub clusters: Option<u64>,
    /// Whether the regression leads.
    pub by_regression: bool,
    /// How many times wider the headline's interval is than that of the model alone.
    pub widening: f64,
}

/// From `rows` of risk sets or of time at risk, by cluster; from `strata` where there are no rows.
pub fn opinions(strata: &[PersonTime], rows: &[StratifiedRow], level: f64) -> Opinions {
    let events = if rows.is_empty() { strata.to_vec() } else { summed(rows) };
    let common = mantel_haenszel(&events, level);
    let mut fit = stratified_poisson(rows, level);
    if fit.ratio.value.is_some() {
        fit.ratio.method = RISK_SETS;
    }
    let by_regression = leads(&fit);
    let known = fit.log_ratio.is_some();
    let (dispersion, clusters) = (fit.dispersion, known.then_some(fit.clusters as u64));
    let widening = if by_regression { widening(&fit, level) } else { 1.0 };
    let (headline, p, second) = if by_regression {
        (fit.ratio, fit.p, Some((common.ratio, Some(common.test.p))))
    } else {
        (common.ratio, Some(common.test.p), known.then_some((fit.ratio, fit.p)))
    };
    Opinions { headline, p, second, dispersion, clusters, by_regression, widening }
}

/// Whether the strata share one ratio, from what [`opinions`] takes.
pub fn agree(strata: &[PersonTime], rows: &[StratifiedRow]) -> Option<Homogeneity> {
    match rows.is_empty() {
        true => homogeneity(&strata.iter().map(|stratum| vec![*stratum]).collect::<Vec<_>>()),
        false => homogeneity(&by_stratum(rows)),
    }
}

fn leads(fit: &StratifiedFit) -> bool {
    fit.robust_se.is_some_and(|se| se > 0.0) && fit.ratio.value.is_some()
}

/// The regression's interval over what the model alone would give: applied where a ratio is worked
/// out again without clusters.
fn widening(fit: &StratifiedFit, level: f64) -> f64 {
    let model = fit.model_se.map(|se| se * crate::stats::quantile::normal_quantile(level));
    let (Some(low), Some(high), Some(model)) = (fit.ratio.low, fit.ratio.high, model) else {
        return 1.0;
    };
    let wide = 0.5 * (high.ln() - low.ln()) / model;
    if wide.is_finite() { wide } else { 1.0 }
}

/// A ratio from strata alone, by the method that led, its interval widened as the headline's was.
pub fn as_headline(strata: &[PersonTime], like: &Opinions, level: f64) -> Estimate {
    if !like.by_regression {
        return mantel_haenszel(strata, level).ratio;
    }
    let sides = |(stratum, s): (u64, &PersonTime)| {
        let row =
            |exposed, events, time| StratifiedRow { stratum, cluster: 0, exposed, events, time };
        [row(true, s.d1 as f64, s.t1), row(false, s.d0 as f64, s.t0)]
    };
    let rows: Vec<StratifiedRow> = (0..).zip(strata).flat_map(sides).collect();
    let mut ratio = stratified_poisson(&rows, level).ratio;
    if ratio.value.is_some() {
        ratio.method = RISK_SETS;
    }
    // One cluster stands for all of them here: the width comes from the headline's clusters.
    ratio.warnings.retain(|warning| *warning != crate::stats::Warning::FewClusters);
    let Some(value) = ratio.value else { return ratio };
    let wider = |limit: f64| value * (like.widening * (limit / value).ln()).exp();
    ratio.low = ratio.low.map(wider);
    ratio.high = ratio.high.map(wider).filter(|high| high.is_finite());
    ratio
}
