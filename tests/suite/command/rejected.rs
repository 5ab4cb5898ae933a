//! `rejected`: rows that were refused, grouped by what would mend them.

use super::{LOOKS, SETTINGS, fleet, run, text};

#[test]
fn refused_rows_are_listed_with_what_was_found_and_expected_the_largest_group_first() {
    let more = "3,2026-02-30 08:00,A3,incoming,pass,\n4,2026-02-03 08:00,A4,incoming,maybe,\n\
                5,2026-02-03 09:00,A5,incoming,perhaps,\n";
    let folder = fleet(SETTINGS, &format!("{LOOKS}{more}"));
    run(folder.path(), &["intake", "fleet.toml"]);
    let done = run(folder.path(), &["rejected", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let csv = text(&done.stdout);
    let lines: Vec<&str> = csv.lines().collect();
    assert_eq!(lines[0], "group,rows,source,file,line,table,column,found,expected");
    assert_eq!(lines.len(), 4, "{csv}");
    assert!(lines[1].starts_with("1,2,looks,looks.csv,5,inspections,outcome,"), "{csv}");
    assert!(lines[1].contains("maybe") && lines[2].contains("perhaps"), "{csv}");
    assert!(lines[3].starts_with("2,1,looks,looks.csv,4,inspections,at,"), "{csv}");
    let summary = text(&run(folder.path(), &["rejected", "fleet.toml", "--summary"]).stdout);
    assert_eq!(summary.lines().count(), 2);
    assert!(
        summary.contains("looks: inspections outcome: expected one of pass, fail, unreadable"),
        "{summary}"
    );
    assert!(text(&done.stderr).contains("3 rows rejected, in 2 groups"), "{}", text(&done.stderr));
}

#[test]
fn after_a_change_of_the_map_only_the_touched_files_are_read_and_the_difference_is_said() {
    let folder = fleet(SETTINGS, &format!("{LOOKS}4,2026-02-03 08:00,A4,incoming,maybe,\n"));
    run(folder.path(), &["intake", "fleet.toml"]);
    let mended = format!("{SETTINGS}[source.record.values.outcome]\nmaybe = \"unreadable\"\n");
    std::fs::write(folder.path().join("fleet.toml"), mended).unwrap();
    let again = run(folder.path(), &["intake", "fleet.toml"]);
    let said = text(&again.stderr);
    assert!(said.contains("intake: 1 exports read, 0 known already"), "{said}");
    assert!(said.contains("looks: looks.csv: rejected 1 before, 0 now"), "{said}");
    let none = text(&run(folder.path(), &["rejected", "fleet.toml"]).stdout);
    assert_eq!(none.lines().count(), 1, "{none}");
}

#[test]
fn a_new_export_that_its_map_does_not_know_is_said_with_the_difference_before_it_loads() {
    let settings = SETTINGS.replace("looks.csv", "looks*.csv");
    let folder = fleet(&settings, LOOKS);
    run(folder.path(), &["intake", "fleet.toml"]);
    let next: String =
        (1..=24).fold("id,at,face,step,outcome,finding\n".to_owned(), |text, row| {
            text + &format!(
                "{row},{row:02}/05/2026 08:00,B{row},incoming,{},\n",
                if row % 6 == 0 { "fial" } else { "pass" }
            )
        });
    std::fs::write(folder.path().join("looks2.csv"), next).unwrap();
    let said = text(&run(folder.path(), &["intake", "fleet.toml"]).stderr);
    assert!(said.contains("looks2.csv is not as its map expects"), "{said}");
    assert!(said.contains("column \"stage\", which is gone"), "{said}");
    assert!(said.contains("\"fial\" 4 times; \"fial\" is nearest to \"fail\""), "{said}");
    assert!(said.contains("%d/%m/%Y %H:%M, not %Y-%m-%d %H:%M"), "{said}");
    assert!(said.find("is not as its map").unwrap() < said.find("exports read").unwrap(), "{said}");
}

#[test]
fn rows_that_no_part_of_a_map_takes_say_what_each_part_expected() {
    let parts = |kind: &str, word: &str, more: &str| {
        format!(
            "[[source.record]]\ntable = \"{kind}\"\nwhen = {{ column = \"what\", is = [\"{word}\"] }}\n\
             columns = {{ record = \"id\", at = \"at\", end_face = \"face\", stage = \"stage\", {more} }}\n\
             dates = {{ at = \"%Y-%m-%d %H:%M\" }}\n"
        )
    };
    let head = "[fleet]\nname = \"One bench\"\ncurrency = \"EUR\"\ntimezone = \"UTC\"\nas_of = \"2026-04-02\"\n\
                [[source]]\nname = \"log\"\nfiles = [\"log.csv\"]\nsite = \"Works\"\nend_face_names = \"fleet\"\n";
    let settings = head.to_owned()
        + &parts("inspections", "view", "outcome = \"how\"")
        + &parts("cleanings", "clean", "method = \"how\"");
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("fleet.toml"), settings).unwrap();
    let log = "id,at,what,face,stage,how\n1,2026-02-01 08:00,view,A,incoming,pass\n2,2026-02-01 08:05,part,A,incoming,\n";
    std::fs::write(folder.path().join("log.csv"), log).unwrap();
    run(folder.path(), &["intake", "fleet.toml"]);
    let said = text(&run(folder.path(), &["rejected", "fleet.toml", "--summary"]).stdout);
    assert!(said.contains("one of view or one of clean"), "{said}");
    let csv = text(&run(folder.path(), &["rejected", "fleet.toml"]).stdout);
    assert!(csv.contains("\"\"\"part\"\" in column \"\"what\"\"\""), "{csv}");
}
