//! Rules: defaults and ranges.

use motetrail::settings::Rules;

use super::{least_and, plan, problems};

/// A line of `[rules]` and what it does to the rules.
type Change = (&'static str, fn(&mut Rules));

/// No key is read into another's field.
#[test]
fn every_rule_is_read_into_its_own_field() {
    let changes: [Change; 27] = [
        ("visit_gap_hours = 9", |rules| rules.visit_gap_hours = 9),
        ("coverage_window_hours = 25", |rules| rules.coverage_window_hours = 25),
        ("horizon_days = 91", |rules| rules.horizon_days = 91),
        ("ticket_lag_hours = 13", |rules| rules.ticket_lag_hours = Some(13)),
        ("ticket_lag_hours = \"auto\"", |rules| rules.ticket_lag_hours = None),
        ("replaced_within_days = 8", |rules| rules.replaced_within_days = 8),
        ("merge_tickets_hours = 25", |rules| rules.merge_tickets_hours = 25),
        ("after_fault_days = 31", |rules| rules.after_fault_days = 31),
        ("reseat_hours = 25", |rules| rules.reseat_hours = 25),
        ("prompted_hours = 25", |rules| rules.prompted_hours = 25),
        ("open_fault_days = 31", |rules| rules.open_fault_days = 31),
        ("short_mating_days = 8", |rules| rules.short_mating_days = 8),
        ("look_back_months = 13", |rules| rules.look_back_months = 13),
        ("level = 0.9", |rules| rules.level = 0.9),
        ("least_count = 21", |rules| rules.least_count = 21),
        ("few_clusters = 11", |rules| rules.few_clusters = 11),
        ("ratio_spread = 1.0", |rules| rules.ratio_spread = 1.0),
        ("silent_matings = 21", |rules| rules.silent_matings = 21),
        ("worklist_rows = 101", |rules| rules.worklist_rows = 101),
        ("quarantine_limit = 0.03", |rules| rules.quarantine_limit = 0.03),
        ("strict = true", |rules| rules.strict = true),
        ("seed = 2", |rules| rules.seed = 2),
        ("keep_years = 3", |rules| rules.keep_years = Some(3)),
        ("memory_mib = 257", |rules| rules.memory_mib = 257),
        ("bands_days = [3]", |rules| rules.bands_days = vec![3]),
        ("control_causes = [\"bend\"]", |rules| rules.control_causes = vec!["bend".to_owned()]),
        ("people = \"show\"", |rules| rules.show_people = true),
    ];
    for (line, change) in changes {
        let mut expected = Rules::default();
        change(&mut expected);
        assert_eq!(plan(&least_and(&format!("[rules]\n{line}"))).rules, expected, "{line}");
    }
}

#[test]
fn numbers_out_of_range_are_told_with_the_range() {
    let text = "[rules]\nvisit_gap_hours = 0\nlevel = 95\nquarantine_limit = nan\nseed = -1\n\
                horizon_days = -90\nticket_lag_hours = 0\nmemory_mib = 99999999999";
    assert_eq!(
        problems(&least_and(text)),
        "\
fleet.toml:7 rules.visit_gap_hours: found 0, expected a whole number from 1 to 8784
fleet.toml:8 rules.level: found 95, expected a number from 0.5 to 0.999
fleet.toml:9 rules.quarantine_limit: found NaN, expected a number from 0 to 1
fleet.toml:10 rules.seed: found -1, expected a whole number from 0 to 9223372036854775807
fleet.toml:11 rules.horizon_days: found -90, expected a whole number from 1 to 3653
fleet.toml:13 rules.memory_mib: found 99999999999, expected a whole number from 16 to 1048576"
    );
}

#[test]
fn bands_must_rise_and_stay_below_the_horizon() {
    assert_eq!(
        problems(&least_and("[rules]\nbands_days = [\n  30,\n  7,\n  90,\n]")),
        "\
fleet.toml:9 rules.bands_days: found 7, expected a day after 30 and before the horizon (90)
fleet.toml:10 rules.bands_days: found 90, expected a day after 30 and before the horizon (90)"
    );
}

#[test]
fn a_short_horizon_leaves_out_the_default_bands_beyond_it() {
    assert_eq!(plan(&least_and("[rules]\nhorizon_days = 30")).rules.bands_days, [7]);
}

#[test]
fn control_causes_are_causes() {
    assert_eq!(
        problems(&least_and("[rules]\ncontrol_causes = [\"bent\"]")),
        "fleet.toml:7 rules.control_causes: found \"bent\", expected one of contamination, \
         end-face-defect, break, bend, equipment, no-fault-found, unknown; did you mean \"bend\"?"
    );
    let own = least_and("[codes]\ncause = [\"contamination\", \"bend\"]");
    assert_eq!(plan(&own).rules.control_causes, ["bend"]);
}

#[test]
fn a_window_of_tickets_is_a_number_or_left_to_the_program() {
    assert_eq!(
        problems(&least_and("[rules]\nticket_lag_hours = \"self\"")),
        "fleet.toml:7 rules.ticket_lag_hours: found \"self\", expected \"auto\" or a whole number from 0 to 8784"
    );
    assert_eq!(
        problems(&least_and("[rules]\nticket_lag_hours = 1.5")),
        "fleet.toml:7 rules.ticket_lag_hours: found float 1.5, expected a whole number or \"auto\""
    );
}

#[test]
fn people_are_hidden_or_shown() {
    assert_eq!(
        problems(&least_and("[rules]\npeople = \"shown\"")),
        "fleet.toml:7 rules.people: found \"shown\", expected one of hide, show; did you mean \"show\"?"
    );
}
