//! The fleet of tests/fleets/windparks, from its raw exports to the report: drafted, its questions answered from a file,
//! reviewed. What was planted stands in tests/fleets/README.md.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use motetrail::settings::{Plan, read};

struct Run {
    _folder: tempfile::TempDir,
    folder: PathBuf,
    drafted: String,
    plan: Plan,
    said: String,
}

fn run(folder: &Path, arguments: &[&str]) -> String {
    let done = Command::new(env!("CARGO_BIN_EXE_motetrail"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(0), "{arguments:?}: {said}");
    String::from_utf8_lossy(&done.stdout).into_owned() + &said
}

static RUN: LazyLock<Run> = LazyLock::new(|| {
    let temporary = tempfile::tempdir().unwrap();
    let folder = temporary.path().to_owned();
    let raw = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fleets/windparks/exports");
    fs::create_dir(folder.join("exports")).unwrap();
    for file in fs::read_dir(raw).unwrap() {
        let path = file.unwrap().path();
        fs::copy(&path, folder.join("exports").join(path.file_name().unwrap())).unwrap();
    }
    run(&folder, &["init", "exports", "--name", "Wind parks"]);
    let drafted = fs::read_to_string(folder.join("fleet.toml")).unwrap();
    // The clock of the test is not that of the parks.
    let dated = drafted.replacen("[fleet]\n", "[fleet]\nas_of = \"2026-07-02\"\n", 1);
    fs::write(folder.join("fleet.toml"), dated).unwrap();
    let answers = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fleets/windparks/answers.toml");
    run(&folder, &["init", "exports", "--answers", answers.to_str().unwrap()]);
    let said = run(&folder, &["review", "fleet.toml"]);
    let plan = read(&folder.join("fleet.toml")).unwrap();
    assert!(plan.open.is_empty(), "{:?}", plan.open);
    Run { _folder: temporary, folder, drafted, plan, said }
});

/// The rows of a table of the report, each by its columns.
fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let path = RUN.folder.join(format!("reports/2026-Q2/tables/{name}.csv"));
    let text = fs::read_to_string(path).unwrap();
    let mut lines = text.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
    let names = lines.next().unwrap();
    lines.map(|cells| names.iter().cloned().zip(cells).collect()).collect()
}

#[test]
fn at_most_eight_questions_are_asked() {
    let asked = RUN.drafted.matches("# ? ").count();
    assert!((1..=8).contains(&asked), "{asked} questions\n{}", RUN.drafted);
    assert!(RUN.said.contains("report.html"), "{}", RUN.said);
}

#[test]
fn more_than_99_percent_of_the_rows_load() {
    let manifest = run(&RUN.folder, &["intake", "fleet.toml"]);
    let all = manifest.lines().find(|line| line.ends_with("  all")).unwrap();
    let counts: Vec<u64> = all.split_whitespace().filter_map(|cell| cell.parse().ok()).collect();
    assert_eq!(counts[0], 2104);
    assert!(counts[1] * 100 > counts[0] * 99, "{all}");
    assert_eq!(counts[4], 2, "{all}");
}

#[test]
fn the_planted_shares_lie_inside_the_intervals() {
    let within = |row: &BTreeMap<String, String>, truth: f64| {
        let [low, high] = ["low", "high"].map(|key| row[key].parse::<f64>().unwrap());
        assert!(low <= truth && truth <= high, "{truth} is not in {low} to {high}");
        assert!(high - low < 0.25, "{low} to {high} says nothing");
    };
    let looks = table("first_pass");
    for (stage, truth) in [("installation", 0.82), ("change", 0.70)] {
        let row = looks.iter().find(|row| {
            row["by"] == "stage" && row["stage"] == stage && row["quantity"] == "first-pass-clean"
        });
        within(row.unwrap(), truth);
    }
    let coverage = table("coverage");
    let both = coverage.iter().find(|row| row["by"] == "fleet" && row["quantity"] == "both");
    within(both.unwrap(), 0.62);
}

#[test]
fn nothing_that_stands_without_a_question_is_wrong() {
    let parts: Vec<(&str, &str)> = RUN
        .plan
        .sources
        .iter()
        .flat_map(|source| {
            source.records.iter().map(|one| (source.name.as_str(), one.table.name()))
        })
        .collect();
    let expected = [
        ("kontrole", "inspections"),
        ("pannes", "faults"),
        ("registo", "cleanings"),
        ("registo", "matings"),
    ];
    let mut sorted = parts.clone();
    sorted.sort_unstable();
    assert_eq!(sorted, expected);
    let words = |source: &str, table: &str, column: &str| {
        let source = RUN.plan.sources.iter().find(|one| one.name == source).unwrap();
        let record = source.records.iter().find(|one| one.table.name() == table).unwrap();
        record.values.get(column).cloned().unwrap_or_default()
    };
    assert_eq!(words("kontrole", "inspections", "outcome")["zły"], "fail");
    assert_eq!(words("kontrole", "inspections", "finding")["rysa"], "defect");
    assert_eq!(words("pannes", "faults", "cause")["saleté"], "contamination");
    assert_eq!(words("pannes", "faults", "site")["VLO"], "Vale Longo");
}
