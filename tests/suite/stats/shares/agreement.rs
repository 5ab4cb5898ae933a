use crate::stats::cases::{case, near};
use crate::stats::reference::Table;
use motetrail::stats::agreement::{Kappa, Rated, cohen, fleiss};
use motetrail::stats::estimate::Warning;
use proptest::prelude::*;

const GROUP: &str = "12_agreement";

fn cohen_matches(id: &str) {
    let case = case(GROUP, id);
    let data = Table::read(GROUP, &format!("{id}.csv"));
    let categories: Vec<u64> = case.expected["categories"]
        .as_array()
        .unwrap()
        .iter()
        .map(|c| c.as_u64().unwrap())
        .collect();
    let mut counts = vec![vec![0; categories.len()]; categories.len()];
    for (a, b) in data.counts("rater1").into_iter().zip(data.counts("rater2")) {
        let at = |x: u64| categories.iter().position(|c| *c == x).unwrap();
        counts[at(a)][at(b)] += 1;
    }
    let got = cohen(&counts, 0.95);
    case.near(got.kappa.value.unwrap(), &case.expected["kappa_unweighted"], "kappa");
    case.near(got.standard_error.unwrap(), &case.expected["se_unweighted"], "error");
    case.near(got.null_error.unwrap(), &case.expected["se0_unweighted"], "null error");
}

#[test]
fn cohen_matches_reference_anxiety_ratings() {
    cohen_matches("cohen_anxiety_12");
}

#[test]
fn cohen_matches_reference_two_categories() {
    cohen_matches("cohen_edge");
}

fn diagnoses() -> Vec<Rated> {
    let rows = Table::read(GROUP, "fleiss1971_diagnoses.csv")
        .rows(&["cat1", "cat2", "cat3", "cat4", "cat5"]);
    let votes = |row: &Vec<f64>| row.iter().map(|x| *x as u64).collect();
    rows.iter().map(|row| Rated { votes: votes(row), subjects: 1 }).collect()
}

#[test]
fn fleiss_matches_fleiss_1971_diagnoses() {
    let case = case(GROUP, "fleiss1971_diagnoses");
    let got = fleiss(&diagnoses(), 0.95);
    let kappa = got.kappa.value.unwrap();
    case.near(kappa, &case.expected["kappa"], "kappa");
    case.near(got.null_error.unwrap(), &case.expected["se_null_fleiss1979"], "null error");
    case.near(kappa / got.null_error.unwrap(), &case.expected["z"], "z");
    assert_eq!((got.kappa.n, got.kappa.events), (30.0, 5));
}

/// The same ratings as Cohen's, counted as Fleiss does; statsmodels.
#[test]
fn fleiss_matches_statsmodels_on_the_anxiety_ratings() {
    let data = Table::read(GROUP, "cohen_anxiety_12.csv");
    let pairs = data.counts("rater1").into_iter().zip(data.counts("rater2"));
    let votes = |(a, b): (u64, u64)| (1..=9).map(move |c| u64::from(a == c) + u64::from(b == c));
    let rated: Vec<Rated> =
        pairs.map(|pair| Rated { votes: votes(pair).collect(), subjects: 1 }).collect();
    let case = case("16_libraries", "fleiss_anxiety");
    assert_eq!(case.expected["subjects"].as_u64(), Some(rated.len() as u64));
    case.near(fleiss(&rated, 0.95).kappa.value.unwrap(), &case.expected["kappa"], "kappa");
}

/// A second formulation: the jackknife over subjects, which the linearised error must be near.
#[test]
fn fleiss_error_is_near_the_jackknife() {
    let all = diagnoses();
    crate::stats::digits::second_way();
    let left_out = |i: usize| {
        let rest: Vec<Rated> =
            all.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, r)| r.clone()).collect();
        fleiss(&rest, 0.95).kappa.value.unwrap()
    };
    let values: Vec<f64> = (0..30).map(left_out).collect();
    let mean = values.iter().sum::<f64>() / 30.0;
    let jackknife = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() * 29.0 / 30.0).sqrt();
    near(fleiss(&all, 0.95).standard_error.unwrap(), jackknife, 0.0, 0.05, "error");
}

/// Closed form: with complete agreement both kappas are 1, with one category there is none.
#[test]
fn complete_agreement_is_one_and_a_single_category_is_no_number() {
    assert_eq!(cohen(&[vec![30, 0], vec![0, 10]], 0.95).kappa.value, Some(1.0));
    let rated = |votes: [u64; 2], subjects| Rated { votes: votes.to_vec(), subjects };
    assert_eq!(fleiss(&[rated([2, 0], 30), rated([0, 2], 10)], 0.95).kappa.value, Some(1.0));
    for single in [cohen(&[vec![30]], 0.95), fleiss(&[rated([2, 0], 30)], 0.95)] {
        assert_eq!(
            (single.kappa.value, single.kappa.low, single.standard_error),
            (None, None, None)
        );
        assert_eq!(single.kappa.warnings, [Warning::Boundary]);
    }
    for empty in [cohen(&[], 0.95), fleiss(&[rated([1, 0], 9)], 0.95)] {
        assert_eq!((empty.kappa.value, &empty.kappa.warnings[..]), (None, &[Warning::NoData][..]));
    }
}

fn sound(kappa: &Kappa) -> bool {
    let e = &kappa.kappa;
    let numbers = [e.low, e.value, e.high].into_iter().flatten().collect::<Vec<_>>();
    numbers.is_sorted() && numbers.iter().all(|x| (-1.0..=1.0).contains(x))
}

fn count() -> impl Strategy<Value = u64> {
    prop_oneof![0_u64..30, Just(0), Just(1_000_000_000_000)]
}

proptest! {
    #[test]
    fn renamed_categories_and_swapped_raters_change_nothing(cells in prop::collection::vec(count(), 9)) {
        let cell = |i: usize, j: usize| cells[3 * i + j];
        let build = |f: &dyn Fn(usize, usize) -> u64| (0..3).map(|i| (0..3).map(|j| f(i, j)).collect()).collect::<Vec<Vec<u64>>>();
        let plain = cohen(&build(&cell), 0.95);
        prop_assert!(sound(&plain));
        for other in [cohen(&build(&|i, j| cell(2 - i, 2 - j)), 0.95), cohen(&build(&|i, j| cell(j, i)), 0.95)] {
            prop_assert_eq!(plain.kappa.value.is_some(), other.kappa.value.is_some());
            near(plain.kappa.value.unwrap_or(0.0), other.kappa.value.unwrap_or(0.0), 1e-12, 1e-9, "kappa");
        }
    }

    #[test]
    fn split_rows_change_no_kappa(counts in prop::collection::vec(count(), 3)) {
        let rated = |votes: [u64; 2], subjects| Rated { votes: votes.to_vec(), subjects };
        let whole = [rated([2, 0], counts[0]), rated([1, 1], counts[1]), rated([0, 2], counts[2])];
        let mut split = whole.to_vec();
        split[0].subjects /= 2;
        split.push(rated([2, 0], counts[0] - counts[0] / 2));
        let (a, b) = (fleiss(&whole, 0.95), fleiss(&split, 0.95));
        prop_assert!(sound(&a));
        near(a.kappa.value.unwrap_or(0.0), b.kappa.value.unwrap_or(0.0), 1e-12, 1e-9, "kappa");
    }
}
