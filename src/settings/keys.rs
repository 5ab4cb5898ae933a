//! Known keys: which there are, which one was probably meant.

use std::fmt;

use serde::de;
use serde::de::{Deserialize, Deserializer, Visitor};

use super::nearest::unknown;
use super::place::{Place, Step};
use super::problems::Problems;
use super::written;

/// Reports the unknown key at `place`.
pub fn report(place: &Place, problems: &mut Problems) {
    if let Some((above, Step::Key(key))) = place.split() {
        problems.add(place, unknown("unknown key", key, known_at(&above)));
    }
}

/// Keys of the table at `place`.
fn known_at(place: &Place) -> &'static [&'static str] {
    let names: Vec<&str> = place
        .steps()
        .iter()
        .filter_map(|step| if let Step::Key(key) = step { Some(key.as_str()) } else { None })
        .collect();
    match names[..] {
        ["fleet"] => fields::<written::Fleet>(),
        ["rules"] => fields::<written::Rules>(),
        ["stages"] => fields::<written::Stages>(),
        ["codes"] => fields::<written::Codes>(),
        ["costs"] => fields::<written::Costs>(),
        ["source"] => fields::<written::Source>(),
        ["source", "covers", _] => fields::<written::Cover>(),
        ["source", "record"] => fields::<written::Record>(),
        ["source", "record", "when"] => fields::<written::When>(),
        ["proposal"] => fields::<written::Proposal>(),
        ["proposal", "effect"] => fields::<written::Effect>(),
        ["proposal", "effect", _] => fields::<written::Range>(),
        ["budget"] => fields::<written::Budget>(),
        _ => fields::<written::Settings>(),
    }
}

/// Field names of a struct, from its own `Deserialize`, so that no list is typed twice.
fn fields<T: for<'de> Deserialize<'de>>() -> &'static [&'static str] {
    match T::deserialize(AskFields) {
        Err(Fields(names)) => names,
        Ok(_) => &[],
    }
}

/// A deserializer that answers the request for a struct with its field names, as an error.
struct AskFields;

#[derive(Debug)]
struct Fields(&'static [&'static str]);

impl fmt::Display for Fields {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.join(", "))
    }
}

impl std::error::Error for Fields {}

impl de::Error for Fields {
    fn custom<M: fmt::Display>(_: M) -> Self {
        Fields(&[])
    }
}

impl<'de> Deserializer<'de> for AskFields {
    type Error = Fields;

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Fields> {
        Err(Fields(&[]))
    }

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        names: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, Fields> {
        Err(Fields(names))
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf option
        unit unit_struct newtype_struct seq tuple tuple_struct map enum identifier ignored_any
    }
}
