//! Bounded lists against a slow formulation: sort everything, take the first of each cell.

use std::collections::BTreeMap;

use motetrail::derive::Shortlist;
use proptest::prelude::*;

/// Items with a place of their own each, so that no two are equal.
fn items() -> impl Strategy<Value = Vec<(u8, u16)>> {
    prop::collection::btree_set((0..4u8, 0..500u16), 0..120)
        .prop_map(|set| set.into_iter().collect::<Vec<_>>())
        .prop_shuffle()
}

fn list(most: usize, items: &[(u8, u16)]) -> Shortlist<u8, u16> {
    let mut list = Shortlist::keeping(most);
    items.iter().for_each(|(cell, item)| list.add(*cell, *item));
    list
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..Default::default() })]

    #[test]
    fn kept_are_the_first_of_every_cell(all in items(), most in 1..9usize) {
        let mut slow: BTreeMap<u8, Vec<u16>> = BTreeMap::new();
        for (cell, item) in &all {
            slow.entry(*cell).or_default().push(*item);
        }
        let mut kept: Vec<u16> = slow
            .into_values()
            .flat_map(|mut own| {
                own.sort_unstable();
                own.truncate(most);
                own
            })
            .collect();
        kept.sort_unstable();
        let list = list(most, &all);
        prop_assert_eq!(list.items(), kept);
        prop_assert_eq!(list.seen(), all.len() as u64);
        prop_assert!(list.len() <= 4 * most);
    }

    #[test]
    fn merged_lists_are_the_list_of_all_in_any_order(
        all in items(), cut in 0..120usize, second in 0..120usize, most in 1..9usize,
    ) {
        let cut = cut.min(all.len());
        let second = second.clamp(cut, all.len());
        let [a, b, c] = [&all[..cut], &all[cut..second], &all[second..]].map(|part| list(most, part));
        let whole = list(most, &all);
        prop_assert_eq!(&a.clone().merge(b.clone()).merge(c.clone()), &whole);
        prop_assert_eq!(&c.merge(a.merge(b)), &whole);
        prop_assert_eq!(&Shortlist::keeping(0).merge(whole.clone()), &whole);
    }
}
