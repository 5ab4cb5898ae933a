//! Rate ratios of skipped inspections (5.5), with the neighbours that every one of them needs: all
//! faults of any cause, and causes that dirt cannot produce.

use super::evidence::Evidence;
use super::flag::Flag;
use super::strata::{EXPOSURES, FollowUp, Within};
use super::table::{Group, Row, Table, Unit, Value};
use crate::stats::{Estimate, PersonTime, mantel_haenszel};

/// Definitions of a fault that rows are given for, with their places in `DEFINITIONS`.
pub const FAULTS: [(&str, usize); 3] = [("linked", 0), ("any", 3), ("control", 4)];
const LEAST_EXPECTED: f64 = 5.0;

/// A text among a row's own values.
pub fn text(word: &str) -> Value {
    Value::Text(word.to_owned())
}

/// Whether either side of a ratio expects fewer than five events, were the rates equal.
pub fn is_thin(strata: &[PersonTime]) -> bool {
    let mut expected = (0.0, 0.0);
    for stratum in strata.iter().filter(|stratum| stratum.t1 > 0.0 && stratum.t0 > 0.0) {
        let events = (stratum.d1 + stratum.d0) as f64;
        let share = stratum.t1 / (stratum.t1 + stratum.t0);
        expected.0 += events * share;
        expected.1 += events * (1.0 - share);
    }
    expected.0 < LEAST_EXPECTED || expected.1 < LEAST_EXPECTED
}

/// Connection-months of follow-up on both sides.
fn months_at_risk(strata: &[PersonTime]) -> f64 {
    let days: f64 = strata.iter().map(|stratum| stratum.t1 + stratum.t0).sum();
    days * 24.0 / 730.5
}

/// Whether an interval leaves out a ratio of 1.
fn leaves_out_one(ratio: &Estimate) -> bool {
    ratio.low.is_some_and(|low| low > 1.0) || ratio.high.is_some_and(|high| high < 1.0)
}

/// 5.5's neighbour of every row: causes that dirt cannot produce, in the same strata.
pub fn is_confounded(
    evidence: &Evidence,
    follow_up: &FollowUp,
    within: &Within,
    exposed: &[&str],
) -> bool {
    let strata = follow_up.strata(within, exposed, FAULTS[2].1);
    leaves_out_one(&mantel_haenszel(&strata, evidence.rules().level).ratio)
}

/// Ratios by exposure, kind of fault and after-fault state; smaller groups only the headline's.
pub fn ratio_rows(
    evidence: &Evidence,
    follow_up: &FollowUp,
    by: &'static str,
    group: &Group,
    table: &mut Table,
) {
    for (exposure, exposed) in EXPOSURES {
        for (faults, definition) in FAULTS {
            for after_fault in [false, true] {
                if by != "fleet" && (after_fault || (exposure != "skipped" && faults != "linked")) {
                    continue;
                }
                let within = Within { group: group.clone(), after_fault };
                let strata = follow_up.strata(&within, exposed, definition);
                let common = mantel_haenszel(&strata, evidence.rules().level);
                let after = text(if after_fault { "yes" } else { "no" });
                let labels = [
                    ("exposure", text(exposure)),
                    ("faults", text(faults)),
                    ("after_fault", after),
                ];
                let both: u64 = strata.iter().map(|stratum| stratum.d0).sum();
                let skipped: u64 = strata.iter().map(|stratum| stratum.d1).sum();
                let mut values = labels.to_vec();
                values.push(("p", Some(common.test.p).into()));
                values.push(("faults_skipped", Value::Count(skipped as i64)));
                values.push(("faults_both", Value::Count(both as i64)));
                let mut row = Row::of(by, group.clone(), "rate-ratio", Unit::Ratio, &common.ratio);
                (row.n, row.events) = (months_at_risk(&strata), Some((skipped + both) as i64));
                let confounded =
                    faults == "linked" && is_confounded(evidence, follow_up, &within, exposed);
                table.rows.push(
                    row.with(table.fill(&values))
                        .flagged(is_thin(&strata).then_some(Flag::Thin))
                        .flagged(confounded.then_some(Flag::Confounded))
                        .flagged(evidence.guessed_cover(group.site.as_deref())),
                );
                if let Some(test) =
                    common.homogeneity.filter(|_| by == "fleet" && faults == "linked")
                {
                    let mut row = Row::figure(
                        by,
                        group.clone(),
                        "homogeneity",
                        Unit::Ratio,
                        test.statistic,
                        "score test",
                    );
                    row.n = test.df as f64;
                    values[3] = ("p", Some(test.p).into());
                    table.rows.push(row.with(table.fill(&values)));
                }
            }
        }
    }
}
