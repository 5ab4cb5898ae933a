//! The invented rows of carriers: one lead listed with what it touched, an innocent, one not tested, people only counted.

use motetrail::measures::carriers::{By, Carrier, Outcome, Own, Quantity, Row, Table, Verdict};
use motetrail::measures::{Flag, Group};

use super::{full, report, sample, text as file};

fn kind(kind: Carrier, tested: u64, listed: u64) -> Row {
    let own = Own {
        kind: Some(kind),
        trials: Some(1_200),
        tested: Some(tested),
        listed: Some(listed),
        orders: Some(310),
        dispersion: Some(1.21),
        ..Own::default()
    };
    let row = Row::count(By::Kind, Group::default(), Quantity::Listed, listed as i64, own);
    Row { n: 1_200.0, events: Some(90), ..row }
}

fn entity(name: &str, (n, dirty): (f64, i64), ratio: [f64; 3], carrier: Verdict) -> Row {
    let group = Group { site: Some("Nordhafen".to_owned()), ..Group::default() };
    let [ratio, low, high] = ratio;
    let own = Own {
        kind: Some(Carrier::EndFace),
        entity: Some(name.to_owned()),
        expected: Some(dirty as f64 / ratio),
        partners: Some(n as i64),
        dirty_partners: Some(dirty),
        carrier: Some(carrier),
        ..Own::default()
    };
    let own = match carrier {
        Verdict::Listed => Own {
            rank: Some(1),
            q_exact: Some(1.3e-7),
            q_dispersed: Some(0.0004),
            shrunken: Some(4.1),
            ..own
        },
        Verdict::NotListed | Verdict::NotTested => own,
    };
    let quantity = Quantity::AgainstOthers;
    let row = Row::figure(By::KindEntity, group, quantity, ratio, "Wilson", own);
    let row = Row { n, events: Some(dirty), low: Some(low), high: Some(high), ..row };
    row.flagged((carrier == Verdict::NotTested).then_some(Flag::Thin))
}

fn touch(day: u32, partner: &str, later: Outcome, since: bool, inspect: bool) -> Row {
    let group = Group {
        site: Some("Nordhafen".to_owned()),
        stage: Some("test-bay".to_owned()),
        time: Some(format!("2026-05-{day:02} 09:00")),
        ..Group::default()
    };
    let own = Own {
        entity: Some("TL-N-LC-2".to_owned()),
        partner: Some(partner.to_owned()),
        later: Some(later),
        since_cleaned: Some(since),
        in_service: Some(true),
        inspect: Some(inspect),
        ..Own::default()
    };
    let (by, quantity) = (By::EntityPartner, Quantity::Touch);
    Row { n: 1.0, ..Row::figure(by, group, quantity, f64::NAN, "count", own) }
}

fn fate(later: Outcome, ends: i64) -> Row {
    let own = Own { later: Some(later), ..Own::default() };
    Row::count(By::Later, Group::default(), Quantity::Exposures, ends, own)
}

fn cleaned() -> Row {
    let group = Group { time: Some("2026-05-11 12:00".to_owned()), ..Group::default() };
    let own = Own { entity: Some("TL-N-LC-2".to_owned()), ..Own::default() };
    let (by, quantity) = (By::Entity, Quantity::LastCleaned);
    Row { n: 4.0, ..Row::figure(by, group, quantity, f64::NAN, "count", own) }
}

pub fn carriers() -> Table {
    let rows = vec![
        kind(Carrier::EndFace, 41, 1),
        kind(Carrier::Operator, 12, 1),
        entity("TL-N-LC-2", (80.0, 31), [4.6, 3.1, 6.9], Verdict::Listed),
        entity("TL-N-LC-1", (70.0, 6), [0.9, 0.3, 2.0], Verdict::NotListed),
        entity("TL-N-LC-9", (7.0, 3), [3.1, 0.6, 9.0], Verdict::NotTested),
        cleaned(),
        fate(Outcome::Clean, 500),
        fate(Outcome::Prompted, 12),
        fate(Outcome::NotLookedAt, 300),
        touch(4, "PX-17", Outcome::Contaminated, false, false),
        touch(10, "PX-18", Outcome::Clean, false, false),
        touch(19, "PX-19", Outcome::NotLookedAt, true, true),
        touch(23, "PX-20", Outcome::MatedAgain, true, true),
    ];
    Table { rows }
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
        "In 53 tests 1 name stands out, associated with more dirt than the others by more than chance: TL-N-LC-2 (4.1",
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
    review.carriers.rows = vec![
        kind(Carrier::EndFace, 41, 0),
        entity("a", (70.0, 6), [0.9, 0.3, 2.0], Verdict::NotListed),
    ];
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
