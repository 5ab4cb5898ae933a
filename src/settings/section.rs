//! A section of the settings as one table: a row a key, with its type, its default, its range and a sentence.
//!
//! [`section`] makes of such a table the section as understood (a struct with docs), the section as typed (whose keys
//! are the known ones), the reading of one from the other, and the list that describes it. What depends on more than
//! one key is checked where the section is read.

use super::place::Place;
use super::problems::Problems;

/// One key of a section, for people.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Described {
    /// The key as it is typed.
    pub key: &'static str,
    /// Whether it must be given.
    pub required: bool,
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

    /// The value where the key was left out, or where what was typed has a wrong type.
    fn left_out(&self, default: Self::Value, _: &Place, _: &Problems) -> Self::Value {
        default
    }

    /// What is expected, in the words of messages.
    fn text(&self) -> String;

    /// A value as it would be typed; empty for one that cannot be.
    fn written(&self, value: &Self::Value) -> String;
}

/// A section as typed.
pub trait Given {
    /// The keys that were left out, in the order of the table.
    fn missing(&self) -> Vec<&'static str>;

    /// Every key with its default, its range and what it means, in the order of the table.
    fn described() -> Vec<Described>;
}

/// Declares a section: what it is typed as, then each struct that its keys make. A row is
/// `field: type = default, range;`; a key that is called otherwise than its field stands in parentheses behind it. A key
/// that must be given has `required "what is expected"` behind its range; its default only stands in for it. Fields that
/// are no keys stand in a block behind `+` with what they hold until the section's function fills them.
macro_rules! section {
    (
        $typed:ident:
        $(
            $(#[$doc:meta])*
            $name:ident {
                $(
                    $(#[doc = $line:literal])+
                    $field:ident $(($key:literal))?: $type:ty = $default:expr,
                        $range:ident $(<$($of:ty),+>)? $(($($bound:expr),+))? $(, required $wanted:expr)?;
                )+
            }
            $(+ {
                $($(#[doc = $also_line:literal])+ $also:ident: $also_type:ty = $also_value:expr;)+
            })?
        )+
    ) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Debug, PartialEq)]
            pub struct $name {
                $($(#[doc = $line])+ pub $field: $type,)+
                $($($(#[doc = $also_line])+ pub $also: $also_type,)+)?
            }

            impl $name {
                /// Every key left out; those that must be given have a stand-in.
                pub(in crate::settings) fn left_out() -> Self {
                    Self {
                        $($field: $default,)+
                        $($($also: $also_value,)+)?
                    }
                }

                /// The section of what was typed, each key by itself: the default where it was left out.
                pub(in crate::settings) fn read(
                    typed: &$typed,
                    place: &$crate::settings::place::Place,
                    problems: &mut $crate::settings::problems::Problems,
                ) -> Self {
                    use $crate::settings::section::{Range, key};
                    let mut section = Self::left_out();
                    $({
                        let here = place.key(key!($field $($key)?));
                        let range = $range $(::<$($of),+>)? $(($($bound),+))?;
                        $(if typed.$field.is_none() {
                            problems.add(&here, format!("missing; expected {}", $wanted));
                        })?
                        section.$field = match &typed.$field {
                            Some(value) => range.read(value, &here, problems),
                            None => range.left_out(section.$field, &here, problems),
                        };
                    })+
                    section
                }

                /// Every key with its default, its range and what it means, in the order of the table.
                pub fn described() -> Vec<$crate::settings::section::Described> {
                    use $crate::settings::section::{Described, Range, key};
                    let default = Self::left_out();
                    vec![$({
                        let range = $range $(::<$($of),+>)? $(($($bound),+))?;
                        let required = [$($wanted.len() > 0)?].contains(&true);
                        Described {
                            key: key!($field $($key)?),
                            required,
                            default: if required { String::new() } else { range.written(&default.$field) },
                            range: range.text(),
                            sentence: concat!($($line),+).trim_ascii(),
                        }
                    },)+]
                }
            }
        )+

        /// The section as typed: every key optional, nothing understood yet.
        #[derive(Debug, Default, serde::Deserialize)]
        pub struct $typed {
            $($(
                $(#[serde(rename = $key)])?
                #[doc = "As the settings file has it."]
                pub $field: Option<<$range $(<$($of),+>)? as $crate::settings::section::Range>::Typed>,
            )+)+
        }

        impl $crate::settings::section::Given for $typed {
            fn missing(&self) -> Vec<&'static str> {
                use $crate::settings::section::key;
                let mut missing = Vec::new();
                $($(if self.$field.is_none() {
                    missing.push(key!($field $($key)?));
                })+)+
                missing
            }

            fn described() -> Vec<$crate::settings::section::Described> {
                [$($name::described()),+].concat()
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
