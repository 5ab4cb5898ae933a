//! `[[proposal]]` and `[budget]` as typed.

use std::fmt;

use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, Error, MapAccess, Visitor};

/// `[budget]`
#[derive(Debug, Default, Deserialize)]
pub struct Budget {
    pub amount: Option<f64>,
}

/// `[[proposal]]`
#[derive(Debug, Default, Deserialize)]
pub struct Proposal {
    pub name: Option<String>,
    pub price: Option<f64>,
    pub units: Option<i64>,
    pub life_months: Option<i64>,
    pub starts_after_months: Option<i64>,
    pub running_cost: Option<f64>,
    pub effect: Option<Vec<Effect>>,
}

/// `[[proposal.effect]]`
#[derive(Debug, Default, Deserialize)]
pub struct Effect {
    pub kind: Option<String>,
    pub stages: Option<Vec<String>>,
    pub sites: Option<Vec<String>>,
    pub capacity: Option<f64>,
    pub coverage: Option<Stated>,
    pub odds: Option<Stated>,
    pub method: Option<String>,
    pub instead_of: Option<String>,
    pub minutes: Option<Stated>,
    pub from: Option<String>,
    pub to: Option<String>,
    pub times: Option<Stated>,
    pub kinds: Option<Vec<String>>,
    pub share: Option<Stated>,
}

/// A number alone, or the range that it is believed to lie in.
#[derive(Debug)]
pub enum Stated {
    One(f64),
    Range(Range),
}

/// `{ low, likely, high }`
#[derive(Debug, Default, Deserialize)]
pub struct Range {
    pub low: Option<f64>,
    pub likely: Option<f64>,
    pub high: Option<f64>,
}

impl<'de> Deserialize<'de> for Stated {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Numbers;
        impl<'de> Visitor<'de> for Numbers {
            type Value = Stated;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a number or { low, likely, high }")
            }

            fn visit_f64<E: Error>(self, number: f64) -> Result<Stated, E> {
                Ok(Stated::One(number))
            }

            fn visit_i64<E: Error>(self, number: i64) -> Result<Stated, E> {
                Ok(Stated::One(number as f64))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Stated, A::Error> {
                Range::deserialize(MapAccessDeserializer::new(map)).map(Stated::Range)
            }
        }
        deserializer.deserialize_any(Numbers)
    }
}
