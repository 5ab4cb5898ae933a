//! `[stages]` and `[codes]`: the lists that the settings own.

use crate::settings::place::Place;
use crate::settings::plan;
use crate::settings::problems::Problems;
use crate::settings::words;
use crate::settings::written;

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
    let usual = plan::Stages::default();
    let order = list(stages.order.as_deref(), usual.order, &place.key("order"), problems);
    if order.is_empty() {
        problems.add(&place.key("order"), "is empty; name at least one stage, or leave it out");
    }
    if order.len() > MOST_STAGES {
        let found = format!("found {} stages, expected at most {MOST_STAGES}", order.len());
        problems.add(&place.key("order"), found);
    }
    let Some(dark) = &stages.dark else {
        let dark = usual.dark.into_iter().filter(|stage| order.contains(stage)).collect();
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
    let usual = plan::Codes::default();
    macro_rules! list {
        ($name:ident) => {
            list(codes.$name.as_deref(), usual.$name, &place.key(stringify!($name)), problems)
        };
    }
    plan::Codes {
        family: list!(family),
        polish: list!(polish),
        mode: list!(mode),
        method: list!(method),
        cause: list!(cause),
        remedy: list!(remedy),
        criteria: list!(criteria),
    }
}

/// The written list, else the default; of a list that was no list nothing is known, so any word goes.
fn list(
    written: Option<&[String]>,
    default: Vec<String>,
    place: &Place,
    problems: &mut Problems,
) -> Vec<String> {
    match written {
        Some(written) => {
            words::list(written, place, problems);
            written.to_vec()
        }
        None if problems.is_mistyped(place) => Vec::new(),
        None => default,
    }
}
