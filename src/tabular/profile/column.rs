//! One column while its cells come in.

use std::collections::BTreeMap;
use std::hash::BuildHasher;

use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};

use super::amounts::AmountTally;
use super::clock;
use super::column_profile::{ColumnProfile, Guess};
use super::counted_time::{epoch, serial_doubt};
use super::date_fit::DateFit;
use super::date_tally::DateTally;
use super::day_month;
use super::flags::beside_pair;
use super::guess::{Known, guess};
use super::null_words::is_null_word;
use super::number_tally::NumberTally;
use super::sentence::{counted, cut, quoted_list};
use super::time_doubts;

/// Most different texts kept with their counts, and characters of each.
const MOST_WORDS: usize = 200;
const LONGEST_WORD: usize = 200;
/// Different texts are counted up to here.
const MOST_DISTINCT: usize = 100_000;
/// Most spellings of "not given" told apart; more are given texts.
const MOST_NULLS: usize = 20;
const MOST_EXAMPLES: usize = 5;
const LONGEST_EXAMPLE: usize = 80;
/// Most texts shown that are no numbers among numbers.
const MOST_MISFITS: usize = 3;

/// What is known of a column so far.
#[derive(Debug)]
pub struct Column {
    name: String,
    cells: usize,
    empty: usize,
    nulls: BTreeMap<String, usize>,
    examples: Vec<String>,
    /// None once too many differ.
    words: Option<FxHashMap<String, usize>>,
    /// Hashes of different texts: two texts of one 64-bit hash count as one.
    seen: FxHashSet<u64>,
    longest: usize,
    blanks: usize,
    numbers: NumberTally,
    amounts: AmountTally,
    no_numbers: Vec<String>,
    dates: DateTally,
}

impl Column {
    /// A column without cells.
    pub fn new(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            cells: 0,
            empty: 0,
            nulls: BTreeMap::new(),
            examples: Vec::new(),
            words: Some(FxHashMap::default()),
            seen: FxHashSet::default(),
            longest: 0,
            blanks: 0,
            numbers: NumberTally::default(),
            amounts: AmountTally::default(),
            no_numbers: Vec::new(),
            dates: DateTally::default(),
        }
    }

    /// Adds a cell.
    pub fn add(&mut self, cell: &str) {
        let text = cell.trim();
        self.cells += 1;
        if text.is_empty() {
            self.empty += 1;
            return;
        }
        self.count(text);
        if is_null_word(text) && (self.nulls.len() < MOST_NULLS || self.nulls.contains_key(text)) {
            *self.nulls.entry(text.to_owned()).or_default() += 1;
            return;
        }
        self.show(text);
        self.measure(text);
        if !self.numbers.add(text) && self.no_numbers.len() < MOST_MISFITS {
            self.no_numbers.push(cut(text, LONGEST_EXAMPLE));
        }
        self.amounts.add(text);
        self.dates.add(text);
    }

    /// Beyond a length no kind but plain text is left, however much longer it is.
    fn measure(&mut self, text: &str) {
        let (mut length, mut blanks) = (0, 0);
        for c in text.chars().take(LONGEST_WORD) {
            length += 1;
            blanks += usize::from(c == ' ');
        }
        self.longest = self.longest.max(length);
        self.blanks += blanks;
    }

    fn count(&mut self, text: &str) {
        if self.seen.len() < MOST_DISTINCT {
            self.seen.insert(FxBuildHasher.hash_one(text));
        }
        let Some(words) = &mut self.words else {
            return;
        };
        if let Some(count) = words.get_mut(text) {
            *count += 1;
        } else {
            *words.entry(cut(text, LONGEST_WORD)).or_default() += 1;
            if words.len() > MOST_WORDS {
                self.words = None;
            }
        }
    }

    fn show(&mut self, text: &str) {
        let known = self.examples.iter().any(|example| example == text);
        if self.examples.len() < MOST_EXAMPLES && !known {
            let example = cut(text, LONGEST_EXAMPLE);
            if !self.examples.contains(&example) {
                self.examples.push(example);
            }
        }
    }

    /// What it holds.
    pub fn finish(self) -> ColumnProfile {
        let given = self.dates.given;
        let mut dates = day_month::fits(&self.dates);
        let known = Known {
            given,
            distinct: self.seen.len() - self.nulls.len().min(self.seen.len()),
            longest: self.longest,
            blanks: self.blanks,
            is_flag: self.beside_flags().is_some(),
            numbers: &self.numbers,
            date: dates.first(),
        };
        let kind = guess(&known);
        let mut doubts = self.doubts(kind, &dates);
        if let Some(counted) = epoch(&self.numbers, given).filter(|_| dates.is_empty()) {
            doubts.push(format!("Perhaps times ({}): {}.", counted.patterns[0], counted.evidence));
            dates.push(counted);
        }
        ColumnProfile {
            name: self.name,
            cells: self.cells,
            empty: self.empty,
            nulls: ranked(self.nulls),
            kind,
            examples: self.examples,
            words: self.words.map(ranked),
            distinct: self.seen.len(),
            dates,
            numbers: self.amounts.finish(),
            doubts,
        }
    }

    /// How many texts are no flags, if the column holds flags.
    fn beside_flags(&self) -> Option<usize> {
        let words = self.words.iter().flatten().map(|(word, count)| (word.as_str(), *count));
        beside_pair(words.filter(|(word, _)| !self.nulls.contains_key(*word)))
    }

    fn doubts(&self, kind: Guess, dates: &[DateFit]) -> Vec<String> {
        let mut doubts = Vec::new();
        if !self.nulls.is_empty() {
            let shown: Vec<String> = ranked(self.nulls.clone())
                .iter()
                .map(|(word, count)| format!("{word:?} ({count})"))
                .collect();
            doubts.push(format!("Perhaps \"not given\": {}.", shown.join(", ")));
        }
        match kind {
            Guess::Instant | Guess::Day => doubts.extend(time_doubts::doubts(dates, &self.dates)),
            Guess::Integer | Guess::Decimal { .. } => doubts.extend(self.number_doubts(dates)),
            Guess::Flag => doubts.extend(self.flag_doubts()),
            Guess::Words | Guess::Name if self.is_clock() => {
                doubts.push(
                    "Times of day without a date; the date may be in another column.".to_owned(),
                );
            }
            _ => {}
        }
        doubts
    }

    fn flag_doubts(&self) -> Vec<String> {
        let mut doubts = Vec::new();
        if self.numbers.numbers > 0 {
            doubts.push("1 and 0 may be yes and no, or counts.".to_owned());
        }
        let given = counted(self.dates.given, "text");
        if let Some(others) = self.beside_flags().filter(|others| *others > 0) {
            doubts.push(format!("Neither yes nor no: {others} of {given}."));
        }
        doubts
    }

    fn number_doubts(&self, dates: &[DateFit]) -> Vec<String> {
        let mut doubts = self.numbers.doubts();
        let given = self.dates.given;
        if self.numbers.numbers < given {
            doubts.push(format!(
                "No numbers: {} of {}: {}.",
                given - self.numbers.numbers,
                counted(given, "text"),
                quoted_list(&self.no_numbers)
            ));
        }
        if let Some(date) = dates.first() {
            doubts
                .push(format!("Perhaps dates without separators ({}).", date.patterns.join(", ")));
        }
        doubts.extend(serial_doubt(&self.numbers, given));
        doubts
    }

    fn is_clock(&self) -> bool {
        !self.examples.is_empty() && self.examples.iter().all(|text| clock::pattern(text).is_some())
    }
}

/// Words with counts, most frequent first, ties by text.
fn ranked(counts: impl IntoIterator<Item = (String, usize)>) -> Vec<(String, usize)> {
    let mut counts: Vec<(String, usize)> = counts.into_iter().collect();
    counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    counts
}
