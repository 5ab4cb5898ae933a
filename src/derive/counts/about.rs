//! What is declared of a count table, for schemas and dictionaries.

use super::codes::Dimension;

/// What a counted figure is measured in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Things counted.
    Count,
    /// Products of two counts, summed over clusters.
    CountSquared,
    /// Seconds, whole ones.
    Seconds,
    /// Minutes, whole ones.
    Minutes,
    /// Minor units of the fleet's currency.
    MinorUnits,
}

impl Unit {
    /// Its word in schemas and dictionaries.
    pub fn word(self) -> &'static str {
        match self {
            Unit::Count => "count",
            Unit::CountSquared => "count squared",
            Unit::Seconds => "seconds",
            Unit::Minutes => "minutes",
            Unit::MinorUnits => "minor units",
        }
    }
}

/// A column that a table is grouped by, as declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ColumnAbout {
    /// Its name in schemas and files.
    pub name: &'static str,
    /// What its codes stand for.
    pub dimension: Dimension,
    /// One line.
    pub doc: &'static str,
}

/// A counted figure, as declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FigureAbout {
    /// Its name in schemas and files.
    pub name: &'static str,
    /// What it is measured in.
    pub unit: Unit,
    /// One line.
    pub doc: &'static str,
}

/// A count table, as declared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TableAbout {
    /// Its name in schemas and files.
    pub name: &'static str,
    /// What is counted, in a line or two.
    pub doc: &'static str,
    /// What it is grouped by.
    pub columns: &'static [ColumnAbout],
    /// What is counted.
    pub figures: &'static [FigureAbout],
}
