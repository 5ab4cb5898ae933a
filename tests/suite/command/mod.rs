//! The program from outside: exit codes, what goes to standard output and what to standard error.

mod clock;
mod init;
mod manual;
mod new_export;
mod out;
mod payback;
mod peek;
mod peek_hostile;
mod peek_kinds;
mod rejected;
mod report_forms;
mod spellings;

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use motetrail::settings::SECTIONS;

const SETTINGS: &str = r#"[fleet]
name = "Two benches"
currency = "EUR"
timezone = "Europe/Vienna"
as_of = "2026-04-02"

[[source]]
name = "looks"
files = ["looks.csv"]
site = "North"
end_face_names = "fleet"
[[source.record]]
table = "inspections"
columns = { record = "id", at = "at", end_face = "face", stage = "stage", outcome = "outcome", finding = "finding" }
dates = { at = "%Y-%m-%d %H:%M" }
"#;

const LOOKS: &str = "id,at,face,stage,outcome,finding
1,2026-02-01 08:00,A1,incoming,pass,
2,2026-02-01 08:05,A2,incoming,fail,contamination
";

fn fleet(settings: &str, looks: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("fleet.toml"), settings).unwrap();
    fs::write(folder.path().join("looks.csv"), looks).unwrap();
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_motetrail"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn intake_prints_the_row_accounts_and_ends_with_0() {
    let folder = fleet(SETTINGS, LOOKS);
    let done = run(folder.path(), &["intake", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let expected = "      read     loaded superseded  duplicate   rejected  file
         2          2          0          0          0  looks: looks.csv
         2          2          0          0          0  all
";
    let printed = text(&done.stdout);
    assert!(printed.starts_with(expected), "{printed}");
    assert!(printed.contains("needs an export of matings"), "{printed}");
    assert_eq!(text(&done.stderr), "intake: 1 exports read, 0 known already\n");
    let again = run(folder.path(), &["intake", "fleet.toml"]);
    assert_eq!(text(&again.stdout), printed);
    assert_eq!(text(&again.stderr), "intake: 0 exports read, 1 known already\n");
}

#[test]
fn too_many_quarantined_rows_end_a_finished_run_with_1() {
    let folder = fleet(SETTINGS, &format!("{LOOKS}3,2026-02-30 08:00,A3,incoming,pass,\n"));
    let done = run(folder.path(), &["intake", "--quiet", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(1));
    assert!(
        text(&done.stdout).contains("         3          2          0          0          1  all")
    );
    assert_eq!(text(&done.stderr), "");
}

#[test]
fn wrong_settings_end_with_2_and_name_every_line() {
    let wrong = SETTINGS.replace("currency = \"EUR\"", "curency = \"EUR\"\ncurrency = \"EUR\"");
    let folder = fleet(&format!("{wrong}[rules]\nlevel = 7\n"), LOOKS);
    let done = run(folder.path(), &["review", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(2));
    let stderr = text(&done.stderr);
    assert!(
        stderr.contains("fleet.toml:3 ") && stderr.contains("did you mean `currency`"),
        "{stderr}"
    );
    assert!(stderr.contains("fleet.toml:18 ") && stderr.contains("level"), "{stderr}");
}

#[test]
fn wrong_arguments_end_with_2() {
    let folder = fleet(SETTINGS, LOOKS);
    assert_eq!(run(folder.path(), &["revue", "fleet.toml"]).status.code(), Some(2));
    let period = run(folder.path(), &["review", "fleet.toml", "--period", "spring"]);
    assert_eq!(period.status.code(), Some(2));
    assert_eq!(
        text(&period.stderr),
        "error: --period: found \"spring\", expected a fiscal year and quarter such as 2026-Q3\n"
    );
    let outside = run(folder.path(), &["review", "--quiet", "fleet.toml", "--period", "2031-Q1"]);
    assert_eq!(outside.status.code(), Some(2));
    assert_eq!(
        text(&outside.stderr),
        "error: period 2031-Q1 has no records; they span 2026-Q1 to 2026-Q1\n"
    );
}

#[test]
fn missing_settings_and_damaged_exports_end_with_3() {
    let folder = fleet(SETTINGS, LOOKS);
    let missing = run(folder.path(), &["review", "elsewhere.toml"]);
    assert_eq!(missing.status.code(), Some(3));
    assert!(text(&missing.stderr).contains("elsewhere.toml"));
    assert_eq!(text(&missing.stderr).matches("os error").count(), 1, "a cause is told once");
    let settings = SETTINGS.replace("looks.csv", "looks.csv.gz");
    let damaged = fleet(&settings, LOOKS);
    fs::write(damaged.path().join("looks.csv.gz"), b"not gzip at all").unwrap();
    let done = run(damaged.path(), &["intake", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(3));
    assert!(text(&done.stderr).contains("looks.csv.gz"), "{}", text(&done.stderr));
}

#[test]
fn a_damaged_store_ends_with_4() {
    let folder = fleet(SETTINGS, LOOKS);
    assert_eq!(run(folder.path(), &["intake", "fleet.toml"]).status.code(), Some(0));
    assert_eq!(run(folder.path(), &["verify", "fleet.toml"]).status.code(), Some(0));
    let parts = fs::read_dir(folder.path().join("store/parts")).unwrap();
    let part = parts.map(|part| part.unwrap().path()).next().unwrap();
    let mut bytes = fs::read(&part).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    fs::write(&part, bytes).unwrap();
    let done = run(folder.path(), &["verify", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(4));
    assert!(text(&done.stdout).contains("inspections"), "{}", text(&done.stdout));
}

#[test]
fn review_prints_where_the_report_is() {
    let folder = fleet(SETTINGS, LOOKS);
    let done = run(folder.path(), &["review", "--quiet", "fleet.toml", "--out", "out"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    assert_eq!(text(&done.stdout).trim_end(), "out/2026-Q1/report.html");
    assert!(folder.path().join("out/2026-Q1/report.html").exists());
}

#[test]
fn messages_can_be_json_lines() {
    let folder = fleet(SETTINGS, LOOKS);
    let done = run(folder.path(), &["intake", "--log", "json", "fleet.toml"]);
    let line: serde_json::Value = serde_json::from_str(text(&done.stderr).trim_end()).unwrap();
    assert_eq!(line["kind"], "note");
    assert_eq!(line["message"], "intake: 1 exports read, 0 known already");
}

#[test]
fn every_command_has_help_with_an_example() {
    let folder = fleet(SETTINGS, LOOKS);
    for command in
        ["review", "intake", "spellings", "synth", "verify", "settings", "init", "rejected"]
    {
        let help = run(folder.path(), &[command, "--help"]);
        assert_eq!(help.status.code(), Some(0));
        let help = text(&help.stdout);
        assert!(help.contains(&format!("Example:\n  motetrail {command} ")), "{help}");
    }
}

#[test]
fn an_unknown_departure_names_the_nearest_and_the_help_lists_all() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = run(folder.path(), &["synth", "out", "--plant", "shrt=3"]);
    assert_eq!(wrong.status.code(), Some(2));
    let said = text(&wrong.stderr);
    assert!(said.contains("shrt=3") && said.contains("did you mean `short`?"), "{said}");
    let none = run(folder.path(), &["synth", "out", "--plant", "short"]);
    assert_eq!(none.status.code(), Some(2));
    let help = text(&run(folder.path(), &["synth", "--help"]).stdout);
    // Help is wrapped where a line is full.
    let flat = help.split_whitespace().collect::<Vec<_>>().join(" ");
    for key in motetrail::synth::Departures::keys() {
        let said = format!("{}: {}", key.key, key.range);
        assert!(flat.contains(&said), "{help}");
    }
}

#[test]
fn every_key_of_the_settings_is_printed_or_those_of_one_section() {
    let folder = fleet(SETTINGS, LOOKS);
    let all = text(&run(folder.path(), &["settings"]).stdout);
    for section in SECTIONS {
        assert!(all.contains(&format!("{}\n", section.heading)), "{all}");
        for key in (section.keys)() {
            assert!(all.contains(&format!("\n  {}\n    ", key.key)), "{} is not in {all}", key.key);
        }
    }
    assert!(all.lines().all(|line| line.chars().count() <= 100), "{all}");
    let gap = "\n  visit_gap_hours\n    V1: a gap longer than this opens a new visit, hours. Takes a whole \
               number from 1 to 8784.\n    Default: 8.\n";
    let rules = text(&run(folder.path(), &["settings", "rules"]).stdout);
    assert!(rules.contains(gap) && rules.len() < all.len(), "{rules}");
    let wrong = run(folder.path(), &["settings", "rule"]);
    assert_eq!(wrong.status.code(), Some(2));
    let said = text(&wrong.stderr);
    assert!(said.contains("did you mean \"rules\"?"), "{said}");
}
