//! One canonical column of one part of a map: where its text comes from, how it is typed, and what
//! is said of a text that cannot be.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::code::CodeReader;
use super::duration::minutes;
use super::input::{Input, is_null, text};
use super::number::{Amounts, MOST, NoAmount, integer, whole};
use super::time::{TimeFault, TimeReader};
use crate::calendar::ClockFault;
use crate::intake::columns::batch::TableBatch;
use crate::intake::people::key::PeopleKey;
use crate::intake::people::names::{MASK, Watch};
use crate::intake::reject::losses::Losses;
use crate::intake::reject::reason::{Fault, shown};
use crate::records::Misread;
use crate::settings::{Blank, DurationForm, Numbers};
use crate::tabular::Cells;
use crate::tabular::date::Misfit;

/// What stands for an empty cell that means none at all.
const NONE_AT_ALL: &str = "0";

/// How a text is typed, with the place of its column within its kind.
#[derive(Debug)]
pub enum Reader<'a> {
    Text(usize),
    /// A text that is a person's name.
    Pseudonym(usize, &'a PeopleKey),
    Words(usize, CodeReader<'a>),
    Time(usize, TimeReader),
    /// With the largest that it may be, either side of 0, and how it is written.
    Integer(usize, u64, Numbers),
    /// With the forms that a length of time has, and how its numbers are written.
    Minutes(usize, &'a [DurationForm], Numbers),
    Money(usize, Box<Amounts<'a>>),
    Flag(usize),
}

/// One column of one part.
#[derive(Debug)]
pub struct Field<'a> {
    /// Name of the canonical column.
    pub canonical: &'static str,
    /// Its number among those of which an unreadable cell is left out (R9); none where its row is rejected.
    pub lost_as: Option<usize>,
    pub input: Input,
    pub reader: Reader<'a>,
    pub required: bool,
    pub values: &'a BTreeMap<String, String>,
    /// The export column, or the canonical one, for messages.
    pub shown_as: String,
    /// What a text should be, for messages.
    pub expected: String,
    /// Its cells hold people's names.
    pub masked: bool,
    /// What an empty cell says.
    pub blank: Blank,
}

impl Field<'_> {
    /// Types the row's text and appends it. True if the row gives a value.
    ///
    /// # Errors
    /// [`Fault`] when the text cannot be typed; then the column may or may not have grown.
    pub fn fill(
        &mut self,
        cells: &Cells,
        nulls: &[String],
        joined: &mut String,
        batch: &mut TableBatch,
        (watch, losses): (&mut Watch, &mut Losses),
    ) -> Result<bool, Fault> {
        let raw = text(&self.input, cells, nulls, joined);
        if let Reader::Words(place, reader) = &mut self.reader
            && let Some(key) = reader.remembered(raw, &batch.words[*place].dictionary)
            && (key.is_some() || !self.required)
        {
            batch.words[*place].keys.push(key);
            return Ok(key.is_some());
        }
        // The map's values come first: an empty one, or a null word, says that nothing is given.
        let word = self.values.get(raw).map_or(raw, String::as_str);
        let word = (!is_null(word, nulls)).then_some(word);
        let column = Some(&self.shown_as);
        let fault = |reason| Fault { column: column.cloned(), reason };
        if word.is_none() && self.required {
            return Err(fault(format!("is empty; expected {}", self.expected)));
        }
        let beside = self.currency(cells, nulls);
        // An empty cell that means none at all reads as one that says so.
        let read = if self.blank == Blank::Zero { word.or(Some(NONE_AT_ALL)) } else { word };
        let appended = if self.admitted(raw, cells, watch) {
            self.reader.append(raw, read, beside, batch)
        } else {
            Err(Refusal::Name)
        };
        let Err(refusal) = appended else {
            return Ok(word.is_some());
        };
        let found = match &refusal {
            _ if self.masked => MASK.to_owned(),
            Refusal::Name => format!("a person's name ({MASK})"),
            _ if self.hides(raw, cells, watch) => MASK.to_owned(),
            _ => shown(raw),
        };
        let lost_as = self.lost_as.zip(refusal.misread());
        let reason = || format!("found {found}, expected {}{}", self.expected, refusal.advice());
        match lost_as {
            Some((field, why)) => {
                losses.note(field, self.canonical, why, reason);
                self.reader.append_null(batch);
                Ok(false)
            }
            None => Err(fault(reason())),
        }
    }
}

impl Field<'_> {
    /// What the cell of the currency of an amount says, where there is one.
    fn currency<'t>(&self, cells: &Cells<'t>, nulls: &[String]) -> Option<&'t str> {
        let Reader::Money(_, amounts) = &self.reader else { return None };
        amounts.currency_cell.map(|cell| cells.get(cell)).filter(|text| !is_null(text, nulls))
    }

    /// Whether the text may be kept: no name in a column that is not of people.
    fn admitted(&self, raw: &str, cells: &Cells, watch: &mut Watch) -> bool {
        if !matches!(self.reader, Reader::Text(_) | Reader::Words(..)) {
            return true;
        }
        match &self.input {
            // What the joined cells hold one by one, the row's own look at its people has seen.
            Input::Cells(_) | Input::Formed(..) if self.masked => {
                watch.person(raw);
                true
            }
            _ if self.masked => true,
            Input::Cell(_) => watch.admits(raw),
            // Counted, since each is to be taken note of.
            several => {
                several.cells().iter().filter(|cell| !watch.admits(cells.get(**cell))).count() == 0
            }
        }
    }

    /// Whether the text must not be shown in a reason.
    fn hides(&self, raw: &str, cells: &Cells, watch: &mut Watch) -> bool {
        match &self.input {
            Input::Cell(_) => watch.hides(raw),
            several => {
                several.cells().iter().filter(|cell| watch.hides(cells.get(**cell))).count() > 0
            }
        }
    }
}

/// Why a text cannot be typed.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Refusal<'f> {
    NotListed,
    NoTime(TimeFault),
    NoNumber,
    /// With the forms that were tried.
    NoDuration(&'f [DurationForm]),
    /// An amount of this currency, which has no rate.
    NoRate(String),
    /// An amount of one of several currencies, or of two.
    WhichCurrency,
    /// A person's name in a column that is not of people.
    Name,
}

impl<'a> Reader<'a> {
    /// Types a text that is given, and appends it; `raw` is what it was before the map's values, `beside` the
    /// currency of an amount where a cell says it.
    fn append(
        &mut self,
        raw: &str,
        word: Option<&str>,
        beside: Option<&str>,
        batch: &mut TableBatch,
    ) -> Result<(), Refusal<'a>> {
        match self {
            Reader::Text(at) => batch.texts[*at].push(word),
            Reader::Pseudonym(at, key) => {
                batch.texts[*at].push(word.and_then(|name| key.pseudonym(name)).as_deref());
            }
            Reader::Words(at, reader) => {
                let words = &mut batch.words[*at];
                let key = reader.learn(raw, word, &mut words.dictionary);
                words.keys.push(key.map_err(|_| Refusal::NotListed)?);
            }
            Reader::Time(at, reader) => {
                let moment = word.map(|word| reader.read(word)).transpose();
                batch.times[*at].push(moment.map_err(Refusal::NoTime)?);
            }
            Reader::Integer(at, most, numbers) => {
                let read = |word| integer(word).or_else(|| whole(word, numbers));
                let number = |word| read(word).filter(|number| number.unsigned_abs() <= *most);
                let number = word.map(|word| number(word).ok_or(Refusal::NoNumber));
                batch.numbers[*at].push(number.transpose()?);
            }
            Reader::Minutes(at, forms, numbers) => {
                let plain = |word| integer(word).or_else(|| whole(word, numbers));
                let plain = |word| plain(word).filter(|number| number.unsigned_abs() <= MOST);
                // None at all is none in whatever unit.
                let plain = |word| {
                    plain(word)
                        .filter(|_| word == NONE_AT_ALL || forms.contains(&DurationForm::Minutes))
                };
                let read =
                    |word| plain(word).or_else(|| minutes(word, forms, numbers.decimal_mark));
                let length = word.map(|word| read(word).ok_or(Refusal::NoDuration(forms)));
                batch.numbers[*at].push(length.transpose()?);
            }
            Reader::Money(at, amounts) => {
                let amount = word.map(|word| amounts.read(word, beside)).transpose();
                batch.numbers[*at].push(amount.map_err(|refusal| match refusal {
                    NoAmount::Unreadable => Refusal::NoNumber,
                    NoAmount::NoRate(code) => Refusal::NoRate(code),
                    NoAmount::Unclear => Refusal::WhichCurrency,
                })?);
            }
            Reader::Flag(at) => {
                let flag = word.map(|word| flag(word).ok_or(Refusal::NotListed));
                batch.flags[*at].push(flag.transpose()?);
            }
        }
        Ok(())
    }

    /// Appends that nothing is given.
    fn append_null(&self, batch: &mut TableBatch) {
        match self {
            Reader::Text(at) | Reader::Pseudonym(at, _) => batch.texts[*at].push(None),
            Reader::Words(at, _) => batch.words[*at].keys.push(None),
            Reader::Time(at, _) => batch.times[*at].push(None),
            Reader::Integer(at, ..) | Reader::Minutes(at, ..) | Reader::Money(at, _) => {
                batch.numbers[*at].push(None);
            }
            Reader::Flag(at) => batch.flags[*at].push(None),
        }
    }
}

fn flag(word: &str) -> Option<bool> {
    match word {
        "yes" => Some(true),
        "no" => Some(false),
        _ => None,
    }
}

impl Refusal<'_> {
    /// Under which reason a cell left out is counted; none where the row cannot stand: a name where none should be
    /// means that its cells are shifted.
    fn misread(&self) -> Option<Misread> {
        Some(match self {
            Refusal::NotListed => Misread::NotListed,
            Refusal::NoNumber => Misread::NoNumber,
            Refusal::NoDuration(_) => Misread::NoDuration,
            Refusal::NoTime(TimeFault::NotSo(Misfit::Shape)) => Misread::NoTime,
            Refusal::NoTime(TimeFault::NotSo(Misfit::Impossible)) => Misread::NoSuchTime,
            Refusal::NoTime(TimeFault::Clock(_)) => Misread::ClockChange,
            // An amount that could be read, but is of money that nothing can be made of: quarantined by name.
            Refusal::NoRate(_) | Refusal::WhichCurrency | Refusal::Name => return None,
        })
    }

    /// What to do about it.
    fn advice(self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Refusal::NoRate(code) => {
                return Cow::Owned(format!(
                    ": it is of {code}; give {code} a rate in [costs.exchange]"
                ));
            }
            Refusal::WhichCurrency => {
                ": its currency is not clear; name it in the map's numbers, or correct it"
            }
            Refusal::NotListed => "; add it to the map's values",
            Refusal::NoNumber => "; correct it, or say in the map's numbers how it is written",
            Refusal::NoDuration([DurationForm::Minutes]) => {
                "; correct it, or say in the map's durations how lengths of time are written: h:mm, \
                 h:mm:ss, mm:ss, 2h10m, PT2H10M, hours or days"
            }
            Refusal::NoDuration(_) => "; correct it or add its form to the map's durations",
            Refusal::Name => {
                ": a column of people holds the same text; look whether the row's cells are shifted, \
                 or name this column in the source's `people`"
            }
            Refusal::NoTime(TimeFault::NotSo(Misfit::Shape)) => {
                "; correct it or add its pattern to the map's dates"
            }
            Refusal::NoTime(TimeFault::NotSo(Misfit::Impossible)) => {
                ": there is no such day or time; correct it"
            }
            Refusal::NoTime(TimeFault::Clock(ClockFault::Missing)) => {
                ": clocks were set forward over it; correct it or the source's timezone"
            }
            Refusal::NoTime(TimeFault::Clock(ClockFault::Double)) => {
                ": clocks were set back and showed it twice; set the source's clock_change"
            }
        })
    }
}
