//! The invented rows of carriers: one lead listed with what it touched, an innocent, one not tested, people only counted.

use motetrail::measures::{Flag, Group, Row, Table, Unit, Value};

use super::sample::{figure, own, row, text};
use super::{full, report, sample, text as file};

pub const CARRIERS: &[&str] = &[
    "kind",
    "entity",
    "trials",
    "expected",
    "p_exact",
    "tail",
    "q_exact",
    "p_dispersed",
    "q_dispersed",
    "shrunken",
    "shrunken_low",
    "shrunken_high",
    "partners",
    "dirty_partners",
    "carrier",
    "rank",
    "tested",
    "listed",
    "orders",
    "dispersion",
    "partner",
    "later",
    "since_cleaned",
    "in_service",
    "inspect",
];

fn kind(word: &str, tested: i64, listed: i64) -> Row {
    let mut row = figure("kind", Group::default(), "carriers-listed", listed as f64);
    (row.n, row.events) = (1_200.0, Some(90));
    row.own = own(
        CARRIERS,
        &[
            ("kind", text(word)),
            ("trials", Value::Count(1_200)),
            ("tested", Value::Count(tested)),
            ("listed", Value::Count(listed)),
            ("orders", Value::Count(310)),
            ("dispersion", Value::Number(1.21)),
        ],
    );
    row
}

fn entity(name: &str, (n, dirty): (f64, i64), ratio: [f64; 3], carrier: &str) -> Row {
    let group = Group { site: Some("Nordhafen".to_owned()), ..Group::default() };
    let mut row = row("kind+entity", group, "against-others", Unit::Ratio, (n, dirty), ratio);
    let mut values = vec![
        ("kind", text("end-face")),
        ("entity", text(name)),
        ("expected", Value::Number(dirty as f64 / ratio[0])),
        ("partners", Value::Count(n as i64)),
        ("dirty_partners", Value::Count(dirty)),
        ("carrier", text(carrier)),
    ];
    if carrier == "yes" {
        values.push(("rank", Value::Count(1)));
        values.push(("q_exact", Value::Number(1.3e-7)));
        values.push(("q_dispersed", Value::Number(0.0004)));
        values.push(("shrunken", Value::Number(4.1)));
    }
    if carrier == "not tested" {
        row.flags.push(Flag::Thin);
    }
    row.own = own(CARRIERS, &values);
    row
}

fn touch(day: u32, partner: &str, later: &str, since: &str, inspect: &str) -> Row {
    let time = Some(format!("2026-05-{day:02} 09:00"));
    let group = Group {
        site: Some("Nordhafen".to_owned()),
        stage: Some("system-test".to_owned()),
        time,
        ..Group::default()
    };
    let mut row = figure("entity+partner", group, "touch", f64::NAN);
    (row.n, row.events, row.estimate) = (1.0, None, None);
    row.own = own(
        CARRIERS,
        &[
            ("entity", text("TL-N-LC-2")),
            ("partner", text(partner)),
            ("later", text(later)),
            ("since_cleaned", text(since)),
            ("in_service", text("yes")),
            ("inspect", text(inspect)),
        ],
    );
    row
}

fn fate(word: &str, ends: f64) -> Row {
    let mut row = figure("later", Group::default(), "exposures", ends);
    row.own = own(CARRIERS, &[("later", text(word))]);
    row
}

pub fn carriers() -> Table {
    let mut cleaned = figure(
        "entity",
        Group { time: Some("2026-05-11 12:00".to_owned()), ..Group::default() },
        "last-cleaned",
        f64::NAN,
    );
    cleaned.estimate = None;
    cleaned.own = own(CARRIERS, &[("entity", text("TL-N-LC-2"))]);
    let rows = vec![
        kind("end-face", 41, 1),
        kind("operator", 12, 1),
        entity("TL-N-LC-2", (80.0, 31), [4.6, 3.1, 6.9], "yes"),
        entity("TL-N-LC-1", (70.0, 6), [0.9, 0.3, 2.0], "no"),
        entity("TL-N-LC-9", (7.0, 3), [3.1, 0.6, 9.0], "not tested"),
        cleaned,
        fate("clean", 500.0),
        fate("prompted", 12.0),
        fate("not-looked-at", 300.0),
        touch(4, "PX-17", "contaminated", "no", "no"),
        touch(10, "PX-18", "clean", "no", "no"),
        touch(19, "PX-19", "not-looked-at", "yes", "yes"),
        touch(23, "PX-20", "mated-again", "yes", "yes"),
    ];
    Table { name: "carriers", own: CARRIERS, rows }
}

/// The section of a page, its special spaces made plain.
fn section(page: &str) -> String {
    let start = page.find("<section id=\"carriers\">").unwrap();
    let section = page[start..].split("</section>").next().unwrap();
    section.replace(['\u{A0}', '\u{202F}', '\u{2007}', '\u{2008}'], " ")
}

#[test]
fn the_listed_are_named_with_their_ratio_and_the_ends_to_inspect() {
    let section = section(&full("report.html"));
    for words in [
        "In 53 tests 1 name stands out, associated with more dirt than the others by more than chance: TL-N-LC-2",
        "3.1 to 6.9",
        "of the people tested 1 stands out and is not named",
        "inspect first 2 ends that they touched",
        "<0.001",
        "TL-N-LC-2 was mated 4 times: 1 of 2 ends looked at next came out dirty",
        "last cleaned 2026-05-11",
        "not looked at since",
        "mated again without a look",
        "Of 812 ends seen clean and then mated, 500 were looked at before anything else happened to them",
        "12 looks that a fault prompted are left out",
        "1 with too few results in cells that others share",
    ] {
        let escaped = words.replace('<', "&lt;");
        assert!(section.contains(&escaped), "{words} is not in the section");
    }
    assert!(!section.contains("TL-N-LC-9"), "what is not tested is not named on the page");
    // The latest touch first.
    assert!(section.find("PX-20").unwrap() < section.find("PX-19").unwrap());
    assert!(!section.contains("PX-17"), "found dirty, and so seen to");
}

#[test]
fn with_nothing_listed_the_finding_says_so() {
    let mut review = sample::full();
    review.carriers.rows =
        vec![kind("end-face", 41, 0), entity("a", (70.0, 6), [0.9, 0.3, 2.0], "no")];
    let folder = tempfile::tempdir().unwrap();
    report(&review, &folder.path().join("q"));
    let section = section(&file(&folder.path().join("q"), "report.html"));
    assert!(section.contains("In 41 tests nothing stands out by more dirt than chance."));
    assert!(!section.contains("Inspect first"));
}

#[test]
fn every_touch_and_every_entity_is_in_the_table_file() {
    let csv = full("tables/carriers.csv");
    for words in ["TL-N-LC-9", "PX-17", "PX-20", "2026-05-23 09:00", "not tested"] {
        assert!(csv.contains(words), "{words}");
    }
}
