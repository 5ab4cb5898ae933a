//! R8: names of end faces that are written in several ways.
//!
//! Source of every expected value: the rule named, applied by hand to the rows shown.

use std::fs;

use chrono::NaiveDate;
use motetrail::derive::{PairMeeting, derive, names_meeting};
use motetrail::records::Table;
use motetrail::settings;
use motetrail::store::Store;

use super::fleet::{Fleet, fleet};
use super::seen::Seen;

/// Looks at two end faces so named, and an hour later their mating under other names; `rule` is that of both sources.
fn written(looked: [&str; 2], mated: [&str; 2], rule: &str) -> Fleet {
    let looks = format!(
        "at,end_face,outcome
        2026-03-01 08:00,x,pass
        2026-03-15 11:00,{},pass
        2026-03-15 11:00,{},pass",
        looked[0], looked[1]
    );
    let mating = format!("at,end_face_a,end_face_b\n2026-03-15 12:00,{},{}", mated[0], mated[1]);
    fleet().source("bench", "inspections", &looks, rule).source("log", "matings", &mating, rule)
}

fn class(looked: [&str; 2], mated: [&str; 2], rule: &str) -> &'static str {
    written(looked, mated, rule).derive().coverage()[0]
}

#[test]
fn r8_nothing_is_merged_that_the_settings_do_not_say() {
    let (looked, mated) = (["CT-ODF3-38", "QL-07"], ["ct-odf3-38", "ql 7"]);
    assert_eq!(class(looked, mated, ""), "none");
    assert_eq!(class(looked, mated, "names = { fold_case = true }"), "one");
    assert_eq!(class(looked, mated, "names = { fold_case = true, marks = \"alike\" }"), "one");
    let all = "names = { fold_case = true, marks = \"alike\", leading_zeros = \"drop\" }";
    assert_eq!(class(looked, mated, all), "both");
    assert_eq!(class(looked, looked, ""), "both");
}

#[test]
fn r8_marks_are_alike_or_dropped_and_zeros_go_before_marks_do() {
    let alike = "names = { marks = \"alike\" }";
    assert_eq!(class(["A-1/2", "B_3"], ["A 1.2", "B:3"], alike), "both");
    assert_eq!(class(["A - 1", "B--3"], ["A-1", "B-3"], alike), "both");
    assert_eq!(class(["A-1", "B3"], ["A1", "B3"], alike), "one");
    let dropped = "names = { marks = \"drop\" }";
    assert_eq!(class(["A-1/2", "B_3"], ["A12", "B3"], dropped), "both");
    // 1-02 is port 2 of rack 1, not port 102.
    let zeros = "names = { marks = \"drop\", leading_zeros = \"drop\" }";
    assert_eq!(class(["A1-02", "B-3"], ["A1-2", "B-003"], zeros), "both");
    assert_eq!(class(["A1-02", "B-0"], ["A102", "B-00"], zeros), "one");
    assert_eq!(class(["A-10", "B-20"], ["A-1", "B-20"], zeros), "one");
}

#[test]
fn r8_a_pattern_writes_names_that_fit_it_whole_and_leaves_the_others() {
    let rule =
        "names = { pattern = '(?<rack>ODF\\d+)[ /](?<port>\\d+)', form = \"{rack}-{port}\" }";
    assert_eq!(class(["ODF3-38", "Q"], ["ODF3 38", "Q"], rule), "both");
    assert_eq!(class(["ODF3-38", "Q"], ["ODF3/38", "Q"], rule), "both");
    assert_eq!(class(["ODF3-38", "Q"], ["ODF3 38 x", "Q"], rule), "one");
}

#[test]
fn r8_an_alias_table_comes_first_and_accounts_for_its_rows() {
    let rule = "names = { aliases = \"alias.txt\", fold_case = true }";
    let table = "written,name\n77,p\n78,q\n78,q\n79,p\n79,q\n,p\n80\n";
    let seen = written(["P", "Q"], ["77", "78"], rule).file("alias.txt", table).derive();
    assert_eq!(seen.coverage(), ["both"]);
    let accounts = &seen.derived.meeting.aliases;
    assert_eq!(accounts.len(), 2, "one a source");
    for account in accounts {
        assert_eq!(
            (account.read, account.used, account.doubled, account.refused),
            (7, 2, 1, 4),
            "{account:?}"
        );
        assert_eq!(account.reasons[0].0, 5, "{account:?}");
        assert!(account.reasons[0].1.contains("line 6"), "{account:?}");
    }
    let semicolons = "written;name\n77;p\n78;q\n";
    let seen = written(["P", "Q"], ["77", "78"], rule).file("alias.txt", semicolons).derive();
    assert_eq!(seen.coverage(), ["both"]);
}

#[test]
fn r8_an_alias_table_without_its_header_is_an_error_with_file_and_line() {
    let rule = "names = { aliases = \"alias.txt\" }";
    let said = |text: &str| {
        let fleet = written(["p", "q"], ["77", "78"], rule).file("alias.txt", text);
        fleet.try_derive().err().expect("no table of aliases").to_string()
    };
    assert!(said("77,p\n").starts_with("alias.txt:1 found another first line, expected"));
    assert!(said("").starts_with("alias.txt:1 "));
    let missing = written(["p", "q"], ["77", "78"], rule).try_derive().err().unwrap();
    assert!(missing.to_string().starts_with("alias.txt: cannot be read"), "{missing}");
}

#[test]
fn r8_a_name_of_which_the_rules_leave_nothing_stays_as_it_is() {
    let rule = "names = { marks = \"drop\" }";
    assert_eq!(class(["-", "q"], [".", "q"], rule), "one");
    assert_eq!(class(["-", "q"], ["-", "q"], rule), "both");
}

/// The names that the list of what to look at first shows.
fn shown(fleet: &Fleet) -> Vec<String> {
    let seen = fleet.derive();
    let mut names: Vec<String> =
        seen.derived.face_names.values().map(|name| name.name.clone()).collect();
    names.sort();
    names
}

#[test]
fn r8_what_is_shown_is_a_written_form_the_registers_first() {
    let rule = "names = { fold_case = true, marks = \"alike\" }";
    let fleet = || {
        fleet()
            .source("bench", "inspections", "at,end_face,outcome\n2026-03-15 11:00,p_1,fail", rule)
            .source("log", "matings", "at,end_face_a,end_face_b\n2026-03-01 12:00,p 1,q 1", rule)
    };
    // Left failing: the end face is on the list, by the name of the mating.
    assert_eq!(shown(&fleet()), ["p 1"]);
    let registered = fleet().source("list", "end_faces", "end_face\nP-1", rule);
    assert_eq!(shown(&registered), ["P-1"]);
}

#[test]
fn r8_a_new_rule_needs_no_export_again() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write(
        "looks.csv",
        "at,end_face,outcome\n2026-03-15 11:00,A-1,pass\n2026-03-15 11:00,A-2,pass\n",
    );
    write("matings.csv", "at,a,b\n2026-03-15 12:00,A 1,A 2\n");
    let source = |name: &str, table: &str, columns: &str, rule: &str| {
        format!(
            "[[source]]\nname = \"{name}\"\nfiles = [\"{name}.csv\"]\nsite = \"Works\"\nend_face_names = \"fleet\"\n{rule}\n\
             [[source.record]]\ntable = \"{table}\"\ncolumns = {{ at = \"at\", {columns} }}\n\
             dates = {{ at = \"%Y-%m-%d %H:%M\" }}\nconstants = {{ stage = \"installation\" }}\n"
        )
    };
    let plan = |rule: &str| {
        let looks = "end_face = \"end_face\", outcome = \"outcome\"";
        let matings = "end_face_a = \"a\", end_face_b = \"b\"";
        let text = format!(
            "[fleet]\nname = \"Demo\"\ncurrency = \"EUR\"\ntimezone = \"UTC\"\nas_of = \"2026-07-05\"\n\n{}{}",
            source("looks", "inspections", looks, rule),
            source("matings", "matings", matings, rule),
        );
        settings::read_text(&text, folder.path(), "fleet.toml").unwrap_or_else(|e| panic!("{e}"))
    };
    let today = NaiveDate::from_ymd_opt(2026, 7, 5).unwrap();
    let unseen = |rule: &str, read: usize| {
        let plan = plan(rule);
        let mut store = Store::open(&plan).unwrap();
        let taken = store.take(&plan, today, &()).unwrap();
        assert_eq!((taken.read, taken.replaced), (read, 0), "{rule}");
        let derived = derive(&plan, &store, None, &()).unwrap();
        let cells = derived.counts.coverage.matings.cells();
        cells.iter().map(|(_, row)| row.unseen_ends).sum::<i64>()
    };
    assert_eq!(unseen("", 2), 2);
    // No export is there to be read again.
    let aside = ["looks.csv", "matings.csv"].map(|name| folder.path().join(name));
    assert_eq!(unseen("names = { marks = \"alike\" }", 0), 0);
    aside.iter().for_each(|file| fs::remove_file(file).unwrap());
    assert_eq!(unseen("names = { marks = \"drop\" }", 0), 0);
    assert_eq!(unseen("", 0), 2);
}

/// So many end faces looked at and mated in pairs in one quarter; the mating log writes `end`s so.
fn panel(faces: usize, written: &dyn Fn(usize) -> String, more: &str) -> Fleet {
    let mut looks = String::from("at,end_face,outcome\n2026-01-03 08:00,x,pass\n");
    let mut matings = String::from("at,end_face_a,end_face_b\n");
    for face in 0..faces {
        looks += &format!("2026-03-15 08:{face:02},CT-ODF3-{face:02},pass\n");
        matings += &format!("2026-03-15 12:{face:02},{},{}\n", written(face), written(face + 500));
    }
    fleet().looks(&looks).matings(&(matings + more)).review("2026-Q1")
}

/// As the microscope writes it, and as it does not.
fn alike(face: usize) -> String {
    format!("CT-ODF3-{face:02}")
}

fn otherwise(face: usize) -> String {
    format!("CT ODF3 {face:02}")
}

#[test]
fn r8_names_apart_are_unknown_from_twenty_end_faces_on() {
    // Ends b are of end faces that nobody looks at, ends a are the microscope's: one direction meets.
    let class = |fleet: Fleet| fleet.derive().coverage()[0];
    assert_eq!(class(panel(24, &otherwise, "")), "names-apart");
    assert_eq!(class(panel(19, &otherwise, "")), "none");
    // Every fourth is written alike: more than a fifth meets.
    let some = |face: usize| if face.is_multiple_of(4) { alike(face) } else { otherwise(face) };
    let all = panel(24, &some, "").register(&listed(24)).derive().coverage();
    assert_eq!(all.iter().filter(|class| **class == "names-apart").count(), 0, "{all:?}");
    // Every tenth: less than a fifth.
    let few = |face: usize| if face.is_multiple_of(10) { alike(face) } else { otherwise(face) };
    let all = panel(24, &few, "").derive().coverage();
    assert!(all.iter().all(|class| *class == "names-apart"), "{all:?}");
}

/// A register of the microscope's names and of ends b.
fn listed(faces: usize) -> String {
    let names = (0..faces).flat_map(|face| [alike(face), alike(face + 500), otherwise(face + 500)]);
    format!("end_face\n{}", names.collect::<Vec<_>>().join("\n"))
}

#[test]
fn r8_a_register_that_names_both_spellings_says_that_they_are_other_end_faces() {
    let names = (0..24).flat_map(|face| [alike(face), otherwise(face), otherwise(face + 500)]);
    let register = format!("end_face\n{}", names.collect::<Vec<_>>().join("\n"));
    let seen = panel(24, &otherwise, "").register(&register).derive();
    assert!(seen.coverage().iter().all(|class| *class == "none"), "{:?}", seen.coverage());
    // One that names the microscope's alone proves nothing.
    let half = format!("end_face\n{}", (0..24).map(alike).collect::<Vec<_>>().join("\n"));
    let seen = panel(24, &otherwise, "").register(&half).derive();
    assert!(seen.coverage().iter().all(|class| *class == "names-apart"), "{:?}", seen.coverage());
}

#[test]
fn r8_it_is_judged_by_quarter_and_a_failing_end_is_unknown_too() {
    let looks = "at,end_face,outcome\n2025-11-01 08:00,y,pass\n2025-12-01 08:00,y,pass\n2026-02-02 07:00,y,fail";
    // December has one look: no proof. In February an end failed, in a quarter whose names stand apart.
    let fleet = panel(24, &otherwise, "2026-02-02 08:00,y,z\n2025-12-15 08:00,s,t").source(
        "hand",
        "inspections",
        looks,
        "",
    );
    let classes = fleet.derive().coverage();
    assert_eq!((classes.len(), classes[24], classes[25]), (26, "names-apart", "none"));
}

#[test]
fn r8_matings_whose_names_stand_apart_are_in_no_row_of_sensitivity() {
    use motetrail::derive::Coverage;
    let seen =
        panel(24, &otherwise, "").faults("opened,end_face\n2026-03-20 08:00,nobody").derive();
    let counts = &seen.derived.counts;
    let variants = counts.followed.variants.cells();
    assert!(!variants.is_empty());
    assert!(variants.iter().all(|(cell, _)| cell.coverage == Coverage::Apart), "{variants:?}");
    let matings: Vec<i64> =
        counts.coverage.mating_weeks.cells().iter().map(|(_, row)| row.unknown).collect();
    assert_eq!(matings.iter().sum::<i64>(), 24);
}

/// Whether recording follows what it records is asked of matings of which it is known what was seen (5.10).
#[test]
fn r8_matings_whose_names_stand_apart_are_in_no_check_of_recording() {
    let matings = |seen: &Seen| seen.derived.counts.recording.looked_at.total().matings;
    let cells = |seen: &Seen| -> i64 {
        let cells = seen.derived.counts.recording.looked_at.cells();
        cells.iter().map(|(_, row)| row.matings).sum()
    };
    let apart = panel(24, &otherwise, "").derive();
    assert_eq!((matings(&apart), cells(&apart)), (24, 0));
    // The register names every end: nobody looked at ends b, and nothing stands apart.
    let named = panel(24, &alike, "").register(&listed(24)).derive();
    assert_eq!((matings(&named), cells(&named)), (24, 24));
}

#[test]
fn r8_a_source_of_tickets_that_hardly_attach_covers_nothing() {
    // Tickets 0 to 23 on end faces of the panel's ends a; those from `named` on write them otherwise.
    let tickets = |count: usize, named: usize| {
        let row = |at: usize| {
            let name = if at < named { alike(at) } else { otherwise(at) };
            format!("2026-03-16 12:{at:02},{name}")
        };
        format!("opened,end_face\n{}", (0..count).map(row).collect::<Vec<_>>().join("\n"))
    };
    let derived = |csv: &str| panel(24, &alike, "").faults(csv).derive();
    let seen = derived(&tickets(24, 4));
    let withdrawn = &seen.derived.withdrawn;
    assert_eq!((withdrawn.len(), withdrawn[0].source.as_str()), (1, "tickets"));
    assert_eq!((withdrawn[0].tickets.attached, withdrawn[0].tickets.tickets), (4, 24));
    assert!(seen.matings.iter().all(|mating| mating.at_risk.is_none()));
    for kept in [tickets(24, 5), tickets(19, 0)] {
        let seen = derived(&kept);
        assert_eq!(seen.derived.withdrawn, []);
        assert!(seen.matings.iter().all(|mating| mating.at_risk.is_some()));
    }
    // Tickets of the years before the first mating had nothing to be attached to.
    let before = tickets(24, 0).replace("2026-03", "2025-03") + "\n2026-03-16 12:00,CT-ODF3-01";
    assert_eq!(derived(&before).derived.withdrawn, []);
}

/// The pair of looks and matings.
fn pair(fleet: &Fleet) -> PairMeeting {
    let seen = fleet.derive();
    let pairs = seen.derived.meeting.pairs.into_iter();
    let is = |pair: &PairMeeting| {
        pair.speakers.iter().map(|s| s.table).eq([Table::Inspections, Table::Matings])
    };
    pairs.into_iter().find(is).expect("looks and matings")
}

#[test]
fn r8_meeting_tells_both_ways_what_rules_would_bring_and_which_names_look_alike() {
    let found = pair(&panel(24, &otherwise, ""));
    // 24 end faces and one more were looked at; 48 were mated.
    assert_eq!((found.names, found.met, found.shares()), ([25, 48], 0, [0.0, 0.0]));
    let rules: Vec<(&str, [u64; 2], [u64; 2])> =
        found.rules.iter().map(|rule| (rule.typed.as_str(), rule.brings, rule.merges)).collect();
    assert_eq!(rules[0], ("marks = \"alike\"", [24, 24], [0, 0]));
    assert_eq!(rules[1], ("marks = \"drop\"", [24, 24], [0, 0]));
    assert_eq!(rules.len(), 2, "{rules:?}");
    assert_eq!(found.alike.len(), 3);
    assert_eq!(found.alike[0].names, ["CT-ODF3-00", "CT ODF3 00"]);
    // Half of them are alike: 12 of 25, and of 48 in all.
    let half = |face: usize| if face.is_multiple_of(2) { alike(face) } else { otherwise(face) };
    let found = pair(&panel(24, &half, ""));
    assert_eq!((found.names, found.met, found.rules[0].brings), ([25, 48], 12, [12, 12]));
}

#[test]
fn r8_names_that_a_rule_would_merge_speak_against_it_and_several_rules_count_where_one_does_not_do()
{
    let looks = "at,end_face,outcome
        2026-03-15 08:00,A-1,pass
        2026-03-15 08:00,A-01,pass
        2026-03-15 08:00,B-7,pass";
    let matings = "at,end_face_a,end_face_b\n2026-03-15 12:00,A-001,b 7";
    let found = pair(&fleet().looks(looks).matings(matings));
    assert_eq!((found.names, found.met), ([3, 2], 0));
    let rules: Vec<(&str, [u64; 2], [u64; 2])> =
        found.rules.iter().map(|rule| (rule.typed.as_str(), rule.brings, rule.merges)).collect();
    assert!(rules.contains(&("leading_zeros = \"drop\"", [2, 1], [1, 0])), "{rules:?}");
    let all = "fold_case = true, leading_zeros = \"drop\", marks = \"alike\"";
    assert_eq!(rules[0], (all, [3, 2], [1, 0]), "{rules:?}");
}

#[test]
fn r8_names_written_alike_of_sources_with_another_scope_are_told_apart_and_said() {
    let looks = "at,end_face,outcome\n2026-03-15 08:00,p,pass";
    let matings = "at,end_face_a,end_face_b\n2026-03-15 12:00,p,q";
    let fleet = fleet()
        .source("bench", "inspections", looks, "site = \"Works\"\nend_face_names = \"site\"")
        .matings(matings);
    let found = pair(&fleet);
    assert_eq!((found.met, found.told_apart), (0, [1, 1]));
    assert_eq!((found.rules.len(), found.alike.len()), (0, 0));
}

#[test]
fn r8_a_store_tells_without_a_review_what_a_review_tells() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("l.csv"), "at,f,o\n2026-03-15 08:00,A-1,pass\n").unwrap();
    fs::write(folder.path().join("m.csv"), "at,a,b\n2026-03-15 12:00,A 1,A-2\n").unwrap();
    let text = "[fleet]\nname = \"Demo\"\ncurrency = \"EUR\"\ntimezone = \"UTC\"\nas_of = \"2026-07-05\"\n
        [[source]]\nname = \"l\"\nfiles = [\"l.csv\"]\nsite = \"W\"\nend_face_names = \"fleet\"\n
        [[source.record]]\ntable = \"inspections\"\ncolumns = { at = \"at\", end_face = \"f\", outcome = \"o\" }
        dates = { at = \"%Y-%m-%d %H:%M\" }\nconstants = { stage = \"installation\" }\n
        [[source]]\nname = \"m\"\nfiles = [\"m.csv\"]\nsite = \"W\"\nend_face_names = \"fleet\"\n
        [[source.record]]\ntable = \"matings\"\ncolumns = { at = \"at\", end_face_a = \"a\", end_face_b = \"b\" }
        dates = { at = \"%Y-%m-%d %H:%M\" }\nconstants = { stage = \"installation\" }\n";
    let plan =
        settings::read_text(text, folder.path(), "fleet.toml").unwrap_or_else(|e| panic!("{e}"));
    let mut store = Store::open(&plan).unwrap();
    store.take(&plan, NaiveDate::from_ymd_opt(2026, 7, 5).unwrap(), &()).unwrap();
    let alone = names_meeting(&plan, &store).unwrap();
    assert_eq!(alone.pairs.len(), 1);
    assert_eq!(alone, derive(&plan, &store, None, &()).unwrap().meeting);
}

#[test]
fn r8_of_a_large_fleet_a_sample_of_the_names_is_compared_the_same_whoever_reads() {
    // 16 MiB plan for 12,800 names: 9,000 looked at and 18,000 mated are more.
    let count = 9_000;
    let half = |face: usize| if face.is_multiple_of(2) { alike(face) } else { otherwise(face) };
    let mut looks = String::from("at,end_face,outcome\n");
    let mut matings = String::from("at,end_face_a,end_face_b\n");
    for face in 0..count {
        looks += &format!("2026-03-15 08:00,{},pass\n", alike(face));
        matings += &format!("2026-03-15 12:00,{},{}\n", half(face), alike(face + 50_000));
    }
    let fleet = fleet().also("[rules]\nmemory_mib = 16").looks(&looks).matings(&matings);
    let (found, seen) = (pair(&fleet), fleet.derive().derived.meeting);
    assert!(seen.one_in >= 4 && seen.one_in <= 8, "{}", seen.one_in);
    assert_eq!(found, seen.pairs[0], "whichever thread met which name first");
    let expected = count as f64 / seen.one_in as f64;
    let near = |found: u64, of: f64| (found as f64 - of).abs() < 5.0 * of.sqrt();
    assert!(near(found.names[0], expected) && near(found.names[1], 2.0 * expected), "{found:?}");
    assert!(near(found.met, expected / 2.0) && near(found.rules[0].brings[0], expected / 2.0));
    assert_eq!(found.rules[0].merges, [0, 0]);
    // Every name that does not meet has its other spelling in the sample.
    assert_eq!(found.met + found.rules[0].brings[0], found.names[0]);
}
