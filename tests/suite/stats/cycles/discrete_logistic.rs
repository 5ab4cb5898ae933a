use crate::stats::cases::{case, near};
use crate::stats::reference::Table;
use motetrail::stats::adjusted_curve::{Mix, adjusted_curve};
use motetrail::stats::discrete_logistic::{Grouped, Logistic, discrete_logistic};
use motetrail::stats::estimate::Warning;
use motetrail::stats::regression::RegressionError;
use proptest::prelude::*;

fn fit(
    columns: &[Vec<f64>],
    trials: &[f64],
    events: &[f64],
    clusters: &[u64],
) -> Result<Logistic, RegressionError> {
    discrete_logistic(&Grouped { columns, trials, events, clusters }, 0.95)
}

fn beetles() -> (Vec<Vec<f64>>, Vec<f64>, Vec<f64>) {
    let data = Table::read("05_glm", "glm_cloglog_beetle.csv");
    let n = data.numbers("n");
    (vec![vec![1.0; n.len()], data.numbers("dose")], n, data.numbers("y"))
}

/// Bliss (1935), beetle mortality; R's glm and its heteroscedastic sandwich. Every row is a cluster
/// of its own, for which the cluster factor G / (G - 1) comes on top of HC0.
#[test]
fn logit_matches_bliss_1935_beetle_mortality() {
    let case = case("05_glm", "glm_cloglog_beetle");
    let want = &case.expected["logit"];
    let (columns, n, y) = beetles();
    let fit = fit(&columns, &n, &y, &[0, 1, 2, 3, 4, 5, 6, 7]).unwrap();
    assert!(fit.converged && fit.separated.is_empty());
    case.near(fit.deviance, &want["deviance"], "deviance");
    for j in 0..2 {
        case.near(fit.coefficients[j].value.unwrap(), &want["coef"][j], "coefficient");
        case.near(fit.model_covariance[j][j].sqrt(), &want["se"][j], "model error");
        let hc0 = (fit.covariance[j][j] * 7.0 / 8.0).sqrt();
        case.near(hc0, &want["hc0"][j], "robust error");
    }
    for (row, dose) in columns[1].iter().enumerate() {
        let p = 1.0 / (1.0 + (-fit.beta[0] - fit.beta[1] * dose).exp());
        case.near(p, &want["fitted"][row], "fitted");
    }
}

/// Moore & Tsiatis (1991): dead fetuses by group; statsmodels, litters as clusters, without a factor for
/// their number.
#[test]
fn clustered_errors_match_statsmodels_on_moore_and_tsiatis_1991_litters() {
    let data = Table::read("01_binomial", "clustered_lirat.csv");
    let case = case("16_libraries", "logit_lirat_litters");
    let group = data.text("group");
    let is = |name: &str| group.iter().map(|g| f64::from(u8::from(g == name))).collect();
    let columns = vec![vec![1.0; group.len()], is("g2"), is("g3"), is("g4")];
    let clusters = data.counts("cluster");
    let fit = fit(&columns, &data.numbers("n"), &data.numbers("y"), &clusters).unwrap();
    let litters = case.expected["clusters"].as_f64().unwrap();
    assert_eq!(fit.clusters as f64, litters);
    for j in 0..4 {
        case.near(fit.coefficients[j].value.unwrap(), &case.expected["coef"][j], "coefficient");
        case.near(fit.model_covariance[j][j].sqrt(), &case.expected["se"][j], "model error");
        let plain = (fit.covariance[j][j] * (litters - 1.0) / litters).sqrt();
        case.near(plain, &case.expected["cluster_se"][j], "cluster error");
    }
}

/// A litter counted again moves the coefficients as its shift says, to first order, and the squares of all shifts are the
/// variance over litters.
#[test]
fn a_cluster_that_is_there_once_more_shifts_the_coefficients() {
    let data = Table::read("01_binomial", "clustered_lirat.csv");
    let group = data.text("group");
    let is = |name: &str| group.iter().map(|g| f64::from(u8::from(g == name))).collect();
    let columns = vec![vec![1.0; group.len()], is("g2"), is("g3"), is("g4")];
    let clusters = data.counts("cluster");
    let (trials, events) = (data.numbers("n"), data.numbers("y"));
    let whole = fit(&columns, &trials, &events, &clusters).unwrap();
    let litters = whole.clusters as f64;
    for j in 0..4 {
        let squares: f64 = whole.shifts.iter().map(|(_, shift)| shift[j] * shift[j]).sum();
        near(squares * litters / (litters - 1.0), whole.covariance[j][j], 0.0, 1e-9, "variance");
    }
    let again = 1.01;
    for (litter, shift) in &whole.shifts {
        let more = |of: &[f64]| -> Vec<f64> {
            let rows = of.iter().zip(&clusters);
            rows.map(|(n, own)| if own == litter { n * again } else { *n }).collect()
        };
        let moved = fit(&columns, &more(&trials), &more(&events), &clusters).unwrap();
        for (j, shift) in shift.iter().enumerate() {
            let found = (moved.beta[j] - whole.beta[j]) / (again - 1.0);
            assert!((found - shift).abs() < 0.01 * shift.abs() + 1e-4, "{litter} {found} {shift}");
        }
    }
}

/// Closed form: one binary covariate gives the log odds ratio, and its robust error with clusters
/// of two rows is worked out from the scores by hand.
#[test]
fn one_binary_covariate_gives_the_odds_ratio_of_the_table() {
    let columns = vec![vec![1.0; 4], vec![0.0, 0.0, 1.0, 1.0]];
    let fit =
        fit(&columns, &[20.0, 10.0, 16.0, 24.0], &[4.0, 5.0, 8.0, 22.0], &[1, 2, 1, 2]).unwrap();
    let (p0, p1) = (9.0 / 30.0, 30.0 / 40.0);
    let logit = |p: f64| (p / (1.0 - p)).ln();
    near(fit.beta[1], logit(p1) - logit(p0), 1e-9, 0.0, "odds ratio");
    // Scores of the slope's influence: residuals over the information of either arm.
    let (i0, i1) = (30.0 * p0 * (1.0 - p0), 40.0 * p1 * (1.0 - p1));
    let first = (8.0 - 16.0 * p1) / i1 - (4.0 - 20.0 * p0) / i0;
    let second = (22.0 - 24.0 * p1) / i1 - (5.0 - 10.0 * p0) / i0;
    let want = 2.0 * (first * first + second * second);
    near(fit.covariance[1][1], want, 1e-9, 0.0, "robust variance");
    assert!(fit.coefficients[1].warnings.contains(&Warning::FewClusters));
}

/// Albert & Anderson (1984): a covariate that tells success from failure has no finite coefficient.
#[test]
fn separation_is_named_and_gives_no_number() {
    let columns = vec![vec![1.0; 4], vec![0.0, 0.0, 1.0, 1.0], vec![0.0, 1.0, 0.0, 1.0]];
    let fit = fit(&columns, &[10.0; 4], &[4.0, 6.0, 10.0, 10.0], &[0, 1, 2, 3]).unwrap();
    assert_eq!(fit.separated, [1]);
    assert!(!fit.converged);
    assert_eq!(fit.coefficients[1].value, None);
    assert!(fit.coefficients[2].value.is_some());
    assert!(fit.beta.iter().all(|b| b.is_finite()));
}

#[test]
fn a_column_that_others_imply_is_named() {
    let columns = vec![vec![1.0; 3], vec![0.0, 1.0, 2.0], vec![1.0, 3.0, 5.0]];
    let error = fit(&columns, &[5.0; 3], &[1.0, 2.0, 3.0], &[0; 3]).unwrap_err();
    assert_eq!(error, RegressionError::Dependent { column: 2 });
}

#[test]
fn bad_input_is_named() {
    let ones = vec![vec![1.0; 2]];
    assert_eq!(
        fit(&[], &[1.0], &[0.0], &[0]).unwrap_err(),
        RegressionError::Empty { rows: 1, columns: 0 }
    );
    assert_eq!(
        fit(&ones, &[0.0; 2], &[0.0; 2], &[0; 2]).unwrap_err(),
        RegressionError::Empty { rows: 2, columns: 1 }
    );
    let length = RegressionError::Length { what: "events", found: 1, expected: 2 };
    assert_eq!(fit(&ones, &[1.0; 2], &[0.0], &[0; 2]).unwrap_err(), length);
    let range = |what| RegressionError::OutOfRange { what, row: 1 };
    assert_eq!(fit(&ones, &[1.0; 2], &[0.0, 2.0], &[0; 2]).unwrap_err(), range("events"));
    assert_eq!(
        fit(&[vec![1.0, f64::NAN]], &[1.0; 2], &[0.0; 2], &[0; 2]).unwrap_err(),
        range("a column")
    );
}

/// Closed form: a model with one hazard a trial and one unit returns the hazards themselves and
/// their product-limit; the delta-method error of the product is Greenwood's.
#[test]
fn saturated_curve_is_the_product_limit_with_greenwoods_error() {
    let (n, y) = ([100.0, 55.0, 30.0], [45.0, 20.0, 9.0]);
    let unit = |j: usize| (0..3).map(|i| f64::from(u8::from(i == j))).collect::<Vec<f64>>();
    let columns: Vec<Vec<f64>> = (0..3).map(unit).collect();
    let fit = fit(&columns, &n, &y, &[0, 1, 2]).unwrap();
    let mix = Mix { by_trial: &columns, by_unit: &[vec![]], weights: &[7.0] };
    let curve = adjusted_curve(&mix, &fit.beta, &fit.model_covariance, 0.95);
    let (mut left, mut greenwood) = (1.0, 0.0);
    for k in 0..3 {
        near(curve[k].hazard.value.unwrap(), y[k] / n[k], 1e-9, 0.0, "hazard");
        left *= 1.0 - y[k] / n[k];
        greenwood += y[k] / (n[k] * (n[k] - y[k]));
        let point = &curve[k].succeeded;
        near(point.value.unwrap(), 1.0 - left, 1e-9, 0.0, "succeeded");
        let logit = |p: f64| (p / (1.0 - p)).ln();
        let se =
            (logit(point.high.unwrap()) - logit(point.low.unwrap())) / (2.0 * 1.959963984540054);
        near(se, greenwood.sqrt() / (1.0 - left), 1e-8, 0.0, "Greenwood");
    }
}

/// A second formulation: mixing the kinds' own curves by hand.
#[test]
fn curve_of_a_mix_is_the_mean_of_its_kinds() {
    let beta = [-0.4, -0.9, 0.8];
    let covariance = [vec![0.04, 0.01, 0.0], vec![0.01, 0.05, 0.0], vec![0.0, 0.0, 0.02]];
    let by_trial = [vec![1.0, 0.0], vec![1.0, 1.0]];
    let curve = |units: &[Vec<f64>], weights: &[f64]| {
        adjusted_curve(
            &Mix { by_trial: &by_trial, by_unit: units, weights },
            &beta,
            &covariance,
            0.9,
        )
    };
    let both = curve(&[vec![0.0], vec![1.0]], &[3.0, 1.0]);
    let (first, second) = (curve(&[vec![0.0]], &[1.0]), curve(&[vec![1.0]], &[1.0]));
    for k in 0..2 {
        let mean =
            0.75 * first[k].succeeded.value.unwrap() + 0.25 * second[k].succeeded.value.unwrap();
        near(both[k].succeeded.value.unwrap(), mean, 1e-12, 0.0, "mean");
    }
    assert!(curve(&[vec![0.0, 1.0]], &[1.0]).is_empty());
    assert_eq!(curve(&[vec![0.0], vec![9.0]], &[2.0, 0.0]), curve(&[vec![0.0]], &[2.0]));
}

/// One coefficient, five clusters of six trials: the share is 1 / (5 - 1), the lost degree of freedom
/// 29 / 29, and the inflation the sandwich over the model's variance, both of them checked above.
/// Morel, Bokossa & Neerchal (2003).
#[test]
fn few_clusters_add_a_share_of_the_model_covariance() {
    let fit = |y: [f64; 5]| fit(&[vec![1.0; 5]], &[6.0; 5], &y, &[0, 1, 2, 3, 4]).unwrap();
    let apart = fit([0.0, 1.0, 3.0, 5.0, 6.0]);
    let (robust, model) = (apart.covariance[0][0], apart.model_covariance[0][0]);
    assert!(robust > model);
    near(apart.adjusted[0][0], 1.25 * robust, 0.0, 1e-12, "apart");
    let alike = fit([3.0, 3.0, 3.0, 3.0, 2.0]);
    let (robust, model) = (alike.covariance[0][0], alike.model_covariance[0][0]);
    assert!(robust < model);
    near(alike.adjusted[0][0], robust + 0.25 * model, 0.0, 1e-12, "alike");
    let coefficient = &alike.coefficients[0];
    let half = (coefficient.high.unwrap() - coefficient.low.unwrap()) / 2.0;
    near(half, 1.959963984540054 * alike.adjusted[0][0].sqrt(), 0.0, 1e-9, "interval");
}

proptest! {
    #[test]
    fn relabelled_clusters_and_empty_rows_change_nothing(
        counts in prop::collection::vec((0_u64..30, 1_u64..30), 6), shift in 1_u64..1000,
    ) {
        let n: Vec<f64> = counts.iter().map(|c| (c.0 + c.1) as f64).collect();
        let y: Vec<f64> = counts.iter().map(|c| c.0 as f64).collect();
        let columns = vec![vec![1.0; 6], vec![0.0, 1.0, 0.0, 1.0, 0.0, 1.0]];
        let plain = fit(&columns, &n, &y, &[0, 0, 1, 1, 2, 2]);
        let relabelled = fit(&columns, &n, &y, &[shift, shift, shift + 1, shift + 1, shift + 9, shift + 9]);
        let mut relabelled = relabelled;
        if let (Ok(plain), Ok(relabelled)) = (&plain, &mut relabelled) {
            // Shifts are told by the labels.
            for ((label, _), (own, _)) in plain.shifts.iter().zip(&mut relabelled.shifts) {
                prop_assert_eq!(*own, [shift, shift + 1, shift + 9][*label as usize]);
                *own = *label;
            }
        }
        prop_assert_eq!(&plain, &relabelled);
        let grow = |v: &[f64], x: f64| v.iter().copied().chain([x]).collect::<Vec<_>>();
        let longer = vec![grow(&columns[0], 1.0), grow(&columns[1], 7.0)];
        let with_empty = fit(&longer, &grow(&n, 0.0), &grow(&y, 0.0), &[0, 0, 1, 1, 2, 2, 3]);
        prop_assert_eq!(plain, with_empty);
    }

    #[test]
    fn huge_and_zero_counts_stay_finite(
        y in prop::collection::vec(prop_oneof![Just(0.0), Just(1.0), Just(1e12)], 4),
        extra in prop::collection::vec(prop_oneof![Just(0.0), Just(3.0), Just(1e12)], 4),
    ) {
        let n: Vec<f64> = y.iter().zip(&extra).map(|(y, e)| y + e).collect();
        let columns = vec![vec![1.0; 4], vec![0.0, 0.0, 1.0, 1.0]];
        if let Ok(fit) = fit(&columns, &n, &y, &[0, 1, 2, 3]) {
            prop_assert!(fit.beta.iter().chain(fit.covariance.iter().flatten()).all(|x| x.is_finite()));
            for e in &fit.coefficients {
                let numbers = [e.low, e.value, e.high].into_iter().flatten().collect::<Vec<_>>();
                prop_assert!(numbers.is_sorted());
            }
        }
    }
}
