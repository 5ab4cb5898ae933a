//! Places of sites, stages, families and criteria in the order of display. Follow-up is put in their order,
//! not in that of the codes: sums of times depend on their order, and codes on which thread met a word first.

use std::collections::BTreeMap;

use super::declared::By;
use crate::derive::counts::{Criteria, Family, Site, Stage};
use crate::derive::{Glossary, Names};
use crate::measures::draw_name::draw_name;
use crate::measures::results::Group;

/// Places of a site, a stage and a family in the order of display.
pub type Place = [u32; 3];

/// Places of the site, the stage and the family that a group names; none for what it does not name.
pub type Key = [Option<u32>; 3];

/// The key of a place under a grouping.
pub fn key(place: Place, by: By) -> Key {
    key_of(place, by.parts())
}

/// The key of a place by these of site, stage and family.
pub fn key_of(place: Place, parts: [bool; 3]) -> Key {
    [0, 1, 2].map(|at| parts[at].then_some(place[at]))
}

/// The keys of a place under every grouping that has ratios.
pub fn keys(place: Place) -> [Key; 6] {
    By::PLACES.map(|by| key(place, by))
}

/// Something of every group of a grouping. Lines come in the order of display, so that often the next is of the same group,
/// which is not looked up again.
pub struct ByKey<T> {
    of: Vec<(Key, T)>,
    places: BTreeMap<Key, usize>,
    last: usize,
}

impl<T> Default for ByKey<T> {
    fn default() -> Self {
        ByKey { of: Vec::new(), places: BTreeMap::new(), last: 0 }
    }
}

impl<T: Default> ByKey<T> {
    /// What is of this group; nothing yet where nobody asked for it before.
    pub fn at(&mut self, key: Key) -> &mut T {
        if self.of.get(self.last).is_none_or(|(own, _)| *own != key) {
            self.last = *self.places.entry(key).or_insert(self.of.len());
            if self.last == self.of.len() {
                self.of.push((key, T::default()));
            }
        }
        &mut self.of[self.last].1
    }

    /// All of them, as they were first asked for.
    pub fn all(self) -> impl Iterator<Item = (Key, T)> {
        self.of.into_iter()
    }
}

/// Places of the words of one fleet.
pub struct Places {
    site: Words,
    stage: Words,
    family: Words,
    criteria: Words,
}

impl Places {
    /// Of the words of the records.
    pub fn of(glossary: &Glossary) -> Places {
        Places {
            site: Words::of(&glossary.site),
            stage: Words::of(&glossary.stage),
            family: Words::of(&glossary.family),
            criteria: Words::of(&glossary.criteria),
        }
    }

    /// Of the codes of a cell.
    pub fn place(&self, site: Site, stage: Stage, family: Family) -> Place {
        [self.site.place(site.0), self.stage.place(stage.0), self.family.place(family.0)]
    }

    /// Of the code of criteria.
    pub fn criteria(&self, criteria: Criteria) -> u32 {
        self.criteria.place(criteria.0)
    }

    /// Of the words of a group. A word that no record has is at a place where nothing is.
    pub fn key(&self, group: &Group) -> Key {
        [
            group.site.as_ref().map(|word| self.site.find(word)),
            group.stage.as_ref().map(|word| self.stage.find(word)),
            group.family.as_ref().map(|word| self.family.find(word)),
        ]
    }

    /// What stands for a key in a draw, by its words.
    pub fn drawn_as(&self, [site, stage, family]: Key) -> u64 {
        let word =
            |words: &Words, place: Option<u32>| place.map(|place| words.word(place).to_owned());
        let words = (word(&self.site, site), word(&self.stage, stage), word(&self.family, family));
        draw_name(&format!("{words:?}"))
    }

    /// The name of the site at this place of display.
    pub fn site(&self, place: u32) -> &str {
        self.site.word(place)
    }

    /// The names of the sites, by their places.
    pub fn sites(&self) -> impl Iterator<Item = &str> {
        (0..self.site.codes.len() as u32).map(|place| self.site.word(place))
    }

    /// The name of the stage at this place of display.
    pub fn stage(&self, place: u32) -> &str {
        self.stage.word(place)
    }

    /// The name of the family at this place of display.
    pub fn family(&self, place: u32) -> &str {
        self.family.word(place)
    }
}

/// A place where nothing is.
const NOWHERE: u32 = u32::MAX;

/// Places of one list of words.
struct Words {
    names: Names,
    /// By code.
    places: Vec<u32>,
    /// By place.
    codes: Vec<u32>,
}

impl Words {
    fn of((names, given): &(Names, usize)) -> Words {
        let places = names.places(*given);
        let mut codes = vec![0; places.len()];
        for (code, place) in (0..).zip(&places) {
            codes[*place as usize] = code;
        }
        Words { names: names.clone(), places, codes }
    }

    fn place(&self, code: u32) -> u32 {
        self.places.get(code as usize).copied().unwrap_or(NOWHERE)
    }

    fn find(&self, word: &str) -> u32 {
        self.names.find(word).map_or(NOWHERE, |code| self.place(code))
    }

    fn word(&self, place: u32) -> &str {
        self.codes.get(place as usize).map_or("", |code| self.names.word(*code))
    }
}
