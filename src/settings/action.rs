//! `[[action]]`: what was done, where, from when on, and what it should move.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;

use chrono::NaiveDate;
use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, Error, MapAccess, Visitor};

use super::day::Day;
use super::lists::Lists;
use super::place::Place;
use super::problems::Problems;
use super::proposal::{EffectKind, Proposal};
use super::ranges::{Later, Money, Name, TextIfAny, Words};
use super::section::{Range, section};
use super::words;

/// What an action should move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Target {
    /// Share of first looks that pass.
    FirstPass,
    /// Share of first cleaning cycles that pass.
    PassedFirstCycle,
    /// Share of matings made with an end unseen.
    Skipped,
    /// First faults linked to contamination, for the time at risk.
    LinkedFaults,
}

impl Target {
    /// Every target with its word.
    pub const ALL: [(&'static str, Target); 4] = [
        ("first-pass", Target::FirstPass),
        ("passed-first-cycle", Target::PassedFirstCycle),
        ("skipped", Target::Skipped),
        ("linked-faults", Target::LinkedFaults),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(_, other)| *other == self).map_or("", |(word, _)| word)
    }
}

/// From when on an action worked.
#[derive(Clone, Debug, PartialEq)]
pub enum ActionFrom {
    /// At all its sites from one day on; no sites: at all of the fleet.
    Everywhere(NaiveDate, Vec<String>),
    /// At each of these sites from a day of its own on.
    BySite(BTreeMap<String, NaiveDate>),
}

impl ActionFrom {
    /// The day on which it began at a site; none where it did not.
    pub fn at(&self, site: &str) -> Option<NaiveDate> {
        match self {
            ActionFrom::Everywhere(day, sites) => {
                (sites.is_empty() || sites.iter().any(|other| other == site)).then_some(*day)
            }
            ActionFrom::BySite(days) => days.get(site).copied(),
        }
    }
}

section! {
    TypedAction:
    /// Something that was done. Money in minor units of the fleet's currency.
    Action {
        /// Unique name, as printed.
        name: String = String::new(), Name, required "a name";
        /// The day from which on it worked; or a table with a day for each site.
        from: Option<ActionFrom> = None, Later<TypedFrom, Option<ActionFrom>>(A_DAY_OR_SITES, PhantomData), required A_DAY_OR_SITES;
        /// Sites at which it was done, where `from` is one day; none: at all.
        sites: Vec<String> = Vec::new(), Words;
        /// Stages at which it should show; none: at all.
        stages: Vec<String> = Vec::new(), Words;
        /// Families at which it should show; none: at all.
        families: Vec<String> = Vec::new(), Words;
        /// What it should move: first-pass, passed-first-cycle, skipped, linked-faults; one or several.
        moves: Vec<Target> = Vec::new(), Targets, required Targets.text();
        /// What it has cost so far.
        cost: i64 = 0, Money;
        /// Name of the proposal that it carried out.
        proposal: Option<String> = None, TextIfAny("the name of a [[proposal]]");
    }
}

/// What `from` may be, in the words of messages.
const A_DAY_OR_SITES: &str =
    "a day such as \"2026-07-05\", or a table of such days by site, as { North = \"2026-07-05\" }";

/// `from` as typed.
#[derive(Debug)]
pub enum TypedFrom {
    /// One day.
    One(Day),
    /// A day a site.
    BySite(BTreeMap<String, Day>),
}

impl<'de> Deserialize<'de> for TypedFrom {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct DayOrSites;
        impl<'de> Visitor<'de> for DayOrSites {
            type Value = TypedFrom;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str(A_DAY_OR_SITES)
            }

            fn visit_str<E: Error>(self, text: &str) -> Result<TypedFrom, E> {
                Ok(TypedFrom::One(Day(text.to_owned())))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<TypedFrom, A::Error> {
                let mut days: BTreeMap<String, Day> =
                    BTreeMap::deserialize(MapAccessDeserializer::new(map))?;
                // The TOML crate hands a date over as a map with one key of its own.
                let own = days.keys().find(|key| key.starts_with("$__toml")).cloned();
                let date = own.and_then(|key| days.remove(&key));
                Ok(date.map_or(TypedFrom::BySite(days), TypedFrom::One))
            }
        }
        deserializer.deserialize_any(DayOrSites)
    }
}

/// One or several targets, each once.
pub struct Targets;

impl Range for Targets {
    type Typed = Vec<String>;
    type Value = Vec<Target>;

    fn read(&self, typed: &Vec<String>, place: &Place, problems: &mut Problems) -> Vec<Target> {
        words::list(typed, place, problems);
        if typed.is_empty() {
            problems.add(place, format!("found none, expected {}", self.text()));
        }
        let target = |(index, word): (usize, &String)| {
            words::choice(word, &Target::ALL, &place.index(index), problems)
        };
        typed.iter().enumerate().filter_map(target).collect()
    }

    fn text(&self) -> String {
        let words: Vec<&str> = Target::ALL.iter().map(|(word, _)| *word).collect();
        format!("one or several of {}", words.join(", "))
    }

    fn written(&self, value: &Vec<Target>) -> String {
        let words: Vec<&str> = value.iter().map(|target| target.word()).collect();
        format!("{words:?}")
    }
}

/// The actions, in the order of the settings.
pub(in crate::settings) fn actions(
    typed: Option<&[TypedAction]>,
    lists: &Lists,
    proposals: &[Proposal],
    problems: &mut Problems,
) -> Vec<Action> {
    let list = Place::default().key("action");
    let mut actions: Vec<Action> = Vec::new();
    for (index, typed) in typed.unwrap_or_default().iter().enumerate() {
        let place = list.index(index);
        let action = action(typed, lists, &place, problems);
        if actions.iter().any(|other| other.name == action.name && !other.name.is_empty()) {
            let found = format!("found {:?} a second time; name it otherwise", action.name);
            problems.add(&place.key("name"), found);
        }
        let known: Vec<&str> = proposals.iter().map(|proposal| proposal.name.as_str()).collect();
        if let Some(proposal) = &action.proposal {
            words::one_of(proposal, &known, &place.key("proposal"), problems);
        }
        actions.push(action);
    }
    actions
}

/// Notes effects of proposals that go by an action that there is not, or by one that moves something else.
pub(in crate::settings) fn check_effects(
    proposals: &[Proposal],
    actions: &[Action],
    problems: &mut Problems,
) {
    let names: Vec<&str> = actions.iter().map(|action| action.name.as_str()).collect();
    for (at, proposal) in proposals.iter().enumerate() {
        for (number, effect) in proposal.effects.iter().enumerate() {
            let (Some(name), Some(needed)) = (&effect.as_action, needed(&effect.kind)) else {
                continue;
            };
            let place = Place::default().key("proposal").index(at).key("effect").index(number);
            let here = place.key("as_action");
            words::one_of(name, &names, &here, problems);
            let found = actions.iter().find(|action| action.name == *name);
            if found.is_some_and(|action| !action.moves.contains(&needed)) {
                let wanted = format!("expected an action that moves {}", needed.word());
                problems.add(&here, format!("found {name:?}, {wanted}"));
            }
        }
    }
}

/// What an action must move to stand for an effect of a kind.
fn needed(kind: &EffectKind) -> Option<Target> {
    match kind {
        EffectKind::Coverage(_) => Some(Target::Skipped),
        EffectKind::Cleaning { .. } => Some(Target::PassedFirstCycle),
        EffectKind::Entry { .. } => Some(Target::FirstPass),
        EffectKind::Inspection(_) | EffectKind::Minutes { .. } | EffectKind::Carriers { .. } => {
            None
        }
    }
}

fn action(typed: &TypedAction, lists: &Lists, place: &Place, problems: &mut Problems) -> Action {
    let action = Action::read(typed, place, problems);
    let mut known = |key: &str, column: &str, found: &[String]| {
        let Some(known) = lists.allowed(column) else { return };
        for (index, word) in found.iter().enumerate() {
            words::one_of(word, &known, &place.key(key).index(index), problems);
        }
    };
    known("sites", "site", &action.sites);
    known("stages", "stage", &action.stages);
    known("families", "family", &action.families);
    let here = place.key("from");
    let from = match &typed.from {
        None => None,
        Some(TypedFrom::One(day)) => words::day(day, &here, problems)
            .map(|day| ActionFrom::Everywhere(day, action.sites.clone())),
        Some(TypedFrom::BySite(days)) => {
            if typed.sites.is_some() {
                let why = "`from` names the sites by itself; remove one of the two";
                problems.add(&place.key("sites"), format!("found beside a table of days: {why}"));
            }
            if days.is_empty() {
                problems.add(&here, format!("found no site, expected {A_DAY_OR_SITES}"));
            }
            Some(ActionFrom::BySite(by_site(days, lists, &here, problems)))
        }
    };
    Action { from, ..action }
}

fn by_site(
    days: &BTreeMap<String, Day>,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> BTreeMap<String, NaiveDate> {
    let known = lists.allowed("site");
    let mut found = BTreeMap::new();
    for (site, day) in days {
        let here = place.key(site);
        if let Some(known) = &known {
            words::one_of(site, known, &here, problems);
        }
        if let Some(day) = words::day(day, &here, problems) {
            found.insert(site.clone(), day);
        }
    }
    found
}
