//! Fleet, stages, codes, costs.

use super::{LEAST, least_and, least_with, plan, problems};

#[test]
fn what_is_missing_is_told_at_the_table_that_lacks_it() {
    let text = LEAST.split_once("\n[[source]]").unwrap().1;
    assert_eq!(
        problems(&format!("# nothing yet\n[[source]]{text}[fleet]\n")),
        "\
fleet.toml:18 fleet.currency: missing; expected three capital letters such as \"EUR\" (ISO 4217)
fleet.toml:18 fleet.name: missing; expected the name for the report
fleet.toml:18 fleet.timezone: missing; expected an IANA time zone such as \"Europe/Vienna\""
    );
    assert_eq!(
        problems(""),
        "\
fleet.toml:1 fleet.currency: missing; expected three capital letters such as \"EUR\" (ISO 4217)
fleet.toml:1 fleet.name: missing; expected the name for the report
fleet.toml:1 fleet.timezone: missing; expected an IANA time zone such as \"Europe/Vienna\"
fleet.toml:1 source: missing; expected at least one [[source]]"
    );
}

#[test]
fn values_of_the_fleet_are_checked() {
    let text = "[fleet]\nname = \" \"\ncurrency = \"eur\"\ntimezone = \"Europe/Viena\"\n\
                fiscal_year_starts = 13\nas_of = \"2026-02-30\"\nstore = \"\"\nsites = [\"Works\", \"Works\"]\n";
    let rest = LEAST.split_once("\n[[source]]").unwrap().1;
    assert_eq!(
        problems(&format!("{text}[[source]]{rest}")),
        "\
fleet.toml:2 fleet.name: found \" \", expected a word that is not empty
fleet.toml:3 fleet.currency: found \"eur\", expected three capital letters such as \"EUR\" (ISO 4217)
fleet.toml:4 fleet.timezone: found \"Europe/Viena\", expected an IANA time zone such as \"Europe/Vienna\"; did you mean \"Europe/Vienna\"?
fleet.toml:5 fleet.fiscal_year_starts: found 13, expected a whole number from 1 to 12
fleet.toml:6 fleet.as_of: found \"2026-02-30\", expected a day such as \"2026-07-05\"
fleet.toml:7 fleet.store: found \"\", expected a word that is not empty
fleet.toml:8 fleet.sites: found \"Works\" a second time; remove one"
    );
}

#[test]
fn as_of_may_be_a_toml_date_but_not_a_time() {
    let written = |day: &str| least_with("[fleet]", &format!("[fleet]\nas_of = {day}"));
    assert_eq!(plan(&written("2026-07-05")).fleet.as_of.unwrap().to_string(), "2026-07-05");
    assert_eq!(
        problems(&written("2026-07-05T10:00:00")),
        "fleet.toml:2 fleet.as_of: found \"2026-07-05T10:00:00\", expected a day such as \"2026-07-05\""
    );
}

#[test]
fn stages_are_unique_and_dark_ones_are_stages() {
    assert_eq!(
        problems(&least_and(
            "[stages]\norder = [\"incoming\", \"incoming\"]\ndark = [\"incomming\"]"
        )),
        "\
fleet.toml:7 stages.order: found \"incoming\" a second time; remove one
fleet.toml:8 stages.dark: found \"incomming\", expected one of incoming, incoming; did you mean \"incoming\"?"
    );
    assert_eq!(
        problems(&least_and("[stages]\norder = []")),
        "fleet.toml:7 stages.order: is empty; name at least one stage, or leave it out"
    );
}

#[test]
fn default_dark_stages_are_those_of_the_own_order() {
    let plan = plan(&least_and("[stages]\norder = [\"incoming\", \"installation\"]"));
    assert_eq!(plan.stages.dark, ["incoming"]);
}

#[test]
fn codes_are_words_and_unique() {
    assert_eq!(
        problems(&least_and("[codes]\nfamily = [\n\"LC\",\n\"\",\n\" SC\",\n\"LC\"]")),
        "\
fleet.toml:9 codes.family: found \"\", expected a word that is not empty
fleet.toml:10 codes.family: found \" SC\", expected no spaces around it and no control characters
fleet.toml:11 codes.family: found \"LC\" a second time; remove one"
    );
}

const COSTS: &str = "[costs]\nlook_minutes = 2.5\ncleaning_minutes = 3\ncleaning_material = 0.29\n\
                     labour_hour = 78\ndowntime_hour = 9007199254.99\nvisit = 120.1\nreject = 0\n";

/// 0.29 times 100 is 28.999999999999996 in binary floating point.
#[test]
fn money_is_exact_in_minor_units() {
    let costs = plan(&least_and(COSTS)).costs;
    assert_eq!(costs.cleaning_material, 29);
    assert_eq!(costs.labour_hour, 7_800);
    assert_eq!(costs.downtime_hour, 900_719_925_499);
    assert_eq!((costs.visit, costs.reject), (12_010, 0));
    assert_eq!((costs.look_minutes, costs.cleaning_minutes), (2.5, 3.0));
}

#[test]
fn prices_that_are_none_are_told() {
    let text = COSTS
        .replace("0.29", "0.295")
        .replace("= 78", "= -1")
        .replace("120.1", "inf")
        .replace("2.5", "-2")
        .replace("reject = 0\n", "");
    assert_eq!(
        problems(&least_and(&text)),
        "\
fleet.toml:6 costs.reject: missing; a [costs] table gives every price, 0 for none
fleet.toml:7 costs.look_minutes: found -2, expected minutes from 0 to 10080
fleet.toml:9 costs.cleaning_material: found 0.295, expected an amount from 0 to 1000000000000 with at most 2 decimals
fleet.toml:10 costs.labour_hour: found -1, expected an amount from 0 to 1000000000000 with at most 2 decimals
fleet.toml:12 costs.visit: found inf, expected an amount from 0 to 1000000000000 with at most 2 decimals"
    );
}

/// Events keep a stage in one byte.
#[test]
fn more_stages_than_events_can_tell_apart_are_refused() {
    let names: Vec<String> = (0..201).map(|number| format!("\"s{number}\"")).collect();
    let text = format!("[stages]\norder = [\"incoming\", {}]\n", names.join(", "));
    let told = problems(&least_and(&text));
    assert!(told.ends_with("stages.order: found 202 stages, expected at most 200"), "{told}");
}
