//! Looks shared out, against every way of sharing them out in whole looks.

use std::collections::BTreeMap;

use motetrail::measures::looks_plan::{Share, allocate};
use proptest::prelude::*;

fn share(purse: u32, minutes: f64, floor: f64, most: f64) -> Share {
    Share { purse, minutes, floor, most }
}

/// The best total of whole looks between floor and most within the minutes, every way tried.
fn best(shares: &[Share], saving: &[f64], minutes: f64) -> f64 {
    let Some((first, rest)) = shares.split_first() else { return 0.0 };
    let mut found = f64::NEG_INFINITY;
    for looks in first.floor as u32..=first.most as u32 {
        let looks = f64::from(looks);
        let left = minutes - looks * first.minutes;
        let needed: f64 = rest.iter().map(|share| share.floor * share.minutes).sum();
        if left + 1e-9 >= needed {
            found = found.max(looks * saving[0] + best(rest, &saving[1..], left));
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 80, ..ProptestConfig::default() })]
    #[test]
    fn nothing_saves_more_than_what_is_shared_out_by_saving_a_minute(
        cells in prop::collection::vec((1_u32..4, 0_u32..3, 0_u32..5, -3.0_f64..6.0), 1..5),
        spare in 0.0_f64..20.0,
    ) {
        let shares: Vec<Share> = cells
            .iter()
            .map(|(minutes, floor, more, _)| share(0, f64::from(*minutes), f64::from(*floor), f64::from(floor + more)))
            .collect();
        let saving: Vec<f64> = cells.iter().map(|(.., saving)| *saving).collect();
        let floors: f64 = shares.iter().map(|share| share.floor * share.minutes).sum();
        let minutes = floors + spare;
        let looks = allocate(&shares, &saving, &BTreeMap::from([(0, minutes)]));
        let total: f64 = looks.iter().zip(&saving).map(|(looks, saving)| looks * saving).sum();
        prop_assert!(total >= best(&shares, &saving, minutes) - 1e-9);
        let spent: f64 = looks.iter().zip(&shares).map(|(looks, share)| looks * share.minutes).sum();
        prop_assert!(spent <= minutes + 1e-9);
        for ((looks, share), saving) in looks.iter().zip(&shares).zip(&saving) {
            prop_assert!(*looks >= share.floor - 1e-9 && *looks <= share.most + 1e-9);
            prop_assert!(*saving > 0.0 || *looks == share.floor);
        }
    }
}

#[test]
fn minutes_stay_in_their_purse() {
    let shares = [share(0, 2.0, 1.0, 10.0), share(1, 2.0, 1.0, 10.0), share(1, 1.0, 0.0, 3.0)];
    let saving = [9.0, 1.0, 2.0];
    let looks = allocate(&shares, &saving, &BTreeMap::from([(0, 4.0), (1, 7.0)]));
    // The first purse has four minutes for two looks; the second three for the better rate and the floor, two minutes left.
    assert_eq!(looks, [2.0, 2.0, 3.0]);
    // Floors are kept whatever they take.
    let looks = allocate(&shares, &saving, &BTreeMap::from([(0, 0.0), (1, 0.0)]));
    assert_eq!(looks, [1.0, 1.0, 0.0]);
}
