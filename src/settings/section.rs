//! A section of the settings as one table: a row a key, with its type, its default, its range and a sentence.
//!
//! [`section`] makes of such a table the section as understood (a struct with docs and [`Default`]), the section as
//! typed (whose keys are the known ones), the check of one by the other, and the list that describes it. What depends on
//! more than one key is checked where the section is read.

use super::money::{MOST_MONEY, money};
use super::place::Place;
use super::problems::Problems;
use super::words;

/// One key of a section, for people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Described {
    /// The key as it is typed.
    pub key: &'static str,
    /// Its default as it would be typed; empty where leaving the key out is the only way to have it.
    pub default: String,
    /// What it may be, as messages say it.
    pub range: String,
    /// What it means, with its unit.
    pub sentence: &'static str,
}

/// What the value of a key may be.
pub trait Range {
    /// As the settings file has it.
    type Typed;
    /// As the program has it.
    type Value: Clone;

    /// The value that was typed, or a stand-in near it with a problem noted.
    fn read(&self, typed: &Self::Typed, place: &Place, problems: &mut Problems) -> Self::Value;

    /// What is expected, in the words of messages.
    fn text(&self) -> String;

    /// A value as it would be typed.
    fn written(&self, value: &Self::Value) -> String;
}

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

/// A section as typed.
pub trait Given {
    /// The keys that were left out, in the order of the table.
    fn missing(&self) -> Vec<&'static str>;
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

/// Declares a section: a sentence, `field: type = default, range;` a key. A key that is called otherwise than its field
/// stands in parentheses behind it.
macro_rules! section {
    (
        $(#[$doc:meta])*
        $name:ident, typed as $typed:ident {
            $(
                $(#[doc = $line:literal])+
                $field:ident $(($key:literal))?: $type:ty = $default:expr,
                    $range:ident $(($($bound:expr),+))?;
            )+
        }
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $name {
            $($(#[doc = $line])+ pub $field: $type,)+
        }

        /// The section as typed: every key optional, nothing understood yet.
        #[derive(Debug, Default, serde::Deserialize)]
        pub struct $typed {
            $(
                $(#[serde(rename = $key)])?
                #[doc = "As the settings file has it."]
                pub $field: Option<<$range as $crate::settings::section::Range>::Typed>,
            )+
        }

        impl Default for $name {
            fn default() -> Self {
                Self { $($field: $default,)+ }
            }
        }

        impl $name {
            /// The section of what was typed, each key by itself: the default where it was left out.
            fn read(
                typed: &$typed,
                place: &$crate::settings::place::Place,
                problems: &mut $crate::settings::problems::Problems,
            ) -> Self {
                use $crate::settings::section::{Range, key};
                let default = Self::default();
                Self {
                    $($field: match &typed.$field {
                        Some(value) => {
                            $range$(($($bound),+))?.read(value, &place.key(key!($field $($key)?)), problems)
                        }
                        None => default.$field,
                    },)+
                }
            }

            /// Every key with its default, its range and what it means, in the order of the table.
            pub fn described() -> Vec<$crate::settings::section::Described> {
                use $crate::settings::section::{Described, Range, key};
                let default = Self::default();
                vec![$(Described {
                    key: key!($field $($key)?),
                    default: $range$(($($bound),+))?.written(&default.$field),
                    range: $range$(($($bound),+))?.text(),
                    sentence: concat!($($line),+).trim_ascii(),
                },)+]
            }
        }

        impl $crate::settings::section::Given for $typed {
            fn missing(&self) -> Vec<&'static str> {
                use $crate::settings::section::key;
                let mut missing = Vec::new();
                $(if self.$field.is_none() {
                    missing.push(key!($field $($key)?));
                })+
                missing
            }
        }
    };
}
pub(in crate::settings) use section;

/// The key of a field: its name, unless another one is given.
macro_rules! key {
    ($field:ident) => {
        stringify!($field)
    };
    ($field:ident $key:literal) => {
        $key
    };
}
pub(in crate::settings) use key;
