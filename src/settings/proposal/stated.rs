//! Numbers of proposals as their owner believes them: one, or a range.

use std::fmt;

use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, Error, MapAccess, Visitor};

use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::ranges::Number;
use crate::settings::section::{Given, Range, section};

section! {
    TypedBelief:
    /// A number with the range it is believed to lie in; all three equal where it is taken as known.
    #[derive(Copy)]
    Stated {
        /// The least that is believed.
        low: f64 = 0.0, Number, required Number.text();
        /// The most likely.
        likely: f64 = 0.0, Number, required Number.text();
        /// The most that is believed.
        high: f64 = 0.0, Number, required Number.text();
    }
}

impl Stated {
    /// A number that is taken as known.
    pub fn known(number: f64) -> Stated {
        Stated { low: number, likely: number, high: number }
    }

    /// Whether there is anything to be unsure of.
    pub fn is_known(&self) -> bool {
        self.low == self.high
    }
}

/// A number alone, or the range that it is believed to lie in.
#[derive(Debug)]
pub enum TypedStated {
    /// A number alone.
    One(f64),
    /// `{ low, likely, high }`
    Belief(TypedBelief),
}

impl<'de> Deserialize<'de> for TypedStated {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Numbers;
        impl<'de> Visitor<'de> for Numbers {
            type Value = TypedStated;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a number or { low, likely, high }")
            }

            fn visit_f64<E: Error>(self, number: f64) -> Result<TypedStated, E> {
                Ok(TypedStated::One(number))
            }

            fn visit_i64<E: Error>(self, number: i64) -> Result<TypedStated, E> {
                Ok(TypedStated::One(number as f64))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<TypedStated, A::Error> {
                TypedBelief::deserialize(MapAccessDeserializer::new(map)).map(TypedStated::Belief)
            }
        }
        deserializer.deserialize_any(Numbers)
    }
}

/// A number or its range, from one bound to the other; nothing where the key is left out.
pub struct Believed(pub f64, pub f64);

impl Range for Believed {
    type Typed = TypedStated;
    type Value = Option<Stated>;

    fn read(&self, typed: &TypedStated, place: &Place, problems: &mut Problems) -> Option<Stated> {
        let Believed(least, most) = *self;
        let stated = match typed {
            TypedStated::One(number) => Stated::known(*number),
            TypedStated::Belief(range) => {
                let stated = Stated::read(range, place, problems);
                if !range.missing().is_empty() {
                    return None;
                }
                stated
            }
        };
        let Stated { low, likely, high } = stated;
        if !(least <= low && high <= most) {
            let found =
                if stated.is_known() { format!("{low}") } else { format!("{low} to {high}") };
            problems.add(place, format!("found {found}, expected numbers from {least} to {most}"));
        } else if !(low <= likely && likely <= high) {
            let found = format!("found {low}, {likely}, {high}");
            problems.add(place, format!("{found}, expected low <= likely <= high"));
        }
        Some(stated)
    }

    fn text(&self) -> String {
        format!("a number from {} to {}, or {{ low, likely, high }}", self.0, self.1)
    }

    fn written(&self, value: &Option<Stated>) -> String {
        value.map(|stated| format!("{:?}", stated.likely)).unwrap_or_default()
    }
}
