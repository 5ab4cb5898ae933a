//! `spellings`, and what `intake` says of names.

use std::fmt::Write;
use std::fs;

use super::{fleet, run, text};

/// One bench that looks, one log that mates; `names` is a line of both.
fn settings(names: &str) -> String {
    let source = |name: &str, table: &str, columns: &str| {
        format!(
            "[[source]]\nname = \"{name}\"\nfiles = [\"{name}.csv\"]\nsite = \"North\"\nend_face_names = \"fleet\"\n{names}\n\
             [[source.record]]\ntable = \"{table}\"\ncolumns = {{ at = \"at\", {columns} }}\n\
             dates = {{ at = \"%Y-%m-%d %H:%M\" }}\nconstants = {{ stage = \"installation\" }}\n"
        )
    };
    let looks = source("looks", "inspections", "end_face = \"face\", outcome = \"outcome\"");
    let joins = source("joins", "matings", "end_face_a = \"a\", end_face_b = \"b\"");
    format!(
        "[fleet]\nname = \"One bench\"\ncurrency = \"EUR\"\ntimezone = \"UTC\"\nas_of = \"2026-04-02\"\n\n{looks}\n{joins}"
    )
}

fn exports(names: &str) -> tempfile::TempDir {
    let (mut looks, mut joins) = ("at,face,outcome\n".to_owned(), "at,a,b\n".to_owned());
    for face in 10..40 {
        writeln!(looks, "2026-02-01 08:{face},R-{face},pass").unwrap();
        writeln!(joins, "2026-02-01 09:{face},R {face},S {face}").unwrap();
    }
    let folder = fleet(&settings(names), &looks);
    fs::write(folder.path().join("joins.csv"), joins).unwrap();
    folder
}

#[test]
fn spellings_tells_what_meets_what_a_rule_would_bring_and_what_looks_alike() {
    let folder = exports("");
    let output = run(folder.path(), &["spellings", "fleet.toml"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let printed = text(&output.stdout);
    for line in [
        "30         0     0.0 %  North: looks (inspections) in joins (matings)",
        "60         0     0.0 %  North: joins (matings) in looks (inspections)",
        "names = { marks = \"alike\" } would bring 30 and 30 more to meet, and merge 0 and 0",
        "\"R-10\" looks like \"R 10\"",
    ] {
        assert!(printed.contains(line), "{line:?} is not in\n{printed}");
    }
    let printed = text(&run(folder.path(), &["intake", "fleet.toml"]).stdout);
    assert!(
        printed.contains("1 pairs of sources of which less than 20 % of the names"),
        "{printed}"
    );
    assert!(printed.contains("\"R-10\" looks like \"R 10\""), "{printed}");
}

#[test]
fn an_intake_whose_names_meet_says_so_and_accounts_for_its_aliases() {
    let folder = exports("names = { marks = \"alike\", aliases = \"also.csv\" }");
    fs::write(folder.path().join("also.csv"), "written,name\nS 10,R-11\nS 10,R-12\n").unwrap();
    let output = run(folder.path(), &["intake", "fleet.toml"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let printed = text(&output.stdout);
    let rows = "joins: also.csv: 2 rows of aliases read, 0 used, 0 doubled, 2 refused";
    assert!(printed.contains(rows), "{printed}");
    assert!(printed.contains("also.csv:2 found \"S 10\" as \"R-11\""), "{printed}");
    assert!(printed.contains("names of end faces meet at every site"), "{printed}");
}

#[test]
fn an_alias_table_that_is_not_there_is_named() {
    let folder = exports("names = { aliases = \"also.csv\" }");
    for command in ["spellings", "intake", "review"] {
        let output = run(folder.path(), &[command, "fleet.toml"]);
        assert_eq!(output.status.code(), Some(3), "{command}");
        assert!(text(&output.stderr).contains("also.csv: cannot be read"), "{command}");
    }
}
