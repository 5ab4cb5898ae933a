//! The rules of switching, lot by lot.

use motetrail::stats::sampling::switching::{Regime, Switching};

fn after(outcomes: &str) -> Regime {
    let mut state = Switching::default();
    outcomes.chars().for_each(|outcome| state.take(outcome == 'a'));
    state.regime()
}

#[test]
fn two_refused_of_five_tighten_and_five_accepted_in_a_row_end_it() {
    for (outcomes, regime) in [
        ("", Regime::Normal),
        ("r", Regime::Normal),
        ("raaar", Regime::Tightened),
        ("raaaar", Regime::Normal),
        ("rr", Regime::Tightened),
        ("rraaaa", Regime::Tightened),
        ("rraaaaa", Regime::Normal),
        ("rraaraaaa", Regime::Tightened),
        ("rraaaaar", Regime::Normal),
    ] {
        assert_eq!(after(outcomes), regime, "{outcomes}");
    }
}

#[test]
fn ten_accepted_in_a_row_reduce_and_one_refused_ends_it() {
    let ten = "a".repeat(10);
    assert_eq!(after(&ten[1..]), Regime::Normal);
    assert_eq!(after(&ten), Regime::Reduced);
    assert_eq!(after(&format!("{ten}aaa")), Regime::Reduced);
    assert_eq!(after(&format!("{ten}ar")), Regime::Normal);
    assert_eq!(after(&format!("{ten}r{}", &ten[1..])), Regime::Normal);
    assert_eq!(after(&format!("r{ten}")), Regime::Reduced);
    assert_eq!(after(&format!("{}r{}", &ten[1..], &ten[1..])), Regime::Normal);
}
