//! What a year's saving is put together of: as it is written, it can be added up again to a cent.

use std::collections::BTreeMap;

use motetrail::measures::payback::{By, Quantity, Row, Table};
use motetrail::measures::review;
use motetrail::report::{Inputs, write_payback};
use motetrail::settings::{self, EffectKind, Stated};

use super::{coverage, effect, flows, minutes, row, table, value};
use crate::review::demo::demo;

fn parts<'t>(table: &'t Table, name: &'t str) -> impl Iterator<Item = &'t Row> {
    let rows = table.rows_of(By::ProposalPool, Quantity::PartOfSaving);
    rows.filter(move |row| row.own.proposal.as_deref() == Some(name))
}

#[test]
fn parts_add_up_to_the_saving_and_are_so_much_of_their_pool() {
    let mut both = coverage("both", 0.8);
    let quick = Stated { low: 1.0, likely: 1.5, high: 2.5 };
    both.effects.push(effect(EffectKind::Minutes { minutes: quick, instead_of: None }));
    let cases = [coverage("looks", 0.8), minutes("quick", 1.0, 1.5, 2.5), both];
    let found = table(&flows(), &cases, None);
    for (case, pools) in cases.iter().zip([2, 1, 3]) {
        let own: Vec<&Row> = parts(&found, &case.name).collect();
        assert_eq!(own.len(), pools, "{}", case.name);
        let sum: f64 = own.iter().filter_map(|row| row.estimate).sum();
        assert_eq!(sum, value(&found, &case.name, Quantity::Saving), "{}", case.name);
        for row in own {
            let part = row.own.kept_out.unwrap() * row.own.pool_money.unwrap().0 as f64;
            assert!((row.estimate.unwrap() - part).abs() <= 1.5, "{row:?}");
        }
    }
}

/// The cells of a line; none here has a quote or a line break of its own.
fn cells(line: &str) -> Vec<String> {
    let mut quoted = false;
    let is_end = |letter: char| {
        quoted ^= letter == '"';
        letter == ',' && !quoted
    };
    line.split(is_end).map(|cell| cell.trim_matches('"').to_owned()).collect()
}

/// Every proposal of the demo from its table as it is written; of looks on receipt, how many there are of each family, and
/// the price of one.
#[test]
fn the_written_table_of_the_demo_adds_up_again_to_a_cent() {
    let folder = tempfile::tempdir().unwrap();
    let settings_hash = "ab".repeat(32);
    let inputs = Inputs { review: &demo().review, accounts: &[], seed: 7, settings_hash };
    let written = write_payback(&inputs, &folder.path().join("p")).unwrap();
    let csv = std::fs::read_to_string(written.folder.join("tables/payback.csv")).unwrap();
    let mut lines = csv.lines().map(cells);
    let head = lines.next().unwrap();
    let keyed = |cells: Vec<String>| -> BTreeMap<String, String> {
        assert_eq!(cells.len(), head.len(), "{cells:?}");
        head.iter().cloned().zip(cells).collect()
    };
    let rows: Vec<BTreeMap<String, String>> = lines.map(keyed).collect();
    let of = |by: &str, quantity: &str, proposal: &str| -> Vec<&BTreeMap<String, String>> {
        let wanted = [("by", by), ("quantity", quantity), ("proposal", proposal)];
        rows.iter().filter(|row| wanted.iter().all(|(key, word)| row[*key] == *word)).collect()
    };
    let number = |row: &BTreeMap<String, String>, key: &str| -> f64 { row[key].parse().unwrap() };
    let sum = |rows: &[&BTreeMap<String, String>]| -> f64 {
        rows.iter().map(|row| number(row, "estimate")).sum()
    };
    let mut by_family = 0;
    for saving in rows.iter().filter(|row| row["quantity"] == "saving-a-year") {
        let name = &saving["proposal"];
        let parts = of("proposal+pool", "part-of-saving", name);
        assert!((sum(&parts) - number(saving, "estimate")).abs() < 0.005, "{name}");
        for part in &parts {
            let again = number(part, "pool_money") * number(part, "kept_out");
            assert!((again - number(part, "estimate")).abs() < 0.02, "{part:?}");
        }
        let families = of("proposal+pool+stage+family", "part-of-saving", name);
        let arrivals = parts.iter().find(|part| part["pool"] == "looks one stage earlier");
        assert_eq!(arrivals.is_none(), families.is_empty(), "{name}");
        let Some(arrivals) = arrivals else { continue };
        assert!((sum(&families) - number(arrivals, "estimate")).abs() < 0.005);
        for one in families {
            let again = -number(one, "times") * number(one, "each");
            assert!((again - number(one, "estimate")).abs() < 0.02, "{one:?}");
            by_family += 1;
        }
    }
    assert!(by_family > 1);
}

/// Where there is no light nobody follows matings: how many looks there would be in another year is not sure all the same.
#[test]
fn a_stated_coverage_where_nothing_is_followed_up_has_an_interval() {
    let demo = demo();
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("data-demo/fleet.toml");
    let mut plan = settings::read(&path).unwrap();
    let mut own = coverage("look in the dark", 1.0);
    own.effects[0].stages = plan.stages.dark.clone();
    plan.proposals = vec![own];
    let found = review(&plan, &demo.derived, &[]).unwrap().payback;
    let saving = row(&found, "look in the dark", Quantity::Saving);
    let (low, value, high) = (saving.low.unwrap(), saving.estimate.unwrap(), saving.high.unwrap());
    assert!(low < value && value < high && high < 0.0, "{saving:?}");
    // No fault is avoided there, and the looks are paid for.
    let faults = row(&found, "look in the dark", Quantity::FaultsAvoided);
    assert_eq!(faults.estimate, Some(0.0));
}
