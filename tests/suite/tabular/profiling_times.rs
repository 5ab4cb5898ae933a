//! Profiles of columns of times: patterns, and what settles the order of day and month. Every case
//! states its texts; expected values are counted by hand.

use motetrail::tabular::date::Pattern;
use motetrail::tabular::profile::{DayMonth, Guess};
use proptest::prelude::*;

use super::profiling::{profile, says};

/// Its first patterns, joined by ` | `, and their order.
fn dates<T: AsRef<str>>(cells: &[T]) -> Option<(String, DayMonth)> {
    profile(cells).dates.first().map(|fit| (fit.patterns.join(" | "), fit.order))
}

#[test]
fn every_way_to_write_a_time_gets_its_pattern() {
    use DayMonth::{Ambiguous, DayFirst, MonthFirst, Named, YearFirst};
    let cases = [
        ("2026-03-05", "%Y-%m-%d", YearFirst),
        ("2026/3/5 8:15", "%Y/%m/%d %H:%M", YearFirst),
        ("2026-03-05T08:15:00Z", "%Y-%m-%dT%H:%M:%S%z", YearFirst),
        ("2026-03-05T08:15:00.123+01:00", "%Y-%m-%dT%H:%M:%S.%f%z", YearFirst),
        ("2026-03-05 08:15:00 -0500", "%Y-%m-%d %H:%M:%S %z", YearFirst),
        ("2026-03-05 08:15:00,5", "%Y-%m-%d %H:%M:%S,%f", YearFirst),
        ("25.03.2026", "%d.%m.%Y", DayFirst),
        ("25. 3. 2026", "%d. %m. %Y", DayFirst),
        ("25.03.2026 08:15 Uhr", "%d.%m.%Y %H:%M Uhr", DayFirst),
        ("25.03.2026 um 08.15", "%d.%m.%Y um %H.%M", DayFirst),
        ("25/03/2026, 08:15", "%d/%m/%Y, %H:%M", DayFirst),
        ("25/03/2026 8h15", "%d/%m/%Y %Hh%M", DayFirst),
        ("3/25/2026 8:15 PM", "%m/%d/%Y %I:%M %p", MonthFirst),
        ("3/25/2026 8:15:07 p.m.", "%m/%d/%Y %I:%M:%S %p", MonthFirst),
        ("03/25/2026 08:15PM", "%m/%d/%Y %I:%M%p", MonthFirst),
        ("3/5/2026 8:15 PM", "%m/%d/%Y %I:%M %p", Ambiguous),
        ("05.03.2026", "%d.%m.%Y", Ambiguous),
        ("05-03-26", "%d-%m-%y", Ambiguous),
        ("5 March 2026", "%d %b %Y", Named),
        ("05-MAR-26 08:15", "%d-%b-%y %H:%M", Named),
        ("05MAR2026", "%d%b%Y", Named),
        ("5. März 2026", "%d. %b %Y", Named),
        ("5 sept. 2026", "%d %b %Y", Named),
        ("05.Mai.2026", "%d.%b.%Y", Named),
        ("5 de março de 2026", "%d de %b de %Y", Named),
        ("Mar 5, 2026 8:15 AM", "%b %d, %Y %I:%M %p", Named),
        ("2026-Mar-05", "%Y-%b-%d", Named),
        ("20260305T081500", "%Y%m%dT%H%M%S", YearFirst),
        ("08:15 25.03.2026", "%H:%M %d.%m.%Y", DayFirst),
    ];
    for (text, pattern, order) in cases {
        assert_eq!(dates(&[text]), Some((pattern.to_owned(), order)), "{text}");
        let compiled = Pattern::compile(pattern, Some(1970)).unwrap();
        assert!(compiled.read(text).is_ok(), "{text} by {pattern}");
    }
}

#[test]
fn texts_that_are_no_times_get_no_pattern() {
    let others = [
        "TM-R01-18",
        "ODF-01/25",
        "1.2",
        "1.234,56",
        "10.04",
        "08:15",
        "2026",
        "192.168.10.1",
        "12/24",
        "1-2-3-4",
        "3 x 4 x 2026",
        "March",
        "05/03-2026",
        "2026-02-30",
        "99999-01-01",
        "+49 30 123456",
        "5 apples 2026",
    ];
    for text in others {
        assert_eq!(dates(&[text]), None, "{text}");
    }
}

#[test]
fn one_number_above_twelve_settles_the_order_and_is_named() {
    let day_first = profile(&["03.04.2026", "05.06.2026", "13.06.2026", "14.06.2026"]);
    assert_eq!(day_first.dates.len(), 1);
    assert_eq!(day_first.dates[0].order, DayMonth::DayFirst);
    assert_eq!(day_first.dates[0].evidence, "\"13.06.2026\" cannot be read month first (2 such)");
    assert_eq!(day_first.doubts, Vec::<String>::new());
    let month_first = profile(&["03/04/2026", "05/31/2026"]);
    assert_eq!(month_first.dates[0].order, DayMonth::MonthFirst);
    assert_eq!(month_first.dates[0].patterns, ["%m/%d/%Y"]);
}

#[test]
fn an_order_that_nothing_settles_stays_open() {
    let open = profile(&["03.04.2026", "05.06.2026", "01.12.2025"]);
    let orders: Vec<DayMonth> = open.dates.iter().map(|fit| fit.order).collect();
    assert_eq!(orders, [DayMonth::Ambiguous; 2]);
    assert_eq!(open.dates[0].patterns, ["%d.%m.%Y"]);
    assert_eq!(open.dates[1].patterns, ["%m.%d.%Y"]);
    assert_eq!(open.dates[0].evidence, "each of 3 dates has day and month up to 12");
    assert!(says(&open, "Order of day and month is open"));
}

#[test]
fn texts_that_contradict_each_other_settle_nothing() {
    let mixed = profile(&[
        "13/04/2026",
        "04/13/2026",
        "05/06/2026",
        "05/06/2026",
        "25/06/2026",
        "01/06/2026",
        "02/06/2026",
        "03/06/2026",
        "04/06/2026",
        "05/06/2026",
        "06/06/2026",
    ]);
    assert!(mixed.dates.iter().all(|fit| fit.order == DayMonth::Ambiguous));
    assert_eq!(mixed.dates[0].patterns, ["%d/%m/%Y"]);
    assert!(mixed.dates[0].evidence.contains("contradict"), "{:?}", mixed.dates);
    assert!(says(&mixed, "Order of day and month is open"));
}

#[test]
fn rows_in_order_of_time_settle_it_only_if_all_agree_and_enough_jump_otherwise() {
    // The first to the sixth of four months, in order; read month first they jump back three times.
    let text = |(month, day): (usize, usize)| format!("{day:02}.{month:02}.2026");
    let days: Vec<(usize, usize)> =
        (3..7).flat_map(|month| (1..7).map(move |day| (month, day))).collect();
    let ordered: Vec<String> = days.iter().copied().map(text).collect();
    let fit = &profile(&ordered).dates[0];
    assert_eq!((fit.order, fit.patterns[0].as_str()), (DayMonth::DayFirst, "%d.%m.%Y"));
    assert!(fit.evidence.contains("every row follows the one before"), "{}", fit.evidence);
    assert!(fit.evidence.contains("3 times or more"), "{}", fit.evidence);
    let mut broken = ordered.clone();
    broken.swap(7, 8);
    assert_eq!(profile(&broken).dates[0].order, DayMonth::Ambiguous);
    assert_eq!(profile(&ordered[..18]).dates[0].order, DayMonth::Ambiguous);
}

#[test]
fn of_two_digits_the_number_with_few_values_is_the_year() {
    let texts: Vec<String> =
        (0..60).map(|n| format!("{:02}-{:02}-25", n % 28 + 1, n * 7 % 12 + 1)).collect();
    let settled = profile(&texts);
    assert_eq!(settled.dates.len(), 1);
    assert_eq!(settled.dates[0].patterns, ["%d-%m-%y"]);
    assert_eq!(settled.dates[0].order, DayMonth::DayFirst);
    assert!(settled.dates[0].short_years);
    assert!(settled.dates[0].evidence.contains("the last number takes 1 value,"));
    assert!(says(&settled, "which hundred years"));
    let turned: Vec<String> =
        texts.iter().map(|text| format!("{}{}{}", &text[6..], &text[2..6], &text[..2])).collect();
    assert_eq!(dates(&turned), Some(("%y-%m-%d".to_owned(), DayMonth::YearFirst)));
    // Ten texts do not tell years from days.
    assert_eq!(profile(&texts[..10]).dates[0].order, DayMonth::Ambiguous);
}

#[test]
fn several_ways_to_write_and_what_fits_none_are_told() {
    let mut cells = vec!["25.03.2026 08:15:00"; 8];
    cells.extend(["25.03.2026 08:15", "25.03.2026", "n/a", "", "soon"]);
    let mixed = profile(&cells);
    assert_eq!(mixed.kind, Guess::Instant);
    assert_eq!((mixed.cells, mixed.empty, mixed.given()), (13, 1, 11));
    let fit = &mixed.dates[0];
    assert_eq!(fit.patterns, ["%d.%m.%Y %H:%M:%S", "%d.%m.%Y", "%d.%m.%Y %H:%M"]);
    assert_eq!((fit.fits, fit.given), (10, 11));
    assert!(says(&mixed, "Times are written in 3 ways"));
    assert!(says(&mixed, "No time by this: 1 of 11 texts: \"soon\""));
    assert!(says(&mixed, "Perhaps \"not given\": \"n/a\" (1)"));
    assert!(says(&profile(&["9999-12-31", "2026-01-01"]), "Before 1970 or after 2100: 1 time,"));
    assert!(says(&profile(&["2026-03-05 08:15 UTC"]), "not as a zone"));
    let zones = profile(&["2026-03-05T08:15Z", "2026-03-05T08:15"]);
    assert!(!zones.dates[0].zoned && says(&zones, "Some times say their zone"));
    assert!(profile(&["2026-03-05T08:15Z", "2026-03-05T08:15+02:00"]).dates[0].zoned);
}

#[test]
fn counts_of_seconds_and_of_days_are_doubts() {
    // 1736762580 is 2025-01-13T10:03:00Z.
    let seconds = profile(&["1736762580", "1739452440"]);
    assert_eq!(seconds.kind, Guess::Integer);
    assert_eq!(seconds.dates[0].patterns, ["epoch-s"]);
    assert!(seconds.dates[0].zoned && says(&seconds, "epoch-s"));
    assert_eq!(profile(&["1736762580000"]).dates[0].patterns, ["epoch-ms"]);
    assert_eq!(profile(&["1736762580", "12"]).dates, []);
    // A slip among many is quarantined and no sign of another column; as many slips as counts are.
    let mut slip = vec!["1736762580"; 40];
    slip.push("32.13.2025");
    let slip = profile(&slip);
    assert_eq!(slip.dates[0].patterns, ["epoch-s"]);
    assert_eq!((slip.dates[0].fits, slip.dates[0].given), (40, 41));
    assert!(says(&slip, "epoch-s") && says(&slip, "No numbers: 1 of 41 texts: \"32.13.2025\"."));
    assert_eq!(profile(&["1736762580", "soon"]).dates, []);
    let serials = profile(&["46000", "46001.5", "46020"]);
    assert!(serials.dates.is_empty() && says(&serials, "days as spreadsheets count them"));
    assert!(!says(&profile(&["46000", "12", "46020"]), "spreadsheets"));
    assert_eq!(profile(&["20260305", "20260306", "20260407"]).kind, Guess::Day);
    let few = profile(&["20260305", "20260305"]);
    assert_eq!((few.kind, few.dates.len()), (Guess::Integer, 1));
    assert!(says(&few, "Perhaps dates without separators (%Y%m%d)"));
}

#[test]
fn times_of_day_without_a_date_are_named_with_their_pattern() {
    let clock = profile(&["08:15", "23:59", "8:15"]);
    assert_eq!(clock.clock().as_deref(), Some("%H:%M"));
    assert!(says(&clock, "Times of day without a date"));
    assert_eq!(profile(&["8:15 pm"]).clock().as_deref(), Some("%I:%M %p"));
    assert_eq!(profile(&["8h15"]).clock().as_deref(), Some("%Hh%M"));
    for text in ["25:00", "10.30", "1030", "08:15 2026-03-05", ""] {
        assert_eq!(profile(&[text]).clock(), None, "{text}");
    }
}

proptest! {
    #[test]
    fn any_cells_give_a_profile_whose_patterns_read_as_many_cells_as_it_says(
        cells in prop::collection::vec(
            "([0-9]{1,4}[-./][0-9]{1,2}[-./][0-9]{1,4}( [0-9]{1,2}:[0-9]{2})?)|[0-9]{8}|\\PC{0,12}|[0-9]{1,2} (mar|Mai|dez\\.) [0-9]{2,4}",
            0..40,
        )
    ) {
        let found = profile(&cells);
        for fit in &found.dates {
            let patterns: Vec<Pattern> =
                fit.patterns.iter().map(|text| Pattern::compile(text, Some(1970)).unwrap()).collect();
            let reads = |cell: &&String| patterns.iter().any(|pattern| pattern.read(cell.trim()).is_ok());
            prop_assert!(cells.iter().filter(reads).count() >= fit.fits);
            prop_assert!(fit.fits <= fit.given && fit.given == found.given());
        }
    }
}
