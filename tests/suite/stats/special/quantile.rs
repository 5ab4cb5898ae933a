use crate::stats::reference::close;
use motetrail::stats::quantile::*;
use statrs::distribution::{ContinuousCDF, Gamma};

#[test]
fn normal_quantile_matches_abramowitz_stegun_table_26_5() {
    close(normal_quantile(0.95), 1.959_963_984_540_054, 1e-14, 0.0);
    close(normal_quantile(0.99), 2.575_829_303_548_901, 1e-14, 0.0);
    close(normal_two_sided(1.959_963_984_540_054), 0.05, 1e-13, 0.0);
    // Far tail: Q(10), Abramowitz & Stegun (1964), table 26.2.
    close(normal_upper(10.0), 7.619_853_024_160_5e-24, 1e-12, 0.0);
}

#[test]
fn chi_square_upper_has_the_closed_forms_of_one_and_two_degrees() {
    for x in [0.001, 0.5, 3.84, 20.0, 300.0] {
        close(chi_square_upper(x, 2.0), (-x / 2.0_f64).exp(), 1e-12, 0.0);
        close(chi_square_upper(x, 1.0), normal_two_sided(x.sqrt()), 1e-11, 0.0);
    }
    assert_eq!(chi_square_upper(0.0, 3.0), 1.0);
    assert_eq!(chi_square_upper(5.0, 0.0), 1.0);
    // Beyond infinity lies nothing; no degrees of freedom say nothing, and no number neither.
    assert_eq!(
        (chi_square_upper(f64::INFINITY, 1.0), chi_square_upper(f64::INFINITY, 0.0)),
        (0.0, 1.0)
    );
    assert_eq!(chi_square_upper(f64::NAN, 1.0), 1.0);
}

#[test]
fn gamma_quantiles_invert_the_distribution_of_another_library() {
    for shape in [0.3, 1.0, 2.5, 10.0, 100.0, 5_000.0] {
        let gamma = Gamma::new(shape, 1.0).unwrap();
        for tail in [1e-6, 0.005, 0.025, 0.3] {
            close(gamma.cdf(gamma_lower_quantile(shape, tail)), tail, 1e-8, 0.0);
            close(gamma.sf(gamma_upper_quantile(shape, tail)), tail, 1e-8, 0.0);
        }
    }
}

#[test]
fn gamma_quantile_of_shape_one_is_exponential() {
    for tail in [1e-12, 1e-6, 0.025] {
        close(gamma_lower_quantile(1.0, tail), -(-tail).ln_1p(), 1e-12, 0.0);
        close(gamma_upper_quantile(1.0, tail), -tail.ln(), 1e-12, 0.0);
    }
}

#[test]
fn expansion_and_search_meet_where_one_takes_over_from_the_other() {
    for tail in [1e-9, 0.005, 0.025, 0.2] {
        let below = gamma_lower_quantile(9_999.999_999, tail);
        let above = gamma_lower_quantile(10_000.000_001, tail);
        close(above, below, 1e-9, 0.0);
        let below = gamma_upper_quantile(9_999.999_999, tail);
        let above = gamma_upper_quantile(10_000.000_001, tail);
        close(above, below, 1e-9, 0.0);
    }
}
