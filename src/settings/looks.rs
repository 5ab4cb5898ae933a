//! `[looks]`: the minutes that there are for looking, and what lots on receipt are held to.

use std::collections::BTreeMap;
use std::fmt;

use serde::Deserialize;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, Error, MapAccess, Visitor};

use super::lists::Lists;
use super::place::Place;
use super::problems::Problems;
use super::ranges::{Flag, OneOfIfAny};
use super::section::{Range, section};
use super::words;

/// More minutes a month than any fleet has hands.
const MOST_MINUTES: f64 = 1e9;

/// Minutes for looks, a month.
#[derive(Clone, Debug, PartialEq)]
pub enum LookMinutes {
    /// Of the fleet; a site's part is in proportion to what it spends now, unless minutes travel.
    Fleet(f64),
    /// Of each of these sites; the others keep what they spend now.
    BySite(BTreeMap<String, f64>),
}

/// Acceptable qualities that listed plans have.
const QUALITIES: &[(&str, f64)] =
    &[("0.65", 0.65), ("1.0", 1.0), ("1.5", 1.5), ("2.5", 2.5), ("4.0", 4.0), ("6.5", 6.5)];

section! {
    TypedLooks:
    /// What there is to look with, and what lots are held to.
    Looks {
        /// Minutes a month for looks before mating, of the fleet, or a table by site; left out: what is spent now.
        minutes_a_month: Option<LookMinutes> = None, MinutesIfAny;
        /// Whether minutes of one site may be spent at another.
        travel: bool = false, Flag;
        /// Acceptable quality of lots on receipt, per cent of dirty ends, for listed plans by supplier; left out: no such plans.
        accept_percent: Option<f64> = None, OneOfIfAny<f64>(QUALITIES);
    }
}

impl Default for Looks {
    fn default() -> Self {
        Self::left_out()
    }
}

/// Minutes as typed.
#[derive(Debug)]
pub enum TypedMinutes {
    /// One number.
    One(f64),
    /// A number a site.
    BySite(BTreeMap<String, f64>),
}

impl<'de> Deserialize<'de> for TypedMinutes {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Numbers;
        impl<'de> Visitor<'de> for Numbers {
            type Value = TypedMinutes;

            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("minutes, or a table of minutes by site")
            }

            fn visit_f64<E: Error>(self, number: f64) -> Result<TypedMinutes, E> {
                Ok(TypedMinutes::One(number))
            }

            fn visit_i64<E: Error>(self, number: i64) -> Result<TypedMinutes, E> {
                Ok(TypedMinutes::One(number as f64))
            }

            fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<TypedMinutes, A::Error> {
                BTreeMap::deserialize(MapAccessDeserializer::new(map)).map(TypedMinutes::BySite)
            }
        }
        deserializer.deserialize_any(Numbers)
    }
}

/// Minutes a month, of the fleet or by site, or nothing where the key is left out.
pub struct MinutesIfAny;

impl Range for MinutesIfAny {
    type Typed = TypedMinutes;
    type Value = Option<LookMinutes>;

    fn read(
        &self,
        typed: &TypedMinutes,
        place: &Place,
        problems: &mut Problems,
    ) -> Option<LookMinutes> {
        let mut check = |minutes: f64, place: &Place| {
            if !(0.0..=MOST_MINUTES).contains(&minutes) {
                problems.add(place, format!("found {minutes}, expected {}", self.text()));
            }
        };
        match typed {
            TypedMinutes::One(minutes) => {
                check(*minutes, place);
                Some(LookMinutes::Fleet(*minutes))
            }
            TypedMinutes::BySite(sites) => {
                sites.iter().for_each(|(site, minutes)| check(*minutes, &place.key(site)));
                Some(LookMinutes::BySite(sites.clone()))
            }
        }
    }

    fn text(&self) -> String {
        format!(
            "minutes a month from 0 to {MOST_MINUTES}, or a table of such by site, as {{ North = 600 }}"
        )
    }

    fn written(&self, _: &Option<LookMinutes>) -> String {
        String::new()
    }
}

/// The looks of what was typed.
pub(in crate::settings) fn looks(
    typed: Option<&TypedLooks>,
    lists: &Lists,
    problems: &mut Problems,
) -> Looks {
    let Some(typed) = typed else { return Looks::default() };
    let place = Place::default().key("looks");
    let looks = Looks::read(typed, &place, problems);
    if let (Some(LookMinutes::BySite(sites)), Some(known)) =
        (&looks.minutes_a_month, lists.allowed("site"))
    {
        for site in sites.keys() {
            words::one_of(site, &known, &place.key("minutes_a_month").key(site), problems);
        }
    }
    looks
}
