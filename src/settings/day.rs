//! A day as it is typed.

use std::fmt;

use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, Error, MapAccess, Visitor};

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct DayText;
        impl<'de> Visitor<'de> for DayText {
            type Value = Day;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a day such as \"2026-07-05\"")
            }

            fn visit_str<E: Error>(self, text: &str) -> Result<Day, E> {
                Ok(Day(text.to_owned()))
            }

            // The TOML crate hands dates over as a map with one key of their own.
            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Day, A::Error> {
                let date = toml_edit::Datetime::deserialize(MapAccessDeserializer::new(map))?;
                Ok(Day(date.to_string()))
            }
        }
        deserializer.deserialize_any(DayText)
    }
}

/// A day, as a string or as a TOML date: its text.
#[derive(Debug)]
pub struct Day(pub String);
