//! How the lengths of time of a column are written.

use super::name::{Name, Unit};
use super::page::{Question, Standing, counted, shown};
use super::texts::{self, texts};
use crate::intake::minutes;
use crate::settings::DurationForm;
use crate::tabular::profile::{ColumnProfile, Guess};

/// How a column of minutes is read.
#[derive(Clone, Debug)]
pub struct Durations {
    /// Forms, in the order to try.
    pub forms: Vec<DurationForm>,
    pub standing: Standing,
}

/// Forms that cells tell by themselves, in the order to try.
const SHAPED: [DurationForm; 4] = [
    DurationForm::HourMinuteSecond,
    DurationForm::HourMinute,
    DurationForm::Units,
    DurationForm::Iso,
];

/// Share of cells that forms must read together, and that one of several must read to be named.
const MOST: f64 = 0.9;
const LEAST: f64 = 0.02;
/// Whole numbers up to this may well be hours where no unit is named.
const FEW: i64 = 24;
/// Most texts that an evidence shows.
const SHOWN: usize = 3;

/// Whether nearly all cells are lengths of time in some form.
pub fn are_durations(profile: &ColumnProfile) -> bool {
    let [dot, comma] = [b'.', b','].map(|mark| {
        let forms: Vec<DurationForm> = SHAPED.into_iter().chain([DurationForm::Hours]).collect();
        share(profile, &forms, mark)
    });
    dot.max(comma) >= MOST
}

/// The forms of a column, where they are not whole minutes for certain.
pub fn durations(profile: &ColumnProfile) -> Option<Durations> {
    let mark = match profile.kind {
        Guess::Decimal { mark } => mark,
        _ => b'.',
    };
    let unit = Name::of(&profile.name).unit();
    let name = shown(&profile.name);
    let holds = || format!("it holds {}", counted(&texts(profile), SHOWN));
    let proposed = |question| Standing::Proposed(Question { question, evidence: holds() });
    let shaped: Vec<DurationForm> =
        SHAPED.into_iter().filter(|form| share(profile, &[*form], mark) >= LEAST).collect();
    if shaped.is_empty() {
        return numbers(profile, unit, mark, proposed);
    }
    let is_numbered = share(profile, &[DurationForm::Minutes], mark) >= LEAST;
    let plain = is_numbered.then_some(match unit {
        Some(Unit::Hours) => DurationForm::Hours,
        _ => DurationForm::Minutes,
    });
    let two_parts = shaped.contains(&DurationForm::HourMinute);
    let three_parts = shaped.contains(&DurationForm::HourMinuteSecond);
    let mut forms: Vec<DurationForm> = shaped.into_iter().chain(plain).collect();
    let standing = if two_parts && !three_parts && unit != Some(Unit::Hours) {
        let (first, other) = match unit {
            Some(Unit::Minutes) => (DurationForm::MinuteSecond, DurationForm::HourMinute),
            _ => (DurationForm::HourMinute, DurationForm::MinuteSecond),
        };
        for form in &mut forms {
            *form = if *form == DurationForm::HourMinute { first } else { *form };
        }
        proposed(format!(
            "Are the lengths of column {name} {}? Else use {}",
            first.word(),
            shown(other.word())
        ))
    } else if plain.is_some() {
        proposed(format!(
            "Are the bare numbers of column {name} {}?",
            plain.map_or("", DurationForm::word)
        ))
    } else {
        Standing::Sure
    };
    Some(Durations { forms, standing })
}

/// Of a column of bare numbers.
fn numbers(
    profile: &ColumnProfile,
    unit: Option<Unit>,
    mark: u8,
    proposed: impl Fn(String) -> Standing,
) -> Option<Durations> {
    let name = shown(&profile.name);
    let hours = |standing| Some(Durations { forms: vec![DurationForm::Hours], standing });
    let whole = share(profile, &[DurationForm::Minutes], mark) >= MOST;
    match unit {
        Some(Unit::Hours) => hours(Standing::Sure),
        Some(Unit::Minutes) => None,
        None if texts(profile).is_empty() => None,
        None if !whole => hours(proposed(format!("Are the numbers of column {name} hours?"))),
        None => {
            let few = profile.numbers.largest.is_some_and(|largest| largest <= FEW);
            let why = if few { "; they are small for minutes" } else { "" };
            Some(Durations {
                forms: vec![DurationForm::Minutes],
                standing: proposed(format!(
                    "Are the numbers of column {name} minutes{why}? Else use {}",
                    shown(DurationForm::Hours.word())
                )),
            })
        }
    }
}

/// Share of the cells at hand that some of the forms reads.
fn share(profile: &ColumnProfile, forms: &[DurationForm], mark: u8) -> f64 {
    texts::share(profile, |text| minutes(text, forms, mark).is_some())
}
