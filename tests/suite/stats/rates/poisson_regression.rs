use crate::stats::reference::{Table, close, close_to, expected};
use motetrail::stats::estimate::Warning;
use motetrail::stats::poisson_regression::*;
use motetrail::stats::regression::RegressionError;
use motetrail::stats::stratified_poisson::{StratifiedRow, stratified_poisson};
use proptest::prelude::*;
use serde_json::Value;

/// 0/1 column: `values` equal to `level`.
fn indicator(values: &[String], level: &str) -> Vec<f64> {
    values.iter().map(|v| f64::from(u8::from(v == level))).collect()
}

fn errors(covariance: &[Vec<f64>]) -> Vec<f64> {
    (0..covariance.len()).map(|i| covariance[i][i].sqrt()).collect()
}

#[track_caller]
fn all_close(got: &[f64], want: &Value) {
    let want = want.as_array().unwrap();
    assert_eq!(got.len(), want.len());
    got.iter().zip(want).for_each(|(g, w)| close_to(*g, w, 1e-7, 1e-9));
}

#[test]
fn ships_match_mccullagh_and_nelder_1989_table_6_3_and_r_sandwich() {
    let t = Table::read("05_glm", "glm_ships.csv");
    let (kind, year, period) = (t.text("type"), t.text("year"), t.text("period"));
    let events = t.numbers("incidents");
    let mut columns = vec![vec![1.0; events.len()]];
    columns.extend(["B", "C", "D", "E"].map(|k| indicator(&kind, k)));
    columns.extend(["65", "70", "75"].map(|y| indicator(&year, y)));
    columns.push(indicator(&period, "75"));
    let offset: Vec<f64> = t.numbers("service").iter().map(|s| s.ln()).collect();
    let clusters: Vec<u64> = kind.iter().map(|k| u64::from(k.as_bytes()[0])).collect();
    let data = PoissonData {
        events: &events,
        columns: &columns,
        offset: &offset,
        clusters: Some(&clusters),
    };
    let got = poisson_regression(&data).unwrap();
    let want = &expected("05_glm", "glm_ships")["poisson"];
    all_close(&got.coefficients, &want["coef"]);
    all_close(&errors(&got.covariance), &want["se"]);
    all_close(&got.fitted, &want["fitted"]);
    close_to(got.deviance, &want["deviance"], 1e-7, 1e-9);
    close_to(got.pearson, &want["pearson"], 1e-7, 1e-9);
    close_to(got.dispersion, &want["dispersion"], 1e-7, 1e-9);
    assert_eq!(Some(got.df as u64), want["df"].as_u64());
    let quasi = got.dispersion.unwrap().sqrt();
    let quasi_se: Vec<f64> = errors(&got.covariance).iter().map(|e| e * quasi).collect();
    all_close(&quasi_se, &want["quasi_se"]);
    let robust = errors(got.robust.as_ref().unwrap());
    all_close(&robust, &want["cluster_hc0_cadjust"]);
    assert_eq!(got.warnings, [Warning::FewClusters]);
    // Every row a cluster of its own: HC0 with the factor n / (n - 1).
    let rows: Vec<u64> = (0..events.len() as u64).collect();
    let own = poisson_regression(&PoissonData { clusters: Some(&rows), ..data }).unwrap();
    let n = events.len() as f64;
    let hc0: Vec<f64> =
        errors(own.robust.as_ref().unwrap()).iter().map(|e| e * ((n - 1.0) / n).sqrt()).collect();
    all_close(&hc0, &want["hc0"]);
}

#[test]
fn school_absences_match_venables_and_ripley_2002() {
    let t = Table::read("05_glm", "glm_nb_quine.csv");
    let events = t.numbers("Days");
    let mut columns = vec![vec![1.0; events.len()], indicator(&t.text("Eth"), "N")];
    columns.extend(["F1", "F2", "F3"].map(|age| indicator(&t.text("Age"), age)));
    columns.push(indicator(&t.text("Lrn"), "SL"));
    columns.push(indicator(&t.text("Sex"), "M"));
    let offset = vec![0.0; events.len()];
    let data = PoissonData { events: &events, columns: &columns, offset: &offset, clusters: None };
    let got = poisson_regression(&data).unwrap();
    let want = &expected("05_glm", "glm_nb_quine")["poisson"];
    all_close(&got.coefficients, &want["coef"]);
    all_close(&errors(&got.covariance), &want["se"]);
    close_to(got.deviance, &want["deviance"], 1e-7, 1e-9);
    close_to(got.dispersion, &want["dispersion"], 1e-7, 1e-9);
    assert_eq!((got.robust, got.warnings), (None, vec![]));
}

#[test]
fn a_group_without_events_is_reported_and_bad_input_refused() {
    let columns = [vec![1.0; 4], vec![0.0, 0.0, 1.0, 1.0]];
    let events = [3.0, 4.0, 0.0, 0.0];
    let data =
        PoissonData { events: &events, columns: &columns, offset: &[0.0; 4], clusters: None };
    let got = poisson_regression(&data).unwrap();
    assert!(got.warnings.contains(&Warning::Boundary));
    assert!(got.coefficients.iter().all(|b| b.is_finite()));
    let twice = [vec![1.0; 4], vec![2.0; 4]];
    let refused = poisson_regression(&PoissonData { columns: &twice, ..data });
    assert_eq!(refused, Err(RegressionError::Dependent { column: 1 }));
    let refused = poisson_regression(&PoissonData { events: &[1.0, f64::NAN, 0.0, 0.0], ..data });
    assert_eq!(refused, Err(RegressionError::OutOfRange { what: "events", row: 1 }));
    let refused = poisson_regression(&PoissonData { offset: &[0.0], ..data });
    assert_eq!(refused, Err(RegressionError::Length { what: "offset", found: 1, expected: 4 }));
    let refused = poisson_regression(&PoissonData { events: &[0.0; 4], ..data });
    assert_eq!(refused, Err(RegressionError::Empty { rows: 4, columns: 2 }));
}

fn dense(rows: &[StratifiedRow], strata: u64) -> PoissonFit {
    let events: Vec<f64> = rows.iter().map(|r| r.events).collect();
    let offset: Vec<f64> = rows.iter().map(|r| r.time.ln()).collect();
    let clusters: Vec<u64> = rows.iter().map(|r| r.cluster).collect();
    let flag = |f: &dyn Fn(&StratifiedRow) -> bool| -> Vec<f64> {
        rows.iter().map(|r| f64::from(u8::from(f(r)))).collect()
    };
    let mut columns = vec![flag(&|r| r.exposed)];
    columns.extend((0..strata).map(|s| flag(&|r| r.stratum == s)));
    let data = PoissonData {
        events: &events,
        columns: &columns,
        offset: &offset,
        clusters: Some(&clusters),
    };
    poisson_regression(&data).unwrap()
}

proptest! {
    #[test]
    fn profiled_strata_equal_the_dense_fit(
        cells in prop::collection::vec((1_u64..30, 0.5..50.0_f64), 24..48),
    ) {
        // Every stratum has events; the exposed and the reference are in every one. A cluster holds whole strata: there
        // scores need no correction.
        let rows: Vec<StratifiedRow> = cells.iter().enumerate()
            .map(|(i, &(events, time))| StratifiedRow {
                stratum: (i / 2 % 6) as u64, cluster: (i / 2 % 6 / 2) as u64, exposed: i % 2 == 0, events: events as f64, time,
            })
            .collect();
        let (got, want) = (stratified_poisson(&rows, 0.95), dense(&rows, 6));
        prop_assert!((got.log_ratio.unwrap() - want.coefficients[0]).abs() < 1e-8);
        prop_assert!((got.model_se.unwrap() / want.covariance[0][0].sqrt() - 1.0).abs() < 1e-6);
        prop_assert_eq!(got.clusters, want.clusters);
        if let Some(robust) = want.robust {
            prop_assert!((got.robust_se.unwrap() - robust[0][0].sqrt()).abs() < 1e-6);
        }
        // Empty strata, and rows without time, change nothing.
        let mut more = rows.clone();
        more.push(StratifiedRow { stratum: 99, cluster: 99, exposed: true, events: 0.0, time: 5.0 });
        more.push(StratifiedRow { stratum: 0, cluster: 98, exposed: true, events: 0.0, time: 0.0 });
        prop_assert_eq!(stratified_poisson(&more, 0.95), got);
    }
}

#[test]
fn profiled_ratio_is_the_conditional_estimate_of_the_british_doctors() {
    let rows: Vec<StratifiedRow> =
        crate::stats::ratios::mantel_haenszel::strata("02_poisson_rates", "mh_doctors.csv")
            .iter()
            .enumerate()
            .flat_map(|(i, s)| {
                let row = |exposed, events, time| StratifiedRow {
                    stratum: i as u64,
                    cluster: i as u64,
                    exposed,
                    events,
                    time,
                };
                [row(true, s.d1 as f64, s.t1), row(false, s.d0 as f64, s.t0)]
            })
            .collect();
    let got = stratified_poisson(&rows, 0.95);
    let want = expected("02_poisson_rates", "mh_doctors");
    close_to(got.ratio.value, &want["conditional_mle_rr"], 1e-8, 1e-12);
    close_to(got.model_se, &want["conditional_mle_se_log"], 1e-8, 1e-12);
}

#[test]
fn events_on_one_side_have_the_exact_limit() {
    let row =
        |exposed, events| StratifiedRow { stratum: 1, cluster: 1, exposed, events, time: 10.0 };
    let got = stratified_poisson(&[row(true, 5.0), row(false, 0.0)], 0.95);
    // One stratum with equal times: r / (1 + r) = 0.025^(1/5).
    let share = 0.025_f64.powf(0.2);
    close(got.ratio.low.unwrap(), share / (1.0 - share), 1e-10, 0.0);
    assert_eq!((got.ratio.value, got.ratio.high, got.p), (None, None, None));
    assert_eq!(got.ratio.warnings, [Warning::OneSided]);
    assert_eq!(stratified_poisson(&[], 0.95).ratio.warnings, [Warning::NoData]);
}

/// Eight clusters of equal time, by hand: scores are a third of d1 - 2 d0 = -1, 7, -6, 3, -5, 2, 4, -4, their squares
/// 156 and fourth powers 4932 in these units: 156^2 / 4932 degrees of freedom, a quantile between those of t with four
/// (2.776445) and five (2.570582). The p value is checked where the interval at that level ends at 1.
#[test]
fn few_clusters_widen_the_interval_to_students_quantile() {
    let counts: [(u32, u32); 8] = [(3, 2), (9, 1), (2, 4), (7, 2), (1, 3), (8, 3), (6, 1), (4, 4)];
    let rows: Vec<StratifiedRow> = (0..)
        .zip(counts)
        .flat_map(|(cluster, (d1, d0))| {
            let row =
                |exposed, events| StratifiedRow { stratum: 1, cluster, exposed, events, time: 5.0 };
            [row(true, d1.into()), row(false, d0.into())]
        })
        .collect();
    let got = stratified_poisson(&rows, 0.95);
    let se = got.robust_se.unwrap();
    let reach = (got.ratio.high.unwrap() / got.ratio.value.unwrap()).ln();
    close(got.df, 156.0 * 156.0 / 4932.0, 1e-9, 0.0);
    assert!(reach / se > 2.570_582 && reach / se < 2.776_445, "{}", reach / se);
    // Where the interval at some level just touches 1, p is what that level leaves.
    let touches = |level: f64| stratified_poisson(&rows, level).ratio.low.unwrap().ln();
    let p = got.p.unwrap();
    close(touches(1.0 - p), 0.0, 0.0, 1e-7);
    assert_eq!(got.ratio.warnings, [Warning::FewClusters]);
}

/// By hand, at a ratio of 1: of eight events three eighths and five eighths are expected of the clusters, of which a third
/// and three fifths are of the exposed. The first has three more than expected, so that its score of 3/2 has the parts 2
/// within and -1/2 between, the second's -3/2 has -6/5 and -3/10; those between are divided by the roots of 5/8 and 3/8.
/// Squares over an information of 8 x 1/2 x 1/2.
#[test]
fn dispersion_is_that_of_the_clusters_scores_over_what_chance_leaves() {
    let row = |cluster, exposed, events, time| StratifiedRow {
        stratum: 1,
        cluster,
        exposed,
        events,
        time,
    };
    let rows = [
        row(1, true, 4.0, 1.0),
        row(1, false, 2.0, 2.0),
        row(2, true, 0.0, 3.0),
        row(2, false, 2.0, 2.0),
    ];
    let got = stratified_poisson(&rows, 0.95);
    let squares = (2.0 - 0.5 / 0.625_f64.sqrt()).powi(2) + (1.2 + 0.3 / 0.375_f64.sqrt()).powi(2);
    close(got.dispersion.unwrap(), squares / 2.0, 1e-9, 0.0);
}

/// Site-weeks whose strata have one group only say nothing: they neither narrow the interval nor take the
/// warning away.
#[test]
fn idle_clusters_change_nothing() {
    let row = |stratum, cluster, exposed, events| StratifiedRow {
        stratum,
        cluster,
        exposed,
        events,
        time: 4.0,
    };
    let mut rows = Vec::new();
    for (cluster, (d1, d0)) in (0..).zip([(3.0, 2.0), (9.0, 1.0), (2.0, 4.0)]) {
        rows.extend([row(1, cluster, true, d1), row(1, cluster, false, d0)]);
    }
    let few = stratified_poisson(&rows, 0.95);
    assert_eq!(few.ratio.warnings, [Warning::FewClusters]);
    rows.extend((10..210).map(|cluster| row(cluster, cluster, cluster % 2 == 0, 2.0)));
    let among = stratified_poisson(&rows, 0.95);
    assert_eq!((few.ratio, few.p, few.df), (among.ratio, among.p, among.df));
    close(few.df, 2.0, 1e-9, 0.0);
    assert_eq!((few.clusters, among.clusters), (3, 3));
}
