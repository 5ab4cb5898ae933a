//! The invented rows of the worklist: thirteen end faces left failing, the last one flagged, one carrier, two connections.

use motetrail::measures::{Flag, Row, Table, Unit, Value};

use super::sample::{figure, group, own, row, text};
use super::{full, report, sample, text as file};

pub const WORKLIST: &[&str] = &[
    "list",
    "rank",
    "end_face",
    "partner",
    "service",
    "what_to_do",
    "reason",
    "finding",
    "zone",
    "cycles",
    "remaining_days",
    "work_cost",
    "mean_fault_cost",
    "rates_of",
    "rates_as",
    "cost_of",
    "candidates",
];

fn total(list: &str, all: f64, listed: f64) -> Row {
    let mut row = figure("list", Default::default(), "candidates", all);
    row.n = listed;
    row.own = own(WORKLIST, &[("list", text(list)), ("candidates", Value::Count(all as i64))]);
    row
}

fn line(site: &str, rank: i64, saving: [f64; 3], values: &[(&str, Value)]) -> Row {
    let mut group = group("site+stage+family", &[site, "installation", "LC"]);
    group.time = Some(format!("2026-06-{:02} 09:00", 29 - rank));
    let by = "site+stage+family";
    let mut row = row(by, group, "expected-saving", Unit::Money, (900.0, 31), saving);
    let mut all = vec![
        ("rank", Value::Count(rank)),
        ("rates_of", text("stage+family")),
        ("rates_as", text("one")),
        ("work_cost", Value::Money(900)),
    ];
    all.extend_from_slice(values);
    row.own = own(WORKLIST, &all);
    row
}

fn failing(number: i64) -> Row {
    let saving = 10_000.0 / number as f64;
    let mut row = line(
        "Nordhafen",
        number,
        [saving, saving / 2.0, saving * 2.0],
        &[
            ("list", text("left-failing")),
            ("end_face", text(&format!("PX-{}", 30 + number))),
            ("what_to_do", text("clean and look again")),
            ("reason", text("left dirty, 1 cycle tried")),
            ("zone", text("B")),
            ("cycles", Value::Count(1)),
        ],
    );
    if number == 13 {
        row.flags.push(Flag::Thin);
        row.own[1] = Value::Missing;
    }
    row
}

pub fn worklist() -> Table {
    let mut rows = vec![total("left-failing", 412.0, 13.0)];
    rows.extend((1..=13).map(failing));
    rows.push(total("carrier", 1.0, 1.0));
    rows.push(line(
        "Tal",
        1,
        [21_000.0, 9_000.0, 40_000.0],
        &[
            ("list", text("carrier")),
            ("end_face", text("TL-N-LC-2")),
            ("what_to_do", text("take it out of use, clean, look; inspect what it touched since")),
            ("reason", text("4.1 times the dirt of the others; mated 12 times since")),
        ],
    ));
    rows.push(total("unseen-mating", 2.0, 2.0));
    for (rank, saving) in [(1, 1_900.0), (2, 1_200.0)] {
        rows.push(line(
            "Altberg",
            rank,
            [saving, -100.0, 2.0 * saving],
            &[
                ("list", text("unseen-mating")),
                ("end_face", text("PX-40")),
                ("partner", text("PX-41")),
                ("service", text("trunk 7")),
                ("what_to_do", text("open it and look at both ends")),
                ("reason", text("nobody had looked at either end")),
                ("remaining_days", Value::Count(61)),
            ],
        ));
    }
    Table { name: "worklist", own: WORKLIST, rows }
}

/// The section of a page, its special spaces made plain.
fn section(page: &str) -> String {
    let start = page.find("<section id=\"worklist\">").unwrap();
    let section = page[start..].split("</section>").next().unwrap();
    section.replace(['\u{A0}', '\u{202F}', '\u{2007}', '\u{2008}'], " ")
}

#[test]
fn each_list_is_a_table_of_ten_rows_that_says_where_the_rest_is() {
    let section = section(&full("report.html"));
    assert_eq!(section.matches("<table>").count(), 3);
    for words in [
        "412 end faces were left failing, 1 listed carrier was not cleaned since, 2 connections in force were made",
        "most is expected to be saved at TL-N-LC-2, Tal: 210 EUR (90 to 400)",
        "3 more rows in tables/worklist.csv",
        "PX-40 with PX-41",
        "make sure that the fibre is dark",
        "IEC 60825-2",
        "flammable",
        "qualified people",
        "<li>thin: ",
    ] {
        assert!(section.contains(words), "{words} is not in the section");
    }
    assert!(section.contains("PX-31<") && section.contains("PX-40<"));
    assert!(!section.contains("PX-42<"), "the twelfth is in the file alone");
    let csv = full("tables/worklist.csv");
    for face in 31..=43 {
        assert!(csv.contains(&format!(",PX-{face},")), "PX-{face}");
    }
}

#[test]
fn the_first_page_takes_the_top_of_each_list_but_nothing_flagged_or_without_a_saving() {
    let mut review = sample::full();
    for table in [&mut review.worklist] {
        for row in table.rows.iter_mut().filter(|row| row.quantity == "expected-saving") {
            match row.group.site.as_deref() {
                Some("Nordhafen") => {
                    row.flags = vec![Flag::Confounded];
                    row.own[1] = Value::Missing;
                }
                Some("Tal") => row.estimate = Some(-5.0),
                _ => {}
            }
        }
    }
    let folder = tempfile::tempdir().unwrap();
    report(&review, &folder.path().join("q"));
    let page = file(&folder.path().join("q"), "report.html");
    let first = page.split("<nav>").next().unwrap();
    assert_eq!(first.matches("<li><b>").count(), 1);
    assert!(first.contains("<li><b>PX-40 with PX-41, Altberg:</b>"));
    assert!(first.contains("the interval reaches zero, so it may save nothing"));
}

#[test]
fn without_a_saving_the_first_page_says_so() {
    let folder = tempfile::tempdir().unwrap();
    report(&sample::empty(), &folder.path().join("q"));
    let page = file(&folder.path().join("q"), "report.html");
    assert!(page.contains("For nothing in the worklist can a saving be told that may be ranked."));
    assert!(section(&page).contains("No records to answer this from."));
}
