//! `[[proposal.effect]]`: what a purchase changes, and where.

use super::stated::{Believed, Stated};
use crate::settings::lists::Lists;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::ranges::{OneOf, TextIfAny, Words};
use crate::settings::section::{Range, section};
use crate::settings::words;

/// Kinds of effect, as written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// More matings with both ends seen.
    Coverage,
    /// Looks at stages that skip them.
    Inspection,
    /// A method of cleaning that passes more often.
    Cleaning,
    /// Less dirt between two stages.
    Entry,
    /// Quicker cleanings.
    Minutes,
    /// Carriers of dirt replaced.
    Carriers,
}

/// Their words.
const KINDS: &[(&str, Kind)] = &[
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

/// Kinds of carrier that can be replaced: an end face such as that of a test lead, a tool by the dirt its
/// cycles leave, and a tool by the clean ends it soils.
pub const CARRIER_KINDS: [&str; 3] = ["end-face", "tool-cleaning", "tool-soiling"];

section! {
    TypedEffect:
    /// The keys of an effect, each by itself.
    EffectKeys {
        /// What is changed.
        kind: Kind = Kind::Coverage, OneOf<Kind>(KINDS), required OneOf(KINDS).text();
        /// Stages at which it works; none: at all.
        stages: Vec<String> = Vec::new(), Words;
        /// Sites at which it works; none: at all.
        sites: Vec<String> = Vec::new(), Words;
        /// What one unit that does nothing else serves in a year: looks, cleanings, or end faces on their way; its year is
        /// shared among the effects of its proposal; left out: any number.
        capacity: Option<f64> = None, Capacity;
        /// What it works through, in a word of one's own: of effects that have the same the strongest counts; left out: the
        /// same only where all that is stated is the same.
        means: Option<String> = None, TextIfAny("a word of one's own");
        /// Share of matings with both ends seen that it leads to, or of end faces looked at.
        coverage: Option<Stated> = None, Believed(0.0, 1.0);
        /// Name of an [[action]] whose own estimate takes the place of a stated range: of coverage, odds or times.
        as_action: Option<String> = None, TextIfAny("the name of an [[action]]");
        /// What it multiplies the odds of passing a cleaning cycle by.
        odds: Option<Stated> = None, Believed(0.01, 100.0);
        /// Method of cleaning that takes the place of another.
        method: Option<String> = None, TextIfAny("a method of the code list");
        /// The method whose place it takes; whose cleanings get quicker.
        instead_of: Option<String> = None, TextIfAny("a method of the code list");
        /// Minutes that a cleaning takes with it.
        minutes: Option<Stated> = None, Believed(0.0, MOST_MINUTES);
        /// Stage before the step at which less dirt enters.
        from: Option<String> = None, TextIfAny("a stage");
        /// Stage after that step, or the same.
        to: Option<String> = None, TextIfAny("a stage");
        /// What it multiplies the hazard of that step by.
        times: Option<Stated> = None, Believed(0.0, 10.0);
        /// Kinds of carrier that are replaced; none: all.
        kinds: Vec<String> = Vec::new(), CarrierKinds;
        /// Share of what those carriers pass on beyond others that goes; left out: all of it.
        share: Option<Stated> = None, Believed(0.0, 1.0);
    }
}

/// One change that a proposal makes.
#[derive(Clone, Debug, PartialEq)]
pub struct Effect {
    /// What is changed.
    pub kind: EffectKind,
    /// Only at these stages; empty: at all.
    pub stages: Vec<String>,
    /// Only at these sites; empty: at all.
    pub sites: Vec<String>,
    /// What one unit that does nothing else serves in a year: looks, cleanings, or end faces on their way; none: any
    /// number.
    pub capacity: Option<f64>,
    /// What it works through; none: the same as another's only where all that is stated is the same.
    pub means: Option<String>,
    /// The action whose estimate is what it changes; the number of the kind only stands in for it.
    pub as_action: Option<String>,
}

/// Kinds of change.
#[derive(Clone, Debug, PartialEq)]
pub enum EffectKind {
    /// The share of matings of known coverage with both ends seen is raised to this.
    Coverage(Stated),
    /// At stages that now skip looks this share is looked at: before mating where ends are mated there, else on arrival.
    Inspection(Stated),
    /// Odds of passing a cycle are multiplied.
    Cleaning {
        /// The fleet's own contrast: a method, and the one it takes the place of.
        contrast: Option<(String, String)>,
        /// Where the fleet has no contrast.
        odds: Option<Stated>,
    },
    /// The hazard of dirt entering between two neighbouring stages is multiplied.
    Entry {
        /// The earlier stage.
        from: String,
        /// The later stage.
        to: String,
        /// What the hazard is multiplied by.
        times: Stated,
    },
    /// Minutes that a cleaning takes with it; of one method, or of all.
    Minutes {
        /// Minutes of one cleaning.
        minutes: Stated,
        /// The method of which it is true; none: of all.
        instead_of: Option<String>,
    },
    /// This share of the dirt that carriers pass on beyond that of others goes; of these kinds of
    /// carrier, or of all.
    Carriers {
        /// The share that goes, 0 to 1.
        share: Stated,
        /// Kinds of carrier, of [`CARRIER_KINDS`]; empty: all.
        kinds: Vec<String>,
    },
}

/// A part of the settings that is being read.
struct Reading<'r, 'p, 't> {
    typed: &'r TypedEffect,
    keys: EffectKeys,
    lists: &'r Lists<'r>,
    place: &'r Place,
    problems: &'p mut Problems<'t>,
}

/// The effect; none where it says too little to stand for anything.
pub fn effect(
    typed: &TypedEffect,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Option<Effect> {
    let keys = EffectKeys::read(typed, place, problems);
    let word = typed.kind.as_deref()?;
    let kind = keys.kind;
    if !KINDS.contains(&(word, kind)) {
        return None;
    }
    let mut reading = Reading { typed, keys, lists, place, problems };
    reading.foreign(word, kind);
    let of_kind = reading.kind(kind);
    reading.known("stages", "stage", &reading.keys.stages.clone());
    reading.known("sites", "site", &reading.keys.sites.clone());
    if kind == Kind::Inspection && reading.keys.stages.is_empty() {
        reading.missing::<()>("stages", "the stages at which end faces are to be looked at");
    }
    let EffectKeys { stages, sites, capacity, means, as_action, .. } = reading.keys;
    Some(Effect { kind: of_kind?, stages, sites, capacity, means, as_action })
}

impl Reading<'_, '_, '_> {
    fn kind(&mut self, kind: Kind) -> Option<EffectKind> {
        match kind {
            Kind::Coverage => {
                let share = self.or_as_action(self.keys.coverage, "coverage");
                share.map(EffectKind::Coverage).or_else(|| {
                    self.missing(
                        "coverage",
                        "the share of matings with both ends seen that it leads to",
                    )
                })
            }
            Kind::Inspection => {
                let share = self.keys.coverage;
                Some(EffectKind::Inspection(share.unwrap_or(Stated::known(1.0))))
            }
            Kind::Cleaning => self.cleaning(),
            Kind::Entry => self.entry(),
            Kind::Minutes => {
                let instead_of = self.method(self.keys.instead_of.clone(), "instead_of");
                let minutes = self.keys.minutes.or_else(|| {
                    self.missing("minutes", "the minutes that a cleaning takes with it")
                })?;
                Some(EffectKind::Minutes { minutes, instead_of })
            }
            Kind::Carriers => {
                let share = self.keys.share.unwrap_or(Stated::known(1.0));
                Some(EffectKind::Carriers { share, kinds: self.keys.kinds.clone() })
            }
        }
    }

    fn cleaning(&mut self) -> Option<EffectKind> {
        let odds = self.or_as_action(self.keys.odds, "odds");
        let method = self.method(self.keys.method.clone(), "method");
        let instead_of = self.method(self.keys.instead_of.clone(), "instead_of");
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
        let times = self.or_as_action(self.keys.times, "times");
        let times =
            times.or_else(|| self.missing("times", "what it multiplies the hazard of the step by"));
        let from = self.stage(self.keys.from.clone(), "from");
        let to = self.stage(self.keys.to.clone(), "to");
        let (from, to, times) = (from?, to?, times?);
        let order = &self.lists.stages.order;
        let place = |stage: &String| order.iter().position(|other| other == stage);
        if let (Some(a), Some(b)) = (place(&from), place(&to)) {
            // A step between neighbours, or a stage repeated.
            if b != a + 1 && b != a {
                let wanted = "expected the stage after `from`, or `from` itself";
                self.problems.add(&self.place.key("to"), format!("found {to:?}, {wanted}"));
            }
        }
        Some(EffectKind::Entry { from, to, times })
    }

    /// What was stated; where an action's estimate is to be taken, a number that stands in for it.
    fn or_as_action(&mut self, stated: Option<Stated>, key: &str) -> Option<Stated> {
        if self.keys.as_action.is_none() {
            return stated;
        }
        if stated.is_some() {
            let found = "found beside `as_action`, whose estimate takes its place; remove one";
            self.problems.add(&self.place.key(key), found.to_owned());
        }
        Some(Stated::known(1.0))
    }

    /// Notes that a key is missing; never anything else.
    fn missing<T>(&mut self, key: &str, wanted: &str) -> Option<T> {
        self.problems.add(&self.place.key(key), format!("missing; expected {wanted}"));
        None
    }

    fn stage(&mut self, word: Option<String>, key: &str) -> Option<String> {
        let Some(word) = word else {
            return self.missing(key, "a stage");
        };
        let known: Vec<&str> = self.lists.stages.order.iter().map(String::as_str).collect();
        words::one_of(&word, &known, &self.place.key(key), self.problems);
        Some(word)
    }

    fn method(&mut self, word: Option<String>, key: &str) -> Option<String> {
        let word = word?;
        match self.lists.allowed("method") {
            Some(known) => words::one_of(&word, &known, &self.place.key(key), self.problems),
            None => words::word(&word, &self.place.key(key), self.problems),
        }
        Some(word)
    }

    /// Notes words of a list that the column does not have.
    fn known(&mut self, key: &str, column: &str, words: &[String]) {
        let place = self.place.key(key);
        if let Some(known) = self.lists.allowed(column) {
            for (index, word) in words.iter().enumerate() {
                words::one_of(word, &known, &place.index(index), self.problems);
            }
        }
    }

    /// Notes keys that the kind, written `word`, does not read.
    fn foreign(&mut self, word: &str, kind: Kind) {
        use Kind::{Carriers, Cleaning, Coverage, Entry, Inspection, Minutes};
        let typed = self.typed;
        let given = [
            ("coverage", typed.coverage.is_some(), &[Coverage, Inspection][..]),
            ("as_action", typed.as_action.is_some(), &[Coverage, Cleaning, Entry]),
            ("odds", typed.odds.is_some(), &[Cleaning]),
            ("method", typed.method.is_some(), &[Cleaning]),
            ("instead_of", typed.instead_of.is_some(), &[Cleaning, Minutes]),
            ("minutes", typed.minutes.is_some(), &[Minutes]),
            ("from", typed.from.is_some(), &[Entry]),
            ("to", typed.to.is_some(), &[Entry]),
            ("times", typed.times.is_some(), &[Entry]),
            ("kinds", typed.kinds.is_some(), &[Carriers]),
            ("share", typed.share.is_some(), &[Carriers]),
            ("means", typed.means.is_some(), &[Cleaning, Minutes, Entry]),
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

/// What a unit serves in a year, or nothing where the key is left out.
pub struct Capacity;

impl Range for Capacity {
    type Typed = f64;
    type Value = Option<f64>;

    fn read(&self, typed: &f64, place: &Place, problems: &mut Problems) -> Option<f64> {
        if !(0.0..=MOST_SERVED).contains(typed) {
            problems.add(place, format!("found {typed}, expected {}", self.text()));
        }
        Some(typed.clamp(0.0, MOST_SERVED))
    }

    fn text(&self) -> String {
        format!("what a unit serves in a year, from 0 to {MOST_SERVED}")
    }

    fn written(&self, value: &Option<f64>) -> String {
        value.map(|capacity| format!("{capacity:?}")).unwrap_or_default()
    }
}

/// Kinds of carrier, each once.
pub struct CarrierKinds;

impl Range for CarrierKinds {
    type Typed = Vec<String>;
    type Value = Vec<String>;

    fn read(&self, typed: &Vec<String>, place: &Place, problems: &mut Problems) -> Vec<String> {
        words::list(typed, place, problems);
        for (index, kind) in typed.iter().enumerate() {
            words::one_of(kind, &CARRIER_KINDS, &place.index(index), problems);
        }
        typed.clone()
    }

    fn text(&self) -> String {
        format!("any of {}", CARRIER_KINDS.join(", "))
    }

    fn written(&self, value: &Vec<String>) -> String {
        format!("{value:?}")
    }
}
