//! The shapes of the invented exports: columns, separators, clocks and code words, as tables.

mod assets;
mod desk;
mod large;
mod local;
mod log;
mod sheet;
mod south;
mod west;
mod works;

use chrono_tz::{Tz, UTC};

use super::field::Field;
use super::place::Kind;

/// How often an export is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Every {
    Month,
    Quarter,
    HalfYear,
    /// One file for all.
    Once,
}

/// Kinds of rows that a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    Looks,
    Cleanings,
    Matings,
    /// Looks, cleanings and matings together.
    Actions,
    Tickets,
    Assets,
}

/// One kind of file.
#[derive(Debug)]
pub struct Sheet {
    /// Beginning of the file name.
    pub name: &'static str,
    pub holds: Holds,
    pub every: Every,
    pub columns: &'static [(&'static str, Field)],
}

/// One shape of export.
#[derive(Debug)]
pub struct Shape {
    /// Folder below `exports`; `{code}` stands for the site's short form in lower case.
    pub folder: &'static str,
    /// End of the file names; `.gz` packs, `xlsx` is a workbook with the preface as its title.
    pub ending: &'static str,
    pub separator: u8,
    pub decimal_mark: char,
    /// windows-1252 in place of UTF-8.
    pub latin: bool,
    /// Lines end with CR LF.
    pub carriage_return: bool,
    pub zone: Tz,
    /// Lines above the heading.
    pub preface: &'static str,
    pub sheets: &'static [Sheet],
    /// Code and the word written for it.
    pub words: &'static [(&'static str, &'static str)],
    /// The piece of the settings that reads it.
    pub map: &'static str,
}

const PLAIN: Shape = Shape {
    folder: "plain",
    ending: "csv",
    separator: b',',
    decimal_mark: '.',
    latin: false,
    carriage_return: false,
    zone: UTC,
    preface: "",
    sheets: &[],
    words: &[],
    map: "",
};

/// Tickets of every site that has no fault log of its own.
pub const DESK: &Shape = &desk::SHAPE;
/// The list of end faces of every site with fleet-wide names.
pub const ASSETS: &Shape = &assets::SHAPE;

/// The shape of a site's exports.
pub fn shape(kind: Kind) -> &'static Shape {
    match kind {
        Kind::Works => &works::SHAPE,
        Kind::South => &south::SHAPE,
        Kind::West => &west::SHAPE,
        Kind::Log => &log::SHAPE,
        Kind::Sheet => &sheet::SHAPE,
        Kind::Local => &local::SHAPE,
        Kind::Plain => &large::SHAPE,
    }
}
