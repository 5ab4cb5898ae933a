//! What README says of columns, rules and codes, and its example, held to the program.

use std::fs;
use std::process::Command;

use motetrail::records::{Table, columns};
use motetrail::settings::SECTIONS;

const README: &str = include_str!("../../../README.md");

/// The indented block of README that begins with this line, without its indent.
fn block(first: &str) -> String {
    let begins = format!("\n    {first}\n");
    let at = README.find(&begins).unwrap_or_else(|| panic!("{first} begins no block"));
    let lines = README[at + 1..].lines().take_while(|line| line.starts_with("    "));
    lines.map(|line| line[4..].to_owned() + "\n").collect()
}

#[test]
fn every_canonical_column_is_in_the_readme_with_those_that_are_required_in_bold() {
    for table in Table::ALL {
        let begins = format!("| `{}` | ", table.name());
        let line = README.lines().find(|line| line.starts_with(&begins)).unwrap();
        let found: Vec<&str> = line[begins.len()..].trim_end_matches(" |").split(", ").collect();
        let wanted = columns(table).iter().map(|column| match column.required {
            true => format!("**`{}`**", column.name),
            false => format!("`{}`", column.name),
        });
        assert_eq!(found, wanted.collect::<Vec<_>>());
    }
}

#[test]
fn every_rule_stage_and_code_list_is_in_the_readme_with_its_default() {
    for name in ["rules", "stages", "codes"] {
        let block = block(&format!("[{name}]"));
        let section = SECTIONS.iter().find(|one| one.path == [name]).unwrap();
        let wanted = (section.keys)().into_iter().map(|key| match key.default.as_str() {
            "" => format!("# {}: left out", key.key),
            default => format!("{} = {default}", key.key),
        });
        let found: Vec<&str> = block.lines().skip(1).collect();
        assert_eq!(found, wanted.collect::<Vec<_>>(), "[{name}] of README");
    }
}

#[test]
fn the_example_of_the_readme_is_reviewed() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("fleet.toml"), block("[fleet]")).unwrap();
    fs::write(folder.path().join("bench.csv"), block("When,Port,Step,Result")).unwrap();
    let done = Command::new(env!("CARGO_BIN_EXE_motetrail"))
        .args(["review", "fleet.toml"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let tables = folder.path().join("reports/2026-Q2/tables/first_pass.csv");
    let table = fs::read_to_string(tables).unwrap();
    let fleet = table.lines().find(|line| line.starts_with("2026-Q2,fleet,")).unwrap();
    // Five visits, of which three passed at the first look.
    assert!(fleet.contains(",first-pass-clean,5.0,3,0.6,"), "{fleet}");
}
