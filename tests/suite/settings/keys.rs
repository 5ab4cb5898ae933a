//! Keys that nobody reads, at every level.

use motetrail::settings::nearest;

use super::{least_and, least_with, problems};

#[test]
fn an_unknown_rule_names_its_line_and_the_nearest() {
    let said = problems(&least_and("[rules]\nvisit_gap_hour = 8"));
    let start = "fleet.toml:7 rules.visit_gap_hour: unknown key; did you mean `visit_gap_hours`? (known: visit_gap_hours, coverage_window_hours, ";
    assert!(said.starts_with(start), "{said}");
    assert!(said.ends_with(", seed, people, keep_years, memory_mib, draws)"), "{said}");
}

#[test]
fn unknown_keys_are_told_at_every_level() {
    let cases = [
        (
            least_and("[stage]\norder = []"),
            "fleet.toml:6 stage: unknown key; did you mean `stages`? (known: fleet, rules, stages, codes, costs, source, proposal, budget, action, looks)",
        ),
        (
            least_with("timezone", "time_zone = \"\"\ntimezone"),
            "fleet.toml:4 fleet.time_zone: unknown key; did you mean `timezone`? (known: name, currency, timezone, fiscal_year_starts, as_of, store, sites)",
        ),
        (
            least_and("[stages]\nlight = []"),
            "fleet.toml:7 stages.light: unknown key (known: order, dark)",
        ),
        (
            least_and("[codes]\nfamilies = []"),
            "fleet.toml:7 codes.families: unknown key (known: family, polish, mode, method, cause, remedy, criteria)",
        ),
        (
            least_with("site =", "sites = []\nsite ="),
            "fleet.toml:9 source.sites: unknown key; did you mean `site`? (known: name, files, site, timezone, clock_change, two_digit_years_from, end_face_names, one_name_both_sides, names, finding_default, unreadable, people, covers, record, separator, quote, escape, line_end, decimal_mark, thousands, encoding, skip_lines, header_rows, units_row, short_rows, sheet, nulls)",
        ),
        (
            least_with(
                "site =",
                "covers.faults = { from = 2026-01-01, to = 2026-02-01, till = 3 }\nsite =",
            ),
            "fleet.toml:9 source.covers.faults.till: unknown key (known: from, to, complete)",
        ),
        (
            least_with("table =", "colums = {}\ntable ="),
            "fleet.toml:13 source.record.colums: unknown key; did you mean `columns`? (known: table, when, columns, forms, zones, dates, numbers, values, constants, durations, unreadable)",
        ),
        (
            least_with(
                "table =",
                "when = { column = \"A\", is = [\"x\"], \"is not\" = [] }\ntable =",
            ),
            "fleet.toml:13 source.record.when.\"is not\": unknown key; did you mean `is_not`? (known: column, is, is_not, given)",
        ),
        (
            least_with("at = \"Time\"", "at = \"Time\"\nfamly = \"Type\""),
            "fleet.toml:16 source.record.columns.famly: inspections have no such column; did you mean `family`? (known: record, site, at, seq, end_face, fibre, stage, family, side, optic, outcome, finding, zone, capped, criteria, grading, inspector, instrument, work_order, supplier, disposition, image)",
        ),
    ];
    for (text, said) in cases {
        assert_eq!(problems(&text), said);
    }
}

#[test]
fn nearest_takes_a_third_of_the_letters_and_the_first_of_equals() {
    assert_eq!(nearest("Outcom", ["outcome", "optic"]), Some("outcome"));
    assert_eq!(nearest("ab", ["cd", "abcd"]), None);
    assert_eq!(nearest("x", ["a", "b"]), Some("a"));
    assert_eq!(nearest("", []), None);
}
