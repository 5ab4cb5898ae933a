use crate::stats::reference::{Table, close};
use motetrail::stats::estimate::Warning;
use motetrail::stats::proportion::wilson;

fn check(file: &str) {
    let table = Table::read("01_binomial", file);
    let (x, n, conf) = (table.numbers("x"), table.numbers("n"), table.numbers("conf"));
    let (low, high) = (table.numbers("lower"), table.numbers("upper"));
    let mut rows = 0;
    for (i, method) in table.text("method").iter().enumerate() {
        if method == "wilson" {
            let got = wilson(x[i], n[i], conf[i]);
            close(got.low.unwrap(), low[i], 1e-8, 1e-12);
            close(got.high.unwrap(), high[i], 1e-8, 1e-12);
            rows += 1;
        }
    }
    assert!(rows >= 4, "{rows} rows");
}

#[test]
fn wilson_matches_newcombe_1998_table_1() {
    check("binom_ci_newcombe1998.csv");
}

#[test]
fn wilson_matches_two_libraries_at_the_edges() {
    check("binom_ci_edges.csv");
}

#[test]
fn wilson_without_units_is_the_whole_range() {
    let got = wilson(0.0, 0.0, 0.95);
    assert_eq!((got.value, got.low, got.high), (None, Some(0.0), Some(1.0)));
    assert_eq!(got.warnings, [Warning::NoData]);
}

#[test]
fn wilson_keeps_digits_at_one_event_in_a_million_million() {
    // Limits tend to those of a Poisson score interval: (2 + z^2 -+ z sqrt(z^2 + 4)) / 2.
    let z = 1.959_963_984_540_054_f64;
    let want = |sign: f64| (2.0 + z * z + sign * z * (z * z + 4.0).sqrt()) / 2.0 / 1e12;
    let got = wilson(1.0, 1e12, 0.95);
    close(got.low.unwrap(), want(-1.0), 1e-9, 0.0);
    close(got.high.unwrap(), want(1.0), 1e-9, 0.0);
}
