//! What the value of a key may be: the ranges that sections are declared with.

use std::fmt;
use std::marker::PhantomData;
use std::path::PathBuf;

use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::Deserialize;
use serde::de::{Deserializer, Error, Visitor};

use super::day::Day;
use super::money::{MOST_MONEY, money};
use super::place::Place;
use super::problems::Problems;
use super::section::Range;
use super::words;

/// A whole number from one bound to the other.
pub struct Whole(pub u32, pub u32);

impl Range for Whole {
    type Typed = i64;
    type Value = u32;

    fn read(&self, typed: &i64, place: &Place, problems: &mut Problems) -> u32 {
        let number = words::whole(*typed, i64::from(self.0), i64::from(self.1), place, problems);
        u32::try_from(number).unwrap_or(self.0)
    }

    fn text(&self) -> String {
        format!("a whole number from {} to {}", self.0, self.1)
    }

    fn written(&self, value: &u32) -> String {
        value.to_string()
    }
}

/// A whole number from one bound to the other, or nothing where the key is left out.
pub struct WholeIfAny(pub u32, pub u32);

impl Range for WholeIfAny {
    type Typed = i64;
    type Value = Option<u32>;

    fn read(&self, typed: &i64, place: &Place, problems: &mut Problems) -> Option<u32> {
        Some(Whole(self.0, self.1).read(typed, place, problems))
    }

    fn text(&self) -> String {
        Whole(self.0, self.1).text()
    }

    fn written(&self, value: &Option<u32>) -> String {
        value.map(|number| number.to_string()).unwrap_or_default()
    }
}

/// A whole number from one bound to the other, or the word `auto`, which is none: the program sees for itself.
pub struct WholeOrAuto(pub u32, pub u32);

/// What [`WholeOrAuto`] is typed as.
#[derive(Clone, Debug)]
pub enum NumberOrWord {
    /// A whole number.
    Number(i64),
    /// A text.
    Word(String),
}

/// The word that leaves a number to the program.
const AUTO: &str = "auto";

impl<'de> Deserialize<'de> for NumberOrWord {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Either;
        impl Visitor<'_> for Either {
            type Value = NumberOrWord;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                write!(f, "a whole number or \"{AUTO}\"")
            }

            fn visit_i64<E: Error>(self, number: i64) -> Result<NumberOrWord, E> {
                Ok(NumberOrWord::Number(number))
            }

            fn visit_str<E: Error>(self, word: &str) -> Result<NumberOrWord, E> {
                Ok(NumberOrWord::Word(word.to_owned()))
            }
        }
        deserializer.deserialize_any(Either)
    }
}

impl Range for WholeOrAuto {
    type Typed = NumberOrWord;
    type Value = Option<u32>;

    fn read(&self, typed: &NumberOrWord, place: &Place, problems: &mut Problems) -> Option<u32> {
        let number = match typed {
            NumberOrWord::Word(word) if word == AUTO => return None,
            NumberOrWord::Word(word) => Err(format!("{word:?}")),
            NumberOrWord::Number(number) => u32::try_from(*number)
                .ok()
                .filter(|number| (self.0..=self.1).contains(number))
                .ok_or(number.to_string()),
        };
        match number {
            Ok(number) => Some(number),
            Err(found) => {
                problems.add(place, format!("found {found}, expected {}", self.text()));
                None
            }
        }
    }

    fn text(&self) -> String {
        format!("\"{AUTO}\" or a whole number from {} to {}", self.0, self.1)
    }

    fn written(&self, value: &Option<u32>) -> String {
        value.map_or(format!("{AUTO:?}"), |number| number.to_string())
    }
}

/// Any whole number that is not negative.
pub struct Seed;

impl Range for Seed {
    type Typed = i64;
    type Value = u64;

    fn read(&self, typed: &i64, place: &Place, problems: &mut Problems) -> u64 {
        words::whole(*typed, 0, i64::MAX, place, problems).unsigned_abs()
    }

    fn text(&self) -> String {
        format!("a whole number from 0 to {}", i64::MAX)
    }

    fn written(&self, value: &u64) -> String {
        value.to_string()
    }
}

/// A real number from one bound to the other.
pub struct Real(pub f64, pub f64);

impl Range for Real {
    type Typed = f64;
    type Value = f64;

    fn read(&self, typed: &f64, place: &Place, problems: &mut Problems) -> f64 {
        within(*typed, [self.0, self.1], &self.text(), place, problems)
    }

    fn text(&self) -> String {
        format!("a number from {} to {}", self.0, self.1)
    }

    fn written(&self, value: &f64) -> String {
        format!("{value:?}")
    }
}

/// Any number.
pub struct Number;

impl Range for Number {
    type Typed = f64;
    type Value = f64;

    fn read(&self, typed: &f64, _: &Place, _: &mut Problems) -> f64 {
        *typed
    }

    fn text(&self) -> String {
        "a number".to_owned()
    }

    fn written(&self, value: &f64) -> String {
        format!("{value:?}")
    }
}

/// True or false.
pub struct Flag;

impl Range for Flag {
    type Typed = bool;
    type Value = bool;

    fn read(&self, typed: &bool, _: &Place, _: &mut Problems) -> bool {
        *typed
    }

    fn text(&self) -> String {
        "true or false".to_owned()
    }

    fn written(&self, value: &bool) -> String {
        value.to_string()
    }
}

/// One of two words: the first for false, the second for true.
pub struct Word(pub &'static str, pub &'static str);

impl Range for Word {
    type Typed = String;
    type Value = bool;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> bool {
        let choices = [(self.0, false), (self.1, true)];
        words::choice(typed, &choices, place, problems).unwrap_or(false)
    }

    fn text(&self) -> String {
        format!("one of {}, {}", self.0, self.1)
    }

    fn written(&self, value: &bool) -> String {
        format!("{:?}", if *value { self.1 } else { self.0 })
    }
}

/// An amount of money: typed in major units, kept in minor ones.
pub struct Money;

impl Range for Money {
    type Typed = f64;
    type Value = i64;

    fn read(&self, typed: &f64, place: &Place, problems: &mut Problems) -> i64 {
        money(*typed, place, problems)
    }

    fn text(&self) -> String {
        format!("an amount from 0 to {MOST_MONEY} with at most 2 decimals")
    }

    fn written(&self, value: &i64) -> String {
        format!("{}.{:02}", value / 100, value % 100)
    }
}

/// An amount of money, or nothing where the key is left out.
pub struct MoneyIfAny;

impl Range for MoneyIfAny {
    type Typed = f64;
    type Value = Option<i64>;

    fn read(&self, typed: &f64, place: &Place, problems: &mut Problems) -> Option<i64> {
        Some(Money.read(typed, place, problems))
    }

    fn text(&self) -> String {
        Money.text()
    }

    fn written(&self, value: &Option<i64>) -> String {
        value.map(|value| Money.written(&value)).unwrap_or_default()
    }
}

/// Minutes that one piece of work takes: at most so many.
pub struct Minutes(pub f64);

impl Range for Minutes {
    type Typed = f64;
    type Value = f64;

    fn read(&self, typed: &f64, place: &Place, problems: &mut Problems) -> f64 {
        within(*typed, [0.0, self.0], &self.text(), place, problems)
    }

    fn text(&self) -> String {
        format!("minutes from 0 to {}", self.0)
    }

    fn written(&self, value: &f64) -> String {
        format!("{value:?}")
    }
}

/// A share a year; above 1 money would halve within a year, which no one means.
pub struct YearlyShare;

impl Range for YearlyShare {
    type Typed = f64;
    type Value = f64;

    fn read(&self, typed: &f64, place: &Place, problems: &mut Problems) -> f64 {
        within(*typed, [0.0, 1.0], &self.text(), place, problems).clamp(0.0, 1.0)
    }

    fn text(&self) -> String {
        "a share a year from 0 to 1".to_owned()
    }

    fn written(&self, value: &f64) -> String {
        format!("{value:?}")
    }
}

/// A value that can only be understood together with other keys: what reads its section fills it in.
pub struct Later<T, V>(pub &'static str, pub PhantomData<(T, V)>);

impl<T, V: Clone + Default> Range for Later<T, V> {
    type Typed = T;
    type Value = V;

    fn read(&self, _: &T, _: &Place, _: &mut Problems) -> V {
        V::default()
    }

    fn text(&self) -> String {
        self.0.to_owned()
    }

    fn written(&self, _: &V) -> String {
        String::new()
    }
}

/// One of several words, each with its value.
pub struct OneOf<T: 'static>(pub &'static [(&'static str, T)]);

impl<T: Copy + PartialEq> Range for OneOf<T> {
    type Typed = String;
    type Value = T;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> T {
        words::choice(typed, self.0, place, problems).unwrap_or(self.0[0].1)
    }

    fn text(&self) -> String {
        let words: Vec<&str> = self.0.iter().map(|(word, _)| *word).collect();
        format!("one of {}", words.join(", "))
    }

    fn written(&self, value: &T) -> String {
        let word = self.0.iter().find(|(_, other)| other == value);
        word.map(|(word, _)| format!("{word:?}")).unwrap_or_default()
    }
}

/// One of several words, each with its value, or nothing where the key is left out.
pub struct OneOfIfAny<T: 'static>(pub &'static [(&'static str, T)]);

impl<T: Copy + PartialEq> Range for OneOfIfAny<T> {
    type Typed = String;
    type Value = Option<T>;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> Option<T> {
        words::choice(typed, self.0, place, problems)
    }

    fn text(&self) -> String {
        OneOf(self.0).text()
    }

    fn written(&self, value: &Option<T>) -> String {
        value.map(|value| OneOf(self.0).written(&value)).unwrap_or_default()
    }
}

/// A number of rows of a file.
pub struct Rows(pub usize, pub usize);

impl Range for Rows {
    type Typed = i64;
    type Value = usize;

    fn read(&self, typed: &i64, place: &Place, problems: &mut Problems) -> usize {
        let [low, high] = [self.0, self.1].map(|bound| i64::try_from(bound).unwrap_or(i64::MAX));
        let number = words::whole(*typed, low, high, place, problems);
        usize::try_from(number).unwrap_or(self.0)
    }

    fn text(&self) -> String {
        format!("a whole number from {} to {}", self.0, self.1)
    }

    fn written(&self, value: &usize) -> String {
        value.to_string()
    }
}

/// A year, or nothing where the key is left out.
pub struct YearIfAny(pub i64, pub i64);

impl Range for YearIfAny {
    type Typed = i64;
    type Value = Option<i64>;

    fn read(&self, typed: &i64, place: &Place, problems: &mut Problems) -> Option<i64> {
        Some(words::whole(*typed, self.0, self.1, place, problems))
    }

    fn text(&self) -> String {
        format!("a whole number from {} to {}", self.0, self.1)
    }

    fn written(&self, value: &Option<i64>) -> String {
        value.map(|year| year.to_string()).unwrap_or_default()
    }
}

/// A name that is printed.
pub struct Name;

impl Range for Name {
    type Typed = String;
    type Value = String;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> String {
        words::word(typed, place, problems);
        typed.clone()
    }

    fn text(&self) -> String {
        "a word that is not empty".to_owned()
    }

    fn written(&self, value: &String) -> String {
        format!("{value:?}")
    }
}

/// Any text, or nothing where the key is left out; what reads the section may ask more of it.
pub struct TextIfAny(pub &'static str);

impl Range for TextIfAny {
    type Typed = String;
    type Value = Option<String>;

    fn read(&self, typed: &String, _: &Place, _: &mut Problems) -> Option<String> {
        Some(typed.clone())
    }

    fn text(&self) -> String {
        self.0.to_owned()
    }

    fn written(&self, value: &Option<String>) -> String {
        value.as_ref().map(|text| format!("{text:?}")).unwrap_or_default()
    }
}

/// Words, each once.
pub struct Words;

impl Range for Words {
    type Typed = Vec<String>;
    type Value = Vec<String>;

    fn read(&self, typed: &Vec<String>, place: &Place, problems: &mut Problems) -> Vec<String> {
        words::list(typed, place, problems);
        typed.clone()
    }

    fn text(&self) -> String {
        "words, each once".to_owned()
    }

    fn written(&self, value: &Vec<String>) -> String {
        format!("{value:?}")
    }
}

/// A day, or nothing where the key is left out.
pub struct DayIfAny;

impl Range for DayIfAny {
    type Typed = Day;
    type Value = Option<NaiveDate>;

    fn read(&self, typed: &Day, place: &Place, problems: &mut Problems) -> Option<NaiveDate> {
        words::day(typed, place, problems)
    }

    fn text(&self) -> String {
        words::A_DAY.to_owned()
    }

    fn written(&self, value: &Option<NaiveDate>) -> String {
        value.map(|day| format!("\"{day}\"")).unwrap_or_default()
    }
}

/// A time zone.
pub struct Zone;

impl Range for Zone {
    type Typed = String;
    type Value = Tz;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> Tz {
        words::zone(typed, place, problems).unwrap_or(Tz::UTC)
    }

    fn text(&self) -> String {
        words::A_ZONE.to_owned()
    }

    // Left out it is required or another section's: there is no default to type.
    fn written(&self, _: &Tz) -> String {
        String::new()
    }
}

/// A folder below that of the settings, or an absolute one.
pub struct Folder;

impl Range for Folder {
    type Typed = String;
    type Value = PathBuf;

    fn read(&self, typed: &String, place: &Place, problems: &mut Problems) -> PathBuf {
        words::word(typed, place, problems);
        PathBuf::from(typed)
    }

    fn text(&self) -> String {
        "a folder, relative to the settings file".to_owned()
    }

    fn written(&self, value: &PathBuf) -> String {
        format!("{:?}", value.display().to_string())
    }
}

/// The number, with a problem noted if it is outside its bounds or none at all.
fn within(
    number: f64,
    [low, high]: [f64; 2],
    expected: &str,
    place: &Place,
    problems: &mut Problems,
) -> f64 {
    if !(low..=high).contains(&number) {
        problems.add(place, format!("found {number}, expected {expected}"));
    }
    number
}
