//! A text, or several, as typed.

use std::fmt;

use serde::Deserialize;
use serde::de::value::SeqAccessDeserializer;
use serde::de::{Deserializer, Error, SeqAccess, Visitor};

/// A text alone or several in an array.
#[derive(Debug)]
pub enum OneOrMany {
    /// A text alone.
    One(String),
    /// Several in an array.
    Many(Vec<String>),
}

impl<'de> Deserialize<'de> for OneOrMany {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Texts;
        impl<'de> Visitor<'de> for Texts {
            type Value = OneOrMany;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a string or an array of strings")
            }

            fn visit_str<E: Error>(self, text: &str) -> Result<OneOrMany, E> {
                Ok(OneOrMany::One(text.to_owned()))
            }

            fn visit_seq<A: SeqAccess<'de>>(self, texts: A) -> Result<OneOrMany, A::Error> {
                Vec::deserialize(SeqAccessDeserializer::new(texts)).map(OneOrMany::Many)
            }
        }
        deserializer.deserialize_any(Texts)
    }
}
