//! `[codes]`: the lists of codes that the settings own, and which words a canonical column may hold.

use super::place::Place;
use super::problems::Problems;
use super::ranges::Words;
use super::section::{Range, section};
use super::stages::Stages;
use super::words::texts;
use crate::records::fixed_codes;

section! {
    TypedCodes:
    /// Code lists that the settings own. An empty list leaves the column free.
    Codes {
        /// Connector families: interfaces as the parts of IEC 61754 name them [from memory]; the fleet's own list replaces this.
        family: Vec<String> = texts(&["LC", "SC", "FC", "BFOC", "MU", "LSH", "MPO"]), CodeList;
        /// Polishes of end faces (common practice); the fleet's own list replaces this.
        polish: Vec<String> = texts(&["PC", "UPC", "APC"]), CodeList;
        /// Modes of fibres, the two classes of IEC 60793-2 [from memory].
        mode: Vec<String> = texts(&["single-mode", "multimode"]), CodeList;
        /// Methods of cleaning (common practice); the fleet's own list replaces this.
        method: Vec<String> = texts(&["dry", "wet-dry", "wet", "non-contact"]), CodeList;
        /// Causes of faults (our own list of what trouble desks tell apart; common practice); the fleet's own list replaces this.
        cause: Vec<String> = texts(&[
            "contamination", "end-face-defect", "break", "bend", "equipment", "no-fault-found", "unknown",
        ]), CodeList;
        /// What ended faults (common practice); the fleet's own list replaces this.
        remedy: Vec<String> = texts(&["cleaned", "reseated", "replaced", "repolished", "none"]), CodeList;
        /// Criteria that outcomes were judged by: companies have their own names for them, so none is given.
        criteria: Vec<String> = Vec::new(), CodeList;
    }
}

impl Default for Codes {
    fn default() -> Self {
        Self::left_out()
    }
}

/// The code lists of what was typed.
pub fn codes(typed: Option<&TypedCodes>, place: &Place, problems: &mut Problems) -> Codes {
    let absent = TypedCodes::default();
    Codes::read(typed.unwrap_or(&absent), place, problems)
}

/// The words that `column` may hold, in the order of their list; none where any word is taken.
///
/// Joins the lists that the program fixes with those of the settings: codes, stages, sites.
pub fn allowed<'p>(
    column: &str,
    sites: &'p [String],
    stages: &'p Stages,
    codes: &'p Codes,
) -> Option<Vec<&'p str>> {
    if let Some(words) = fixed_codes(column) {
        return Some(words.to_vec());
    }
    let list = match column {
        "family" => &codes.family,
        "polish" => &codes.polish,
        "mode" => &codes.mode,
        "method" => &codes.method,
        "cause" => &codes.cause,
        "remedy" => &codes.remedy,
        "criteria" => &codes.criteria,
        "stage" | "found_stage" => &stages.order,
        "site" => sites,
        _ => return None,
    };
    (!list.is_empty()).then(|| list.iter().map(String::as_str).collect())
}

/// Codes, each once; none where what was typed was no list: nothing is known of it then, so any word goes.
pub struct CodeList;

impl Range for CodeList {
    type Typed = Vec<String>;
    type Value = Vec<String>;

    fn read(&self, typed: &Vec<String>, place: &Place, problems: &mut Problems) -> Vec<String> {
        Words.read(typed, place, problems)
    }

    fn left_out(&self, default: Vec<String>, place: &Place, problems: &Problems) -> Vec<String> {
        if problems.is_mistyped(place) { Vec::new() } else { default }
    }

    fn text(&self) -> String {
        "words, each once; of an empty list any word is taken".to_owned()
    }

    fn written(&self, value: &Vec<String>) -> String {
        Words.written(value)
    }
}
