//! What a filter of keys says yes to.

use motetrail::derive::Key;
use motetrail::derive::share::filter::Filter;

/// Keys that look drawn: halves of mixed numbers (Steele, Lea, Flood 2014: SplitMix64).
fn keys(from: u64) -> impl Iterator<Item = Key> {
    let half = |number: u64| super::faults::drawn(&mut number.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    (from..from + 10_000)
        .map(move |number| Key { high: half(2 * number), low: half(2 * number + 1) })
}

#[test]
fn a_filter_holds_what_was_put_in_and_next_to_nothing_else() {
    let filled = |from: usize, count: usize| {
        let mut filter = Filter::with_room(10_000);
        keys(0).skip(from).take(count).for_each(|key| filter.add(key));
        filter
    };
    // Whoever fills one half of it each comes to the same.
    let filter = filled(0, 5_000).merge(filled(5_000, 5_000));
    assert!(keys(0).all(|key| filter.may_hold(key)));
    let wrong = keys(1 << 32).filter(|key| filter.may_hold(*key)).count();
    // 0.094 % of 10,000 are 9 (with 16 bits a member and 6 places); five standard deviations more are 24.
    assert!((1..=24).contains(&wrong), "{wrong}");
    let mut none = Filter::with_room(0);
    none.add(Key::NONE);
    assert!(!none.may_hold(Key::NONE));
}
