//! The invented rows of the worklist: thirteen end faces left failing, the last one flagged, one carrier, two connections.

use motetrail::derive::counts::ZoneOf;
use motetrail::measures::Flag;
use motetrail::measures::results::Money;
use motetrail::measures::skipped_cost::Exposure;
use motetrail::measures::worklist::{By, List, Own, Quantity, Row, Table, When, Within};

use super::sample::group;
use super::{full, plain, report, sample, text as file};

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
        when: Some(When::Now),
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
    let mut now: Vec<&mut Row> = rows.iter_mut().filter(|row| row.own.rank.is_some()).collect();
    let sure = |row: &Row| row.low > Some(0.0);
    now.sort_by(|a, b| {
        sure(b).cmp(&sure(a)).then(b.estimate.unwrap().total_cmp(&a.estimate.unwrap()))
    });
    now.into_iter().zip(1..).for_each(|(row, place)| row.own.overall = Some(place));
    Table { rows }
}

/// The section of a page, its special spaces made plain.
fn section(page: &str) -> String {
    let start = page.find("<section id=\"worklist\">").unwrap();
    let section = page[start..].split("</section>").next().unwrap();
    plain(section)
}

#[test]
fn one_list_of_all_and_each_by_itself_are_tables_of_ten_rows_that_say_where_the_rest_is() {
    let section = section(&full("report.html"));
    assert_eq!(section.matches("<table class=\"data\"").count(), 4);
    for words in [
        "412 end faces were left failing, 1 listed carrier was not cleaned since, 2 connections in force were made",
        "15 rows are worth doing now, most at TL-N-LC-2, Tal: 210 EUR (90 to 400) after the price of the work",
        "Worth doing now, of all lists",
        "state it as [costs] interruption",
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
fn the_front_page_takes_decisions_and_the_head_of_the_list_but_nothing_flagged_or_without_a_saving()
{
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
    let first = page.split("<h2>Do first</h2>").nth(1).unwrap();
    let first = first.split("<h2>").next().unwrap();
    // One decision and two rows of the worklist.
    assert_eq!(first.matches("<li><b>").count(), 1, "{first}");
    assert_eq!(first.matches("<tr><th scope=\"row\">").count(), 2, "{first}");
    // What to decide, at what price, what it is worth, how sure, and what would prove it wrong.
    let plain = plain(first);
    for words in [
        "<li><b>Scopes for Tal:</b> price 4 800 EUR; worth 19 k EUR (3 to 41) over 60 months after its price, 93 % chance",
        "Most depends on share of the faults&#39; cost that goes with skipping (rate ratio): at 31 % it would still be worth 3 100 EUR",
        "it was wrong.",
        "make sure that the fibre is dark",
    ] {
        assert!(plain.contains(words), "{words} is not on {plain}");
    }
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
