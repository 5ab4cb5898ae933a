use crate::stats::cases::case;
use crate::stats::reference::Table;
use motetrail::stats::run_rules::{RunRule, run_rules};
use proptest::prelude::*;
use serde_json::json;

/// Western Electric (1956), Nelson (1984): a constructed series, points counted from 1.
#[test]
fn signals_match_reference() {
    let case = case("08_control_charts", "run_rules_a");
    let signals = run_rules(&Table::read("08_control_charts", "run_rules_a.csv").numbers("z"));
    let names = ["1_beyond_3", "2of3_beyond_2", "4of5_beyond_1", "8_same_side"];
    for (rule, name) in RunRule::ALL.into_iter().zip(names) {
        let at: Vec<usize> =
            signals.iter().filter(|s| s.rule == rule).map(|s| s.index + 1).collect();
        assert_eq!(json!(at), case.expected["signals"][name], "{name}");
    }
}

#[test]
fn comparisons_are_strict_and_windows_full() {
    assert!(run_rules(&[3.0, -3.0, 0.0]).is_empty());
    assert!(run_rules(&[0.1; 7]).is_empty());
    assert_eq!(run_rules(&[0.1; 8]).len(), 1);
    assert_eq!(run_rules(&[2.5, 2.5]), []);
    assert_eq!(run_rules(&[2.5, 0.0, 2.5])[0].rule, RunRule::TwoOfThreeBeyondTwo);
    assert!(run_rules(&[2.5, 2.5, f64::NAN]).is_empty());
}

proptest! {
    #[test]
    fn mirrored_values_give_the_same_signals(z in prop::collection::vec(-4.0_f64..4.0, 0..60)) {
        let mirrored: Vec<f64> = z.iter().map(|x| -x).collect();
        prop_assert_eq!(run_rules(&z), run_rules(&mirrored));
    }

    #[test]
    fn later_points_change_no_earlier_signal(z in prop::collection::vec(-4.0_f64..4.0, 1..60), cut in 0_usize..60) {
        let cut = cut.min(z.len());
        let early: Vec<_> = run_rules(&z).into_iter().filter(|s| s.index < cut).collect();
        prop_assert_eq!(run_rules(&z[..cut]), early);
    }
}
