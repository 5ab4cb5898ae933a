//! Reading texts by patterns. Expected days are worked out by hand: 2026-03-05 is day 20,517 since
//! 1970 (56 years with 14 leap days are 20,454 days, then 31 + 28 + 4).

use motetrail::tabular::date::{DAY_MICROS, MONTH_NAMES, Misfit, Pattern, Reading, month_of};
use proptest::prelude::*;

const DAY: i64 = 20_517;

fn read(pattern: &str, text: &str) -> Result<Reading, Misfit> {
    Pattern::compile(pattern, Some(1970)).unwrap().read(text)
}

fn local(day: i64, hour: i64, minute: i64) -> Result<Reading, Misfit> {
    Ok(Reading::Local { day, micros: (hour * 60 + minute) * 60_000_000 })
}

#[test]
fn month_names_of_eight_languages_are_read() {
    // March in English, German, French, Spanish, Italian, Dutch, Polish, Portuguese.
    let names = [
        "March", "Mar", "März", "Mrz", "mars", "marzo", "maart", "mrt", "marzec", "marca", "março",
        "MÄRZ", "MARÇO", "marco", "Maerz", "mar.", "Mrz.",
    ];
    for name in names {
        assert_eq!(read("%d %b %Y", &format!("5 {name} 2026")), Ok(Reading::Day(DAY)), "{name}");
    }
    let others = [
        ("ene", 1),
        ("stycznia", 1),
        ("gen", 1),
        ("janv", 1),
        ("févr", 2),
        ("fevereiro", 2),
        ("luty", 2),
        ("kwi", 4),
        ("avril", 4),
        ("mei", 5),
        ("Mai", 5),
        ("maggio", 5),
        ("maja", 5),
        ("juin", 6),
        ("giugno", 6),
        ("CZERWCA", 6),
        ("juil", 7),
        ("lipca", 7),
        ("luglio", 7),
        ("AOÛT", 8),
        ("agosto", 8),
        ("sierpień", 8),
        ("wrz", 9),
        ("setembro", 9),
        ("sept", 9),
        ("PAŹ", 10),
        ("października", 10),
        ("ottobre", 10),
        ("out", 10),
        ("lis", 11),
        ("GRUDZIEŃ", 12),
        ("dez", 12),
        ("déc", 12),
        ("dic", 12),
    ];
    for (name, month) in others {
        assert_eq!(month_of(name), Some(month), "{name}");
    }
}

#[test]
fn no_name_means_two_months_and_the_table_is_in_order() {
    assert!(MONTH_NAMES.windows(2).all(|pair| pair[0].0.as_bytes() < pair[1].0.as_bytes()));
    assert!(MONTH_NAMES.iter().all(|(name, month)| month_of(name) == Some(*month)));
    assert!(MONTH_NAMES.iter().all(|(name, month)| month_of(&name.to_uppercase()) == Some(*month)));
    // June or July in French: left out, not guessed.
    assert_eq!(month_of("jui"), None);
    for (name, _) in MONTH_NAMES {
        assert!(!name.ends_with('.') && name.chars().all(char::is_alphabetic), "{name}");
    }
}

#[test]
fn the_longest_name_counts_and_what_follows_it_must_fit() {
    assert_eq!(read("%d%b%Y", "05MAR2026"), Ok(Reading::Day(DAY)));
    assert_eq!(read("%d-%b-%Y", "05-Marzo-2026"), Ok(Reading::Day(DAY)));
    assert_eq!(read("%d-%b-%Y", "05-Marzox-2026"), Err(Misfit::Shape));
    assert_eq!(read("%d%bT%Y", "05MarT2026"), Ok(Reading::Day(DAY)));
    assert_eq!(read("%d %b %Y", "05 Xyz 2026"), Err(Misfit::Shape));
    assert_eq!(read("%d %b %Y", "05  2026"), Err(Misfit::Shape));
    assert_eq!(read("%d %b %Y", "05 \u{130}\u{130} 2026"), Err(Misfit::Shape));
    assert_eq!(read("%d. %b %Y", "31. Februar 2026"), Err(Misfit::Impossible));
    // A dot of the pattern's own is not taken for the name's.
    assert_eq!(read("%d.%b.%Y", "05.Mrz.2026"), Ok(Reading::Day(DAY)));
    assert_eq!(read("%d de %b de %Y", "5 de marzo de 2026"), Ok(Reading::Day(DAY)));
}

#[test]
fn two_digits_of_a_year_mean_the_hundred_years_from_the_pivot() {
    let day = |pivot, text| Pattern::compile("%d.%m.%y", Some(pivot)).unwrap().read(text);
    assert_eq!(day(1970, "05.03.26"), Ok(Reading::Day(DAY)));
    assert_eq!(day(2026, "05.03.26"), Ok(Reading::Day(DAY)));
    // A hundred years of the Gregorian calendar from 1926-03-05 to 2026-03-05 hold 25 leap days.
    assert_eq!(day(1926, "05.03.26"), Ok(Reading::Day(DAY - 36_525)));
    assert_eq!(day(1970, "01.01.70"), Ok(Reading::Day(0)));
    assert_eq!(day(1971, "01.01.70"), Ok(Reading::Day(36_525)));
    assert_eq!(day(1970, "01.01.2026"), Err(Misfit::Shape));
    assert_eq!(day(1970, "01.01.6"), Err(Misfit::Shape));
    // 2000 was a leap year, 1900 was not.
    assert!(day(1970, "29.02.00").is_ok());
    assert_eq!(day(1900, "29.02.00"), Err(Misfit::Impossible));
}

#[test]
fn two_digits_of_a_year_without_a_usable_pivot_are_refused() {
    assert!(Pattern::compile("%d.%m.%y", None).unwrap_err().contains("%y"));
    for pivot in [-1, 9901, i64::MIN, i64::MAX] {
        assert!(Pattern::compile("%d.%m.%y", Some(pivot)).is_err(), "{pivot}");
    }
    assert!(Pattern::compile("%d.%m.%Y", None).is_ok());
}

#[test]
fn halves_of_the_day_may_have_dots() {
    for (text, hour) in [("1:30 pm", 13), ("1:30 P.M.", 13), ("12:30 a.m.", 0), ("12:30 AM", 0)] {
        assert_eq!(read("%Y-%m-%d %I:%M %p", &format!("2026-03-05 {text}")), local(DAY, hour, 30));
    }
    assert_eq!(read("%Y-%m-%d %I:%M %p", "2026-03-05 1:30 xm"), Err(Misfit::Shape));
    assert_eq!(read("%Y-%m-%d %I:%M %p", "2026-03-05 1:30 p"), Err(Misfit::Shape));
}

#[test]
fn hours_and_years_that_do_not_exist_are_clean_misfits() {
    let cases = [
        ("%Y-%m-%d", "99999-01-01", Misfit::Shape),
        ("%Y-%m-%d", "0000-00-00", Misfit::Impossible),
        ("%Y-%m-%d %H:%M", "2026-03-05 24:00", Misfit::Impossible),
        ("%Y-%m-%d %H:%M:%S", "2016-12-31 23:59:60", Misfit::Impossible),
        ("%Y-%m-%dT%H:%M:%S%z", "2026-03-05T10:00:00+99:00", Misfit::Shape),
        ("epoch-s", "99999999999999999999", Misfit::Impossible),
        ("epoch-s", "-9223372036854775808", Misfit::Impossible),
        ("epoch-s", "1e9", Misfit::Shape),
        ("epoch-ms", "", Misfit::Shape),
    ];
    for (pattern, text, misfit) in cases {
        assert_eq!(read(pattern, text), Err(misfit), "{text}");
    }
    assert_eq!(read("%Y-%m-%d", "9999-12-31"), Ok(Reading::Day(2_932_896)));
    let zoned = read("%Y-%m-%dT%H:%M:%S%z", "2026-03-05T10:00:00+01:00");
    assert_eq!(zoned, Ok(Reading::Instant(DAY * DAY_MICROS + 9 * 3_600_000_000)));
}

proptest! {
    #[test]
    fn no_text_breaks_a_reading(text in "\\PC{0,40}", pattern in "(%[YymbdHIpMSfz%]|[-./ :Tä]){0,14}") {
        if let Ok(pattern) = Pattern::compile(&pattern, Some(1970)) {
            let _ = pattern.read(&text);
        }
    }

    #[test]
    fn date_like_texts_break_no_reading(text in "[0-9]{1,5}[-./ ](mar|März|paź|[0-9]{1,4})[-./ .]{0,2}[0-9]{0,5}") {
        for pattern in ["%d.%b.%Y", "%Y-%m-%d", "%d %b %y", "%m/%d/%y"] {
            if let Ok(Reading::Day(day)) = Pattern::compile(pattern, Some(1970)).unwrap().read(&text) {
                prop_assert!((-719_528..=2_932_896).contains(&day));
            }
        }
    }
}
