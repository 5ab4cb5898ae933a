//! Whether two or more parts of the trials have the same segment hazards.
//!
//! Promises a p value in [0, 1]. Stops at two questions: do the parts differ in any hazard, and by
//! which common factor do the hazards of one part differ.

use super::hazard::{SegmentFit, SegmentRow};
use super::likelihood::{gain, slope};
use crate::stats::estimate::{Estimate, Warning};
use crate::stats::special::input;
use crate::stats::special::quantile::{chi_square_upper, normal_quantile};
use crate::stats::special::root::root_within;
use crate::stats::wald::Basis;

/// Farthest log factor that is sought: a factor of about 150.
const FARTHEST: f64 = 5.0;

/// How near limits are sought, log scale.
const NEAR: f64 = 1e-9;

/// A likelihood-ratio test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SplitTest {
    /// Twice the gain of separate fits, over the inflation.
    pub statistic: f64,
    /// How many hazards more the separate fits tell apart.
    pub df: u64,
    /// Upper tail of chi-square; cautious where hazards lie on the boundary.
    pub p: f64,
    /// Whether every fit arrived.
    pub converged: bool,
}

/// Tests whether the rows of each part have hazards of their own. `parts` names the part of every
/// row; the statistic is divided by `inflation` (at least 1). `None` where the parts pass no segment
/// in common.
///
/// Source: likelihood ratio, Wilks (1938), Ann. Math. Stat. 9, 60-62; scaled by a dispersion as in
/// McCullagh & Nelder (1989), Generalized Linear Models, 2nd ed., section 4.5 [section from memory].
pub fn split_test(
    rows: &[SegmentRow],
    parts: &[usize],
    columns: usize,
    inflation: f64,
) -> Option<SplitTest> {
    let mut names: Vec<usize> = parts.to_vec();
    names.sort_unstable();
    names.dedup();
    let whole = SegmentFit::of(rows, columns);
    let (mut apart, mut rank) = (whole.hazards.clone(), 0);
    let mut converged = whole.converged;
    for name in names {
        let of_part: Vec<SegmentRow> = rows
            .iter()
            .zip(parts)
            .filter(|(_, part)| **part == name)
            .map(|(row, _)| row.clone())
            .collect();
        let fit = SegmentFit::of(&of_part, columns);
        rank += fit.rank;
        converged &= fit.converged;
        let places = (0..rows.len()).filter(|row| parts[*row] == name);
        for (place, hazard) in places.zip(&fit.hazards) {
            apart[place] = *hazard;
        }
    }
    let df = rank.checked_sub(whole.rank).filter(|df| *df > 0)? as u64;
    let raw = 2.0 * gain(&whole.patterns, &whole.hazards, &apart);
    let statistic = raw.max(0.0) / input::amount(inflation).max(1.0);
    Some(SplitTest { statistic, df, p: chi_square_upper(statistic, df as f64), converged })
}

/// A common factor, with its test against 1.
#[derive(Clone, Debug, PartialEq)]
pub struct CommonFactor {
    /// Hazards of the part over those of the rest, a ratio.
    pub factor: Estimate,
    /// Two-sided p of the likelihood ratio against 1.
    pub p: Option<f64>,
}

/// The factor by which all hazards of the rows in `part` differ from those of the others, by profile
/// likelihood; deviances are divided by `inflation` (at least 1).
///
/// No value where either side has no event, or neither does.
///
/// Source: profile likelihood as in `segment_profile`; for a given factor the model is the same with
/// the exposures of the part multiplied by it.
pub fn common_factor(
    rows: &[SegmentRow],
    part: &[bool],
    columns: usize,
    level: f64,
    inflation: f64,
) -> CommonFactor {
    let inflation = input::amount(inflation).max(1.0);
    let at = |log: f64| {
        let factor = log.exp();
        let scaled = rows.iter().zip(part).map(|(row, inside)| {
            let times = if *inside { factor } else { 1.0 };
            let exposure = row.exposure.iter().map(|x| x * times).collect();
            SegmentRow { exposure, ..row.clone() }
        });
        SegmentFit::of(&scaled.collect::<Vec<_>>(), columns)
    };
    let sums = |inside: bool| {
        let of_part = rows.iter().zip(part).filter(|(_, is)| **is == inside);
        of_part.fold((0.0, 0.0), |sum, (row, _)| {
            (sum.0 + input::amount(row.n), sum.1 + input::amount(row.events))
        })
    };
    let ((n, events), (others, other_events)) = (sums(true), sums(false));
    let basis = Basis {
        n: n + others,
        events: (events + other_events).round() as u64,
        level,
        method: "profile likelihood",
        warnings: Vec::new(),
    };
    if events <= 0.0 || other_events <= 0.0 {
        let warnings = vec![Warning::OneSided];
        return CommonFactor { factor: Basis { warnings, ..basis }.nothing(), p: None };
    }
    // Falling in the log factor: the part's own slope along its hazards.
    let falling = |log: f64| {
        let fit = at(log);
        let of_part = fit.patterns.iter().zip(&fit.hazards).zip(part).filter(|(_, is)| **is);
        of_part.map(|((p, h), _)| slope(p.clean, p.events, *h) * (h - p.fixed)).sum::<f64>()
    };
    let best = root_within(|log| -falling(log), -FARTHEST, FARTHEST, NEAR);
    let top = at(best);
    let deviance = |log: f64| {
        (-2.0 * gain(&top.patterns, &top.hazards, &at(log).hazards)).max(0.0) / inflation
    };
    let allowed = normal_quantile(level).powi(2);
    let low = (deviance(-FARTHEST) > allowed)
        .then(|| root_within(|log| allowed - deviance(log), -FARTHEST, best, NEAR).exp());
    let high = (deviance(FARTHEST) > allowed)
        .then(|| root_within(|log| deviance(log) - allowed, best, FARTHEST, NEAR).exp());
    let value = (best.abs() < FARTHEST).then(|| best.exp());
    let warnings = if top.converged { Vec::new() } else { vec![Warning::NotConverged] };
    CommonFactor {
        factor: Basis { warnings, ..basis }.limits(value, low, high),
        p: input::finite(chi_square_upper(deviance(0.0), 1.0)),
    }
}
