//! What a ratio would be if the records had a stated fault: quantitative bias analysis.
//!
//! Promises closed forms of counts and stated shares, nothing estimated, nothing drawn. Stops where the counts cannot have
//! come about under the statement: `None`. How likely a statement is, is for the reader to say.

use super::person_time::PersonTime;
use crate::stats::estimate::Estimate;
use crate::stats::special::input;

/// Units really exposed and really not exposed, of which `exposed` and `unexposed` were recorded so, where a share
/// `sensitivity` of the exposed is recorded as exposed and a share `specificity` of the others as not exposed: with
/// `n = a + b`, `A = (a - (1 - specificity) n) / (sensitivity + specificity - 1)` and `B = n - A`.
///
/// `None` where sensitivity and specificity add up to 1 or less. A negative number says that the counts cannot have come
/// about so.
///
/// Source: Lash, Fox & Fink (2009), Applying Quantitative Bias Analysis to Epidemiologic Data, chapter 6.
pub fn reclassified(
    [exposed, unexposed]: [f64; 2],
    sensitivity: f64,
    specificity: f64,
) -> Option<[f64; 2]> {
    let told = sensitivity + specificity - 1.0;
    if !told.is_finite() || told <= 0.0 {
        return None;
    }
    let all = exposed + unexposed;
    let truly = (exposed - (1.0 - specificity) * all) / told;
    input::finite(truly).map(|truly| [truly, all - truly])
}

/// Share of units with a mark among those that were not selected, where it is `share` among those that were and the odds
/// of being selected are `odds_ratio` times as high with the mark: odds divided by the selection odds ratio.
///
/// `None` for a share outside 0 to 1 or an odds ratio that is not a positive number.
///
/// Source: as [`reclassified`], chapter 4.
pub fn unselected_share(share: f64, odds_ratio: f64) -> Option<f64> {
    if !(0.0..=1.0).contains(&share) || !odds_ratio.is_finite() || odds_ratio <= 0.0 {
        return None;
    }
    input::finite(share / (share + odds_ratio * (1.0 - share)))
}

/// By how much the excess of a Mantel-Haenszel ratio over 1 grows if, for every reference unit recorded, `misplaced` more
/// were recorded as exposed, whatever became of them.
///
/// That is a sensitivity of 1 and a specificity of `1 / (1 + k)`, `k = misplaced`, in every stratum, of events and of time:
/// `D0* = (1 + k) D0`, `T0* = (1 + k) T0`, `D1* = D1 - k D0`, `T1* = T1 - k T0`, `T` as it was. With `P = sum D1 T0 / T`,
/// `Q = sum D0 T1 / T` and `W = sum D0 T0 / T` the ratio `P / Q` becomes `(P - k W) / (Q - k W)`, whose excess over 1 is
/// `(P - Q) / (Q - k W)`: the recorded excess times `Q / (Q - k W) = (1 + k) Q / Q*`, `Q* = sum D0* T1* / T`. Sums of strata
/// are linear in what was counted, so a single stratum that comes out negative does no harm.
///
/// `None` where more is misplaced than was recorded as exposed, or without events of the reference.
///
/// Source: as [`reclassified`]; Mantel-Haenszel sums of person-time as in `mantel_haenszel`.
pub fn misplaced_excess(strata: &[PersonTime], misplaced: f64) -> Option<f64> {
    let misplaced = input::amount(misplaced);
    let (mut recorded, mut truly) = (0.0, 0.0);
    for stratum in strata {
        let time = stratum.t1 + stratum.t0;
        if time <= 0.0 {
            continue;
        }
        let specificity = 1.0 / (1.0 + misplaced);
        let events = [stratum.d1 as f64, stratum.d0 as f64];
        let [_, reference] = reclassified(events, 1.0, specificity)?;
        let [exposed_time, _] = reclassified([stratum.t1, stratum.t0], 1.0, specificity)?;
        recorded += events[1] * stratum.t1 / time;
        truly += reference * exposed_time / time;
    }
    let grows = (1.0 + misplaced) * recorded / truly;
    (recorded > 0.0 && truly > 0.0).then_some(grows).and_then(input::finite)
}

/// By how much the excess of a Mantel-Haenszel ratio over 1 grows if it is `factors` times as large in each stratum as
/// recorded: the strata have one ratio `R`, of which stratum `j` shows `1 + (R - 1) / f_j`, so that what was recorded is the
/// mean of `1 / f_j`, weighted by `Q_j = D0 T1 / T`.
///
/// `None` without events of the reference, or for factors that are not positive.
///
/// Source: as [`misplaced_excess`]; the mean follows from the weights.
pub fn diluted_excess(strata: &[(PersonTime, f64)]) -> Option<f64> {
    let (mut weights, mut shown) = (0.0, 0.0);
    for (stratum, factor) in strata {
        let time = stratum.t1 + stratum.t0;
        if time > 0.0 {
            let weight = stratum.d0 as f64 * stratum.t1 / time;
            weights += weight;
            shown += weight / factor;
        }
    }
    (weights > 0.0 && shown > 0.0).then(|| weights / shown).and_then(input::finite)
}

/// A ratio whose excess over 1 is `times` as large: value and limits, none below 0.
///
/// Source: the ratio is a linear function of the recorded one under the bias of [`misplaced_excess`] and
/// [`diluted_excess`], so limits go the same way.
pub fn with_excess(ratio: &Estimate, times: f64, method: &'static str) -> Estimate {
    mapped(ratio, method, |value| (1.0 + times * (value - 1.0)).max(0.0))
}

/// A ratio whose excess over 1 is between as large and `times` as large: the value at `times`, limits that hold either's.
/// Without `times` there is no value and no limit on the side on which the excess grows.
///
/// Source: partial identification: the union of the intervals under every factor from 1 to `times`, all between these two.
pub fn up_to_excess(ratio: &Estimate, times: Option<f64>, method: &'static str) -> Estimate {
    let most = times.map(|times| with_excess(ratio, times, method));
    let side = |limit: Option<f64>, most: Option<f64>, is_beyond: fn(f64) -> bool| {
        let limit = limit?;
        if is_beyond(limit) { most } else { Some(limit) }
    };
    let low = side(ratio.low, most.as_ref().and_then(|most| most.low), |low| low < 1.0);
    let high = side(ratio.high, most.as_ref().and_then(|most| most.high), |high| high > 1.0);
    let value = most.as_ref().and_then(|most| most.value);
    Estimate { value, low, high, method, ..ratio.clone() }
}

/// A ratio of rates if only a share `found` of the events of the reference was recorded, and all of the exposed: the
/// recorded ratio times that share.
///
/// Source: as [`reclassified`], chapter 6, misclassified outcome with a specificity of 1.
pub fn with_reference_found(ratio: &Estimate, found: f64, method: &'static str) -> Estimate {
    mapped(ratio, method, |value| value * found)
}

fn mapped(ratio: &Estimate, method: &'static str, of: impl Fn(f64) -> f64) -> Estimate {
    let of = |value: f64| input::finite(of(value));
    Estimate {
        value: ratio.value.and_then(of),
        low: ratio.low.and_then(of),
        high: ratio.high.and_then(of),
        method,
        ..ratio.clone()
    }
}
