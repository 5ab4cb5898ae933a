//! Where people's names stand although no column of people is there: the second half of promise 7.
//!
//! A row shifted by one cell carries a name into a column of instruments. Who the people of an export
//! are is known when all of it has been read, so the first reading keeps two things that take no
//! memory to speak of: a hash of each text in people's cells, and, of each other text that would be
//! kept, a mark by its length and three of its bytes. Only if a text in a people's cell has such a
//! mark is the export read again: once to count where those texts stand, and, should one of them be a
//! name, once more knowing it.
//!
//! A text is a name where typed rows have it in people's cells at least as often as elsewhere: an
//! instrument that a shifted row carries into the inspector's cell does not take the instrument's rows
//! away. A row with a name in another cell is rejected. In what is shown of rejected rows every text is
//! masked that any row has in a people's cell. No name is: a text without a letter or of a single
//! character, and every word that the settings name themselves (code lists, stages, sites, values,
//! constants, conditions, words for "not given").

use std::collections::hash_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use rustc_hash::{FxHashMap, FxHashSet};
use serde::{Deserialize, Serialize};
use xxhash_rust::xxh3::xxh3_64;

use crate::intake::columns::short_words::{Packed, ShortWords};
use crate::records::{Table, columns};
use crate::settings::{Plan, RecordMap, Source, Test};

/// What stands for a person's name in messages and raw text.
pub const MASK: &str = "***";

/// Most different texts that people's cells of one export may hold.
pub const MOST_NAMES: usize = 1 << 19;

/// What a reading of an export is for.
#[derive(Clone, Copy, Debug, Default)]
pub enum Pass<'a> {
    /// Reads it and finds out whether names may stand where none should.
    #[default]
    First,
    /// Counts where these texts stand; hands nothing to the sink.
    Tally(&'a Suspects),
    /// Reads it knowing its names.
    Last(&'a Names),
}

/// How many typed rows have a text in people's cells, and how many in others.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Places {
    people: u64,
    elsewhere: u64,
}

/// Texts of people's cells that may stand elsewhere too, by hash.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Suspects(FxHashMap<u64, Places>);

impl Suspects {
    /// Whether there is nothing to look into.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// What first readings of parts of an export met: whether it must be read again is told by all of them together.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct Met {
    /// Texts of people's cells by hash, with their marks.
    texts: FxHashMap<u64, u32>,
    /// Marks of other texts, by page.
    marks: BTreeMap<u32, Vec<u64>>,
}

impl Met {
    /// Adds what another part met.
    pub fn add(&mut self, other: Met) {
        self.texts.extend(other.texts);
        for (place, page) in other.marks {
            let own = self.marks.entry(place).or_insert_with(|| vec![0; PAGE_WORDS]);
            own.iter_mut().zip(page).for_each(|(word, more)| *word |= more);
        }
    }

    /// Whether one reading of the whole would have been the last one: no text of a people's cell may stand elsewhere, and
    /// there are not too many of them.
    pub fn is_enough(&self) -> bool {
        let has = |mark: &u32| {
            let page = self.marks.get(&(mark >> PAGE_BITS));
            page.and_then(|page| page.get(Marks::word(*mark)))
                .is_some_and(|word| word >> (mark % u64::BITS) & 1 == 1)
        };
        self.texts.len() <= MOST_NAMES && !self.texts.values().any(has)
    }
}

/// The names of an export, by hash.
#[derive(Clone, Debug, Default)]
pub struct Names {
    /// Texts that any row has in a people's cell.
    hidden: FxHashSet<u64>,
    /// Those of them that are names wherever they stand.
    refused: FxHashSet<u64>,
}

impl Names {
    /// Judges texts that were counted.
    pub fn of(counted: &Suspects) -> Self {
        let is_name = |places: &Places| places.people >= places.elsewhere.max(1);
        let refused = counted.0.iter().filter(|(_, places)| is_name(places));
        Self {
            hidden: counted.0.keys().copied().collect(),
            refused: refused.map(|(hash, _)| *hash).collect(),
        }
    }
}

/// Reads an export as often as its names need: `read` is called once for nearly every export, at most
/// three times. Gives what the last reading that handed rows to a sink came to.
///
/// # Errors
/// The first of `read`.
pub fn read_knowing_names<C, E>(
    mut read: impl FnMut(Pass) -> Result<C, E>,
    suspects: impl Fn(&C) -> &Suspects,
) -> Result<C, E> {
    let first = read(Pass::First)?;
    if suspects(&first).is_empty() {
        return Ok(first);
    }
    let counted = read(Pass::Tally(suspects(&first)))?;
    read(Pass::Last(&Names::of(suspects(&counted))))
}

/// Looks at every text of people's cells and at every other one that would be kept.
#[derive(Debug)]
pub struct Watch<'a> {
    no_names: NoNames<'a>,
    /// Texts of people's cells by hash, with their marks.
    met: FxHashMap<u64, u32>,
    /// The short ones met last.
    recent: ShortWords,
    /// Marks of other texts.
    marks: Marks,
    pass: Pass<'a>,
    counted: Suspects,
    /// Whether any column holds people: without one there is nothing to look for.
    any: bool,
}

impl<'a> Watch<'a> {
    /// Watches one reading of an export with columns of people (`any`) or without.
    pub fn new(plan: &'a Plan, source: &'a Source, pass: Pass<'a>, any: bool) -> Self {
        let counted = match pass {
            Pass::Tally(suspects) => {
                Suspects(suspects.0.keys().map(|hash| (*hash, Places::default())).collect())
            }
            Pass::First | Pass::Last(_) => Suspects::default(),
        };
        let no_names = NoNames { plan, source, met: FxHashSet::default() };
        let (met, marks) = (FxHashMap::default(), Marks::new(any));
        Self { no_names, met, recent: ShortWords::new(), marks, pass, counted, any }
    }

    /// Whether rows are only counted.
    pub fn only_counts(&self) -> bool {
        matches!(self.pass, Pass::Tally(_))
    }

    /// Takes note of a trimmed text in a people's cell.
    pub fn person(&mut self, text: &str) {
        if !matches!(self.pass, Pass::First) {
            return;
        }
        let packed = Packed::of(text);
        if packed.is_some_and(|packed| self.recent.get(packed).is_some()) {
            return;
        }
        if could_be_name(text)
            && let Entry::Vacant(new) = self.met.entry(hash(text))
            && !self.no_names.has(text)
        {
            new.insert(mark(text));
        }
        if let Some(packed) = packed {
            self.recent.put(packed, None);
        }
    }

    /// Takes note of a trimmed text that is kept in another cell. False if it must not be: it is a name.
    #[inline]
    pub fn admits(&mut self, text: &str) -> bool {
        if !self.any {
            return true;
        }
        match self.pass {
            Pass::First => self.marks.set(mark(text)),
            Pass::Tally(_) => {}
            Pass::Last(names) => return !names.refused.contains(&hash(text)),
        }
        true
    }

    /// Whether a trimmed text must be masked where a rejected row is shown; else takes note of it.
    pub fn hides(&mut self, text: &str) -> bool {
        if !self.any {
            return false;
        }
        match self.pass {
            Pass::First => {
                self.marks.set(mark(text));
                self.met.contains_key(&hash(text))
            }
            Pass::Tally(_) => false,
            Pass::Last(names) => names.hidden.contains(&hash(text)),
        }
    }

    /// Counts a text of a typed row, where texts are counted.
    pub fn count(&mut self, text: &str, in_people: bool) {
        if let Some(places) = self.counted.0.get_mut(&hash(text)) {
            *if in_people { &mut places.people } else { &mut places.elsewhere } += 1;
        }
    }

    /// Whether people's cells hold more different texts than people could have names.
    pub fn is_overfull(&self) -> bool {
        self.met.len() > MOST_NAMES
    }

    /// What the first reading of a part of an export met; nothing is left of it here.
    pub fn met(&mut self) -> Met {
        let pages = std::mem::replace(&mut self.marks, Marks::new(false)).0;
        let marks = (0..).zip(pages).filter_map(|(place, page)| Some((place, page?.to_vec())));
        Met { texts: std::mem::take(&mut self.met), marks: marks.collect() }
    }

    /// What the reading came to: texts to count, or the counts.
    pub fn finish(&mut self) -> Suspects {
        match self.pass {
            Pass::First => {
                let marks = &self.marks;
                let seen = self.met.iter().filter(|(_, mark)| marks.has(**mark));
                Suspects(seen.map(|(hash, _)| (*hash, Places::default())).collect())
            }
            Pass::Tally(_) => std::mem::take(&mut self.counted),
            Pass::Last(_) => Suspects::default(),
        }
    }
}

fn hash(text: &str) -> u64 {
    xxh3_64(text.as_bytes())
}

/// Whether a text could be a name at all: two characters or more, a letter among them.
fn could_be_name(text: &str) -> bool {
    text.chars().any(char::is_alphabetic) && text.chars().nth(1).is_some()
}

/// The words that the settings name for the rows of a source. They are looked through for each new text, since an export
/// has few people and a fleet may have many words.
#[derive(Debug)]
struct NoNames<'a> {
    plan: &'a Plan,
    source: &'a Source,
    /// Words met in people's cells, by hash.
    met: FxHashSet<u64>,
}

impl NoNames<'_> {
    fn has(&mut self, text: &str) -> bool {
        let hash = hash(text);
        self.met.contains(&hash) || (self.is_word(text) && self.met.insert(hash))
    }

    fn is_word(&self, text: &str) -> bool {
        let Self { plan, source, .. } = self;
        let is = |word: &String| word == text;
        let of_record = |record: &RecordMap| {
            let mut values = record.values.values().flatten();
            let tested = record.when.as_ref().is_some_and(|when| match &when.is {
                Test::OneOf(words) | Test::NoneOf(words) => words.iter().any(is),
                Test::Given => false,
            });
            tested
                || values.any(|(word, code)| is(word) || is(code))
                || record.constants.values().any(is)
        };
        let names: BTreeSet<&str> =
            Table::ALL.into_iter().flat_map(columns).map(|column| column.name).collect();
        let mut listed = names.into_iter().filter_map(|name| plan.allowed(name));
        ["yes", "no"].contains(&text)
            || source.site.as_ref().is_some_and(is)
            || source.dialect.nulls.iter().any(is)
            || source.records.iter().any(of_record)
            || listed.any(|words| words.contains(&text))
    }
}

/// Bits of a text's length and of each of three bytes that make its mark.
const LENGTH_BITS: u32 = 5;
const BYTE_BITS: u32 = 6;
const MARK_BITS: u32 = LENGTH_BITS + 3 * BYTE_BITS;

/// A text's length, at most 31, with the lower six bits of its first, middle and last byte. Identifiers
/// of one kind share all but a few of them, so a million take a few hundred marks, and names, which
/// end in letters, rarely one of those.
#[inline]
fn mark(text: &str) -> u32 {
    let bytes = text.as_bytes();
    let (Some(first), Some(last)) = (bytes.first(), bytes.last()) else { return 0 };
    let middle = bytes[bytes.len() / 2];
    let length = (bytes.len() as u32).min((1 << LENGTH_BITS) - 1);
    [*first, middle, *last]
        .iter()
        .fold(length, |mark, byte| mark << BYTE_BITS | u32::from(*byte) & ((1 << BYTE_BITS) - 1))
}

/// Marks of one page, bits and words.
const PAGE_BITS: u32 = 15;
const PAGE_WORDS: usize = 1 << (PAGE_BITS - u64::BITS.ilog2());

/// A set of marks: one bit each, 1 MiB in all, of which only the pages that have a mark are there. Nothing is held
/// where nobody's names are watched.
#[derive(Debug)]
struct Marks(Vec<Option<Box<[u64; PAGE_WORDS]>>>);

impl Marks {
    fn new(any: bool) -> Self {
        let pages = if any { 1 << (MARK_BITS - PAGE_BITS) } else { 0 };
        Self(std::iter::repeat_with(|| None).take(pages).collect())
    }

    #[inline]
    fn set(&mut self, mark: u32) {
        if let Some(page) = self.0.get_mut((mark >> PAGE_BITS) as usize) {
            let page = page.get_or_insert_with(|| Box::new([0; PAGE_WORDS]));
            page[Self::word(mark)] |= 1 << (mark % u64::BITS);
        }
    }

    fn has(&self, mark: u32) -> bool {
        let page = self.0.get((mark >> PAGE_BITS) as usize).and_then(Option::as_ref);
        page.is_some_and(|page| page[Self::word(mark)] >> (mark % u64::BITS) & 1 == 1)
    }

    fn word(mark: u32) -> usize {
        (mark / u64::BITS) as usize % PAGE_WORDS
    }
}
