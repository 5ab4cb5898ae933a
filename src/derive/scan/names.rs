//! Words behind the small numbers that events and count tables carry.

use std::collections::BTreeSet;
use std::sync::Mutex;

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use crate::derive::DeriveError;
use crate::derive::share::states::State;
use crate::records::UNKNOWN;
use crate::settings::Plan;

/// One list of words; code 0 is always "unknown".
#[derive(Clone, Debug)]
pub struct Names {
    words: Vec<String>,
    codes: FxHashMap<String, u32>,
}

impl Names {
    /// A list that begins with these words, so that they come first and in this order.
    pub fn beginning_with<S: AsRef<str>>(words: &[S]) -> Names {
        let mut names = Names { words: Vec::new(), codes: FxHashMap::default() };
        names.code(UNKNOWN);
        for word in words {
            names.code(word.as_ref());
        }
        names
    }

    /// The code of a word, new if it was not there.
    pub fn code(&mut self, word: &str) -> u32 {
        if let Some(code) = self.codes.get(word) {
            return *code;
        }
        let code = self.words.len() as u32;
        self.words.push(word.to_owned());
        self.codes.insert(word.to_owned(), code);
        code
    }

    /// The code of a word that is there.
    pub fn find(&self, word: &str) -> Option<u32> {
        self.codes.get(word).copied()
    }

    /// The word of a code; a code that was never given reads "unknown".
    pub fn word(&self, code: u32) -> &str {
        self.words.get(code as usize).map_or(UNKNOWN, String::as_str)
    }

    /// How many codes there are, "unknown" included.
    pub fn len(&self) -> usize {
        self.words.len()
    }

    /// Never true: "unknown" is always there.
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// Every word by its code.
    pub fn words(&self) -> &[String] {
        &self.words
    }

    /// For every code its place in the order readers expect: the words given at the start in
    /// their order, then the rest by name, "unknown" last. Codes depend on the order in which
    /// threads met the words; places do not.
    pub fn places(&self, given: usize) -> Vec<u32> {
        let mut order: Vec<u32> = (1..self.words.len() as u32).collect();
        let (_, rest) = order.split_at_mut(given.min(self.words.len() - 1));
        rest.sort_by(|a, b| self.word(*a).cmp(self.word(*b)));
        order.push(0);
        let mut places = vec![0; order.len()];
        for (place, code) in order.into_iter().enumerate() {
            places[code as usize] = place as u32;
        }
        places
    }
}

/// A closed list as readers see it: its words in the order of display, and the place of every code.
#[derive(Clone, Debug)]
pub struct Listing {
    /// In the order of display.
    pub words: Vec<String>,
    /// By code.
    pub places: Vec<u32>,
}

impl Listing {
    /// Of a list of the glossary, with the number of words it was given at the start.
    pub fn of((names, given): &(Names, usize)) -> Listing {
        let places = names.places(*given);
        let mut words = vec![String::new(); names.len()];
        for (code, place) in places.iter().enumerate() {
            words[*place as usize] = names.word(code as u32).to_owned();
        }
        Listing { words, places }
    }

    /// The place of a code; that of "unknown" for a code that was never given.
    pub fn place(&self, code: u32) -> u32 {
        self.places.get(code as usize).copied().unwrap_or(self.places[0])
    }

    /// The place of a word; none where the list has no such word.
    pub fn place_of(&self, word: &str) -> Option<u32> {
        self.words.iter().position(|known| known == word).map(|place| place as u32)
    }
}

/// The lists of one fleet, filled while records are read by several threads.
pub struct Lists {
    /// Sites.
    pub site: Mutex<Names>,
    /// Stages of the work.
    pub stage: Mutex<Names>,
    /// Connector families.
    pub family: Mutex<Names>,
    /// Suppliers of end faces.
    pub supplier: Mutex<Names>,
    /// Cleaning methods.
    pub method: Mutex<Names>,
    /// Instruments and tools.
    pub device: Mutex<Names>,
    /// Pseudonyms of who made matings.
    pub operator: Mutex<Names>,
    /// Criteria of looks.
    pub criteria: Mutex<Names>,
    /// Cause codes of faults.
    pub cause: Mutex<Names>,
    /// Sources of faults.
    pub source: Mutex<Names>,
}

/// Method of a cycle whose cleanings were not all of one method (V2); criteria of a mating whose ends were judged by
/// different ones (5.10).
pub const MIXED: &str = "mixed";

impl Lists {
    /// Lists that begin with what the settings name.
    pub fn of(plan: &Plan) -> Lists {
        let list = |words: &[String]| Mutex::new(Names::beginning_with(words));
        let mut methods = plan.codes.method.clone();
        methods.push(MIXED.to_owned());
        let mut criteria = plan.codes.criteria.clone();
        criteria.push(MIXED.to_owned());
        Lists {
            site: list(&plan.fleet.sites),
            stage: list(&plan.stages.order),
            family: list(&plan.codes.family),
            supplier: list(&[]),
            method: list(&methods),
            device: list(&[]),
            operator: list(&[]),
            criteria: list(&criteria),
            cause: list(&plan.codes.cause),
            source: list(&[]),
        }
    }
}

impl Lists {
    fn all(&self) -> [&Mutex<Names>; 10] {
        let Lists {
            site,
            stage,
            family,
            supplier,
            method,
            device,
            operator,
            criteria,
            cause,
            source,
        } = self;
        [site, stage, family, supplier, method, device, operator, criteria, cause, source]
    }

    /// The words of every list, those that the settings name too.
    ///
    /// # Errors
    /// A thread that ended early.
    pub fn words(&self) -> Result<MetWords, DeriveError> {
        let words = |names: &Mutex<Names>| {
            let names = names.lock().map_err(|_| DeriveError::Thread)?;
            Ok(names.words().iter().cloned().collect())
        };
        self.all().into_iter().map(words).collect::<Result<_, DeriveError>>().map(MetWords)
    }

    /// Adds words in the order of letters, so that whoever begins with the same settings and words has the same codes.
    ///
    /// # Errors
    /// A thread that ended early.
    pub fn add(&self, met: &MetWords) -> Result<(), DeriveError> {
        for (names, words) in self.all().into_iter().zip(&met.0) {
            let mut names = names.lock().map_err(|_| DeriveError::Thread)?;
            for word in words {
                names.code(word);
            }
        }
        Ok(())
    }
}

/// The words of every list, as some records have them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MetWords(Vec<BTreeSet<String>>);

impl State for MetWords {
    fn merge(mut self, other: MetWords) -> MetWords {
        self.0.resize_with(self.0.len().max(other.0.len()), BTreeSet::new);
        self.0.iter_mut().zip(other.0).for_each(|(own, more)| own.extend(more));
        self
    }
}

/// The finished lists, with the number of words that the settings gave.
#[derive(Clone, Debug)]
pub struct Glossary {
    /// Sites.
    pub site: (Names, usize),
    /// Stages of the work.
    pub stage: (Names, usize),
    /// Connector families.
    pub family: (Names, usize),
    /// Suppliers of end faces.
    pub supplier: (Names, usize),
    /// Cleaning methods.
    pub method: (Names, usize),
    /// Instruments and tools.
    pub device: (Names, usize),
    /// Pseudonyms of who made matings.
    pub operator: (Names, usize),
    /// Criteria of looks.
    pub criteria: (Names, usize),
    /// Cause codes of faults.
    pub cause: (Names, usize),
    /// Sources of faults.
    pub source: (Names, usize),
}

impl Glossary {
    /// Closes the lists.
    pub fn close(lists: Lists, plan: &Plan) -> Glossary {
        let open = |names: Mutex<Names>| match names.into_inner() {
            Ok(names) => names,
            // A thread that panicked while it held the lock left a complete list: every change
            // is a single push.
            Err(poisoned) => poisoned.into_inner(),
        };
        Glossary {
            site: (open(lists.site), plan.fleet.sites.len()),
            stage: (open(lists.stage), plan.stages.order.len()),
            family: (open(lists.family), plan.codes.family.len()),
            supplier: (open(lists.supplier), 0),
            method: (open(lists.method), plan.codes.method.len() + 1),
            device: (open(lists.device), 0),
            operator: (open(lists.operator), 0),
            criteria: (open(lists.criteria), plan.codes.criteria.len() + 1),
            cause: (open(lists.cause), plan.codes.cause.len()),
            source: (open(lists.source), 0),
        }
    }
}
