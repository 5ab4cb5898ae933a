//! Every export of the demo, drafted and loaded with only the questions answered: the answers come
//! from the demo's own settings.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use arrow::array::RecordBatch;
use motetrail::draft::{Asked, Draft, SampleRows, draft};
use motetrail::intake::{
    Export, Form, Pass, PeopleKey, ReadCounts, Rejected, Sink, SinkError, read_file,
};
use motetrail::records::Table;
use motetrail::settings::{Plan, Source, read, read_text};
use motetrail::tabular::profile::{ColumnProfile, Profiler};
use motetrail::tabular::{Compression, Format, Room, TableRows, Workbook, rows_of};

use super::answers::{answered, get, same, text};

/// Counts only.
struct Nothing(Vec<String>);

impl Sink for Nothing {
    fn batch(&mut self, _: Table, _: RecordBatch) -> Result<(), SinkError> {
        Ok(())
    }

    fn quarantine(&mut self, rejected: Rejected) -> Result<(), SinkError> {
        self.0.push(format!("{}: {}", rejected.line, rejected.reason));
        Ok(())
    }
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo")
}

fn settings() -> (Plan, toml::Table, String) {
    let path = folder().join("fleet.toml");
    let all = fs::read_to_string(&path).unwrap();
    let head = all.split("\n[[source]]").next().unwrap().to_owned();
    (read(&path).unwrap(), all.parse().unwrap(), head)
}

/// The first file of a source.
fn file(source: &Source) -> PathBuf {
    let pattern = folder().join(&source.files[0]);
    let mut found: Vec<PathBuf> =
        glob::glob(pattern.to_str().unwrap()).unwrap().map(Result::unwrap).collect();
    found.sort();
    found.swap_remove(0)
}

fn profiled(source: &Source, path: &Path) -> Vec<ColumnProfile> {
    let file = File::open(path).unwrap();
    let name = path.to_string_lossy();
    if Format::of(&name) == Format::Workbook {
        let mut book = Workbook::open(file, None, &[], Room::default()).unwrap();
        let mut rows = book.rows().unwrap();
        for _ in 0..source.dialect.skip_lines {
            rows.next_row().unwrap();
        }
        return profiled_rows(&mut rows);
    }
    let stream = Compression::of(&name).unpack(file).unwrap();
    profiled_rows(&mut rows_of(&source.dialect, stream).unwrap())
}

fn profiled_rows(rows: &mut dyn TableRows) -> Vec<ColumnProfile> {
    let mut profiler: Option<Profiler> = None;
    while let Some(row) = rows.next_row().unwrap() {
        let cells: Vec<&str> = row
            .cells
            .iter()
            .map(|cell| std::str::from_utf8(&row.bytes[cell.start..cell.end]).unwrap().trim())
            .collect();
        if let Some(profiler) = &mut profiler {
            profiler.row(&cells);
        } else {
            let names: Vec<String> = cells.iter().map(|name| (*name).to_owned()).collect();
            profiler = Some(Profiler::new(&names));
        }
    }
    profiler.unwrap().finish()
}

fn load(plan: &Plan, source: &Source, path: &Path) -> (ReadCounts, Vec<String>) {
    let key = PeopleKey::new([7; 32]);
    let export = Export { plan, source, file: "demo", people: &key, pass: Pass::First };
    let mut sink = Nothing(Vec::new());
    let form = Form::of(&path.to_string_lossy());
    let counts = read_file(&export, form, &|| File::open(path), &mut sink).unwrap();
    (counts, sink.0)
}

struct Case {
    draft: Draft,
    answered: toml::Table,
    truth: toml::Table,
    expected: ReadCounts,
    loaded: ReadCounts,
    rejected: Vec<String>,
    /// The draft of a table that was not named.
    guessed: String,
}

/// Drafting and loading all takes seconds: once for all tests.
static CASES: LazyLock<BTreeMap<String, Case>> = LazyLock::new(cases);

fn cases() -> BTreeMap<String, Case> {
    let (plan, typed, head) = settings();
    let mut cases = BTreeMap::new();
    for source in &plan.sources {
        let path = file(source);
        let asked = Asked {
            file: path.strip_prefix(folder()).unwrap().display().to_string(),
            source_name: source.name.clone(),
            table: Some(source.records[0].table),
            site: None,
            sites: plan.fleet.sites.clone(),
            stages: plan.stages.clone(),
            codes: plan.codes.clone(),
            rows: SampleRows::default(),
            guessed_encoding: None,
            fleet: None,
            remembered: Default::default(),
        };
        let profiles = profiled(source, &path);
        let draft = draft(&asked, &profiles, &source.dialect);
        let open = Asked { table: None, ..asked };
        let guessed = motetrail::draft::draft(&open, &profiles, &source.dialect).toml;
        let sources = typed["source"].as_array().unwrap();
        let truth = sources.iter().find(|one| one["name"].as_str() == Some(&source.name)).unwrap();
        let truth = truth.as_table().unwrap().clone();
        let answered = answered(&draft, &truth);
        let settings = format!("source = [{}]\n{head}", text(&answered.clone().into()));
        let drafted = read_text(&settings, &folder(), "draft")
            .unwrap_or_else(|e| panic!("{}: {e}\n{}", source.name, draft.toml));
        let (expected, _) = load(&plan, source, &path);
        let (loaded, rejected) = load(&drafted, &drafted.sources[0], &path);
        let case = Case { draft, answered, truth, expected, loaded, rejected, guessed };
        cases.insert(source.name.clone(), case);
    }
    cases
}

#[test]
fn every_demo_export_loads_once_its_questions_are_answered() {
    for (name, case) in CASES.iter() {
        let (rows, lost) =
            (case.expected.rows, case.expected.typed.saturating_sub(case.loaded.typed));
        assert_eq!(case.loaded.rows, rows, "{name}");
        assert!(
            lost * 100 < rows,
            "{name}: {lost} of {rows} rows lost: {:?}\n{}",
            case.rejected.iter().take(5).collect::<Vec<_>>(),
            case.draft.toml
        );
        for (table, records) in &case.expected.records {
            let loaded = case.loaded.records.get(table).copied().unwrap_or(0);
            assert!(
                loaded.abs_diff(*records) * 100 <= *records,
                "{name}: {table:?} {loaded} of {records}"
            );
        }
    }
}

#[test]
fn the_table_of_every_demo_export_is_guessed() {
    for (name, case) in CASES.iter() {
        let table = |text: &str| {
            text.lines().find(|line| line.starts_with("table = ")).map(str::to_owned).unwrap()
        };
        assert_eq!(table(&case.guessed), table(&case.draft.toml), "{name}");
    }
}

/// Words without any answer leave their heading behind.
fn is_empty(value: &toml::Value) -> bool {
    value.as_table().is_some_and(|table| table.is_empty())
}

/// Nothing that stands without a question differs from what the demo's settings say.
#[test]
fn what_the_drafts_of_the_demo_take_for_certain_is_right() {
    let mut wrong = Vec::new();
    for (name, case) in CASES.iter() {
        for part in case.answered["record"].as_array().unwrap() {
            let part = part.as_table().unwrap();
            let truth = same(part, &case.truth).unwrap();
            for key in ["columns", "values", "dates"] {
                let [ours, theirs] = [part, &truth].map(|table| {
                    get(table, &[key.to_owned()])
                        .and_then(|it| it.as_table())
                        .cloned()
                        .unwrap_or_default()
                });
                for (column, value) in ours.iter().filter(|(_, value)| !is_empty(value)) {
                    match (theirs.get(column), key) {
                        (Some(theirs), "values") => {
                            let (ours, theirs) =
                                (value.as_table().unwrap(), theirs.as_table().unwrap());
                            let differ =
                                ours.iter().filter(|(word, code)| theirs.get(*word) != Some(code));
                            wrong.extend(differ.map(|it| format!("{name} {column} {it:?}")));
                        }
                        (Some(_), "dates") => {}
                        (theirs, _) if theirs == Some(value) => {}
                        (theirs, _) => {
                            wrong.push(format!("{name} {key} {column}: {value:?}, not {theirs:?}"))
                        }
                    }
                }
                if key == "columns" {
                    let missing = theirs.keys().filter(|column| !ours.contains_key(*column));
                    wrong.extend(missing.map(|column| format!("{name} has no {column}")));
                }
            }
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}
