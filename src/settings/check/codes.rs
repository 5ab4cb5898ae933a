//! `[stages]` and `[codes]`: the lists that the settings own.

use super::words;
use crate::settings::place::Place;
use crate::settings::plan;
use crate::settings::problems::Problems;
use crate::settings::written;

/// Lifecycle stages, earliest first (design, section 2).
const STAGES: &[&str] =
    &["manufacture", "assembly", "system-test", "receiving", "installation", "maintenance"];
/// Stages without light among them.
const DARK: &[&str] = &["manufacture", "assembly"];
/// Interfaces as the parts of IEC 61754 name them [from memory].
const FAMILIES: &[&str] = &["LC", "SC", "FC", "BFOC", "MU", "LSH", "MPO"];
const POLISHES: &[&str] = &["PC", "UPC", "APC"];
const MODES: &[&str] = &["single-mode", "multimode"];
const METHODS: &[&str] = &["dry", "wet-dry", "wet", "non-contact"];
const CAUSES: &[&str] = &[
    "contamination",
    "end-face-defect",
    "break",
    "bend",
    "equipment",
    "no-fault-found",
    "unknown",
];
const REMEDIES: &[&str] = &["cleaned", "reseated", "replaced", "repolished", "none"];

/// Most stages: events keep a stage in one byte.
const MOST_STAGES: usize = 200;

/// The stages.
pub fn stages(
    written: Option<&written::Stages>,
    place: &Place,
    problems: &mut Problems,
) -> plan::Stages {
    let absent = written::Stages::default();
    let stages = written.unwrap_or(&absent);
    let order = list(stages.order.as_deref(), STAGES, &place.key("order"), problems);
    if order.is_empty() {
        problems.add(&place.key("order"), "is empty; name at least one stage, or leave it out");
    }
    if order.len() > MOST_STAGES {
        let found = format!("found {} stages, expected at most {MOST_STAGES}", order.len());
        problems.add(&place.key("order"), found);
    }
    let Some(dark) = &stages.dark else {
        let usual = DARK.iter().map(|stage| (*stage).to_owned());
        let dark = usual.filter(|stage| order.contains(stage)).collect();
        return plan::Stages { order, dark };
    };
    let here = place.key("dark");
    words::list(dark, &here, problems);
    let known: Vec<&str> = order.iter().map(String::as_str).collect();
    if !known.is_empty() {
        for (index, stage) in dark.iter().enumerate() {
            words::one_of(stage, &known, &here.index(index), problems);
        }
    }
    plan::Stages { dark: dark.clone(), order }
}

/// The code lists.
pub fn codes(
    written: Option<&written::Codes>,
    place: &Place,
    problems: &mut Problems,
) -> plan::Codes {
    let absent = written::Codes::default();
    let codes = written.unwrap_or(&absent);
    macro_rules! list {
        ($name:ident, $default:expr) => {
            list(codes.$name.as_deref(), $default, &place.key(stringify!($name)), problems)
        };
    }
    plan::Codes {
        family: list!(family, FAMILIES),
        polish: list!(polish, POLISHES),
        mode: list!(mode, MODES),
        method: list!(method, METHODS),
        cause: list!(cause, CAUSES),
        remedy: list!(remedy, REMEDIES),
        criteria: list!(criteria, &[]),
    }
}

/// The written list, else the default; of a list that was no list nothing is known, so any word goes.
fn list(
    written: Option<&[String]>,
    default: &[&str],
    place: &Place,
    problems: &mut Problems,
) -> Vec<String> {
    match written {
        Some(written) => {
            words::list(written, place, problems);
            written.to_vec()
        }
        None if problems.is_mistyped(place) => Vec::new(),
        None => default.iter().map(|word| (*word).to_owned()).collect(),
    }
}
