//! Tables and reasons as words, where they are written down and read back.

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::{Misread, Table};

impl Serialize for Table {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.name())
    }
}

impl<'de> Deserialize<'de> for Table {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Table, D::Error> {
        let word = String::deserialize(from)?;
        let wrong = || D::Error::custom(format!("found \"{word}\", expected a table"));
        Table::named(&word).ok_or_else(wrong)
    }
}

impl Serialize for Misread {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(self.word())
    }
}

impl<'de> Deserialize<'de> for Misread {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Misread, D::Error> {
        let word = String::deserialize(from)?;
        let wrong = || D::Error::custom(format!("found \"{word}\", expected a reason"));
        Misread::of(&word).ok_or_else(wrong)
    }
}
