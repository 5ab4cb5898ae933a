//! A count table on its way between two processes: its cells as plain numbers, what is off the table, the total.

use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::table::{CountTable, Counted, Key as _, Row as _};

/// Codes of all cells, figures of all cells, then what is off the table, the total, and whether it was given up.
#[derive(Serialize, Deserialize)]
struct Carried {
    codes: Vec<u32>,
    figures: Vec<i64>,
    off_table: Vec<i64>,
    total: Vec<i64>,
    given_up: bool,
}

impl<T: Counted> Serialize for CountTable<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let cells = self.coded();
        let carried = Carried {
            codes: cells.iter().flat_map(|(codes, _)| codes.as_ref()).copied().collect(),
            figures: cells.iter().flat_map(|(_, row)| row.as_ref()).copied().collect(),
            off_table: self.off_table().values().as_ref().to_vec(),
            total: self.total().values().as_ref().to_vec(),
            given_up: self.is_given_up(),
        };
        carried.serialize(serializer)
    }
}

impl<'de, T: Counted> Deserialize<'de> for CountTable<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let carried = Carried::deserialize(deserializer)?;
        let wrong = |what: &str| D::Error::custom(format!("{}: {what}", T::ABOUT.name));
        let (columns, figures) = (T::ABOUT.columns.len(), T::ABOUT.figures.len());
        let row = |values: &[i64]| {
            let mut own = <T::Row as super::table::Row>::Values::default();
            (values.len() == figures).then(|| {
                own.as_mut().copy_from_slice(values);
                T::Row::of(own)
            })
        };
        if carried.codes.len() * figures != carried.figures.len() * columns {
            return Err(wrong("as many codes as figures are not there"));
        }
        let cells = carried.codes.chunks_exact(columns).zip(carried.figures.chunks_exact(figures));
        let mut read = Vec::with_capacity(cells.len());
        for (codes, values) in cells {
            let mut own = <T::Key as super::table::Key>::Codes::default();
            own.as_mut().copy_from_slice(codes);
            let cell = T::Key::of(own).ok_or_else(|| wrong("a code without a word"))?;
            read.push((cell, row(values).ok_or_else(|| wrong("figures of another table"))?));
        }
        let [off_table, total] = [&carried.off_table, &carried.total].map(|values| row(values));
        let sums = off_table.zip(total).ok_or_else(|| wrong("sums of another table"))?;
        Ok(CountTable::carried(&read, sums, carried.given_up))
    }
}
