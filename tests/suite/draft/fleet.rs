//! Settings drafted for a whole folder of exports, and added to.

use std::path::Path;

use motetrail::draft::{
    Exported, FleetAsked, SampleRows, answer, asked, first, more, needs, typed,
};
use motetrail::settings::{Dialect, Plan, read_text};

use super::fixture::profiles;

pub fn exported(file: &str, text: &str) -> Exported {
    let mut lines = text
        .trim()
        .lines()
        .map(|line| line.split('|').map(|cell| cell.trim().to_owned()).collect::<Vec<String>>());
    let rows = SampleRows { names: lines.next().unwrap(), rows: lines.collect() };
    Exported {
        file: file.to_owned(),
        format: "text".to_owned(),
        columns: profiles(text),
        dialect: Dialect::default(),
        rows,
        guessed_encoding: None,
    }
}

pub fn looks(site: &str, from: usize) -> String {
    (from..from + 40).fold("Look no|When|Site|Connector|Stage|Result".to_owned(), |text, row| {
        let result = if row % 5 == 0 { "fail" } else { "pass" };
        text + &format!(
            "\nL{row}|2026-02-{:02} 08:15:00|{site}|A{}|incoming|{result}",
            row % 28 + 1,
            row % 30
        )
    })
}

pub fn for_files(files: &[&str]) -> FleetAsked {
    let files = files.iter().map(|file| (*file).to_owned()).collect();
    FleetAsked { name: "Two quays".to_owned(), files, known: None }
}

pub fn read(toml: &str) -> Plan {
    read_text(toml, Path::new("."), "fleet.toml").unwrap_or_else(|error| panic!("{error}\n{toml}"))
}

fn two() -> (FleetAsked, Vec<Exported>) {
    let files = ["in/looks-2025-q4.csv", "in/looks-2026-q1.csv", "in/notes.txt"];
    let exports = vec![
        exported(files[1], &looks("Birch Quay", 40)),
        exported(files[0], &looks("Alder Point", 0)),
        exported(files[2], "a|b\n1|2\n3|4"),
    ];
    (for_files(&files), exports)
}

#[test]
fn files_of_one_shape_are_one_source_and_no_file_disappears() {
    let (asked, exports) = two();
    let draft = first(&asked, exports);
    let plan = read(&draft.toml);
    let [source] = &plan.sources[..] else { panic!("{}", draft.toml) };
    assert_eq!(
        (source.name.as_str(), &source.files[..]),
        ("looks", &["in/looks-*.csv".to_owned()][..])
    );
    assert_eq!(plan.fleet.sites, ["Alder Point", "Birch Quay"]);
    assert_eq!(draft.left_out.len(), 1);
    assert!(draft.toml.contains("#   \"in/notes.txt\": no table of ours fits"), "{}", draft.toml);
}

#[test]
fn questions_stand_at_the_top_what_changes_most_first_and_say_what_they_change() {
    let (asked_for, exports) = two();
    let draft = first(&asked_for, exports);
    let plan = read(&draft.toml);
    assert_eq!(plan.open.len(), draft.questions);
    let texts: Vec<&str> = plan.open.iter().map(|open| open.text.as_str()).collect();
    let place = |words: &str| {
        texts.iter().position(|text| text.contains(words)).unwrap_or_else(|| panic!("{texts:?}"))
    };
    assert!(
        place("end face unique") < place("time zone")
            && place("time zone") < place("without a finding")
    );
    assert!(plan.open.iter().all(|open| !open.changes.is_empty()), "{:?}", plan.open);
    let top = draft.toml.find("[fleet]").unwrap();
    assert!(draft.toml[..top].contains("Evidence: "), "{}", draft.toml);
    assert!(!draft.toml[top..].contains("# ?"), "{}", draft.toml);
}

#[test]
fn names_that_stand_at_several_sites_are_likely_names_of_the_site() {
    let (asked_for, exports) = two();
    let draft = first(&asked_for, exports);
    assert!(draft.toml.contains("answers.end_face_names = \"site\""), "{}", draft.toml);
    assert!(draft.toml.contains("30 of 30 names stand at more than one site"), "{}", draft.toml);
}

#[test]
fn an_answer_takes_the_mark_off_its_question_and_off_no_other() {
    let (asked_for, exports) = two();
    let draft = first(&asked_for, exports);
    let given = [("timezone".to_owned(), "\"Europe/Oslo\"".to_owned())];
    let text = answer(&draft.toml, &given).unwrap();
    let plan = read(&text);
    assert_eq!(plan.fleet.timezone.name(), "Europe/Oslo");
    assert_eq!(plan.open.len(), draft.questions - 1);
    let finding = [("finding_default".to_owned(), "\"contamination\"".to_owned())];
    let plan = read(&answer(&text, &finding).unwrap());
    assert_eq!(plan.sources[0].finding_default.as_deref(), Some("contamination"));
    assert_eq!(plan.open.len(), draft.questions - 2);
    assert_eq!(answer(&text, &[("no such".to_owned(), "1".to_owned())]), Err("no such".to_owned()));
    let questions = asked(&text);
    assert_eq!(questions.len(), draft.questions - 1);
    assert!(questions.iter().all(|one| !one.remarks.is_empty()), "{questions:?}");
}

#[test]
fn what_a_person_types_becomes_a_text_where_a_text_stands() {
    assert_eq!(typed("site", "\"fleet\""), "\"site\"");
    assert_eq!(typed("1950", "1970"), "1950");
    assert_eq!(typed("12", "\"L\""), "\"12\"");
    assert_eq!(
        typed("{ faults = { from = \"2026-01-01\" } }", "{ }"),
        "{ faults = { from = \"2026-01-01\" } }"
    );
    assert_eq!(typed("\"quoted\"", "\"fleet\""), "\"quoted\"");
    assert_eq!(typed("Port", "[\"Rack\", \"Port\"]"), "\"Port\"");
    assert_eq!(typed("Rack, Port", "[\"Bay\", \"Port\"]"), "[\"Rack\", \"Port\"]");
    let span = "{ faults = { from = \"2025-07-01\", to = \"2026-06-30\" }}";
    let asked = "{ faults = { from = \"...\", to = \"...\" } }";
    assert_eq!(typed("2025-07-01 to 2026-06-30", asked), span);
    assert_eq!(typed("always", asked), "\"always\"");
}

#[test]
fn new_exports_are_added_and_nothing_that_stands_is_changed() {
    let (asked_for, exports) = two();
    let text = first(&asked_for, exports.clone()).toml;
    let text = answer(&text, &[("end_face_names".to_owned(), "\"fleet\"".to_owned())]).unwrap();
    let again = FleetAsked { known: Some((read(&text), text.clone())), ..asked_for.clone() };
    // Nothing new: the same text.
    let same = more(&again, exports[..2].to_vec());
    assert_eq!((same.toml.trim_end(), same.questions), (text.trim_end(), 0));
    // A new shape: a source more, all lines before it as they were.
    let matings =
        (0..40).fold("Mating ID|Mated|Site|Port A|Port B|Phase".to_owned(), |text, row| {
            text + &format!(
                "\nM{row}|2026-02-{:02} 09:15:00|Birch Quay|A{row}|B{row}|change",
                row % 28 + 1
            )
        });
    let draft = more(&again, vec![exported("in/joins.csv", &matings)]);
    let plan = read(&draft.toml);
    assert_eq!(plan.sources.len(), 2, "{}", draft.toml);
    for line in text.lines() {
        assert!(draft.toml.contains(line), "{line} is gone from\n{}", draft.toml);
    }
    assert!(
        plan.sources.iter().all(|source| source.scope == motetrail::settings::NameScope::Fleet)
    );
    // A file of a known shape under another name is one more file of its source.
    let draft = more(&again, vec![exported("in/quarter.csv", &looks("Alder Point", 90))]);
    assert_eq!(read(&draft.toml).sources[0].files, ["in/looks-*.csv", "in/quarter.csv"]);
}

#[test]
fn an_export_of_a_known_source_that_changed_is_said_and_no_line_is_changed() {
    let (asked_for, exports) = two();
    let text = first(&asked_for, exports).toml;
    let again = FleetAsked { known: Some((read(&text), text.clone())), ..asked_for };
    let changed = looks("Alder Point", 0).replace("Stage", "Phase").replace("|fail", "|fial");
    let draft = more(&again, vec![exported("in/looks-2026-q2.csv", &changed)]);
    assert_eq!(draft.toml.trim_end(), text.trim_end());
    let [told] = &draft.sources[..] else { panic!("{:?}", draft.sources) };
    let renamed = "\"Stage\", which is gone; \"Phase\" is new: is it the same?";
    assert!(told.contains(renamed), "{told}");
    assert!(!told.contains("Connector"), "what did not change is none: {told}");
    assert!(told.contains("\"fial\" is nearest to \"fail\""), "{told}");
}

#[test]
fn what_was_answered_for_one_export_is_certain_for_the_next() {
    let looks = |name: &str| {
        (0..40).fold(format!("Look no|When|Connector|{name}|Result"), |text, row| {
            let stage = ["goods", "line"][row % 2];
            text + &format!("\nL{row}|2026-02-{:02} 08:15:00|A{row}|{stage}|pass", row % 28 + 1)
        })
    };
    let asked_for = for_files(&["in/looks.csv", "in/other.csv"]);
    let draft = first(&asked_for, vec![exported("in/looks.csv", &looks("Phase"))]);
    let given = ["goods", "line"].map(|word| (format!("stage {word}"), "\"incoming\"".to_owned()));
    let text = answer(&draft.toml, &given).unwrap_or_else(|key| panic!("{key}\n{}", draft.toml));
    let known = FleetAsked { known: Some((read(&text), text.clone())), ..asked_for };
    let draft =
        more(&known, vec![exported("in/other.csv", &looks("Phase").replace("Look no", "Check"))]);
    let plan = read(&draft.toml);
    let other = plan.sources.iter().find(|source| source.name == "other").unwrap();
    assert_eq!(other.records[0].values["stage"]["goods"], "incoming");
    let stages =
        plan.open.iter().filter(|open| open.text.contains("goods") || open.text.contains("line\""));
    assert_eq!(stages.count(), 0, "{:?}", plan.open);
}

#[test]
fn what_is_missing_is_said_with_what_would_open_most() {
    let (asked_for, exports) = two();
    let plan = read(&first(&asked_for, exports).toml);
    let (needs, most) = needs(&plan, false);
    let words: Vec<&str> = needs.iter().map(|need| need.standing.word()).collect();
    assert!(words.contains(&"no") && words.contains(&"partly"), "{needs:?}");
    let seen = needs.iter().find(|need| need.question.contains("both ends seen")).unwrap();
    assert_eq!(seen.lacks, ["an export of matings"]);
    assert_eq!(most, Some("an export of matings"));
    assert_eq!(needs.len(), 13, "a question of the review is missing");
}

#[test]
fn names_that_do_not_meet_are_missing_for_what_joins_looks_to_matings() {
    let (asked_for, exports) = two();
    let plan = read(&first(&asked_for, exports).toml);
    let lacks = |apart: bool| {
        let (found, _) = needs(&plan, apart);
        let of = found.into_iter().find(|need| need.question.contains("between which stages"));
        of.unwrap().would_add.iter().any(|what| what.contains("written alike"))
    };
    assert!(lacks(true) && !lacks(false));
}

/// Looks whose end faces stand in three columns, at a site that a column of another name says.
fn looks_in_parts() -> String {
    let header = "Look no|When|Wing|Rack|Panel|Port|Stage|Result".to_owned();
    (0..48).fold(header, |text, row| {
        let site = ["Birch Quay", "Alder Point"][row % 2];
        let place = format!("R{}|P{}|{:02}", row / 24, row / 12 % 2, row % 12);
        let day = row % 28 + 1;
        text + &format!("\nL{row}|2026-02-{day:02} 08:15:00|{site}|{place}|incoming|pass")
    })
}

pub fn joins(between: &str) -> String {
    let header = "Mating ID|Mated|Site|Port A|Port B|Phase".to_owned();
    (0..48).fold(header, |text, row| {
        let site = ["Birch Quay", "Alder Point"][row % 2];
        let end =
            [format!("R{}", row / 24), format!("P{}", row / 12 % 2), format!("{:02}", row % 12)];
        let end = end.join(between);
        text + &format!("\nM{row}|2026-02-{:02} 09:15:00|{site}|{end}|Q{row}|change", row % 28 + 1)
    })
}

#[test]
fn a_name_of_several_columns_is_written_as_other_exports_write_it() {
    for between in ["/", ".", "-"] {
        let exports = vec![
            exported("in/2026/looks.csv", &looks_in_parts()),
            exported("in/joins.csv", &joins(between)),
        ];
        let draft = first(&for_files(&["in/2026/looks.csv", "in/joins.csv"]), exports);
        let plan = read(&draft.toml);
        let form = format!("end_face = \"{{Rack}}{between}{{Panel}}{between}{{Port}}\"");
        assert!(draft.toml.contains(&form), "{}", draft.toml);
        assert!(draft.toml.contains("48 of 48 rows name an end"), "{}", draft.toml);
        // The column of the other export says the sites; a folder's name is none beside them.
        assert_eq!(plan.fleet.sites, ["Alder Point", "Birch Quay"]);
        let looks = plan.sources.iter().find(|source| source.name == "looks").unwrap();
        assert_eq!(looks.records[0].columns["site"], ["Wing"]);
    }
}

#[test]
fn a_mating_of_which_one_end_is_found_is_drafted_and_asked_about() {
    let joins = joins("-").replace("|Port B|", "|Sundry|");
    let exports =
        vec![exported("in/looks.csv", &looks_in_parts()), exported("in/joins.csv", &joins)];
    let draft = first(&for_files(&["in/looks.csv", "in/joins.csv"]), exports);
    let plan = read(&draft.toml);
    assert!(draft.left_out.is_empty(), "{:?}", draft.left_out);
    assert!(plan.open.iter().any(|open| open.text.contains("end_face_b")), "{:?}", plan.open);
}
