//! Records of a source: columns, dates, numbers, values, constants, conditions.

use motetrail::settings::Test;

use super::{LEAST, least_with, plan, problems};

/// Settings whose one record is `record`, which begins on line 12; the source has a site and `more`.
fn settings(more: &str, record: &str) -> String {
    let (head, _) = LEAST.split_once("\n[[source.record]]").unwrap();
    let head = head.replace("site = \"Works\"", &format!("site = \"Works\"{more}"));
    format!("{head}\n[[source.record]]\n{record}\n")
}

const FAULTS: &str = "table = \"faults\"\ncolumns = { opened = \"Open\", mating = \"M\" }\n\
                      dates = { opened = \"epoch-s\" }";

#[test]
fn a_table_is_required_and_known() {
    assert_eq!(
        problems(&least_with("table = \"inspections\"\n", "")),
        "fleet.toml:12 source.record.table: missing; expected one of end_faces, inspections, cleanings, matings, faults"
    );
    assert_eq!(
        problems(&least_with("\"inspections\"", "\"inspection\"")),
        "fleet.toml:13 source.record.table: found \"inspection\", which is no table; did you mean `inspections`? (known: end_faces, inspections, cleanings, matings, faults)"
    );
}

#[test]
fn every_required_column_is_mapped_or_constant() {
    assert_eq!(
        problems(&settings("", "table = \"cleanings\"")),
        "\
fleet.toml:12 source.record.columns.at: missing; cleanings need it: name its export column
fleet.toml:12 source.record.columns.end_face: missing; cleanings need it: name its export column
fleet.toml:12 source.record.columns.method: missing; cleanings need it: name its export column
fleet.toml:12 source.record.columns.stage: missing; cleanings need it: name its export column"
    );
}

#[test]
fn the_site_is_given_once() {
    assert_eq!(
        problems(&least_with("site = \"Works\"\n", "")),
        "fleet.toml:13 source.record.columns.site: missing; map the column, or give the source one `site`"
    );
    assert_eq!(
        problems(&least_with("at = \"Time\"", "at = \"Time\"\nsite = \"Site\"")),
        "fleet.toml:16 source.record.columns.site: found a map, but the source has the site \"Works\"; keep one of the two"
    );
    assert_eq!(
        problems(&least_with("stage =", "site = \"Depot\"\nstage =")),
        "fleet.toml:21 source.record.constants.site: a constant site belongs to the source; set `site` there"
    );
    let mapped = least_with("site = \"Works\"\n", "");
    assert_eq!(problems(&mapped.replace("at = \"Time\"", "at = \"Time\"\nsite = \"Site\"")), "");
}

#[test]
fn matings_need_an_end_and_faults_something_to_be_on() {
    let matings = "table = \"matings\"\ncolumns = { at = \"At\", stage = \"S\" }\ndates = { at = \"%Y-%m-%d\" }";
    assert_eq!(
        problems(&settings("", matings)),
        "fleet.toml:14 source.record.columns: missing; matings need `end_face_a` or `end_face_b`"
    );
    assert_eq!(
        problems(&settings(
            "",
            &matings.replace("{ at = \"At\"", "{ end_face_b = \"B\", at = \"At\"")
        )),
        ""
    );
    assert_eq!(
        problems(&settings("", &FAULTS.replace(", mating = \"M\"", ""))),
        "fleet.toml:14 source.record.columns: missing; faults need `mating` or `end_face`"
    );
    assert_eq!(problems(&settings("", FAULTS)), "");
}

#[test]
fn one_name_for_both_sides_needs_the_side() {
    let both = "\none_name_both_sides = true";
    let why = "needs its side";
    let looks = LEAST.replace("site = \"Works\"", &format!("site = \"Works\"{both}"));
    assert_eq!(
        problems(&looks),
        format!(
            "fleet.toml:15 source.record.columns.side: missing; with one_name_both_sides `end_face` {why}"
        )
    );
    assert_eq!(problems(&looks.replace("stage =", "side = \"plug\"\nstage =")), "");
    let matings = "table = \"matings\"\ncolumns = { at = \"At\", stage = \"S\", end_face_b = \"B\" }\ndates = { at = \"%Y-%m-%d\" }";
    assert_eq!(
        problems(&settings(both, matings)),
        format!(
            "fleet.toml:15 source.record.columns.side_b: missing; with one_name_both_sides `end_face_b` {why}"
        )
    );
    assert_eq!(problems(&settings(both, FAULTS)), "");
    assert_eq!(
        problems(&settings(both, &FAULTS.replace("mating =", "end_face ="))),
        format!(
            "fleet.toml:15 source.record.columns.side: missing; with one_name_both_sides `end_face` {why}"
        )
    );
}

#[test]
fn export_columns_have_names() {
    assert_eq!(
        problems(&least_with("\"Port\"", "\"\"")),
        "fleet.toml:16 source.record.columns.end_face: found \"\", expected a word that is not empty"
    );
    assert_eq!(
        problems(&least_with("\"Port\"", "[]")),
        "fleet.toml:16 source.record.columns.end_face: is empty; expected at least one export column"
    );
}

#[test]
fn dates_belong_to_mapped_time_columns() {
    assert_eq!(
        problems(&least_with("at = \"%Y-%m-%d %H:%M\"", "outcome = \"%Y-%m-%d\"\nseq = \"%Y\"\ntime = \"%Y\"")),
        "\
fleet.toml:18 source.record.dates.at: missing; expected a pattern such as \"%Y-%m-%d %H:%M\"
fleet.toml:19 source.record.dates.outcome: found a pattern, but the column holds no time; remove it
fleet.toml:20 source.record.dates.seq: found a pattern, but the column holds no time; remove it
fleet.toml:21 source.record.dates.time: inspections have no such column (known: record, site, at, seq, end_face, fibre, stage, family, side, optic, outcome, finding, zone, capped, criteria, grading, inspector, instrument, work_order, supplier, disposition, image)"
    );
    assert_eq!(
        problems(&settings("", &FAULTS.replace("dates = {", "dates = { cleared = \"%Y-%m-%d\","))),
        "fleet.toml:15 source.record.dates.cleared: found a pattern, but `columns` does not map it; map it or remove it"
    );
}

#[test]
fn patterns_name_one_time() {
    let cases = [
        ("%H:%M", "expected a year (%Y or %y) in it, or one of epoch-s, epoch-ms"),
        ("%Y-%d", "expected a month (%m or %b) in it, or one of epoch-s, epoch-ms"),
        ("%Y-%m", "expected a day (%d) in it, or one of epoch-s, epoch-ms"),
        ("epoch", "expected a year (%Y or %y) in it, or one of epoch-s, epoch-ms"),
        ("%Y %y-%m-%d", "expected one year (%Y or %y) in it, not several"),
        ("%Y-%m-%d %H %I %p", "expected one hour (%H or %I) in it, not several"),
        ("%Y-%m-%d %I:%M", "expected %p beside %I"),
        ("%Y-%m-%d %H:%M %p", "expected %I beside %p"),
        ("%Y-%m-%d %M", "expected %H or %I beside %M"),
        ("%Y-%m-%d %H %S", "expected %M beside %S"),
        ("%Y-%m-%d %H:%M.%f", "expected %S beside %f"),
        ("%Y-%m-%d %z", "expected %H or %I beside %z"),
        ("%Y-%m-%d %T", "expected no %T (known: %Y %y %m %b %d %H %I %M %S %f %p %z)"),
        ("%Y-%m-%d%", "expected no % (known: %Y %y %m %b %d %H %I %M %S %f %p %z)"),
    ];
    for (pattern, said) in cases {
        assert_eq!(
            problems(&least_with("%Y-%m-%d %H:%M", pattern)),
            format!("fleet.toml:19 source.record.dates.at: found {pattern:?}, {said}")
        );
    }
    assert_eq!(
        problems(&least_with("%Y-%m-%d %H:%M", "%d %b %y")),
        "fleet.toml:19 source.record.dates.at: found %y in \"%d %b %y\", expected \
         `two_digit_years_from` in the source, such as 1970 for 1970 to 2069"
    );
    let pivoted = least_with("%Y-%m-%d %H:%M", "%d %b %y").replacen(
        "site =",
        "two_digit_years_from = 1970\nsite =",
        1,
    );
    assert_eq!(problems(&pivoted), "");
    for pattern in
        ["epoch-s", "epoch-ms", "%d %b %Y", "%Y-%m-%dT%H:%M:%S.%f%z", "%m/%d/%Y %I:%M %p"]
    {
        assert_eq!(problems(&least_with("%Y-%m-%d %H:%M", pattern)), "");
    }
    assert_eq!(
        problems(&least_with("\"%Y-%m-%d %H:%M\"", "[\n\"%Y-%m-%d\",\n\"%Y\"]")),
        "fleet.toml:21 source.record.dates.at: found \"%Y\", expected a month (%m or %b) in it, or one of epoch-s, epoch-ms"
    );
}

#[test]
fn values_stand_for_codes_of_mapped_columns() {
    let text = format!(
        "{LEAST}[source.record.values.outcome]\nOK = \"pas\"\n\"-\" = \"\"\n\" x\" = \"fail\"\n\
         [source.record.values]\nend_face = {{ a = \"b\" }}\nfamily = {{ a = \"LC\" }}\n"
    );
    assert_eq!(
        problems(&text),
        "\
fleet.toml:23 source.record.values.outcome.OK: found \"pas\", expected one of pass, fail, unreadable; did you mean \"pass\"?
fleet.toml:25 source.record.values.outcome.\" x\": found \" x\", which no cell can be: cells are trimmed, and an empty one is never given
fleet.toml:27 source.record.values.end_face: found values, but the column holds no codes; remove them
fleet.toml:28 source.record.values.family: found values, but `columns` does not map it; map it or remove them"
    );
}

#[test]
fn constants_fit_their_columns() {
    let text = least_with(
        "stage = \"receiving\"",
        "stage = \"received\"\noutcome = \"pass\"\nseq = \"first\"\nzone = \"E\"\nsupplier = \"\"\nimage = \"x\"",
    );
    assert_eq!(
        problems(&text),
        "\
fleet.toml:21 source.record.constants.stage: found \"received\", expected one of manufacture, assembly, system-test, receiving, installation, maintenance
fleet.toml:22 source.record.constants.outcome: found in `columns` too; keep one of the two
fleet.toml:23 source.record.constants.seq: found \"first\", expected a whole number
fleet.toml:24 source.record.constants.zone: found \"E\", expected one of A, B, C, D; did you mean \"A\"?
fleet.toml:25 source.record.constants.supplier: found \"\", expected a word that is not empty"
    );
    let faults = format!("{FAULTS}\nconstants = {{ cost = \"1,255\", cleared = \"x\" }}");
    assert_eq!(
        problems(&settings("\ndecimal_mark = \",\"", &faults)),
        "\
fleet.toml:17 source.record.constants.cleared: found \"x\", expected a time from `columns`: it cannot be the same for every row
fleet.toml:17 source.record.constants.cost: found \"1,255\", expected an amount with at most 2 decimals"
    );
    assert_eq!(
        problems(&settings(
            "\ndecimal_mark = \",\"",
            &faults.replace("1,255\", cleared = \"x", "1,25")
        )),
        ""
    );
}

#[test]
fn a_condition_has_one_column_and_one_test() {
    let with = |when: &str| least_with("table =", &format!("when = {when}\ntable ="));
    let said = |when: &str| problems(&with(when));
    let one = "expected exactly one of is, is_not, given";
    assert_eq!(
        said("{ column = \"A\" }"),
        format!("fleet.toml:13 source.record.when: found no test, {one}")
    );
    assert_eq!(
        said("{ column = \"A\", is = [\"x\"], given = true }"),
        format!("fleet.toml:13 source.record.when: found several tests, {one}")
    );
    assert_eq!(
        said("{ is_not = [] }"),
        "\
fleet.toml:13 source.record.when.column: missing; expected an export column
fleet.toml:13 source.record.when.is_not: is empty; expected at least one word"
    );
    assert_eq!(
        said("{ column = \"A\", given = false }"),
        "fleet.toml:13 source.record.when.given: found false, expected true, or `is = [\"\"]` for empty cells"
    );
    assert_eq!(
        said("{ column = \"A\", is = [\"x \"] }"),
        "fleet.toml:13 source.record.when.is: found \"x \", expected no spaces around it: cells are trimmed"
    );
    let when = plan(&with("{ column = \"A\", is_not = [\"\", \"x\"] }")).sources[0].records[0]
        .when
        .clone();
    assert_eq!(when.unwrap().is, Test::NoneOf(vec![String::new(), "x".to_owned()]));
}
