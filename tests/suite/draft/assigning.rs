//! The assignment against a search of every possibility, which shares no code with it.

use motetrail::draft::assign;
use proptest::prelude::*;

fn best(gains: &[Vec<f64>], row: usize, taken: &mut Vec<bool>) -> f64 {
    let Some(columns) = gains.get(row) else { return 0.0 };
    let mut found = best(gains, row + 1, taken);
    for (column, gain) in columns.iter().enumerate() {
        if *gain > 0.0 && !taken[column] {
            taken[column] = true;
            found = found.max(gain + best(gains, row + 1, taken));
            taken[column] = false;
        }
    }
    found
}

fn gains() -> impl Strategy<Value = Vec<Vec<f64>>> {
    (1usize..6, 1usize..6).prop_flat_map(|(rows, columns)| {
        // Quarters are exact, so that sums compare without a tolerance.
        let gain = (-4i32..9).prop_map(|quarters| f64::from(quarters) / 4.0);
        proptest::collection::vec(proptest::collection::vec(gain, columns), rows)
    })
}

proptest! {
    #[test]
    fn no_assignment_gains_more(gains in gains()) {
        let assigned = assign(&gains);
        let mut taken = vec![false; gains[0].len()];
        let mut sum = 0.0;
        for (row, column) in assigned.iter().enumerate() {
            if let Some(column) = column {
                prop_assert!(gains[row][*column] > 0.0);
                prop_assert!(!std::mem::replace(&mut taken[*column], true));
                sum += gains[row][*column];
            }
        }
        let mut none = vec![false; gains[0].len()];
        prop_assert_eq!(sum, best(&gains, 0, &mut none));
    }
}

#[test]
fn a_table_without_columns_assigns_nothing() {
    assert_eq!(assign(&[vec![], vec![]]), [None, None]);
    assert_eq!(assign(&[]), []);
}
