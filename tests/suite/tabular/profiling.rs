//! Profiles of columns: kinds, numbers, flags, limits, and the demo exports. Every case states its
//! texts; expected values are counted by hand.

use std::fs;
use std::path::Path;

use motetrail::tabular::profile::{ColumnProfile, DayMonth, Guess, Profiler};
use motetrail::tabular::{Room, Workbook};

use super::given::cells;

/// The profile of one column with these cells.
pub fn profile<T: AsRef<str>>(cells: &[T]) -> ColumnProfile {
    let mut profiler = Profiler::new(&["column".to_owned()]);
    for cell in cells {
        profiler.row(&[cell.as_ref()]);
    }
    profiler.finish().remove(0)
}

/// Whether a doubt has these words.
pub fn says(profile: &ColumnProfile, words: &str) -> bool {
    profile.doubts.iter().any(|doubt| doubt.contains(words))
}

#[test]
fn numbers_and_their_marks_are_told_apart() {
    let cases: [(&[&str], Guess, &str); 11] = [
        (&["1", "-20", "+3"], Guess::Integer, ""),
        (&["0,32", "1,5", "12"], Guess::Decimal { mark: b',' }, ""),
        (&["0.32", ".5"], Guess::Decimal { mark: b'.' }, ""),
        (&["1.234", "12.500"], Guess::Decimal { mark: b'.' }, "may be a decimal mark or separate"),
        (&["1,234", "0,5"], Guess::Decimal { mark: b',' }, ""),
        (
            &["1.234,56", "7,00"],
            Guess::Decimal { mark: b',' },
            "Thousands are separated in 1 number,",
        ),
        (
            &["1,234.56", "7.00"],
            Guess::Decimal { mark: b'.' },
            "Thousands are separated in 1 number,",
        ),
        (&["1'234.50", "1 000 000.25"], Guess::Decimal { mark: b'.' }, "Thousands"),
        (&["0.5", "0,5"], Guess::Decimal { mark: b'.' }, "either decimal mark"),
        (&["1.5e-3"], Guess::Decimal { mark: b'.' }, "exponent"),
        (&["007", "012"], Guess::Integer, "Zeros lead"),
    ];
    for (texts, kind, doubt) in cases {
        let found = profile(texts);
        assert_eq!(found.kind, kind, "{texts:?}");
        assert!(says(&found, doubt) || doubt.is_empty() && found.doubts.is_empty(), "{found:?}");
    }
    assert!(says(&profile(&["9223372036854775808"]), "Beyond 64 bits: 1 whole number"));
    for text in ["1.2.3", "12,34,56", "1.234.56", "1 23", "-", "+", "1e5", "5 %", "١٢"] {
        assert!(!matches!(profile(&[text]).kind, Guess::Integer | Guess::Decimal { .. }), "{text}");
    }
}

#[test]
fn pairs_of_words_for_yes_and_no_are_flags() {
    let pairs = [
        ["Yes", "No"],
        ["ja", "nein"],
        ["OUI", "non"],
        ["sí", "no"],
        ["si", "no"],
        ["tak", "nie"],
        ["sim", "não"],
        ["true", "false"],
        ["Y", "N"],
        ["wahr", "FALSCH"],
    ];
    for pair in pairs {
        assert_eq!(profile(&[pair[0], pair[1], "", pair[0]]).kind, Guess::Flag, "{pair:?}");
    }
    let digits = profile(&["1", "0", "1"]);
    assert_eq!(digits.kind, Guess::Flag);
    assert!(says(&digits, "1 and 0 may be yes and no"));
    assert_eq!(profile(&["0", "0"]).kind, Guess::Integer);
    assert_eq!(profile(&["N", "N"]).kind, Guess::Words);
    assert_ne!(profile(&["yes", "no", "maybe"]).kind, Guess::Flag);
    assert_ne!(profile(&["yes", "nein"]).kind, Guess::Flag);
}

#[test]
fn words_names_and_texts_differ_in_how_often_they_return_and_how_long_they_are() {
    let verdicts: Vec<&str> = ["i.O.", "n.i.O.", "?"].into_iter().cycle().take(30).collect();
    let words = profile(&verdicts);
    assert_eq!(words.kind, Guess::Words);
    assert_eq!(words.nulls, [("?".to_owned(), 10)]);
    let counted = words.words.unwrap();
    assert_eq!(
        counted.iter().map(|(word, n)| (word.as_str(), *n)).collect::<Vec<_>>(),
        [("?", 10), ("i.O.", 10), ("n.i.O.", 10)]
    );
    let names: Vec<String> = (0..300).map(|n| format!("VB-C{n:05}")).collect();
    let names = profile(&names);
    assert_eq!((names.kind, names.words, names.distinct), (Guess::Name, None, 300));
    assert_eq!(names.examples, ["VB-C00000", "VB-C00001", "VB-C00002", "VB-C00003", "VB-C00004"]);
    let notes: Vec<String> = (0..30)
        .map(|n| format!("the lid of box {n} was found open on the platform side"))
        .collect();
    assert_eq!(profile(&notes).kind, Guess::Text);
    assert_eq!(profile(&["", "-", "n/a"]).kind, Guess::Empty);
    assert_eq!(profile::<&str>(&[]).kind, Guess::Empty);
}

#[test]
fn long_and_many_texts_are_cut_and_counting_stops() {
    let long = "x".repeat(1_000_000);
    let cut = profile(&[long.as_str(), "y"]);
    assert_eq!(cut.examples[0].chars().count(), 80);
    assert_eq!(cut.words.unwrap().iter().map(|(word, _)| word.chars().count()).max(), Some(200));
    assert_eq!(cut.kind, Guess::Text);
    let many: Vec<String> = (0..100_500).map(|n| format!("a{n}")).collect();
    assert_eq!(profile(&many).distinct, 100_000);
}

#[test]
fn rows_may_be_shorter_or_longer_than_the_header() {
    let mut profiler = Profiler::new(&["a".to_owned(), "b".to_owned()]);
    profiler.row(&["1"]);
    profiler.row(&["2", " x ", "beyond"]);
    let profiles = profiler.finish();
    assert_eq!((profiles.len(), profiles[0].cells, profiles[1].cells), (2, 2, 1));
    assert_eq!(profiles[1].examples, ["x"]);
}

#[test]
fn a_slip_or_two_change_neither_the_order_nor_the_kind_of_a_column() {
    let mut times = vec!["2026-03-25"; 400];
    times.extend(["05/06/2026", "32.13.2025", "yesterday"]);
    let found = profile(&times);
    assert_eq!(found.dates.len(), 1);
    assert_eq!((found.dates[0].order, found.dates[0].fits), (DayMonth::YearFirst, 400));
    assert_eq!(
        found.doubts,
        ["No time by this: 3 of 403 texts: \"yesterday\", \"05/06/2026\", \"32.13.2025\"."]
    );
    let mut flags = ["yes", "no"].repeat(100);
    flags.push("capped");
    let found = profile(&flags);
    assert_eq!(found.kind, Guess::Flag);
    assert_eq!(found.doubts, ["Neither yes nor no: 1 of 201 texts."]);
    let mut numbers = vec!["12"; 50];
    numbers.push("twelve");
    let found = profile(&numbers);
    assert_eq!(found.kind, Guess::Integer);
    assert_eq!(found.doubts, ["No numbers: 1 of 51 texts: \"twelve\"."]);
}

/// The profiles of a demo export without quoted cells, its rows cut at the separator.
fn demo(path: &str, separator: char, skipped: usize) -> Vec<ColumnProfile> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo/exports");
    let bytes = fs::read(folder.join(path)).unwrap();
    let text = String::from_utf8_lossy(&bytes);
    let mut lines = text.lines().skip(skipped);
    let names: Vec<String> = lines.next().unwrap().split(separator).map(str::to_owned).collect();
    let mut profiler = Profiler::new(&names);
    for line in lines {
        profiler.row(&line.split(separator).collect::<Vec<_>>());
    }
    profiler.finish()
}

#[test]
fn the_demo_exports_get_the_patterns_that_their_map_has() {
    use DayMonth::{DayFirst, YearFirst};
    // From data-demo/fleet.toml; `%z` also reads what it writes as the letter Z.
    let cases = [
        ("desk/tickets-2025-h1.csv", ';', 0, "raised", "%Y-%m-%dT%H:%M:%S%z", YearFirst),
        ("west/pruefungen-2025-q1.csv", ';', 0, "Zeitpunkt", "%d.%m.%Y %H:%M", DayFirst),
        ("west/steckungen-2025-h1.csv", ';', 0, "Gesteckt", "%d.%m.%Y %H:%M", DayFirst),
        ("sr/actions-2025-01.csv", '|', 0, "time", "%Y/%m/%d %H:%M", YearFirst),
        ("wyndrake/views-2025-h1.csv", ',', 0, "at", "%Y-%m-%d %H:%M:%S", YearFirst),
        ("wyndrake/faults.csv", ',', 0, "opened", "epoch-s", YearFirst),
    ];
    for (path, separator, skipped, name, pattern, order) in cases {
        let profiles = demo(path, separator, skipped);
        let found = profiles.iter().find(|profile| profile.name == name).unwrap();
        let fits: Vec<_> = found.dates.iter().map(|fit| (&fit.patterns[..], fit.order)).collect();
        assert_eq!(fits, [(&[pattern.to_owned()][..], order)], "{path} {name}");
    }
}

/// The profiles of the first sheet of a demo workbook, its title left out.
fn workbook(path: &str) -> Vec<ColumnProfile> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo/exports");
    let file = fs::File::open(folder.join(path)).unwrap();
    let mut book = Workbook::open(file, None, &[], Room::default()).unwrap();
    let mut rows = cells(&mut book.rows().unwrap()).into_iter().skip(1);
    let mut profiler = Profiler::new(&rows.next().unwrap());
    rows.for_each(|row| profiler.row(&row.iter().map(String::as_str).collect::<Vec<_>>()));
    profiler.finish()
}

#[test]
fn the_demo_workbook_has_dates_times_of_day_and_words() {
    let care = workbook("thornmoor/care-2025-q1.xlsx");
    let of = |name: &str| care.iter().find(|profile| profile.name == name).unwrap();
    assert_eq!(of("Date").dates[0].patterns, ["%Y-%m-%d"]);
    assert_eq!(of("Time").clock().as_deref(), Some("%H:%M:%S"));
    assert_eq!(of("Cap on").kind, Guess::Flag);
    assert_eq!(of("Result").kind, Guess::Words);
    assert_eq!(of("Port").kind, Guess::Name);
    // No other column of it is taken for a time.
    assert_eq!(care.iter().filter(|profile| !profile.dates.is_empty()).count(), 1);
}
