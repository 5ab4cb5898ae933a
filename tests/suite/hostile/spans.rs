//! Values that fit their types and are absurd all the same.

use super::{FAULTS, JOINS, LOOKS, LOOKS_HEADER, Place, named_by};

/// Most memory of a review of a few rows, MiB.
const MOST_MIB: u64 = 512;

/// A slip such as 0226 for 2026 must not make the review count every month since the year 226.
#[test]
fn one_row_in_a_distant_year_costs_no_memory() {
    let look = |at: &str| format!("9,{at},North,A1,installation,pass,,,\n");
    for year in ["0000", "0226", "1970", "9999"] {
        let place = Place::new(&[LOOKS, JOINS]);
        let rows = look("2026-02-01 08:00") + &look(&format!("{year}-12-31 23:59"));
        place.write("looks.csv", format!("{LOOKS_HEADER}{rows}"));
        let joins = format!(
            "at,site,plug,port\n2026-01-01 10:00,North,A1,B\n{year}-01-01 10:00,North,A1,B\n"
        );
        place.write("joins.csv", joins);
        let done = place.review();
        assert_eq!(done.code, Some(0), "{}", done.stderr);
        assert!(done.peak_mib < MOST_MIB, "a row of the year {year} takes {} MiB", done.peak_mib);
    }
}

/// Sums of the largest numbers must not wrap around into small or negative ones.
#[test]
fn costs_near_the_end_of_64_bits_never_add_up_to_less_than_nothing() {
    let place = Place::new(&[LOOKS, JOINS, FAULTS]);
    named_by(&place, &["North", "South"]);
    let mut rows = "site,opened,face,cause,down,visits,cost\n".to_owned();
    for at in 0..100 {
        let (day, face) = (1 + at % 28, format!("North{}", at % 100));
        let largest = "9223372036854775807,9223372036854775807,92233720368547757.00";
        rows += &format!("North,2026-05-{day:02} 12:00,{face},contamination,{largest}\n");
    }
    place.write("desk.csv", rows);
    let done = place.review();
    assert!(matches!(done.code, Some(0 | 1)), "{}", done.stderr);
    for (path, text) in place.written("csv") {
        for line in text.lines().filter(|line| line.contains("fault-cost")) {
            let negative = line.split(',').any(|cell| cell.starts_with("-"));
            assert!(!negative, "{}: {line}", path.display());
        }
    }
}
