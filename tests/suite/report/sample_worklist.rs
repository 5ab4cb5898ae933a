//! The invented rows of the worklist: thirteen end faces left failing, the last one flagged, one carrier, two connections.

use motetrail::derive::counts::ZoneOf;
use motetrail::measures::Flag;
use motetrail::measures::results::Money;
use motetrail::measures::skipped_cost::Exposure;
use motetrail::measures::worklist::{By, List, Own, Quantity, Row, Table, Within};

use super::sample::group;
use super::{full, report, sample, text as file};

fn total(list: List, all: i64, listed: f64) -> Row {
    let own = Own { candidates: Some(all), ..Own::with(list) };
    let (by, quantity) = (By::List, Quantity::Candidates);
    let row = Row::figure(by, Default::default(), quantity, all as f64, "count", own);
    Row { n: listed, events: Some(all), ..row }
}

fn line(site: &str, rank: i64, [saving, low, high]: [f64; 3], own: Own) -> Row {
    let mut group = group("site+stage+family", &[site, "lineside-fitting", "LC"]);
    group.time = Some(format!("2026-06-{:02} 09:00", 29 - rank));
    let own = Own {
        rank: Some(rank),
        rates_of: Some(Within::StageFamily),
        rates_as: Some(Exposure::One),
        work_cost: Some(Money(900)),
        ..own
    };
    let row = Row::figure(By::Item, group, Quantity::ExpectedSaving, saving, "Wilson", own);
    Row { n: 900.0, events: Some(31), low: Some(low), high: Some(high), ..row }
}

fn word(word: &str) -> Option<String> {
    Some(word.to_owned())
}

fn failing(number: i64) -> Row {
    let saving = 10_000.0 / number as f64;
    let own = Own {
        end_face: Some(format!("PX-{}", 30 + number)),
        what_to_do: word("clean and look again"),
        reason: word("left dirty, 1 cycle tried"),
        zone: Some(ZoneOf::Cladding),
        cycles: Some(1),
        ..Own::with(List::LeftFailing)
    };
    let mut row = line("Nordhafen", number, [saving, saving / 2.0, saving * 2.0], own);
    if number == 13 {
        row.flags.push(Flag::Thin);
        row.own.rank = None;
    }
    row
}

pub fn worklist() -> Table {
    let mut rows = vec![total(List::LeftFailing, 412, 13.0)];
    rows.extend((1..=13).map(failing));
    rows.push(total(List::Carrier, 1, 1.0));
    let carrier = Own {
        end_face: word("TL-N-LC-2"),
        what_to_do: word("take it out of use, clean, look; inspect what it touched since"),
        reason: word("4.1 times the dirt of the others; mated 12 times since"),
        ..Own::with(List::Carrier)
    };
    rows.push(line("Tal", 1, [21_000.0, 9_000.0, 40_000.0], carrier));
    rows.push(total(List::UnseenMating, 2, 2.0));
    for (rank, saving) in [(1, 1_900.0), (2, 1_200.0)] {
        let own = Own {
            end_face: word("PX-40"),
            partner: word("PX-41"),
            service: word("trunk 7"),
            what_to_do: word("open it and look at both ends"),
            reason: word("nobody had looked at either end"),
            remaining_days: Some(61),
            ..Own::with(List::UnseenMating)
        };
        rows.push(line("Altberg", rank, [saving, -100.0, 2.0 * saving], own));
    }
    Table { rows }
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
    assert_eq!(section.matches("<table class=\"data\"").count(), 3);
    for words in [
        "412 end faces were left failing, 1 listed carrier was not cleaned since, 2 connections in force were made",
        "most is expected to be saved at TL-N-LC-2, Tal: 210 EUR (90 to 400)",
        "3 more rows in <a href=\"tables/worklist.csv\">tables/worklist.csv</a>",
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
fn the_front_page_takes_what_saves_most_but_nothing_flagged_or_without_a_saving() {
    let mut review = sample::full();
    let rows = review.worklist.rows.iter_mut();
    for row in rows.filter(|row| row.quantity == Quantity::ExpectedSaving) {
        match row.group.site.as_deref() {
            Some("Nordhafen") => {
                row.flags = vec![Flag::Confounded];
                row.own.rank = None;
            }
            Some("Tal") => row.estimate = Some(-5.0),
            _ => {}
        }
    }
    let folder = tempfile::tempdir().unwrap();
    report(&review, &folder.path().join("q"));
    let page = file(&folder.path().join("q"), "report.html");
    let first = page.split("Work that saves most").nth(1).unwrap();
    let first = first.split("</table>").next().unwrap();
    let rows = first.matches("<tr><th scope=\"row\">").count();
    assert!(rows > 0 && rows == first.matches(", Altberg</a></th>").count(), "{first}");
    assert!(first.contains(">PX-40 with PX-41, Altberg</a></th>"), "{first}");
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
