//! What hangs together is told alike in whatever order it is joined.

use motetrail::derive::share::together::{Together, group_of, mixed};

use super::faults::drawn;

const GROUPS: usize = 64;

/// Chains of three things each, of which every second is joined with the next one.
fn joins() -> Vec<[u64; 2]> {
    let thing = |chain: u64, place: u64| mixed(1 + 3 * chain + place);
    let own = (0..1000).flat_map(|chain| [0, 1].map(|at| [thing(chain, at), thing(chain, at + 1)]));
    let bridges = (0..1000).step_by(4).map(|chain| [thing(chain, 2), thing(chain + 1, 0)]);
    own.chain(bridges).collect()
}

fn groups(joins: &[[u64; 2]]) -> Vec<Option<usize>> {
    let mut together = Together::default();
    joins.iter().for_each(|things| together.join(*things));
    (0..3000).map(|thing| together.group(mixed(1 + thing), GROUPS)).collect()
}

#[test]
fn what_was_joined_is_in_one_group_whatever_the_order() {
    let mut joins = joins();
    let known = groups(&joins);
    for (number, chain) in known.chunks(3).enumerate() {
        assert!(chain[0].is_some() && chain.iter().all(|group| *group == chain[0]), "{number}");
    }
    let bridged = |at: usize| known[3 * at] == known[3 * at + 3];
    assert!((0..1000).step_by(4).all(bridged));
    // Others meet by chance, one of 64.
    let by_chance = (1..999).step_by(4).filter(|at| bridged(*at)).count();
    assert!(by_chance < 20, "{by_chance}");
    let mut state = 7;
    for _ in 0..5 {
        for at in (1..joins.len()).rev() {
            joins.swap(at, drawn(&mut state) as usize % (at + 1));
        }
        joins.iter_mut().step_by(3).for_each(|things| things.reverse());
        assert_eq!(groups(&joins), known);
    }
}

#[test]
fn a_thing_that_was_never_joined_is_in_no_group_and_one_joined_with_nothing_in_its_own() {
    let mut together = Together::default();
    assert!(!together.knows(5) && together.group(5, GROUPS).is_none());
    together.join([5]);
    together.join([]);
    assert!(together.knows(5));
    assert_eq!(together.group(5, GROUPS), Some(group_of(5, GROUPS)));
}
