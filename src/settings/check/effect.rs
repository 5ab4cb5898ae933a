//! `[[proposal.effect]]`: what a purchase changes, and where.

use super::Lists;
use super::words;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::proposal::{CARRIER_KINDS, Effect, EffectKind, Stated};
use crate::settings::written;

/// Kinds of effect, as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Coverage,
    Inspection,
    Cleaning,
    Entry,
    Minutes,
    Carriers,
}

/// Their words.
const KINDS: [(&str, Kind); 6] = [
    ("coverage", Kind::Coverage),
    ("inspection", Kind::Inspection),
    ("cleaning", Kind::Cleaning),
    ("entry", Kind::Entry),
    ("minutes", Kind::Minutes),
    ("carriers", Kind::Carriers),
];
/// Most that one unit serves in a year.
const MOST_SERVED: f64 = 1e9;
/// Longest cleaning, minutes: a week.
const MOST_MINUTES: f64 = 10_080.0;

/// A part of the settings that is being read.
struct Reading<'r, 'p, 't> {
    typed: &'r written::Effect,
    lists: &'r Lists<'r>,
    place: &'r Place,
    problems: &'p mut Problems<'t>,
}

/// The effect; none where it says too little to stand for anything.
pub fn effect(
    typed: &written::Effect,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Option<Effect> {
    let here = place.key("kind");
    let names: Vec<&str> = KINDS.iter().map(|(name, _)| *name).collect();
    let Some(kind) = &typed.kind else {
        problems.add(&here, format!("missing; expected one of {}", names.join(", ")));
        return None;
    };
    let of_kind = words::choice(kind, &KINDS, &here, problems)?;
    let mut reading = Reading { typed, lists, place, problems };
    reading.foreign(kind, of_kind);
    let kind = reading.kind(of_kind);
    let stages = reading.listed("stage", typed.stages.as_deref(), "stages");
    let sites = reading.listed("site", typed.sites.as_deref(), "sites");
    if of_kind == Kind::Inspection && stages.is_empty() {
        reading.missing::<()>("stages", "the stages at which end faces are to be looked at");
    }
    let capacity = reading.capacity();
    Some(Effect { kind: kind?, stages, sites, capacity })
}

impl Reading<'_, '_, '_> {
    fn kind(&mut self, kind: Kind) -> Option<EffectKind> {
        let typed = self.typed;
        match kind {
            Kind::Coverage => {
                let share = self.stated(typed.coverage.as_ref(), "coverage", 0.0, 1.0);
                share.map(EffectKind::Coverage).or_else(|| {
                    self.missing(
                        "coverage",
                        "the share of matings with both ends seen that it leads to",
                    )
                })
            }
            Kind::Inspection => {
                let share = self.stated(typed.coverage.as_ref(), "coverage", 0.0, 1.0);
                Some(EffectKind::Inspection(share.unwrap_or(Stated::known(1.0))))
            }
            Kind::Cleaning => self.cleaning(),
            Kind::Entry => self.entry(),
            Kind::Minutes => {
                let instead_of = self.method(typed.instead_of.as_deref(), "instead_of");
                let minutes = self.stated(typed.minutes.as_ref(), "minutes", 0.0, MOST_MINUTES);
                let minutes = minutes.or_else(|| {
                    self.missing("minutes", "the minutes that a cleaning takes with it")
                })?;
                Some(EffectKind::Minutes { minutes, instead_of })
            }
            Kind::Carriers => {
                let share = self.stated(typed.share.as_ref(), "share", 0.0, 1.0);
                let kinds = typed.kinds.clone().unwrap_or_default();
                let place = self.place.key("kinds");
                words::list(&kinds, &place, self.problems);
                for (index, kind) in kinds.iter().enumerate() {
                    words::one_of(kind, &CARRIER_KINDS, &place.index(index), self.problems);
                }
                Some(EffectKind::Carriers { share: share.unwrap_or(Stated::known(1.0)), kinds })
            }
        }
    }

    fn cleaning(&mut self) -> Option<EffectKind> {
        let typed = self.typed;
        let odds = self.stated(typed.odds.as_ref(), "odds", 0.01, 100.0);
        let method = self.method(typed.method.as_deref(), "method");
        let instead_of = self.method(typed.instead_of.as_deref(), "instead_of");
        let contrast = match (method, instead_of) {
            (Some(method), Some(instead_of)) => {
                if method == instead_of {
                    let found = format!("found {method:?}, which is `method` too");
                    self.problems.add(&self.place.key("instead_of"), found);
                }
                Some((method, instead_of))
            }
            (Some(_), None) => {
                self.missing::<()>("instead_of", "the method whose place it takes");
                None
            }
            (None, Some(_)) => {
                self.missing::<()>("method", "the method that takes its place");
                None
            }
            (None, None) if odds.is_none() => {
                return self.missing(
                    "odds",
                    "what it multiplies the odds of passing a cycle by, or `method` and `instead_of`",
                );
            }
            (None, None) => None,
        };
        Some(EffectKind::Cleaning { contrast, odds })
    }

    fn entry(&mut self) -> Option<EffectKind> {
        let typed = self.typed;
        let times = self.stated(typed.times.as_ref(), "times", 0.0, 10.0);
        let times =
            times.or_else(|| self.missing("times", "what it multiplies the hazard of the step by"));
        let from = self.stage(typed.from.as_deref(), "from");
        let to = self.stage(typed.to.as_deref(), "to");
        let (from, to, times) = (from?, to?, times?);
        let order = &self.lists.stages.order;
        let place = |stage: &String| order.iter().position(|own| own == stage);
        if let (Some(a), Some(b)) = (place(&from), place(&to)) {
            // A step between neighbours, or a stage repeated.
            if b != a + 1 && b != a {
                let wanted = "expected the stage after `from`, or `from` itself";
                self.problems.add(&self.place.key("to"), format!("found {to:?}, {wanted}"));
            }
        }
        Some(EffectKind::Entry { from, to, times })
    }

    /// Notes that a key is missing; never anything else.
    fn missing<T>(&mut self, key: &str, wanted: &str) -> Option<T> {
        self.problems.add(&self.place.key(key), format!("missing; expected {wanted}"));
        None
    }

    fn stage(&mut self, word: Option<&str>, key: &str) -> Option<String> {
        let Some(word) = word else {
            return self.missing(key, "a stage");
        };
        let known: Vec<&str> = self.lists.stages.order.iter().map(String::as_str).collect();
        words::one_of(word, &known, &self.place.key(key), self.problems);
        Some(word.to_owned())
    }

    fn method(&mut self, word: Option<&str>, key: &str) -> Option<String> {
        let word = word?;
        match self.lists.allowed("method") {
            Some(known) => words::one_of(word, &known, &self.place.key(key), self.problems),
            None => words::word(word, &self.place.key(key), self.problems),
        }
        Some(word.to_owned())
    }

    fn listed(&mut self, column: &str, words: Option<&[String]>, key: &str) -> Vec<String> {
        let words = words.unwrap_or_default();
        let place = self.place.key(key);
        words::list(words, &place, self.problems);
        if let Some(known) = self.lists.allowed(column) {
            for (index, word) in words.iter().enumerate() {
                words::one_of(word, &known, &place.index(index), self.problems);
            }
        }
        words.to_vec()
    }

    fn capacity(&mut self) -> Option<f64> {
        let capacity = self.typed.capacity?;
        if !(0.0..=MOST_SERVED).contains(&capacity) {
            let wanted = format!("expected what a unit serves in a year, from 0 to {MOST_SERVED}");
            self.problems.add(&self.place.key("capacity"), format!("found {capacity}, {wanted}"));
        }
        Some(capacity.clamp(0.0, MOST_SERVED))
    }

    fn stated(
        &mut self,
        typed: Option<&written::Stated>,
        key: &str,
        least: f64,
        most: f64,
    ) -> Option<Stated> {
        let here = self.place.key(key);
        let stated = match typed? {
            written::Stated::One(number) => Stated::known(*number),
            written::Stated::Range(range) => {
                let mut part = |number: Option<f64>, name: &str| {
                    if number.is_none() {
                        self.problems.add(&here.key(name), "missing; expected a number");
                    }
                    number
                };
                let low = part(range.low, "low");
                let (likely, high) = (part(range.likely, "likely"), part(range.high, "high"));
                Stated { low: low?, likely: likely?, high: high? }
            }
        };
        let Stated { low, likely, high } = stated;
        if !(least <= low && high <= most) {
            let found =
                if stated.is_known() { format!("{low}") } else { format!("{low} to {high}") };
            let wanted = format!("expected numbers from {least} to {most}");
            self.problems.add(&here, format!("found {found}, {wanted}"));
        } else if !(low <= likely && likely <= high) {
            let found = format!("found {low}, {likely}, {high}");
            self.problems.add(&here, format!("{found}, expected low <= likely <= high"));
        }
        Some(stated)
    }

    /// Notes keys that the kind, written `word`, does not read.
    fn foreign(&mut self, word: &str, kind: Kind) {
        use Kind::{Carriers, Cleaning, Coverage, Entry, Inspection, Minutes};
        let typed = self.typed;
        let given = [
            ("coverage", typed.coverage.is_some(), &[Coverage, Inspection][..]),
            ("odds", typed.odds.is_some(), &[Cleaning]),
            ("method", typed.method.is_some(), &[Cleaning]),
            ("instead_of", typed.instead_of.is_some(), &[Cleaning, Minutes]),
            ("minutes", typed.minutes.is_some(), &[Minutes]),
            ("from", typed.from.is_some(), &[Entry]),
            ("to", typed.to.is_some(), &[Entry]),
            ("times", typed.times.is_some(), &[Entry]),
            ("kinds", typed.kinds.is_some(), &[Carriers]),
            ("share", typed.share.is_some(), &[Carriers]),
            ("stages", typed.stages.is_some(), &[Coverage, Inspection, Cleaning, Minutes]),
            (
                "capacity",
                typed.capacity.is_some(),
                &[Coverage, Inspection, Cleaning, Minutes, Entry],
            ),
        ];
        for (key, is_given, kinds) in given {
            if is_given && !kinds.contains(&kind) {
                let found = format!("an effect of kind {word:?} has no use for it; remove it");
                self.problems.add(&self.place.key(key), found);
            }
        }
    }
}
