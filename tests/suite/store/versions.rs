//! Files written anew under their old name.

use motetrail::records::Table;

use super::{Bench, account, standing};

const EARLY: &str = "2026-01-02 08:00";
const LATE: &str = "2026-02-02 08:00";

#[test]
fn a_file_corrected_in_place_is_the_later_one_whatever_its_hash() {
    // Nothing but the outcome differs, so newest time and name do not tell them apart; both ways
    // round, so that the order of hashes cannot make it come out right.
    for (first, second) in [("pass", "fail"), ("fail", "pass")] {
        let bench = Bench::with(&[("a.csv", &format!("1,{EARLY},P1,,{first},\n"))]);
        drop(bench.take());
        bench.write("a.csv", &format!("1,{EARLY},P1,,{second},\n"));
        let (store, _) = bench.take();
        assert_eq!(standing(&store, Table::Inspections), [format!("1/P1//{second}")]);
    }
}

#[test]
fn a_correction_that_takes_the_newest_record_out_is_still_the_later_one() {
    let bench = Bench::with(&[("a.csv", &format!("1,{EARLY},P1,,pass,\n2,{LATE},P2,,pass,\n"))]);
    drop(bench.take());
    bench.write("a.csv", &format!("1,{EARLY},P1,,fail,\n"));
    let (store, _) = bench.take();
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//fail", "2/P2//pass"]);
}

#[test]
fn going_back_to_the_old_text_makes_it_the_later_one_again() {
    let old = format!("1,{EARLY},P1,,pass,\n");
    let bench = Bench::with(&[("a.csv", &old)]);
    drop(bench.take());
    bench.write("a.csv", &format!("1,{EARLY},P1,,fail,\n"));
    drop(bench.take());
    bench.write("a.csv", &old);
    let (store, taken) = bench.take();
    assert_eq!((taken.read, taken.known), (0, 1));
    assert_eq!(standing(&store, Table::Inspections), ["1/P1//pass"]);
    assert_eq!(account(&store, "a.csv")[0], 1);
    drop(store);
    let settled = bench.bytes();
    drop(bench.take());
    assert_eq!(bench.bytes(), settled);
}
