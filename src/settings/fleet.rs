//! `[fleet]`: who and where.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;
use chrono_tz::Tz;

use super::place::Place;
use super::problems::Problems;
use super::ranges::{DayIfAny, Folder, Name, Whole, Words, Zone};
use super::section::{Range, section};
use super::words;

/// What an ISO 4217 code looks like.
pub const A_CURRENCY: &str = "three capital letters such as \"EUR\" (ISO 4217)";

section! {
    TypedFleet:
    /// The fleet itself.
    Fleet {
        /// Name as printed on the report.
        name: String = String::new(), Name, required "the name for the report";
        /// Currency of every amount, an ISO 4217 code; money is kept in its minor units (hundredths).
        currency: String = String::new(), Currency, required A_CURRENCY;
        /// Zone in which days, months and periods are cut.
        timezone: Tz = Tz::UTC, Zone, required words::A_ZONE;
        /// First month of the fiscal year, 1 to 12.
        fiscal_year_starts: u32 = 1, Whole(1, 12);
        /// The day on which the records are taken to be complete; left out: the day of the last intake that brought
        /// records.
        as_of: Option<NaiveDate> = None, DayIfAny;
        /// Folder of the store, relative to the settings file.
        store: PathBuf = PathBuf::from("store"), Folder;
        /// Sites in the order of the report; none: any site name is taken.
        sites: Vec<String> = Vec::new(), Words;
    } + {
        /// Folder of the settings file: globs are relative to it.
        folder: PathBuf = PathBuf::new();
    }
}

/// The fleet of a settings file in `folder`; its store gets the folder before it.
pub fn fleet(
    typed: Option<&TypedFleet>,
    folder: &Path,
    place: &Place,
    problems: &mut Problems,
) -> Fleet {
    let absent = TypedFleet::default();
    let fleet = Fleet::read(typed.unwrap_or(&absent), place, problems);
    Fleet { store: folder.join(&fleet.store), folder: folder.to_owned(), ..fleet }
}

/// Whether a text is a currency's code as ISO 4217 has them.
pub fn is_currency(code: &str) -> bool {
    code.len() == 3 && code.bytes().all(|byte| byte.is_ascii_uppercase())
}

/// The code of a currency.
pub struct Currency;

impl Range for Currency {
    type Typed = String;
    type Value = String;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> String {
        if !is_currency(typed) {
            problems.add(place, format!("found {typed:?}, expected {A_CURRENCY}"));
        }
        typed.clone()
    }

    fn text(&self) -> String {
        A_CURRENCY.to_owned()
    }

    fn written(&self, value: &String) -> String {
        format!("{value:?}")
    }
}
