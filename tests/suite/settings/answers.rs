//! Answers that are written once and meant in several places, and questions that are still open.

use super::{least_with, plan, problems};

#[test]
fn an_answer_stands_wherever_it_is_referred_to() {
    let text = least_with("timezone = \"Europe/Vienna\"", "timezone = { answer = \"zone\" }")
        .replace("end_face_names = \"fleet\"", "end_face_names = { answer = \"bench names\" }");
    let text =
        format!("answers.zone = \"Europe/Paris\"\nanswers.\"bench names\" = \"site\"\n{text}");
    let plan = plan(&text);
    assert_eq!(plan.fleet.timezone.name(), "Europe/Paris");
    assert_eq!(plan.sources[0].scope, motetrail::settings::NameScope::Site);
    assert!(plan.open.is_empty());
}

#[test]
fn an_answer_in_a_comment_leaves_its_key_out_and_its_question_is_open() {
    let text = least_with(
        "site = \"Works\"",
        "site = \"Works\"\nfinding_default = { answer = \"default\" }",
    );
    let top = "# ? 3. Dirt or damage?\n#      Changes: cycles\n# answers.default = \"...\"\n";
    let plan = plan(&format!("{top}{text}"));
    assert_eq!(plan.sources[0].finding_default, None);
    let [open] = &plan.open[..] else { panic!("{:?}", plan.open) };
    assert_eq!(
        (open.line, open.text.as_str(), open.changes.as_str()),
        (1, "3. Dirt or damage?", "cycles")
    );
}

#[test]
fn a_question_over_several_lines_is_whole() {
    let top = "# ? 1. Which of these\n#        is it?\n#      Changes: cycles and\n#        rates\n#      Evidence: none\n";
    let plan = plan(&format!("{top}{}", least_with("", "")));
    let [open] = &plan.open[..] else { panic!("{:?}", plan.open) };
    assert_eq!(
        (open.text.as_str(), open.changes.as_str()),
        ("1. Which of these is it?", "cycles and rates")
    );
}

#[test]
fn a_reference_to_no_answer_is_told_with_its_line() {
    let text = least_with("timezone = \"Europe/Vienna\"", "timezone = { answer = \"zone\" }");
    let said = problems(&text);
    assert!(said.contains("fleet.toml:4 fleet.timezone: ") && said.contains("zone"), "{said}");
}

#[test]
fn a_wrong_answer_is_refused_where_it_is_used() {
    let text = least_with("end_face_names = \"fleet\"", "end_face_names = { answer = \"names\" }");
    let said = problems(&format!("answers.names = \"planet\"\n{text}"));
    assert!(said.contains("source.end_face_names") && said.contains("planet"), "{said}");
}

#[test]
fn what_belongs_to_a_column_goes_with_it_when_the_answer_is_none() {
    let text = least_with(
        "[source.record.dates]",
        "zone = { answer = \"zone column\" }\n[source.record.values.zone]\nCore = \"A\"\n[source.record.dates]",
    );
    let without = plan(&format!("answers.\"zone column\" = \"\"\n{text}"));
    assert!(!without.sources[0].records[0].columns.contains_key("zone"));
    let with = plan(&format!("answers.\"zone column\" = \"Ring\"\n{text}"));
    assert_eq!(with.sources[0].records[0].columns["zone"], ["Ring"]);
}

#[test]
fn a_form_of_several_columns_goes_when_the_answer_is_one_column() {
    let text = least_with(
        "[source.record.dates]",
        "criteria = { answer = \"place\" }\n[source.record.forms]\ncriteria = \"{Rack}-{Port}\"\n[source.record.dates]",
    );
    let alone = plan(&format!("answers.place = \"Port\"\n{text}"));
    assert_eq!(alone.sources[0].records[0].columns["criteria"], ["Port"]);
    assert!(alone.sources[0].records[0].forms.is_empty());
    let both = plan(&format!("answers.place = [\"Rack\", \"Port\"]\n{text}"));
    assert_eq!(both.sources[0].records[0].forms.len(), 1);
}

#[test]
fn forms_name_the_columns_that_they_compose() {
    let composed = |form: &str| {
        least_with("end_face = \"Port\"", "end_face = [\"Rack\", \"Port\"]")
            + &format!("[source.record.forms]\nend_face = \"{form}\"\n")
    };
    let plan = plan(&composed("{Rack}-{Port}"));
    assert_eq!(plan.sources[0].records[0].forms["end_face"].len(), 3);
    let cases = [
        ("{Rack}-{Prt}", "found {Prt}"),
        ("{Rack}", "found no {Port}"),
        ("Rack", "expected names of export columns in braces"),
        ("{Rack}-{Port", "expected names of export columns in braces"),
    ];
    for (form, why) in cases {
        let said = problems(&composed(form));
        assert!(
            said.contains("source.record.forms.end_face") && said.contains(why),
            "{form}: {said}"
        );
    }
}

#[test]
fn zones_make_the_outcome_and_the_zone_of_looks_alone() {
    let zones = "outcome = \"Result\"\n";
    let text = least_with(zones, "").replace(
        "[source.record.columns]",
        "zones = { B = \"Cladding\", A = \"Core\" }\n[source.record.columns]",
    );
    let record = plan(&text).sources[0].records[0].clone();
    let pair = |zone: &str, name: &str| (zone.to_owned(), name.to_owned());
    assert_eq!(record.zones, [pair("A", "Core"), pair("B", "Cladding")]);
    assert_eq!(record.columns["outcome"], ["Core", "Cladding"]);
    let said = problems(&text.replace("A = \"Core\"", "Z = \"Core\""));
    assert!(said.contains("source.record.zones.Z"), "{said}");
    let said = problems(&text.replace("table = \"inspections\"", "table = \"end_faces\""));
    assert!(said.contains("only inspections have them"), "{said}");
}
